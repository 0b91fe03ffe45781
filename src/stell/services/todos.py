"""What is open for a flock: from its verdicts, its timetable and the rams not yet seen."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date

from stell.core import standing
from stell.core.deeds import Deed
from stell.core.timetable import Timetable
from stell.core.verdict import Action, Decision
from stell.core.worklist import WorkItem, work_of_flock
from stell.core.worklist import work_list as in_order
from stell.services.records import FlockRecord, RamRecord
from stell.services.season_values import RamSeason, ToDo

# Standing limits are said with the verdict; there is no day by which they are done.
_NO_DEADLINE = ("restrict",)
# Steps of the timetable that the examination itself settles.
_EXAMINATION_DAYS = ("ideal_examination", "last_sensible_examination")
_MOST_NAMED = 6


def to_do(
    flock: FlockRecord, rams: Sequence[RamSeason], table: Timetable | None, today: date
) -> tuple[ToDo, ...]:
    """Return what is open, most pressing first (see `core.worklist.work_list`)."""
    found = [t for ram in rams if ram.ram.is_active for t in _of_ram(ram, today)]
    unseen = [r.ram for r in rams if r.examination is None and r.ram.is_active]
    found.extend(_examine(unseen, table, today))
    if any(ram.ram.is_active for ram in rams):
        found.extend(_steps(flock, table, today))
    return sort(found, flock.name, today)


def sort(todos: Iterable[ToDo], flock_name: str, today: date) -> tuple[ToDo, ...]:
    """Return things to do in the order in which to do them."""
    pairs = [(_item(flock_name, todo), todo) for todo in todos]
    by_item = {id(item): todo for item, todo in pairs}
    return tuple(by_item[id(i)] for i in in_order([i for i, _ in pairs], today=today))


def _item(flock_name: str, todo: ToDo) -> WorkItem:
    ram = todo.ram.label if todo.ram else ""
    return WorkItem(flock_name, todo.kind, todo.due_on, todo.sentence, ram)


def _of_ram(ram: RamSeason, today: date) -> Iterator[ToDo]:
    if ram.decision is None or ram.examination is None:
        return
    exam_id = ram.examination.id
    for action in open_actions(ram.decision, ram.deeds):
        yield ToDo(
            action.kind,
            action.due_on,
            action.sentence,
            action.owner,
            ram.ram,
            exam_id,
            action.finding,
            action.rules,
            ram.slaughter_notice if action.kind == "withdraw" else "",
        )
    if standing.day_is_open(ram.decision):
        assert ram.decision.override is not None
        put_off = f"put off by the vet's own verdict ({ram.decision.override.reason})"
        text = f"{put_off}: set the day to examine him again"
        owner = "Ask the vet for the day of the next examination."
        yield ToDo("reexamine", today, text, owner, ram.ram, exam_id, text)


def open_actions(decision: Decision, deeds: Iterable[Deed] = ()) -> tuple[Action, ...]:
    """Return what is still to be done by a day (see `core.standing.open_actions`)."""
    return tuple(a for a in standing.open_actions(decision, deeds) if a.kind not in _NO_DEADLINE)


def _examine(unseen: Sequence[RamRecord], table: Timetable | None, today: date) -> Iterator[ToDo]:
    if not unseen:
        return
    if len(unseen) == 1:
        text = "not examined yet"
        yield ToDo("examine", _examine_by(table, today), text, ram=unseen[0], finding=text)
        return
    named = ", ".join(r.label for r in unseen[:_MOST_NAMED])
    more = f" and {len(unseen) - _MOST_NAMED} more" if len(unseen) > _MOST_NAMED else ""
    sentence = f"{len(unseen)} rams not examined yet: {named}{more}"
    yield ToDo("examine", _examine_by(table, today), sentence, finding=sentence)


def _examine_by(table: Timetable | None, today: date) -> date:
    """Return the best day to examine while it is ahead, else the last sensible one."""
    if table is None:
        return today
    marks = [m.on for code in _EXAMINATION_DAYS if (m := table.milestone(code))]
    ahead = [day for day in sorted(marks) if day >= today]
    return ahead[0] if ahead else max(marks, default=table.mating_start_on or today)


def _steps(flock: FlockRecord, table: Timetable | None, today: date) -> Iterator[ToDo]:
    if table is None:
        text = "no start of mating is set, so nothing can be counted back from it"
        owner = "Tell the vet when the rams are to go in."
        yield ToDo("set_mating_start", today, text, owner, finding=text)
        return
    for item in work_of_flock(flock.name, table):
        if item.due_on is not None and not item.ram and item.kind not in _EXAMINATION_DAYS:
            step = table.milestone(item.kind)
            yield ToDo(item.kind, item.due_on, item.what, finding=step.heading if step else "")

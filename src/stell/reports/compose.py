"""From core values to the values of an owner's report. Services gather; everything is said here."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import date

from stell.core.protocol.ready import ReadyProtocol
from stell.core.records import Ram, written_date
from stell.core.timetable import DeferredRam, Timetable, timetable
from stell.core.verdict import Outcome
from stell.press.wording import (
    counted,
    days_text,
    listed,
    natural_key,
    weekday_date,
)
from stell.reports.against_past import earlier_warnings
from stell.reports.briefly import briefs
from stell.reports.cautions import OWNER
from stell.reports.figures import columns_of, measured_columns, size_at_age, size_check
from stell.reports.grounds import grounds, remarks, visits
from stell.reports.judged import JudgedRam
from stell.reports.lines import Bibliography, ram_line
from stell.reports.owner_values import OwnerReport, Return, Tally
from stell.reports.plain_words import (
    advice,
    deferring,
    look_again,
    plain_words,
    warnings,
)
from stell.reports.todo import timetable_days, todo_list
from stell.reports.values import SizeAtAge

__all__ = ["JudgedRam", "owner_report_values"]

_FIRST = (Outcome.DEFERRED, Outcome.INCOMPLETE, Outcome.UNSATISFACTORY, Outcome.SATISFACTORY)


def owner_report_values(
    *,
    flock: str,
    owner: str = "",
    practice: str = "",
    protocol: ReadyProtocol,
    judged: Sequence[JudgedRam],
    mating_start_on: date | None = None,
    not_examined: Iterable[Ram] = (),
    today: date,
) -> OwnerReport:
    """Return the values of an owner's report.

    Parameters
    ----------
    flock, owner, practice : str
        Names; the last two may be empty.
    protocol : ReadyProtocol
        By which the report is written: its columns and its timetable.
    judged : sequence of JudgedRam
        May be empty.
    mating_start_on : date or None
    not_examined : iterable of Ram
        Rams of the flock without an examination this season.
    today : date

    Raises
    ------
    ProtocolError, ValueRefused
        From the timetable, for figures or a start of mating that cannot be used.
    """
    rams = sorted(judged, key=_in_order)
    unseen = sorted(not_examined, key=lambda r: natural_key(r.label))
    shorts = _short_labels([*(j.ram for j in rams), *unseen])
    table = _table(rams, shorts, protocol, mating_start_on, today)
    outlooks = {d.ram.ram_id: d for d in table.deferred}
    cited = Bibliography()
    columns = measured_columns(protocol)
    sizes_of = size_check(protocol)
    sizes = _sizes(rams, shorts, protocol)
    unsettled = any(j.outcome is not Outcome.SATISFACTORY for j in rams)
    return OwnerReport(
        flock=flock,
        owner=owner,
        practice=practice,
        examiners=listed(dict.fromkeys(j.exam.examiner for j in rams if j.exam.examiner)),
        examined_on=days_text(j.exam.examined_on for j in rams),
        visit_on=max((j.exam.examined_on for j in rams), default=None),
        mating_start_on=mating_start_on,
        mating_start=weekday_date(mating_start_on) if mating_start_on else "",
        today=today,
        made=written_date(today),
        protocol=listed(_judges(protocol, rams)),
        protocol_title=protocol.spec.title,
        protocol_digest=protocol.digest[:12],
        opening=table.opening,
        summary=_summary(rams, table),
        tallies=_tallies(rams),
        todos=todo_list(
            [(shorts[j.ram.ram_id], j.decision, j.protocol or protocol) for j in rams],
            table,
            today=today,
            unseen=[shorts[r.ram_id] for r in unseen],
            short_of_rams=unsettled or bool(unseen),
        ),
        warnings=(*warnings(rams, shorts), *earlier_warnings(rams, shorts)),
        days=timetable_days(table),
        returns=_returns(table),
        advice=advice(table, today),
        again=look_again(rams, table, protocol, today),
        told=plain_words(rams, protocol),
        columns=columns_of(columns, protocol),
        grounds=grounds(rams, shorts, protocol, cited),  # first: sources are numbered in its order
        rams=tuple(
            ram_line(j, protocol, columns, cited, today, outlooks.get(j.ram.ram_id)) for j in rams
        ),
        sizes=sizes,
        size_title=sizes_of.title if sizes_of else "",
        without_size=len(rams) - len(sizes) if sizes_of else 0,
        not_examined=tuple(r.label for r in unseen),
        remarks=remarks(rams, shorts),
        visits=visits(rams, shorts),
        cautions=OWNER,
        sources=tuple(cited.entries()),
    )


def _sizes(
    rams: Sequence[JudgedRam], shorts: dict[str, str], protocol: ReadyProtocol
) -> tuple[SizeAtAge, ...]:
    check = size_check(protocol)
    if check is None:
        return ()
    points = (size_at_age(j, check, j.protocol or protocol, shorts[j.ram.ram_id]) for j in rams)
    return tuple(p for p in points if p is not None)


def _judges(protocol: ReadyProtocol, rams: Sequence[JudgedRam]) -> Iterable[str]:
    """Return the names of all versions that judged, the report's own first."""
    return dict.fromkeys((protocol.named, *(j.protocol.named for j in rams if j.protocol)))


def _in_order(judged: JudgedRam) -> tuple[object, ...]:
    return (_FIRST.index(judged.outcome), natural_key(judged.ram.label))


def _short_labels(rams: Sequence[Ram]) -> dict[str, str]:
    """Return each ram's tag, or the whole label where the tag is missing or not his alone."""
    tags = Counter(r.tag for r in rams)
    return {r.ram_id: r.tag if r.tag and tags[r.tag] == 1 else r.label for r in rams}


def _table(
    rams: Sequence[JudgedRam],
    shorts: dict[str, str],
    protocol: ReadyProtocol,
    start: date | None,
    today: date,
) -> Timetable:
    waiting = [
        DeferredRam(
            j.ram.ram_id,
            shorts[j.ram.ram_id],
            j.exam.examined_on,
            again,
            briefs(deferring(j.decision.proposed)),
        )
        for j in rams
        if j.outcome is Outcome.DEFERRED and (again := j.decision.proposed.reexamine_on)
    ]
    return timetable(start, protocol.spec.timing, today=today, deferred=waiting)


def _returns(table: Timetable) -> tuple[Return, ...]:
    return tuple(Return(d.ram.label, d.seen_on, d.ready_in_time) for d in table.deferred)


def _tallies(rams: Sequence[JudgedRam]) -> tuple[Tally, ...]:
    counts = Counter(j.outcome for j in rams)
    return tuple(Tally(o.value, counts[o]) for o in Outcome)


def _summary(rams: Sequence[JudgedRam], table: Timetable) -> str:
    if not rams:
        return "No ram of this flock has been examined this season."
    counts = Counter(j.outcome for j in rams)
    ready = counts[Outcome.SATISFACTORY]
    if ready == len(rams):
        only = "The ram examined is" if len(rams) == 1 else f"All {len(rams)} rams examined are"
        return f"{only} satisfactory."
    said = [f"{ready} satisfactory" if ready else "none satisfactory yet"]
    if waiting := counts[Outcome.DEFERRED]:
        said.append(f"{waiting} to be examined again{_still_in_time(waiting, table)}")
    if open_ones := counts[Outcome.INCOMPLETE]:
        said.append(f"{open_ones} not fully examined")
    if out := counts[Outcome.UNSATISFACTORY]:
        said.append(f"{out} not to be used")
    return f"Of {counted(len(rams), 'ram')} examined: {'; '.join(said)}."


def _still_in_time(waiting: int, table: Timetable) -> str:
    answers = [d.ready_in_time for d in table.deferred]
    if all(a is None for a in answers):
        return ""
    ready = answers.count(True)
    if ready == waiting:
        return f", {'all of whom' if waiting > 1 else 'who'} can still be ready in time"
    if waiting == 1:
        return ", who cannot be ready in time"
    return f", of whom {ready or 'none'} can still be ready in time"

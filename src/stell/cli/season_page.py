"""One flock's season on the terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text

from stell.cli.printing import (
    counted,
    day_text,
    paragraph,
    sentence,
    show_notices,
    table,
    tally,
    verdict_text,
)
from stell.cli.session import Session
from stell.cli.work_lines import work_lines
from stell.core.leads import when_text
from stell.core.verdict import Outcome

if TYPE_CHECKING:
    from rich.table import Table

    from stell.core.readiness import DeferredOutlook
    from stell.services.seasons import FlockSeason, RamSeason


def print_season(session: Session, season: FlockSeason, *, all_rams: bool = False) -> None:
    """Print where a flock stands, what is to do, its days, and its rams."""
    flock = season.flock
    session.out.print(Text(flock.name, style="bold"))
    if season.timetable is not None:
        paragraph(session, season.timetable.opening)
    else:
        session.out.print("No start of mating is on record.")
    counts = {o.value: n for o, n in season.counts.items()}
    unseen = f", {season.not_examined} not examined" if season.not_examined else ""
    here = [r for r in season.rams if r.examination is not None or r.ram.left_on is None]
    paragraph(session, f"{counted(len(here), 'ram')}: {tally(counts)}{unseen}.")
    paragraph(session, _first_day(season))
    _to_do(session, season)
    _done(session, season)
    _days(session, season)
    _rams(session, season, all_rams)
    show_notices(session, (*session.notices, *season.notices))


def _first_day(season: FlockSeason) -> str:
    """Return who can go in on the first day; a deferred ram only counts if he passes then."""
    waiting = sum(
        r.is_ready is True and r.outcome is Outcome.DEFERRED
        for r in season.rams
        if r.ram.left_on is None
    )
    can = "could" if _is_begun(season) else "can"
    parts = [f"{season.ready - waiting} {can} go in"]
    if waiting:
        parts.append(f"{waiting} more if sound when examined again")
    parts.append(f"{season.not_ready} not")
    if season.readiness_open:
        parts.append(f"of {season.readiness_open} it cannot be said yet")
    return f"On the first day, as far as is known: {', '.join(parts)}."


def _to_do(session: Session, season: FlockSeason) -> None:
    if not season.to_do:
        return
    session.out.print()
    shown = table(
        session,
        ("By", {"no_wrap": True}),
        ("Ram", {"style": "bold", "max_width": 16}),
        "What",
        title="To do",
    )
    for line in work_lines(("", todo) for todo in season.to_do):
        late = line.due_on < season.today
        by = Text(day_text(line.due_on) + (" !" if late else ""), "bold red" if late else "")
        shown.add_row(by, line.ram, sentence(line.text))
    session.out.print(shown)
    if any(todo.due_on < season.today for todo in season.to_do):
        session.out.print("! overdue, as far as is on record")


def _done(session: Session, season: FlockSeason) -> None:
    """Print what was done about this season's examinations, and who must not be slaughtered yet."""
    here = [r for r in season.rams if r.ram.is_active]
    done = sorted(
        ((d.done_on, r.ram.label, d.sentence) for r in here for d in r.deeds if d.stands),
    )
    if done:
        session.out.print()
        shown = table(session, ("Ram", {"style": "bold", "max_width": 16}), "What", title="Done")
        for _, label, text in done:
            shown.add_row(label, sentence(text))
        session.out.print(shown)
    for ram in here:
        if ram.slaughter_notice:
            session.out.print()
            paragraph(session, f"{ram.ram.label}: {ram.slaughter_notice}.")


def _days(session: Session, season: FlockSeason) -> None:
    if season.timetable is None or not season.timetable.milestones:
        return
    session.out.print()
    shown = table(
        session,
        ("Day", {"no_wrap": True}),
        ("", {"no_wrap": True}),
        ("What", {"ratio": 1}),
        title="Back from mating",
    )
    for milestone in season.timetable.milestones:
        shown.add_row(
            day_text(milestone.on), when_text(milestone.on, season.today), milestone.title
        )
    session.out.print(shown)


def _is_begun(season: FlockSeason) -> bool:
    start = season.mating_start_on
    return start is not None and start < season.today


def _rams(session: Session, season: FlockSeason, all_rams: bool) -> None:
    unseen = [r.ram.label for r in season.rams if r.examination is None and r.ram.left_on is None]
    if unseen:
        session.out.print()
        session.out.print(Text("Not examined this season", style="bold"))
        paragraph(session, ", ".join(unseen) + ".")
    listed = [
        r
        for r in season.rams
        if r.examination is not None and (all_rams or r.outcome is not Outcome.SATISFACTORY)
    ]
    if listed:
        session.out.print()
        session.out.print(_ram_table(session, season, listed, all_rams))


def _ram_table(
    session: Session, season: FlockSeason, listed: list[RamSeason], all_rams: bool
) -> Table:
    outlooks = {d.ram.ram_id: d for d in season.timetable.deferred} if season.timetable else {}
    shown = table(
        session,
        ("Ram", {"style": "bold", "max_width": 16}),
        ("Verdict", {"min_width": 16}),
        "Examined",
        ("Ready for mating", {"ratio": 1}),
        title="Rams" if all_rams else "Rams that are not satisfactory",
    )
    for ram in sorted(listed, key=_place):
        assert ram.examination is not None
        assert ram.outcome is not None
        examined = day_text(ram.examination.exam.examined_on)
        verdict = verdict_text(session, ram.outcome.value, overridden=ram.override is not None)
        outlook = outlooks.get(ram.ram.id)
        ready = outlook_text(outlook, _is_begun(season)) if outlook else sentence(ram.readiness)
        shown.add_row(ram.ram.label, verdict, examined, ready)
    return shown


def outlook_text(outlook: DeferredOutlook, begun: bool = False) -> str:
    """Return in a few words when a deferred ram is seen again, and whether that is in time."""
    again = day_text(outlook.ram.reexamine_on)
    if outlook.overdue_days:
        text = f"look again now (was due {again})"
    else:
        text = f"look again on {again}"
    spare = outlook.days_to_spare
    if spare is not None:
        days = counted(abs(spare), "day")
        side = "before" if spare >= 0 else "after"
        text += f", {days} {side} the rams {'went' if begun else 'go'} in"
    if outlook.decide_by is not None and not begun:
        cover = {
            "wait": f"; if he fails, buy by {day_text(outlook.decide_by)}",
            "cover_now": f"; line up cover by {day_text(outlook.decide_by)}",
            "too_late": "; cover is needed",
        }
        text += cover.get(outlook.advice, "")
    return f"{text}."


def _place(ram: RamSeason) -> tuple[int, str]:
    return (-ram.outcome.rank if ram.outcome else -9, ram.ram.label)

"""The command ``due``: what is to be done across all flocks, overdue first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stell.cli.commands import command
from stell.cli.rams import InFlock
from stell.cli.records import opened
from stell.cli.session import Session
from stell.cli.whole_files import write_whole

if TYPE_CHECKING:
    from stell.services.due import DueItem


def register(app: typer.Typer) -> None:
    """Add the command to `app`."""
    command(app, "due", needs=("json", "data", "today"))(due)


def due(
    session: Session,
    flock: InFlock = "",
    within: Annotated[
        int | None,
        typer.Option(
            "--within", metavar="DAYS", min=0, help="Leave out what is due later than that."
        ),
    ] = None,
    full: Annotated[
        bool, typer.Option("--full", help="With what the protocol says to do about it.")
    ] = False,
    calendar: Annotated[
        Path | None,
        typer.Option(
            "--calendar", metavar="FILE.ics", help="Write the list as a calendar file as well."
        ),
    ] = None,
) -> None:
    """List what is to be done in all flocks, overdue first."""
    from stell.cli.shapes import due_shape
    from stell.services.due import work_list

    opened(session, create=False)
    items = work_list(session.today, within_days=within, flock=flock or None)
    if calendar is not None:
        _write_calendar(session, calendar, items)
        session.notice(f"the calendar is in {calendar}")
    if session.as_json:
        session.emit([due_shape(item) for item in items])
        return
    _print_items(session, items, full)


def _print_items(session: Session, items: Iterable[DueItem], full: bool) -> None:
    from rich.text import Text

    from stell.cli.printing import (
        counted,
        day_text,
        distance_text,
        sentence,
        show_notices,
        table,
    )
    from stell.cli.work_lines import work_lines

    items = list(items)
    lines = work_lines(((item.flock.name, item.todo) for item in items), full=full)
    overdue = sum(line.due_on < session.today for line in lines)
    session.out.print(
        f"{day_text(session.today)}: {counted(len(lines), 'thing')} to do, {overdue} overdue."
    )
    session.out.print()
    shown = table(
        session,
        ("By", {"no_wrap": True}),
        ("Flock", {"max_width": 14}),
        ("Ram", {"style": "bold", "max_width": 14}),
        ("What", {"ratio": 1}),
    )
    for line in lines:
        late = line.due_on < session.today
        style = "bold red" if late else "bold" if line.due_on == session.today else ""
        by = Text(f"{day_text(line.due_on)}\n{distance_text(line.due_on, session.today)}", style)
        shown.add_row(by, line.flock, line.ram, sentence(line.text))
    session.out.print(shown)
    show_notices(session, session.notices)


def _write_calendar(session: Session, path: Path, items: Iterable[DueItem]) -> None:
    """Write all-day events; what is overdue stands on today, where somebody will see it."""
    from stell.cli.work_lines import work_lines
    from stell.exchange.calendar import CalendarEvent, to_ics

    seen: Counter[str] = Counter()
    events = []
    for item in items:
        base = f"{item.todo.exam_id or item.flock.id}-{item.todo.kind}"
        seen[base] += 1
        (line,) = work_lines([(item.flock.name, item.todo)])
        who = " ".join(part for part in (line.flock, line.ram) if part)
        events.append(
            CalendarEvent(
                uid=f"{base}-{seen[base]}",
                on=max(item.todo.due_on, session.today),
                summary=f"{who}: {line.text}",
                description=item.todo.sentence,
            )
        )
    write_whole(path, to_ics(events, stamp=session.now, name="Rams to see to"))

"""The command ``due``: what is to be done across all flocks, overdue first."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stell.cli.commands import command
from stell.cli.rams import InFlock
from stell.cli.records import opened
from stell.cli.session import Session

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
        _write_calendar(calendar, items)
        session.notice(f"the calendar is in {calendar}")
    if session.as_json:
        session.emit([due_shape(item) for item in items])
        return
    _print_items(session, items)


def _print_items(session: Session, items: Iterable[DueItem]) -> None:
    from rich.text import Text

    from stell.cli.printing import (
        counted,
        day_text,
        distance_text,
        sentence,
        show_notices,
        table,
    )
    from stell.core.verdict import ACTION_KINDS

    items = list(items)
    overdue = sum(item.is_overdue for item in items)
    session.out.print(
        f"{day_text(session.today)}: {counted(len(items), 'thing')} to do, {overdue} overdue."
    )
    session.out.print()
    shown = table(
        session,
        ("By", {"no_wrap": True}),
        ("Flock", {"max_width": 14}),
        ("Ram", {"style": "bold", "max_width": 14}),
        ("What", {"ratio": 1}),
    )
    for item in items:
        todo = item.todo
        style = "bold red" if item.is_overdue else "bold" if item.days_left == 0 else ""
        by = Text(f"{day_text(todo.due_on)}\n{distance_text(todo.due_on, session.today)}", style)
        kind = ACTION_KINDS.get(todo.kind, "")
        text = f"{kind}: {todo.sentence}" if kind else todo.sentence
        shown.add_row(by, item.flock.name, todo.ram.label if todo.ram else "", sentence(text))
    session.out.print(shown)
    show_notices(session, session.notices)


def _write_calendar(path: Path, items: Iterable[DueItem]) -> None:
    from stell.exchange.calendar import Event, to_ics

    events = [
        Event(
            uid=f"{item.todo.exam_id or item.flock.id}-{item.todo.kind}-{item.todo.due_on}",
            on=item.todo.due_on,
            title=" ".join(
                part
                for part in (item.flock.name, item.todo.ram.label if item.todo.ram else "")
                if part
            ),
            text=item.todo.sentence,
        )
        for item in items
    ]
    path.write_bytes(to_ics(events))

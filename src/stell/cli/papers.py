"""Commands that print paper: the owner's report, the run sheet, the blank form."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from stell.cli.commands import command
from stell.cli.failing import UsageRefused
from stell.cli.flocks import FlockName
from stell.cli.named_protocols import protocol_named
from stell.cli.records import opened
from stell.cli.session import Session

Output = Annotated[
    Path | None,
    typer.Option("--output", "-o", metavar="FILE.pdf", help="Where to. [default: beside you]"),
]


def register(app: typer.Typer) -> None:
    """Add the commands to `app`."""
    command(app, "report", needs=("json", "data", "today"))(report)
    command(app, "sheet", needs=("json", "data", "today"))(sheet)


def report(session: Session, flock: FlockName, output: Output = None) -> None:
    """Write the owner's report on a flock's season (PDF)."""
    from stell.services.flocks import find_flock
    from stell.services.reporting import owner_report

    opened(session, create=False)
    found = find_flock(flock)
    path = output or Path(f"{found.slug}-report-{session.today.isoformat()}.pdf")
    _written(session, owner_report(found, today=session.today, path=path))


def sheet(
    session: Session,
    flock: Annotated[str, typer.Argument(metavar="FLOCK", help="Its name or short name.")] = "",
    blank: Annotated[
        bool, typer.Option("--blank", help="A form for one ram, nothing filled in; no flock.")
    ] = False,
    protocol: Annotated[
        str,
        typer.Option(
            "--protocol",
            metavar="NAME",
            help="Whose walk it follows. [default: what last judged the flock, else house]",
        ),
    ] = "",
    output: Output = None,
) -> None:
    """Write the run sheet for the yard, or a blank form (PDF)."""
    if blank:
        from stell.services.reporting import blank_form

        ready = protocol_named(session, protocol or "house")
        _written(session, blank_form(ready, output or Path(f"blank-form-{ready.id}.pdf")))
        return
    if not flock:
        raise UsageRefused(
            "usage",
            "whose run sheet is not said",
            legal="a flock, or --blank",
            example="stell sheet hill-end, or stell sheet --blank",
        )
    from stell.services.flocks import find_flock
    from stell.services.reporting import run_sheet

    opened(session, create=False)
    found = find_flock(flock)
    path = output or Path(f"{found.slug}-run-sheet-{session.today.isoformat()}.pdf")
    walk = protocol_named(session, protocol) if protocol else None
    _written(session, run_sheet(found, today=session.today, path=path, protocol=walk))


def _written(session: Session, path: Path) -> None:
    if session.as_json:
        session.emit({"file": path, "bytes": path.stat().st_size})
        return
    session.say(f"{path} written.")

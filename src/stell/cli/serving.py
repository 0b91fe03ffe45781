"""Commands that start something: the invented season, and the pages on this computer."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from stell.cli.commands import command
from stell.cli.session import Session
from stell.core.errors import RecordError

if TYPE_CHECKING:
    from datetime import date

Port = Annotated[
    int, typer.Option("--port", metavar="NUMBER", min=1, max=65535, help="On this computer only.")
]
LOGIN = "vet"
MARK = "stell-demo"  # a file of this name says that a folder holds nothing but the demo


def register(app: typer.Typer) -> None:
    """Add the commands to `app`."""
    command(app, "serve", needs=("data", "today"))(serve)
    command(app, "demo", needs=("json", "today"))(demo)


def serve(
    session: Session,
    host: Annotated[
        str, typer.Option("--host", metavar="ADDRESS", help="Where to listen.")
    ] = "127.0.0.1",
    port: Port = 8008,
    new_login: Annotated[
        str,
        typer.Option(
            "--new-login",
            metavar="NAME",
            help="First make a log-in of this name, or give it a new password, and print it.",
        ),
    ] = "",
) -> None:
    """Serve the pages to a browser on this computer, until Ctrl-C."""
    from stell.services.opening import data_folder

    folder = data_folder(session.folder)
    login = _made_login(folder, new_login, "shown only here") if new_login else ""
    _serve(session, folder, session.given_day, host, port, login)


def _made_login(folder: Path, name: str, remark: str) -> str:
    from stell.services.opening import open_store
    from stell.web.serving import make_login

    open_store(folder)
    return f"Log in as {name} with {make_login(name)} ({remark})"


def _serve(
    session: Session, folder: Path, today: date | None, host: str, port: int, login: str = ""
) -> None:
    from stell.web.serving import serve as run

    def ready(address: str) -> None:
        session.say(f"\nThe pages are at {address}")
        if login:
            session.say(login)
        if not session.quiet:
            session.out.print("Ctrl-C stops them.")

    run(folder, host=host, port=port, ready=ready, today=today)


def demo(
    session: Session,
    folder: Annotated[
        Path | None,
        typer.Option("--folder", metavar="FOLDER", help="Where it goes. [default: ./demo-data]"),
    ] = None,
    no_serve: Annotated[
        bool, typer.Option("--no-serve", help="Write everything, start no pages.")
    ] = False,
    port: Port = 8008,
) -> None:
    """Show an invented practice: records, reports, pages."""
    from stell.services.demo import demo_day

    place = folder or Path("demo-data")
    today = session.given_day or demo_day()
    summary = _load(place, today)
    papers = _papers(place, today)
    if session.as_json:
        session.emit({"folder": place, "summary": summary, "reports": papers})
    else:
        _tell(session, place, today, summary, papers)
    if no_serve:
        return
    login = _made_login(place, LOGIN, "made for this demo, shown only here")
    _serve(session, place, today, "127.0.0.1", port, login)


def _load(place: Path, today: date) -> Any:
    """Load the scenario into a fresh store in `place`; a store of the demo's own is made anew.

    Raises
    ------
    RecordError
        When the folder holds something else.
    """
    from stell.services.demo import load_demo
    from stell.services.opening import open_store

    mark = place / MARK
    if place.exists() and any(place.iterdir()):
        if not mark.exists():
            raise RecordError(
                "record.refused",
                "the folder is not empty and not the demo's",
                got=str(place),
                legal="a folder that does not exist, or one that the demo made",
                example="stell demo --folder /tmp/stell-demo",
            )
        shutil.rmtree(place)
    place.mkdir(parents=True, exist_ok=True)
    mark.write_text("Made by `stell demo`, and made anew each time. Keep nothing here.\n")
    open_store(place)
    return load_demo(None, today)


def _papers(place: Path, today: date) -> list[Path]:
    from stell.services.flocks import all_flocks
    from stell.services.reporting import owner_report, run_sheet

    papers = []
    for flock in all_flocks():
        report = place / f"{flock.slug}-report.pdf"
        papers.append(owner_report(flock, today=today, path=report))
        papers.append(run_sheet(flock, today=today, path=place / f"{flock.slug}-run-sheet.pdf"))
    return papers


def _tell(session: Session, place: Path, today: date, summary: Any, papers: list[Path]) -> None:
    from rich.text import Text

    from stell.cli.printing import counted, day_text

    session.out.print(Text("An invented practice, as on " + day_text(today), style="bold"))
    session.out.print(
        f"{counted(summary.flocks, 'flock')}, {counted(summary.rams, 'ram')}, "
        f"{counted(summary.examinations, 'examination')}, "
        f"{counted(summary.overrides, 'override')}, {counted(summary.corrections, 'correction')}."
    )
    for notice in summary.notices:
        session.notice(notice)
    session.say("\nReports for the owners and sheets for the yard:")
    for paper in papers:
        session.say(f"  {paper}")
    day = today.isoformat()
    session.say("\nLook around from the command line:")
    for line in ("due --within 30", "flock show high-sallow", 'history "Bracken"'):
        session.say(f"  ./run {line} --data {place} --today {day}")

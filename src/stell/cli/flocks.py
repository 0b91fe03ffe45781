"""Commands about flocks: put one on the books, list them, see where one stands, set mating."""

from __future__ import annotations

from typing import Annotated

import typer

from stell.cli.commands import command
from stell.cli.records import opened
from stell.cli.session import Session, day_from
from stell.cli.sheet_options import degrees_from, ram_type_from

app = typer.Typer(
    help="Flocks on the books: add, list, show, set the mating start.",
    no_args_is_help=True,
    rich_markup_mode=None,
)

FlockName = Annotated[str, typer.Argument(metavar="FLOCK", help="Its name or short name.")]


@command(app, "add", needs=("json", "data", "by", "today"))
def add(
    session: Session,
    name: Annotated[str, typer.Argument(metavar="NAME", help="What people call it.")],
    latitude: Annotated[
        float,
        typer.Option(
            "--latitude",
            metavar="DEGREES",
            parser=degrees_from,
            help="Where it stands; north is positive, as 54.9.",
        ),
    ],
    owner: Annotated[
        str, typer.Option("--owner", metavar="NAME", help="Whom the report goes to.")
    ] = "",
    kind: Annotated[
        str,
        typer.Option(
            "--type",
            metavar="TYPE",
            help="What its rams are unless a sheet says otherwise: hill, lowland, terminal, "
            "longwool, dairy or hair.",
        ),
    ] = "",
    mating_start: Annotated[
        str, typer.Option("--mating-start", metavar="DATE", help="The day the rams go in.")
    ] = "",
) -> None:
    """Put a flock on the books."""
    from stell.cli.shapes import flock_shape
    from stell.services.flocks import add_flock

    start = day_from(mating_start, "--mating-start") if mating_start else None
    opened(session)
    flock = add_flock(
        name,
        owner=owner,
        latitude_deg=latitude,
        ram_type=ram_type_from(kind),
        mating_start_on=start,
        by=session.by,
        now=session.now,
    )
    if session.as_json:
        session.emit(flock_shape(flock))
        return
    session.out.print(f"{flock.name} is on the books, short name {flock.slug}.")
    if start is None and not session.quiet:
        session.out.print(f"Say when the rams go in:  stell flock mating-start {flock.slug} DATE")


@command(app, "list", needs=("json", "data"))
def list_flocks(session: Session) -> None:
    """List every flock on the books."""
    from stell.cli.shapes import flock_shape
    from stell.services.flocks import all_flocks

    opened(session, create=False)
    flocks = all_flocks()
    if session.as_json:
        session.emit([flock_shape(f) for f in flocks])
        return
    from stell.cli.printing import day_text, table

    shown = table(
        session,
        ("Flock", {"style": "bold"}),
        "Short name",
        "Owner",
        ("Rams", {"justify": "right"}),
        "Last mating start",
    )
    for flock in flocks:
        last = flock.mating_starts[-1] if flock.mating_starts else None
        shown.add_row(flock.name, flock.slug, flock.owner, str(flock.rams), day_text(last))
    session.out.print(shown)


@command(app, "show", needs=("json", "data", "today"))
def show(
    session: Session,
    flock: FlockName,
    mating_start: Annotated[
        str,
        typer.Option(
            "--mating-start",
            metavar="DATE",
            help="Which season. [default: the one that is on or comes next]",
        ),
    ] = "",
    all_rams: Annotated[
        bool, typer.Option("--all-rams", help="List the satisfactory rams as well.")
    ] = False,
) -> None:
    """Show a flock's season: rams, things to do, days back from mating."""
    from stell.cli.shapes import season_shape
    from stell.services.seasons import flock_season

    start = day_from(mating_start, "--mating-start") if mating_start else None
    opened(session, create=False)
    season = flock_season(flock, start, today=session.today)
    session.notices.extend(season.notices)
    if session.as_json:
        session.emit(season_shape(season))
        return
    from stell.cli.season_page import print_season

    print_season(session, season, all_rams=all_rams)


@command(app, "mating-start", needs=("json", "data", "by", "today"))
def mating_start(
    session: Session,
    flock: FlockName,
    day: Annotated[str, typer.Argument(metavar="DATE", help="The day the rams go in.")],
) -> None:
    """Set the day the rams go in; a day near one on record moves it."""
    from stell.cli.printing import day_text
    from stell.cli.shapes import flock_shape
    from stell.services.flocks import set_mating_start

    start = day_from(day, "DATE")
    opened(session, create=False)
    changed = set_mating_start(flock, start, by=session.by, now=session.now)
    if session.as_json:
        session.emit(flock_shape(changed))
        return
    session.out.print(f"{changed.name}: the rams go in on {day_text(start)}.")

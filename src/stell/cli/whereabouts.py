"""Commands for what becomes of a ram: he leaves, moves, or gets another tag."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from stell.cli.commands import command
from stell.cli.failing import UsageRefused
from stell.cli.rams import InFlock, RamQuery
from stell.cli.records import opened
from stell.cli.session import Session, day_from

if TYPE_CHECKING:
    from datetime import date

    from stell.services.records import RamRecord

OnDay = Annotated[
    str, typer.Option("--on", metavar="DATE", help="From which day. [default: today]")
]


def register(app: typer.Typer) -> None:
    """Add the commands to `app`."""
    writes = ("json", "data", "by", "today")
    command(app, "leave", needs=writes)(leave)
    command(app, "move", needs=writes)(move)
    command(app, "retag", needs=writes)(retag)


def leave(
    session: Session,
    ram: RamQuery,
    why: Annotated[str, typer.Option("--why", metavar="TEXT", help="sold, died of ..., culled.")],
    flock: InFlock = "",
    on: OnDay = "",
) -> None:
    """Put on record that a ram was sold or has died."""
    from stell.cli.printing import day_text
    from stell.services.rams import find_ram, history
    from stell.services.rams import leave as put

    day = _day(session, on)
    opened(session, create=False)
    record = put(find_ram(ram, flock or None), day, why, by=session.by, now=session.now)
    if notice := history(record).slaughter_notice(day):
        session.notice(notice)
    _tell(session, record, f"left {record.flock_name} on {day_text(day)}: {why}.")


def move(
    session: Session,
    ram: RamQuery,
    to: Annotated[str, typer.Argument(metavar="TO", help="The flock he goes to.")],
    flock: InFlock = "",
    on: OnDay = "",
) -> None:
    """Put on record that a ram goes to another flock on the books."""
    from stell.cli.printing import day_text
    from stell.services.rams import find_ram
    from stell.services.rams import move as put

    day = _day(session, on)
    opened(session, create=False)
    record = put(find_ram(ram, flock or None), to, day, by=session.by, now=session.now)
    _tell(session, record, f"belongs to {record.flock_name} from {day_text(day)}.")


def retag(
    session: Session,
    ram: RamQuery,
    tag: Annotated[str, typer.Option("--tag", metavar="TEXT", help="His new ear tag.")] = "",
    eid: Annotated[
        str, typer.Option("--eid", metavar="NUMBER", help="His new electronic number.")
    ] = "",
    name: Annotated[str, typer.Option("--name", metavar="TEXT", help="His new name.")] = "",
    flock: InFlock = "",
    on: OnDay = "",
) -> None:
    """Give a ram another tag, number or name; the old one stays."""
    from stell.cli.printing import day_text
    from stell.services.rams import find_ram, identify

    given = {s: v for s, v in (("tag", tag), ("eid", eid), ("name", name)) if v}
    if len(given) != 1:
        raise UsageRefused(
            "usage",
            "one mark is changed at a time",
            got=", ".join(given) or "none",
            legal="one of --tag, --eid and --name",
            example='stell retag "HE 101" --tag "HE 2101"',
        )
    ((scheme, value),) = given.items()
    day = _day(session, on)
    opened(session, create=False)
    found = find_ram(ram, flock or None)
    record = identify(found, scheme, value, on=day, by=session.by, now=session.now)
    _tell(session, record, f"has the {scheme} {value} from {day_text(day)}.")


def _day(session: Session, on: str) -> date:
    return day_from(on, "--on") if on else session.today


def _tell(session: Session, record: RamRecord, what: str) -> None:
    from stell.cli.printing import show_notices
    from stell.cli.shapes import ram_shape

    if session.as_json:
        session.emit(ram_shape(record))
        return
    session.out.print(f"{record.label} {what}")
    show_notices(session, session.notices)

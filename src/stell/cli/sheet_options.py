"""The options by which a sheet is read, and what they come to."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stell.cli.failing import UsageRefused
from stell.cli.session import Session, day_from

if TYPE_CHECKING:
    from stell.core.intake import ReadingRules, SheetReading
    from stell.core.protocol.ready import ReadyProtocol
    from stell.core.records import Season

SheetPath = Annotated[
    Path, typer.Argument(metavar="SHEET", help="A CSV or XLSX sheet, one line per ram.")
]
ProtocolName = Annotated[
    str, typer.Option("--protocol", metavar="NAME", help="Which protocol judges.")
]
Mapped = Annotated[
    list[str],
    typer.Option(
        "--map",
        metavar="HEADER=MEANING",
        help="What a column means, where stell cannot tell. May be given several times.",
    ),
]
DateOrder = Annotated[
    str,
    typer.Option(
        "--date-order",
        metavar="ORDER",
        help="day-first or month-first, for a sheet with dates such as 3/4/2026.",
    ),
]
ExaminedOn = Annotated[
    str,
    typer.Option(
        "--examined-on", metavar="DATE", help="Day of the examinations, for a sheet without it."
    ),
]
Examiner = Annotated[
    str, typer.Option("--examiner", metavar="NAME", help="Who examined, for a sheet without it.")
]
Worksheet = Annotated[
    str,
    typer.Option("--worksheet", metavar="NAME", help="Which sheet of a workbook. [default: first]"),
]


def reading_rules(
    session: Session,
    mapped: Iterable[str] = (),
    date_order: str = "",
    examined_on: str = "",
    examiner: str = "",
    worksheet: str = "",
) -> ReadingRules:
    """Return how a sheet is to be read, from the words of the command.

    Raises
    ------
    UsageRefused
        For a ``--map`` without ``=`` or an unknown ``--date-order``.
    """
    from stell.core.intake import ReadingRules

    given = {}
    for text in mapped:
        header, mark, meaning = text.rpartition("=")
        if not mark or not header.strip():
            raise UsageRefused(
                "usage",
                "--map needs a header, = and a meaning",
                got=text,
                legal="HEADER=MEANING",
                example='--map "SC (cm)=circumference"',
            )
        given[header.strip()] = meaning.strip()
    if date_order not in ("", "day-first", "month-first"):
        raise UsageRefused(
            "usage",
            "the order of dates is not known",
            got=date_order,
            legal="day-first, month-first",
            example="--date-order day-first",
        )
    return ReadingRules(
        today=session.today,
        date_order=date_order,
        examined_on=day_from(examined_on, "--examined-on") if examined_on else None,
        examiner=examiner,
        given=given,
        sheet=worksheet,
    )


def season_from(mating_start: str, latitude: float | None) -> Season:
    """Return the season from the words of the command."""
    from stell.core.records import Season

    start = day_from(mating_start, "--mating-start") if mating_start else None
    return Season(mating_start_on=start, latitude_deg=latitude)


def sheet_reading(session: Session, sheet: Path, protocol: ReadyProtocol) -> SheetReading:
    """Return a sheet, read by the words of a protocol."""
    from stell.exchange.reading import read_sheet

    return read_sheet(sheet, protocol, reading_rules(session))

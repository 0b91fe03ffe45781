"""The options by which a sheet is read, and what they come to."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stell.cli.failing import UsageRefused
from stell.cli.session import Session, day_from
from stell.core.errors import ValueRefused

if TYPE_CHECKING:
    from stell.core.intake import ReadingRules
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
MatingStart = Annotated[
    str, typer.Option("--mating-start", metavar="DATE", help="The day the rams go in.")
]
RamType = Annotated[
    str,
    typer.Option(
        "--type",
        metavar="TYPE",
        help="What rams are of which the sheet says no type: hill, lowland, terminal, longwool, "
        "dairy or hair.",
    ),
]


def degrees_from(text: str) -> float:
    """Return a latitude as people type it, with a decimal point or a decimal comma.

    Raises
    ------
    ValueRefused
        `value.range` for what is no number from -90 to 90.

    Examples
    --------
    >>> degrees_from("54.9"), degrees_from("52,3"), degrees_from("-33")
    (54.9, 52.3, -33.0)
    """
    try:
        value = float(text.strip().replace(",", "."))
    except ValueError:
        value = float("nan")
    if not -90 <= value <= 90:
        raise ValueRefused(
            "value.range",
            "this is no latitude",
            got=text,
            legal="degrees from -90 to 90, north positive, with a decimal point or comma",
            example="--latitude 54.9",
            where="--latitude",
        )
    return value


Latitude = Annotated[
    float | None,
    typer.Option(
        "--latitude",
        metavar="DEGREES",
        parser=degrees_from,
        help="Of the flock, north positive; tells rams in season from rams out of it.",
    ),
]


def ram_type_from(word: str) -> str:
    """Return the type of rams that a command gives, or nothing.

    Raises
    ------
    ValueRefused
        `value.choice`.
    """
    from stell.core.records import RAM_TYPES

    plain = word.strip().casefold()
    if plain and plain not in RAM_TYPES:
        raise ValueRefused(
            "value.choice",
            "this is no type of ram",
            got=word,
            legal=", ".join(RAM_TYPES),
            example=f"--type {RAM_TYPES[0]}",
            where="--type",
        )
    return plain


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

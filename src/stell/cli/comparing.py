"""The command ``protocol compare``: what differs, and for which rams of a sheet."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from stell.cli.endings import DIFFERENT, SOME_REFUSED
from stell.cli.named_protocols import protocol_named
from stell.cli.session import Session
from stell.cli.sheet_options import (
    DateOrder,
    ExaminedOn,
    Examiner,
    Latitude,
    Mapped,
    MatingStart,
    RamType,
    Worksheet,
    ram_type_from,
    reading_rules,
    season_from,
)

if TYPE_CHECKING:
    from stell.core.intake import ReadingRules, SheetReading
    from stell.core.protocol.ready import ReadyProtocol
    from stell.core.records import Season
    from stell.services.comparing import Comparison


def compare(
    session: Session,
    first: Annotated[str, typer.Argument(metavar="A", help="Name or file.")],
    second: Annotated[str, typer.Argument(metavar="B", help="Name or file.")],
    sheet: Annotated[
        Path | None,
        typer.Option("--sheet", metavar="SHEET", help="Which rams of this sheet change verdict."),
    ] = None,
    latitude: Latitude = None,
    mating_start: MatingStart = "",
    ram_type: RamType = "",
    mapped: Mapped = [],  # noqa: B006  (typer copies it)
    date_order: DateOrder = "",
    examined_on: ExaminedOn = "",
    examiner: Examiner = "",
    worksheet: Worksheet = "",
) -> None:
    """Show what differs between two protocols, and for which rams.

    The sheet is read by each protocol in its own words, as `judge` reads it.
    """
    from stell.cli.differences import differences

    rules = reading_rules(session, mapped, date_order, examined_on, examiner, worksheet)
    season, ram_type = season_from(mating_start, latitude), ram_type_from(ram_type)
    protocols = (protocol_named(session, first), protocol_named(session, second))
    found = differences(*protocols)
    changed = None
    if sheet is not None:
        changed = _on_sheet(session, sheet, protocols, rules, season, ram_type)
    if session.as_json:
        session.emit(_comparison_dict(protocols, found, changed))
    else:
        from stell.cli.comparison_page import print_comparison
        from stell.cli.printing import show_notices, show_problems

        print_comparison(session, protocols, found, changed)
        show_problems(session, session.problems)
        show_notices(session, session.notices)
    if session.problems:
        raise typer.Exit(SOME_REFUSED)
    if found or (changed is not None and changed.rows):
        raise typer.Exit(DIFFERENT)


def _on_sheet(
    session: Session,
    sheet: Path,
    protocols: tuple[ReadyProtocol, ReadyProtocol],
    rules: ReadingRules,
    season: Season,
    ram_type: str,
) -> Comparison:
    """Read the sheet by each protocol and set the verdicts side by side."""
    from stell.services.comparing import compare_on
    from stell.services.intake import typed

    a, b = (typed(r, ram_type) for r in _readings(sheet, protocols, rules))
    for protocol, reading, other in ((protocols[0], a, b), (protocols[1], b, a)):
        for text in reading.notices:
            session.notice(text if text in other.notices else f"by {protocol.named}: {text}")
    told = {p.text() for p in a.problems}
    session.problems.extend((*a.problems, *(p for p in b.problems if p.text() not in told)))
    return compare_on(a, *protocols, season, read_by_b=b)


def _readings(
    sheet: Path, protocols: tuple[ReadyProtocol, ReadyProtocol], rules: ReadingRules
) -> list[SheetReading]:
    """Return the sheet as each protocol reads it; a meaning only one of them has counts there."""
    from stell.exchange.columns import Vocabulary
    from stell.exchange.reading import read_sheet

    words = [Vocabulary(protocol) for protocol in protocols]
    known = {m for m in rules.given.values() if any(v.accepts(m) for v in words)}
    return [
        read_sheet(
            sheet,
            protocol,
            replace(
                rules,
                given={
                    header: meaning if meaning not in known or own.accepts(meaning) else "ignore"
                    for header, meaning in rules.given.items()
                },
            ),
        )
        for protocol, own in zip(protocols, words, strict=True)
    ]


def _comparison_dict(protocols: Any, found: Any, changed: Any) -> dict[str, Any]:
    answer: dict[str, Any] = {
        "a": protocols[0].named,
        "b": protocols[1].named,
        "differences": [
            {"part": d.part, "key": d.key, "title": d.title, "a": d.first, "b": d.second}
            for d in found
        ],
    }
    if changed is not None:
        answer["judged"] = changed.judged
        answer["rams"] = [
            {"row": r.row.row, "ram": r.row.ram.label, "a": r.a.as_dict(), "b": r.b.as_dict()}
            for r in changed.rows
        ]
    return answer

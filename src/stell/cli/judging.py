"""The command ``judge``: a sheet in, verdicts and what to do by when out, nothing stored."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from stell.cli.commands import command
from stell.cli.failing import UsageRefused
from stell.cli.progress import progress_bar
from stell.cli.protocols import protocol_named
from stell.cli.session import SOME_REFUSED, Session, day_from

if TYPE_CHECKING:
    from stell.core.intake import ReadingRules, SheetReading
    from stell.core.protocol.ready import ReadyProtocol
    from stell.core.records import Season
    from stell.services.intake import JudgedRow, SheetVerdicts

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


def register(app: typer.Typer) -> None:
    """Add the command to `app`."""
    command(app, "judge", needs=("json", "today"))(judge)


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


def judge(
    session: Session,
    sheet: SheetPath,
    flock: Annotated[
        str,
        typer.Option(
            "--flock",
            metavar="NAME",
            help="Whose rams: printed above the table; of a sheet with several flocks, only "
            "this one's rams.",
        ),
    ] = "",
    mating_start: Annotated[
        str, typer.Option("--mating-start", metavar="DATE", help="The day the rams go in.")
    ] = "",
    protocol: ProtocolName = "house",
    latitude: Annotated[
        float | None,
        typer.Option(
            "--latitude",
            metavar="DEGREES",
            help="Of the flock, north positive; tells rams in season from rams out of it.",
        ),
    ] = None,
    mapped: Mapped = [],  # noqa: B006  (typer copies it)
    date_order: DateOrder = "",
    examined_on: ExaminedOn = "",
    examiner: Examiner = "",
    worksheet: Worksheet = "",
    full: Annotated[
        bool, typer.Option("--full", help="With sources, and what the protocol says to do.")
    ] = False,
) -> None:
    """Judge a sheet and print what to do by when. Nothing is stored."""
    from stell.services.intake import judge_sheet

    rules = reading_rules(session, mapped, date_order, examined_on, examiner, worksheet)
    ready = protocol_named(session, protocol)
    season = season_from(mating_start, latitude)
    with progress_bar(session, "Judging") as progress:
        answer = judge_sheet(sheet, ready, rules, season, progress=progress)
    rows = [r for r in answer.rows if _is_of(flock, r)]
    session.problems.extend(answer.reading.problems)
    session.notices.extend(answer.reading.notices)
    if season.latitude_deg is None:
        session.notice("without --latitude the season is not known; size limits may need it")
    if session.as_json:
        session.emit(_as_json(answer, rows, flock))
    else:
        from stell.cli.verdict_tables import print_verdicts

        print_verdicts(session, answer, rows, flock or answer.reading.name, full=full)
    if session.problems:
        raise typer.Exit(SOME_REFUSED)


def _is_of(flock: str, row: JudgedRow) -> bool:
    return not (flock and row.row.flock) or row.row.flock.casefold() == flock.casefold()


def _as_json(answer: SheetVerdicts, rows: Iterable[JudgedRow], flock: str) -> dict[str, Any]:
    from stell.cli.printing import tally_of

    rows = list(rows)
    return {
        "sheet": answer.reading.name,
        "sha256": answer.reading.digest,
        "flock": flock,
        "protocol": answer.protocol.named,
        "mating_start_on": answer.season.mating_start_on,
        "latitude_deg": answer.season.latitude_deg,
        "counts": tally_of(r.decision.outcome for r in rows),
        "rams": [ram_verdict(r) for r in rows],
        "columns": answer.reading.columns,
    }


def ram_verdict(row: JudgedRow) -> dict[str, Any]:
    """Return one judged row as JSON-ready values."""
    exam = row.row.exam
    return {
        "row": row.row.row,
        "flock": row.row.flock,
        "ram": row.row.ram,
        "examined_on": exam.examined_on,
        "examiner": exam.examiner,
        "observations": exam.observations,
        "note": exam.note,
        "outcome": row.decision.outcome,
        "override": row.decision.override,
        "verdict": row.decision.proposed,
    }


def worst_first(rows: Iterable[JudgedRow]) -> list[JudgedRow]:
    """Return rows with the gravest outcome first; within one, what is due first."""

    def place(row: JudgedRow) -> tuple[int, date, int]:
        actions = row.decision.proposed.actions
        return (-row.decision.outcome.rank, actions[0].due_on if actions else date.max, row.row.row)

    return sorted(rows, key=place)

"""The command ``judge``: a sheet in, verdicts and what to do by when out, nothing stored."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from stell.cli.commands import command
from stell.cli.endings import SOME_REFUSED
from stell.cli.named_protocols import protocol_named
from stell.cli.progress import progress_bar
from stell.cli.session import Session
from stell.cli.sheet_options import (
    DateOrder,
    ExaminedOn,
    Examiner,
    Latitude,
    Mapped,
    MatingStart,
    ProtocolName,
    RamType,
    SheetPath,
    Worksheet,
    ram_type_from,
    reading_rules,
    season_from,
)

if TYPE_CHECKING:
    from stell.services.intake import JudgedRow, SheetVerdicts


def register(app: typer.Typer) -> None:
    """Add the command to `app`."""
    command(app, "judge", needs=("json", "today"))(judge)


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
    mating_start: MatingStart = "",
    protocol: ProtocolName = "house",
    latitude: Latitude = None,
    ram_type: RamType = "",
    mapped: Mapped = [],  # noqa: B006  (typer copies it)
    date_order: DateOrder = "",
    examined_on: ExaminedOn = "",
    examiner: Examiner = "",
    worksheet: Worksheet = "",
    full: Annotated[
        bool, typer.Option("--full", help="With sources, and what the protocol says to do.")
    ] = False,
) -> None:
    """Judge a sheet and print what to do by when. Nothing is stored.

    Only what the sheet says is used; `import --dry-run` uses what is on record as well.
    """
    from stell.services.intake import judge_sheet

    rules = reading_rules(session, mapped, date_order, examined_on, examiner, worksheet)
    ready = protocol_named(session, protocol)
    season, ram_type = season_from(mating_start, latitude), ram_type_from(ram_type)
    with progress_bar(session, "Judging") as progress:
        answer = judge_sheet(sheet, ready, rules, season, ram_type=ram_type, progress=progress)
    rows = [r for r in answer.rows if _is_of(flock, r)]
    session.problems.extend(answer.reading.problems)
    session.notices.extend(answer.reading.notices)
    if season.latitude_deg is None:
        session.notice("without --latitude the season is not known; size limits may need it")
    _tell_of_facts(session, sheet, rows)
    if session.as_json:
        session.emit(_as_json(answer, rows, flock))
    else:
        from stell.cli.verdict_tables import print_verdicts

        print_verdicts(session, answer, rows, flock or answer.reading.name, full=full)
    if session.problems:
        raise typer.Exit(SOME_REFUSED)


def _tell_of_facts(session: Session, sheet: Path, rows: Iterable[JudgedRow]) -> None:
    """Say how many rams lack age or type in the sheet, and where it may stand."""
    from stell.cli.printing import counted
    from stell.core.facts import FACT_TITLES

    rows = list(rows)
    ageless = sum(not r.row.ram.born and not r.row.ram.age_class for r in rows)
    wanted = FACT_TITLES["ram_type"]
    typeless = sum(any(wanted in m.detail for m in r.decision.proposed.missing) for r in rows)
    asked = f"`stell import {sheet.name} --dry-run` uses what is on record"
    if ageless:
        session.notice(f"{counted(ageless, 'ram')}: no birth date in the sheet; {asked}")
    if typeless:
        session.notice(
            f"{counted(typeless, 'ram')}: no type in the sheet (hill, lowland, terminal …); "
            f"--type says it for all of them, and {asked}"
        )


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

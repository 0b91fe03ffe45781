"""The command ``import``: a sheet of examinations into the records, all of it or nothing."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stell.cli.commands import command
from stell.cli.endings import SOME_REFUSED
from stell.cli.named_protocols import protocol_named
from stell.cli.progress import progress_bar
from stell.cli.session import Session, day_from
from stell.cli.sheet_options import (
    DateOrder,
    ExaminedOn,
    Examiner,
    Mapped,
    ProtocolName,
    SheetPath,
    Worksheet,
    reading_rules,
)
from stell.core.errors import SheetError

if TYPE_CHECKING:
    from stell.core.intake import ReadingRules
    from stell.core.protocol.ready import ReadyProtocol
    from stell.core.records import Season
    from stell.services.intake import ImportResult, SheetVerdicts


def register(app: typer.Typer) -> None:
    """Add the command to `app`."""
    command(app, "import", needs=("json", "data", "by", "today"))(import_)


def import_(
    session: Session,
    sheet: SheetPath,
    flock: Annotated[
        str,
        typer.Option(
            "--flock",
            metavar="NAME",
            help="Whose rams. May be left out when the sheet has a flock column.",
        ),
    ] = "",
    protocol: ProtocolName = "house",
    mating_start: Annotated[
        str,
        typer.Option(
            "--mating-start",
            metavar="DATE",
            help="The mating these rams were examined for. [default: the flock's own]",
        ),
    ] = "",
    mapped: Mapped = [],  # noqa: B006  (typer copies it)
    date_order: DateOrder = "",
    examined_on: ExaminedOn = "",
    examiner: Examiner = "",
    worksheet: Worksheet = "",
    accept_good_rows: Annotated[
        bool,
        typer.Option("--accept-good-rows", help="Store the good rows although others are refused."),
    ] = False,
    corrections: Annotated[
        str,
        typer.Option(
            "--corrections",
            metavar="REASON",
            help="Rows may replace what is stored for the same ram and day; both stay on record.",
        ),
    ] = "",
    dry_run: Annotated[
        bool,
        typer.Option("--dry-run", help="Read and judge, say what would happen, store nothing."),
    ] = False,
) -> None:
    """Bring a sheet into the records: all of it, or nothing.

    The same sheet may be brought in again: what is stored already is left as it is.
    """
    from stell.cli.records import opened

    rules = reading_rules(session, mapped, date_order, examined_on, examiner, worksheet)
    ready = protocol_named(session, protocol)
    if dry_run:
        _try(session, sheet, ready, rules, _season(session, flock, mating_start))
        return
    from stell.services.intake import import_sheet

    opened(session)
    with progress_bar(session, "Importing") as progress:
        result = import_sheet(
            sheet,
            flock=flock or None,
            protocol=ready,
            rules=rules,
            mating_start_on=day_from(mating_start, "--mating-start") if mating_start else None,
            accept_good_rows=accept_good_rows,
            corrections=corrections,
            by=session.by,
            now=session.now,
            progress=progress,
        )
    if result.problems and not accept_good_rows:
        raise _refused(result)
    _tell(session, sheet.name, result)
    if result.problems:
        raise typer.Exit(SOME_REFUSED)


def _refused(result: ImportResult) -> SheetError:
    """Return the first problem, with the others behind it, as the reason for storing nothing."""
    first = result.problems[0]
    rows = result.refused
    error = SheetError(
        first.code,
        f"nothing was stored, because {rows} {'row was' if rows == 1 else 'rows were'} refused",
        legal="a sheet without a refused row, or --accept-good-rows to store the others",
    )
    error.others = list(result.problems)  # type: ignore[attr-defined]
    return error


def _tell(session: Session, name: str, result: ImportResult) -> None:
    from stell.cli.printing import counted, show_notices, show_problems, tally

    session.notices.extend(result.notices)
    session.problems.extend(result.problems)
    outcomes = {o.value: n for o, n in result.outcomes.items()}
    if session.as_json:
        counts = ("stored", "corrected", "unchanged", "refused", "new_rams")
        parts = {key: getattr(result, key) for key in counts}
        session.emit({"sheet": name, **parts, "outcomes": outcomes, "exam_ids": result.exam_ids})
        return
    done = [f"{counted(result.stored, 'examination')} stored"]
    if result.new_rams:
        done.append(f"{counted(result.new_rams, 'ram')} new on the books")
    for amount, word in ((result.corrected, "corrected"), (result.unchanged, "stored before")):
        if amount:
            done.append(f"{amount:,} {word}")
    if result.refused:
        done.append(f"{counted(result.refused, 'row')} refused")
    session.out.print(f"{name}: {', '.join(done)}.")
    if any(outcomes.values()):
        session.out.print(f"Verdicts: {tally(outcomes)}.")
    show_problems(session, result.problems)
    show_notices(session, session.notices)


def _season(session: Session, flock: str, mating_start: str) -> Season:
    """Return the season by which to try a sheet: the flock's, where it is on the books."""
    from dataclasses import replace

    from stell.cli.records import opened_or_none
    from stell.cli.sheet_options import season_from

    given = season_from(mating_start, None)
    if not flock or not opened_or_none(session):
        return given
    from stell.services.flocks import find_flock

    return replace(given, latitude_deg=find_flock(flock).latitude_deg)


def _try(
    session: Session, sheet: Path, protocol: ReadyProtocol, rules: ReadingRules, season: Season
) -> None:
    from stell.services.intake import judge_sheet

    answer = judge_sheet(sheet, protocol, rules, season)
    session.problems.extend(answer.reading.problems)
    session.notices.extend(answer.reading.notices)
    if session.as_json:
        refused = sorted(answer.reading.refused_rows)
        columns = answer.reading.columns
        session.emit(
            {"sheet": sheet.name, "good": len(answer.rows), "refused": refused, "columns": columns}
        )
    else:
        _print_tried(session, sheet, answer)
    if session.problems:
        raise typer.Exit(SOME_REFUSED)


def _print_tried(session: Session, sheet: Path, answer: SheetVerdicts) -> None:
    from stell.cli.printing import counted, show_notices, show_problems, table, tally

    shown = table(session, "Column", ("Taken to mean", {"style": "bold"}), "Why")
    for column in answer.reading.columns:
        meaning = column.meaning or "not used"
        unit = f" [{column.unit}]" if column.unit else ""
        shown.add_row(column.header, f"{meaning}{unit}", column.why)
    session.out.print(shown)
    session.out.print(
        f"\n{sheet.name}: {counted(len(answer.rows), 'good row')}, "
        f"{counted(len(answer.reading.refused_rows), 'row')} refused. Nothing was stored."
    )
    session.out.print(f"Verdicts: {tally({o.value: n for o, n in answer.counts.items()})}.")
    show_problems(session, session.problems)
    show_notices(session, session.notices)

"""The command ``import``: a sheet of examinations into the records, all of it or nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from stell.cli.commands import command
from stell.cli.endings import SOME_REFUSED
from stell.cli.named_protocols import protocol_named
from stell.cli.printing import show_unmatched
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
    from stell.core.protocol.ready import ReadyProtocol
    from stell.services.intake import ImportResult

_MOST_NAMED = 12


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
        typer.Option(
            "--dry-run",
            help="Do everything, say what came of it, and take it back: nothing is stored.",
        ),
    ] = False,
) -> None:
    """Bring a sheet into the records: all of it, or nothing.

    The same sheet may be brought in again: what is stored already is left as it is.
    """
    from stell.cli.records import opened
    from stell.services.intake import import_sheet

    rules = reading_rules(session, mapped, date_order, examined_on, examiner, worksheet)
    ready = protocol_named(session, protocol)
    opened(session, create=not dry_run)
    with progress_bar(session, "Trying" if dry_run else "Importing") as progress:
        result = import_sheet(
            sheet,
            flock=flock or None,
            protocol=ready,
            rules=rules,
            mating_start_on=day_from(mating_start, "--mating-start") if mating_start else None,
            accept_good_rows=accept_good_rows,
            corrections=corrections,
            trial=dry_run,
            by=session.by,
            now=session.now,
            progress=progress,
        )
    session.notices.extend(result.notices)
    session.problems.extend(result.problems)
    if dry_run:
        stores = accept_good_rows or not result.problems
        _tell_trial(session, sheet.name, result, ready, stores=stores)
    elif result.problems and not accept_good_rows:
        show_unmatched(session, result.unmatched)
        raise _refused(result)
    else:
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
    from stell.cli.printing import show_notices, show_problems

    if session.as_json:
        session.emit(_as_json(name, result))
        return
    show_unmatched(session, result.unmatched)
    session.out.print(f"{name}: {_sum(result)}.")
    _tell_new(session, result)
    _tell_verdicts(session, result)
    show_problems(session, result.problems)
    show_notices(session, session.notices)


def _tell_trial(
    session: Session, name: str, result: ImportResult, protocol: ReadyProtocol, *, stores: bool
) -> None:
    from stell.cli.printing import counted, show_notices, show_problems

    if session.as_json:
        session.emit(_as_json(name, result) | _trial_as_json(result, stores=stores))
        return
    show_unmatched(session, result.unmatched)
    _print_columns(session, result)
    session.out.print()
    if stores:
        session.out.print(f"{name}: this import would come to: {_sum(result)}.")
    else:
        refused = counted(result.refused, "row")
        session.out.print(f"{name}: this import would store nothing: {refused} refused.")
        session.out.print(f"Without them it would come to: {_sum(result)}.")
    _tell_new(session, result)
    _tell_verdicts(session, result)
    if result.judged:
        from stell.cli.verdict_tables import verdict_table

        session.out.print()
        session.out.print(verdict_table(session, result.judged, protocol))
    session.out.print("Nothing was stored: this was a dry run.")
    show_problems(session, result.problems)
    show_notices(session, session.notices)


def _sum(result: ImportResult) -> str:
    from stell.cli.printing import counted

    done = [f"{counted(result.stored, 'examination')} stored"]
    if result.new_rams:
        done.append(f"{counted(result.new_rams, 'ram')} new on the books")
    for amount, word in ((result.corrected, "corrected"), (result.unchanged, "stored before")):
        if amount:
            done.append(f"{amount:,} {word}")
    if result.refused:
        done.append(f"{counted(result.refused, 'row')} refused")
    return ", ".join(done)


def _tell_new(session: Session, result: ImportResult) -> None:
    """Name the rams that are new on the books, so that a slip in a tag is seen at once."""
    from stell.cli.printing import paragraph

    if result.new:
        more = len(result.new) - _MOST_NAMED
        named = ", ".join(result.new[:_MOST_NAMED]) + (f" and {more:,} more" if more > 0 else "")
        paragraph(session, f"New on the books: {named}.")


def _tell_verdicts(session: Session, result: ImportResult) -> None:
    from stell.cli.printing import tally

    outcomes = {o.value: n for o, n in result.outcomes.items()}
    if any(outcomes.values()):
        session.out.print(f"Verdicts: {tally(outcomes)}.")


def _as_json(name: str, result: ImportResult) -> dict[str, Any]:
    counts = ("stored", "corrected", "unchanged", "refused", "new_rams", "new")
    parts = {key: getattr(result, key) for key in counts}
    outcomes = {o.value: n for o, n in result.outcomes.items()}
    return {"sheet": name, **parts, "outcomes": outcomes, "exam_ids": result.exam_ids}


def _trial_as_json(result: ImportResult, *, stores: bool) -> dict[str, Any]:
    from stell.cli.judging import ram_verdict

    return {
        "dry_run": True,
        "would_store": stores,
        "exam_ids": [],
        "refused_rows": result.refused_rows,
        "rams": [ram_verdict(row) for row in result.judged],
        "columns": result.columns,
    }


def _print_columns(session: Session, result: ImportResult) -> None:
    from stell.cli.printing import table

    shown = table(session, "Column", ("Taken to mean", {"style": "bold"}), "Why")
    for column in result.columns:
        meaning = column.meaning or "not used"
        unit = f" [{column.unit}]" if column.unit else ""
        shown.add_row(column.header, f"{meaning}{unit}", column.why)
    session.out.print(shown)

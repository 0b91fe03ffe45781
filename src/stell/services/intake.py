"""Sheets in: judged without a database, or judged and stored in one transaction."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

from stell.core.intake import IntakeRow, ReadingRules, SheetReading
from stell.core.judge import judge
from stell.core.protocol.ready import ReadyProtocol
from stell.core.records import Season
from stell.core.verdict import Decision, Outcome, Override
from stell.services.intake_notices import BlankChecks
from stell.services.intake_values import REPORT_EVERY, ImportResult, JudgedRow, SheetVerdicts
from stell.services.records import FlockRecord, Progress

__all__ = ["ImportResult", "JudgedRow", "SheetVerdicts", "import_sheet", "judge_sheet"]


def judge_sheet(
    path: Path,
    protocol: ReadyProtocol,
    rules: ReadingRules,
    season: Season,
    *,
    ram_type: str = "",
    progress: Progress | None = None,
) -> SheetVerdicts:
    """Read and judge a sheet without a database.

    Parameters
    ----------
    ram_type : str
        What rams are of which the sheet says no type.

    Raises
    ------
    SheetError
        When the sheet as a whole cannot be read; problems of rows are in the answer.
    """
    from stell.exchange.reading import read_sheet

    reading = typed(read_sheet(path, protocol, rules), ram_type)
    return judge_reading(reading, protocol, season, progress=progress)


def typed(reading: SheetReading, ram_type: str) -> SheetReading:
    """Return a sheet whose rams of no stated type are of this one."""
    if not ram_type:
        return reading
    rows = (
        r if r.ram.ram_type else replace(r, ram=replace(r.ram, ram_type=ram_type))
        for r in reading.rows
    )
    return replace(reading, rows=tuple(rows))


def judge_reading(
    reading: SheetReading,
    protocol: ReadyProtocol,
    season: Season,
    *,
    progress: Progress | None = None,
) -> SheetVerdicts:
    """Judge a sheet that has been read."""
    rows = []
    counts: Counter[Outcome] = Counter()
    blanks = BlankChecks(protocol)
    total = len(reading.rows)
    for done, row in enumerate(reading.rows, 1):
        decision = Decision(judge(protocol, row.ram, row.exam, season), own_verdict(row))
        counts[decision.outcome] += 1
        blanks.see(decision.proposed)
        rows.append(JudgedRow(row, decision))
        if progress is not None and (done % REPORT_EVERY == 0 or done == total):
            progress(done, total)
    notices = (*reading.notices, *blanks.notices(reading.columns))
    reading = replace(reading, notices=notices)
    return SheetVerdicts(reading, tuple(rows), protocol, season, dict(counts))


def own_verdict(row: IntakeRow) -> Override | None:
    """Return the vet's own verdict as a row has it."""
    if row.override is None:
        return None
    exam = row.exam
    return Override(row.override, row.override_reason, exam.examiner, exam.examined_on)


def import_sheet(
    path: Path,
    *,
    flock: FlockRecord | str | None,
    protocol: ReadyProtocol,
    rules: ReadingRules,
    mating_start_on: date | None = None,
    accept_good_rows: bool = False,
    corrections: str = "",
    trial: bool = False,
    by: str,
    now: datetime,
    progress: Progress | None = None,
) -> ImportResult:
    """Read, judge and store a sheet: all of it, or nothing.

    Parameters
    ----------
    flock : FlockRecord or str or None
        None: the sheet has a flock column, and every flock in it is on the books.
    mating_start_on : date, optional
        Start of the mating that these rams were examined for; without it the flock's own.
    accept_good_rows : bool, default False
        Store the rows without a problem although others have one.
    corrections : str
        Why rows may replace what is stored for the same ram and day. Empty: such rows are
        refused (`row.conflict`).
    trial : bool, default False
        Go all the way inside the transaction and take it back: the answer says what an import
        would do, and what the good rows would come to where others are refused.

    Raises
    ------
    SheetError
        When the sheet as a whole cannot be read.
    StoreError
        `store.busy` or `store.full`; nothing was stored.
    """
    from stell.services import columns, storing

    reading = columns.read_as_before(path, protocol, rules)
    terms = storing.Terms(
        by=by,
        now=now,
        mating_start_on=mating_start_on,
        accept_good_rows=accept_good_rows,
        corrections=corrections,
        given_columns=rules.given,
        trial=trial,
    )
    return storing.store_reading(reading, flock, protocol, terms, progress)

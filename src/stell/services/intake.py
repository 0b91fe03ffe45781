"""Sheets in: judged without a database, or judged and stored in one transaction."""

from __future__ import annotations

from collections import Counter
from datetime import date, datetime
from pathlib import Path

from stell.core.intake import IntakeRow, ReadingRules, SheetReading
from stell.core.judge import judge
from stell.core.protocol.ready import ReadyProtocol
from stell.core.records import Season
from stell.core.verdict import Decision, Outcome, Override
from stell.services.intake_values import REPORT_EVERY, ImportResult, JudgedRow, SheetVerdicts
from stell.services.records import FlockRecord, Progress

__all__ = ["ImportResult", "JudgedRow", "SheetVerdicts", "import_sheet", "judge_sheet"]


def judge_sheet(
    path: Path,
    protocol: ReadyProtocol,
    rules: ReadingRules,
    season: Season,
    *,
    progress: Progress | None = None,
) -> SheetVerdicts:
    """Read and judge a sheet without a database.

    Raises
    ------
    SheetError
        When the sheet as a whole cannot be read; problems of rows are in the answer.
    """
    from stell.exchange.reading import read_sheet

    return judge_reading(read_sheet(path, protocol, rules), protocol, season, progress=progress)


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
    total = len(reading.rows)
    for done, row in enumerate(reading.rows, 1):
        decision = Decision(judge(protocol, row.ram, row.exam, season), own_verdict(row))
        counts[decision.outcome] += 1
        rows.append(JudgedRow(row, decision))
        if progress is not None and (done % REPORT_EVERY == 0 or done == total):
            progress(done, total)
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
    )
    return storing.store_reading(reading, flock, protocol, terms, progress)

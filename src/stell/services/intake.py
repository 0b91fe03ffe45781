"""Sheets in: judged without a database, or judged and stored in one transaction."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path

from stell.core.errors import StellError
from stell.core.intake import IntakeRow, ReadingRules, SheetReading
from stell.core.judge import judge
from stell.core.protocol.ready import ReadyProtocol
from stell.core.records import Season
from stell.core.verdict import Decision, Outcome, Override
from stell.services.records import FlockRecord, Progress

REPORT_EVERY = 250  # rows between two reports of progress


@dataclass(frozen=True, slots=True)
class JudgedRow:
    """One row of a sheet and what stands for it."""

    row: IntakeRow
    decision: Decision


@dataclass(frozen=True, slots=True)
class SheetVerdicts:
    """A whole sheet, judged.

    Attributes
    ----------
    reading : SheetReading
        Columns, problems and notices stand there.
    rows : tuple of JudgedRow
        In sheet order; refused rows are left out.
    counts : mapping of Outcome to int
        By the outcome that counts (the vet's own where the sheet has one). [rams]
    """

    reading: SheetReading
    rows: tuple[JudgedRow, ...]
    protocol: ReadyProtocol
    season: Season
    counts: Mapping[Outcome, int]


@dataclass(frozen=True, slots=True)
class ImportResult:
    """What an import did.

    Attributes
    ----------
    stored, unchanged, refused, corrected : int
        Rows. `corrected` rows are not counted in `stored`. Nothing at all was stored when
        `problems` is not empty and bad rows were not to be passed over. [rows]
    problems : tuple of StellError
        Each names row and column in `where`.
    exam_ids : tuple of str
        Of new records (stored or corrected), in sheet order.
    notices : tuple of str
        What was assumed.
    outcomes : mapping of Outcome to int
        Of the new records, by the outcome that counts.
    new_rams : int
        Rams that were not on the books before.
    """

    stored: int = 0
    unchanged: int = 0
    refused: int = 0
    corrected: int = 0
    problems: tuple[StellError, ...] = ()
    exam_ids: tuple[str, ...] = ()
    notices: tuple[str, ...] = ()
    outcomes: Mapping[Outcome, int] = field(default_factory=dict)
    new_rams: int = 0


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

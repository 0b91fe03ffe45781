"""What services say of sheets: judged ones, and ones that were brought in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from stell.core.errors import StellError
from stell.core.intake import ColumnMatch, IntakeRow, SheetReading
from stell.core.protocol.ready import ReadyProtocol
from stell.core.records import Season
from stell.core.verdict import Decision, Outcome

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
        `problems` is not empty and bad rows were not to be passed over. Of a trial: what would
        have been stored of the good rows. [rows]
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
    new : tuple of str
        What a person calls them, in sheet order.
    unmatched : tuple of str
        Those of `notices` that speak of columns without a known meaning.
    columns : tuple of ColumnMatch
        What each column was taken to mean.
    refused_rows : tuple of int
        Their numbers.
    judged : tuple of JudgedRow
        Of a trial only: the rows that would be stored, each ram as he is known, and the verdicts.
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
    new: tuple[str, ...] = ()
    unmatched: tuple[str, ...] = ()
    columns: tuple[ColumnMatch, ...] = ()
    refused_rows: tuple[int, ...] = ()
    judged: tuple[JudgedRow, ...] = ()

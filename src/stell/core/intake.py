"""What one row of a sheet says, once it is understood. Made by `exchange`, stored by `services`."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from stell.core.errors import StellError
from stell.core.records import Examination, Ram
from stell.core.verdict import Outcome


@dataclass(frozen=True, slots=True)
class IntakeRow:
    """One examination of one ram, as a sheet row gave it.

    Attributes
    ----------
    row : int
        The row's number in the sheet as a person counts it: the header is row 1.
    ram : Ram
        `ram_id` is empty: which stored ram this is, is decided on storing.
    exam : Examination
        `exam_id` is empty unless the sheet has a column for it; `ram_id` is empty.
    flock : str
        From a flock column; empty when the sheet has none.
    override : Outcome or None
        The vet's own verdict, when the sheet has a column for it.
    override_reason : str
        Must not be empty when `override` is set.
    """

    row: int
    ram: Ram
    exam: Examination
    flock: str = ""
    override: Outcome | None = None
    override_reason: str = ""


@dataclass(frozen=True, slots=True)
class ColumnMatch:
    """What one column of a sheet was taken to mean.

    Attributes
    ----------
    column : int
        Position from 0.
    header : str
        As written.
    meaning : str
        A check id, an `INTAKE_FIELDS` name, ``remark:<check id>``, ``stop:<stop id>``, or empty
        when the column is not used.
    unit : str
        Unit name read from the header, or empty.
    why : str
        ``saved``, ``given``, ``exact``, ``synonym`` or ``none``.
    """

    column: int
    header: str
    meaning: str
    unit: str = ""
    why: str = ""


INTAKE_FIELDS: dict[str, str] = {
    "flock": "which flock he belongs to",
    "tag": "visible ear tag",
    "eid": "15-digit electronic number",
    "name": "name",
    "breed": "breed",
    "ram_type": "hill, lowland, terminal, longwool, dairy or hair",
    "born_on": "birth date, month or year",
    "age_months": "age in months at the examination",
    "age_class": "ram lamb, shearling …, at the examination",
    "intended_use": "replacements, terminal or both",
    "circumstances": "bought in, single sire, synchronised, poor result before, for sale",
    "examined_on": "day of the examination",
    "examiner": "who examined",
    "note": "free text",
    "rest_normal": "yes: every choice left empty in this row was looked at and normal",
    "override": "the vet's own verdict",
    "override_reason": "why the vet's verdict differs",
    "exam_id": "UUID of the examination",
}


@dataclass(frozen=True, slots=True)
class SheetReading:
    """A whole sheet, understood row by row.

    Attributes
    ----------
    name : str
        File name, without folders.
    digest : str
        SHA-256 of the file's bytes, hex.
    columns : tuple of ColumnMatch
    rows : tuple of IntakeRow
        Rows without a problem, in sheet order.
    problems : tuple of StellError
        Every refused cell or row; each names row and column in `where`.
    refused_rows : frozenset of int
        Numbers of the rows that have a problem.
    notices : tuple of str
        What was assumed or left out, for a person to read.
    unmatched : tuple of str
        Those of `notices` that speak of columns without a known meaning.
    """

    name: str
    digest: str
    columns: tuple[ColumnMatch, ...]
    rows: tuple[IntakeRow, ...]
    problems: tuple[StellError, ...] = ()
    refused_rows: frozenset[int] = field(default_factory=frozenset)
    notices: tuple[str, ...] = ()
    unmatched: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ReadingRules:
    """How a sheet is to be read where it could mean two things.

    Attributes
    ----------
    today : date
        Dates after it are refused.
    date_order : str
        ``day-first``, ``month-first`` or empty: without it an ambiguous date is refused.
    decimal_comma : bool or None
        None: both are understood cell by cell.
    examined_on : date or None
        For a sheet without a date column.
    examiner : str
        For a sheet without an examiner column.
    given : mapping of header to meaning
        A person's own matching of columns, or a saved one.
    sheet : str
        Name of the worksheet, or empty for the first one with rows.
    """

    today: date
    date_order: str = ""
    decimal_comma: bool | None = None
    examined_on: date | None = None
    examiner: str = ""
    given: dict[str, str] = field(default_factory=dict)
    sheet: str = ""

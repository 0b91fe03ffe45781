"""A sheet as it stands in the file: titles, rows of raw cells, and where each came from."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta

from stell.core.errors import SheetError
from stell.exchange.phrases import column_letter

# Marks without a shape: joins that are not seen, byte order marks, turns of the reading order.
_UNSEEN = dict.fromkeys(
    [0xAD, 0x200B, 0x2060, 0xFEFF, *range(0x202A, 0x202F), *range(0x2066, 0x206A)]
)

Cell = str | float | int | bool | date | datetime | time | timedelta


@dataclass(frozen=True, slots=True)
class Table:
    """The table of a sheet: one row of titles and what stands below it.

    Attributes
    ----------
    name : str
        File name, without folders.
    digest : str
        SHA-256 of the file's bytes, hex.
    sheet : str
        Title of the worksheet; empty for CSV.
    headers : tuple of str
    header_row : int
        As a person counts: the sheet's first row is 1.
    rows : list of list of Cell
        As wide as `headers`, blank rows left out. Text stands as in the file.
    row_numbers : list of int
        The number of each of `rows` as the spreadsheet shows it.
    troubles : mapping of (row number, column) to str
        Cells whose contents cannot be trusted, and why. Columns from 0.
    notices : tuple of str
        What was assumed or left out.
    """

    name: str
    digest: str
    sheet: str
    headers: tuple[str, ...]
    header_row: int
    rows: list[list[Cell]]
    row_numbers: list[int]
    troubles: Mapping[tuple[int, int], str] = field(default_factory=dict)
    notices: tuple[str, ...] = ()

    @property
    def is_workbook(self) -> bool:
        """Whether cells have types of their own."""
        return bool(self.sheet)

    def place(self, column: int) -> str:
        """Return a column as a person finds it, for example ``column D (SC)``."""
        header = self.headers[column].strip()
        return f"column {column_letter(column)}" + (f" ({header})" if header else "")


class RowError(SheetError):
    """A refused cell or row of a sheet.

    Attributes
    ----------
    row : int
        The row's number as the spreadsheet shows it.
    column : int or None
        Position from 0, or None when the row as a whole is meant.
    header : str
        The column's title.
    alike : str
        What is wrong, in words that fit every such cell of the column (see `refusal.Refused`).
    """

    row: int = 0
    column: int | None = None
    header: str = ""
    alike: str = ""

    @classmethod
    def at(cls, table: Table, row: int, column: int | None, error: SheetError) -> RowError:
        """Return `error` with the place in the sheet."""
        where = f"row {row}" if column is None else f"row {row}, {table.place(column)}"
        placed = cls(
            error.code,
            error.problem,
            got=error.got,
            legal=error.legal,
            example=error.example,
            where=where,
        )
        placed.row = row
        placed.column = column
        placed.header = "" if column is None else table.headers[column]
        placed.alike = getattr(error, "alike", "")
        return placed


def is_blank(cell: Cell) -> bool:
    """Tell whether a cell holds nothing a person can see."""
    return isinstance(cell, str) and not visible(cell).strip()


def visible(text: str) -> str:
    r"""Return a text without marks that have no shape, each letter written in one way.

    Two tags that look the same are the same tag, whichever program wrote them.

    Examples
    --------
    >>> visible("\ufeffR12\u200b"), visible("Bjo\u0308rn") == "Bj\xf6rn"
    ('R12', True)
    """
    if text.isascii():
        return text
    return unicodedata.normalize("NFC", text.translate(_UNSEEN))


def shown(cell: Cell) -> str:
    """Return a cell as text, a whole number without decimals.

    Examples
    --------
    >>> shown(12.0), shown(34.5), shown(" R12 ")
    ('12', '34.5', 'R12')
    """
    if isinstance(cell, bool):
        return "TRUE" if cell else "FALSE"
    if isinstance(cell, float):
        return str(int(cell)) if cell.is_integer() and abs(cell) < 1e16 else repr(cell)
    if isinstance(cell, datetime | date):
        return cell.isoformat()
    return " ".join(visible(str(cell)).split())


class NotExamined:
    """The one value of a cell that says: looked at, and written down as not examined."""

    def __repr__(self) -> str:
        """Return its name."""
        return "NOT_EXAMINED"


NOT_EXAMINED = NotExamined()

"""XLSX and ODS workbooks: which worksheet is meant, and its cells as they are stored."""

from __future__ import annotations

import io
from dataclasses import dataclass

from python_calamine import (
    CalamineError,
    CalamineWorkbook,
    PasswordError,
    SheetTypeEnum,
    SheetVisibleEnum,
)

from stell.core.errors import SheetError
from stell.exchange.cells import Cell
from stell.exchange.container import Worksheet, kind_of, open_workbook, unreadable
from stell.exchange.limits import refuse_extent
from stell.exchange.ods_cells import look_into_ods
from stell.exchange.phrases import near, plain
from stell.exchange.xlsx_cells import look_into_xlsx

Range = tuple[tuple[int, int], tuple[int, int]]


@dataclass(frozen=True, slots=True)
class WorkbookGrid:
    """One worksheet as it stands, from its first row and column on.

    Attributes
    ----------
    title : str
    rows : list of list of Cell
        All rows, empty ones too, so that the position is the spreadsheet's own.
    merged : list of ((row, column), (row, column))
        First and last cell of each merged range, counted from 0.
    lost : mapping of (row, column) to str
        Cells that look empty and are not, and why.
    other_titles : tuple of str
        Other worksheets that hold rows and were not read.
    """

    title: str
    rows: list[list[Cell]]
    merged: list[Range]
    lost: dict[tuple[int, int], str]
    other_titles: tuple[str, ...]


def read_workbook(raw: bytes, name: str, *, sheet: str = "") -> WorkbookGrid:
    """Return one worksheet of an XLSX or ODS file: the named one, or the first with rows.

    Raises
    ------
    SheetError
        `sheet.unreadable`, `sheet.empty`, `sheet.too_large`.
    """
    with open_workbook(raw, name) as archive:
        kind = kind_of(archive, name)
        look_into = look_into_xlsx if kind == "xlsx" else look_into_ods
        seen = look_into(archive, name)
    try:
        return _read(raw, name, sheet, seen)
    except PasswordError:
        raise unreadable("the workbook is protected by a password", name) from None
    except (CalamineError, ValueError, OverflowError, OSError, MemoryError) as error:
        raise unreadable(f"the workbook is damaged ({error})", name) from None
    except BaseException as error:
        # The reader is written in Rust; its panics do not derive from Exception.
        if type(error).__name__ != "PanicException":
            raise
        raise unreadable("the workbook is damaged", name) from None


def _read(raw: bytes, name: str, wanted: str, seen: dict[str, Worksheet]) -> WorkbookGrid:
    with CalamineWorkbook.from_filelike(io.BytesIO(raw)) as book:
        titles = _titles(book, wanted, name)
        missing = [t for t in titles if t not in seen]
        if missing:
            raise unreadable(f"the worksheet {missing[0]!r} cannot be found in the file", name)
        filled = [t for t in titles if seen[t].filled]
        if not filled:
            raise _empty(wanted, name)
        title, *others = filled
        sheet = book.get_sheet_by_name(title)
        if sheet.end is None:
            raise _empty(title, name)
        refuse_extent(sheet.end[0] + 1, sheet.end[1] + 1, name)
        merged = sheet.merged_cell_ranges
        return WorkbookGrid(
            title=title,
            rows=sheet.to_python(skip_empty_area=False),
            merged=list(merged) if merged is not None else seen[title].merged,
            lost=seen[title].lost,
            other_titles=tuple(others),
        )


def _titles(book: CalamineWorkbook, wanted: str, name: str) -> list[str]:
    """Return the worksheets to look at, in order: the wanted one, or all that are visible."""
    worksheets = [m for m in book.sheets_metadata if m.typ == SheetTypeEnum.WorkSheet]
    if not wanted:
        shown = [m.name for m in worksheets if m.visible == SheetVisibleEnum.Visible]
        return shown or [m.name for m in worksheets]
    for meta in worksheets:
        if meta.name == wanted or plain(meta.name) == plain(wanted):
            return [meta.name]
    names = [m.name for m in worksheets]
    raise SheetError(
        "sheet.unreadable",
        "the workbook has no worksheet of that name",
        got=wanted,
        legal=", ".join(repr(n) for n in names[:20]),
        example=(near(wanted, names) or names or ["Sheet1"])[0],
        where=name,
    )


def _empty(wanted: str, name: str) -> SheetError:
    return SheetError(
        "sheet.empty",
        f"the worksheet {wanted!r} holds no rows" if wanted else "no worksheet holds any rows",
        legal="a row of column titles and at least one row below it",
        example="tag, date, scrotal circumference (cm)",
        where=name,
    )

"""Write tables as CSV and XLSX, so that no spreadsheet runs, rounds or misreads what is in them.

A text that a spreadsheet would run as a formula gets an apostrophe in front in CSV (see
`delimited.guarded`; reading takes it off again) and is stored as text in XLSX. Ids are text cells,
days are real days in XLSX and ISO 8601 in CSV, numbers stay numbers, negative ones too.
"""

from __future__ import annotations

import csv
import errno
import os
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from decimal import Decimal
from itertools import chain, islice
from pathlib import Path
from typing import Any

from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.utils import get_column_letter

from stell.core.errors import SheetError, StoreError
from stell.exchange.delimited import guarded

KINDS = ("text", "id", "integer", "number", "date", "datetime", "yes_no")
MOST_XLSX_ROWS = 1_048_576
MOST_XLSX_TEXT = 32_767
_WIDTHS_FROM = 200
_WIDEST, _NARROWEST = 48, 7
_NOT_IN_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
_LIKE_ESCAPE = re.compile(r"_(?=x[0-9A-Fa-f]{4}_)")
_FORMATS = {"date": "d mmm yyyy", "datetime": "d mmm yyyy hh:mm", "id": "@", "text": "@"}
_SLATE = "FF3B4A54"


@dataclass(frozen=True, slots=True)
class TableField:
    """One column of a table that is written.

    Attributes
    ----------
    name : str
        Column title and key of the rows' values; names its unit, as in ``circumference_cm``.
    kind : str
        One of `KINDS`. A value of another kind is written as what it is.
    about : str
        What stands in it, for the description of the data.
    constraints : mapping
        For the description of the data: required, unique, enum, minimum, maximum, pattern.
    """

    name: str
    kind: str = "text"
    about: str = ""
    constraints: Mapping[str, Any] = field(default_factory=dict)


Row = Mapping[str, Any]


def write_csv(
    path: Path,
    fields: Sequence[TableField],
    rows: Iterable[Row],
    *,
    bom: bool = False,
    delimiter: str = ",",
) -> int:
    """Write a CSV file in UTF-8 (RFC 4180) and return how many rows it has.

    Parameters
    ----------
    path : Path
        Replaced only when all is written.
    fields : sequence of TableField
    rows : iterable of mappings from field name to value
        A missing value or None is an empty cell.
    bom : bool
        Begin with the mark by which spreadsheets recognise UTF-8.
    delimiter : str

    Raises
    ------
    StoreError
        `store.full` when there is no room left.
    SheetError
        `sheet.unreadable` when the file cannot be written.
    """
    count = 0
    with _written_whole(path) as half_done:
        encoding = "utf-8-sig" if bom else "utf-8"
        with half_done.open("w", encoding=encoding, newline="", errors="replace") as out:
            writer = csv.writer(out, delimiter=delimiter, lineterminator="\r\n")
            writer.writerow([guarded(f.name) for f in fields])
            for row in rows:
                writer.writerow([csv_text(row.get(f.name)) for f in fields])
                count += 1
    return count


def csv_text(value: Any) -> str:
    """Return a value as it stands in CSV.

    Examples
    --------
    >>> csv_text(-5), csv_text("-5"), csv_text(date(2026, 10, 4)), csv_text(True)
    ('-5', "'-5", '2026-10-04', 'true')
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, float | Decimal):
        return f"{Decimal(repr(value)) if isinstance(value, float) else value:f}"
    if isinstance(value, datetime | date):
        return value.isoformat()
    return guarded(_NOT_IN_XML.sub("\ufffd", str(value)))


def write_xlsx(path: Path, sheets: Mapping[str, tuple[Sequence[TableField], Iterable[Row]]]) -> int:
    """Write an XLSX workbook and return how many rows it has in all.

    The title row stays in view and on every printed page; pages are A4 across, as wide as the
    table.

    Parameters
    ----------
    path : Path
        Replaced only when all is written.
    sheets : mapping of worksheet title to (fields, rows)

    Raises
    ------
    SheetError
        `sheet.too_large` beyond what XLSX holds; `row.value` for a text it would cut.
    StoreError
        `store.full` when there is no room left.
    """
    book = Workbook(write_only=True)
    taken: set[str] = set()
    count = 0
    try:
        for title, (fields, rows) in sheets.items():
            count += _fill(book.create_sheet(_title(title, taken)), fields, rows)
    except BaseException:
        for begun in book.worksheets:
            begun.close()  # type: ignore[attr-defined]
        raise
    with _written_whole(path) as half_done:
        book.save(half_done)
    return count


def _fill(sheet: Any, fields: Sequence[TableField], rows: Iterable[Row]) -> int:
    stream = iter(rows)
    first = list(islice(stream, _WIDTHS_FROM))
    _set_page(sheet, fields, first)
    sheet.append([_title_cell(sheet, f.name) for f in fields])
    count = 0
    for row in chain(first, stream):
        count += 1
        if count >= MOST_XLSX_ROWS:
            raise SheetError(
                "sheet.too_large",
                "the table has more rows than an XLSX worksheet holds",
                got=f"more than {count - 1:,}",
                legal=f"up to {MOST_XLSX_ROWS - 1:,} rows",
                example="CSV, which has no limit",
            )
        sheet.append([_cell(sheet, f, row.get(f.name), count + 1) for f in fields])
    if fields:
        sheet.auto_filter.ref = f"A1:{get_column_letter(len(fields))}{count + 1}"
    return count


def _set_page(sheet: Any, fields: Sequence[TableField], first: Sequence[Row]) -> None:
    for position, f in enumerate(fields, 1):
        longest = max((len(csv_text(r.get(f.name))) for r in first), default=0)
        width = min(max(longest, len(f.name) + 3, _NARROWEST), _WIDEST)
        sheet.column_dimensions[get_column_letter(position)].width = width + 1
    sheet.freeze_panes = "A2"
    sheet.print_title_rows = "1:1"
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.paperSize = 9  # A4
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.page_setup.fitToWidth = 1
    sheet.page_setup.fitToHeight = 0
    sheet.oddFooter.center.text = "&A, page &P of &N"


def _title_cell(sheet: Any, text: str) -> Any:
    cell = _text_cell(sheet, text, "the title row")
    cell.font = Font(bold=True)
    cell.fill = PatternFill("solid", fgColor="FFE9ECEE")
    cell.border = Border(bottom=Side("thin", color=_SLATE))
    cell.alignment = Alignment(wrap_text=True, vertical="top")
    return cell


def _cell(sheet: Any, f: TableField, value: Any, row: int) -> Any:
    if value is None or value == "":
        return None
    if isinstance(value, bool):
        return value
    if isinstance(value, int | float | Decimal) and f.kind != "id":
        return value
    if isinstance(value, datetime):
        # XLSX knows no time zones; every time is written as UTC.
        plain = value.astimezone(UTC).replace(tzinfo=None) if value.tzinfo else value
        return _formatted(sheet, plain, "datetime")
    if isinstance(value, date):
        return _formatted(sheet, value, "date")
    text = str(value)
    if f.kind != "id" and guarded(text) == text and len(text) <= MOST_XLSX_TEXT and text[0] != "#":
        return _xml_text(text)
    return _text_cell(sheet, text, f"row {row}, column {f.name}")


def _formatted(sheet: Any, value: Any, kind: str) -> Any:
    cell = WriteOnlyCell(sheet, value)
    cell.number_format = _FORMATS[kind]
    return cell


def _text_cell(sheet: Any, text: str, where: str) -> Any:
    if len(text) > MOST_XLSX_TEXT:
        raise SheetError(
            "row.value",
            "the text is longer than an XLSX cell holds",
            got=f"{len(text):,} characters",
            legal=f"up to {MOST_XLSX_TEXT:,} characters",
            example="CSV or JSON, which have no limit",
            where=where,
        )
    cell = WriteOnlyCell(sheet, _xml_text(text))
    cell.data_type = "s"  # whatever it begins with, it is no formula and no error
    cell.number_format = "@"
    cell.quotePrefix = guarded(text) != text
    return cell


def _xml_text(text: str) -> str:
    """Return a text as an XLSX cell stores it (ECMA-376, ST_Xstring: ``_xHHHH_``)."""
    return _LIKE_ESCAPE.sub("_x005F_", _NOT_IN_XML.sub("\ufffd", text)).replace("\r", "_x000D_")


def _title(wanted: str, taken: set[str]) -> str:
    """Return a worksheet title that XLSX allows and no other worksheet has."""
    base = re.sub(r"[\[\]:*?/\\]", " ", wanted).strip().strip("'")[:31] or "Sheet"
    title, number = base, 2
    while title.casefold() in taken:
        ending = f" {number}"
        title, number = base[: 31 - len(ending)] + ending, number + 1
    taken.add(title.casefold())
    return title


@contextmanager
def _written_whole(path: Path) -> Iterator[Path]:
    """Yield a file beside `path` that takes its place once it is complete."""
    half_done = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        yield half_done
        half_done.replace(path)
    except OSError as error:
        raise _not_written(error, path) from None
    finally:
        half_done.unlink(missing_ok=True)


def _not_written(error: OSError, path: Path) -> StoreError | SheetError:
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return StoreError("store.full", "there is no room left to write", where=str(path))
    return SheetError(
        "sheet.unreadable",
        f"the file cannot be written: {error.strerror or error}",
        legal="a folder that exists and may be written to",
        where=str(path),
    )

"""Workbooks for tests: written by openpyxl, and by hand where no writer makes such a file."""

import io
import zipfile
from collections.abc import Callable, Iterable
from typing import Any

from openpyxl import Workbook

_MIMETYPE = "application/vnd.oasis.opendocument.spreadsheet"
_NAMES = {
    "office": "urn:oasis:names:tc:opendocument:xmlns:office:1.0",
    "table": "urn:oasis:names:tc:opendocument:xmlns:table:1.0",
    "text": "urn:oasis:names:tc:opendocument:xmlns:text:1.0",
    "calcext": "urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0",
}


def xlsx(rows: Iterable[list[Any]], *merged: str, title: str = "Rams") -> bytes:
    """Return a workbook with one worksheet."""
    book = Workbook()
    sheet = book.active
    sheet.title = title
    for row in rows:
        sheet.append(row)
    for span in merged:
        sheet.merge_cells(span)
    return saved(book)


def saved(book: Workbook) -> bytes:
    """Return the bytes of a workbook."""
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def repacked(raw: bytes, part: str, old: str, new: str) -> bytes:
    """Return a workbook with a text replaced in one of its parts."""

    def replaced(content: bytes) -> bytes:
        assert old.encode() in content, f"{old!r} is not in {part}"
        return content.replace(old.encode(), new.encode())

    return rewritten(raw, replaced, part)


def rewritten(
    raw: bytes, change: Callable[[bytes], bytes], part: str = "xl/worksheets/sheet1.xml"
) -> bytes:
    """Return a workbook with one of its parts changed."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(raw)) as before, zipfile.ZipFile(out, "w") as after:
        for name in before.namelist():
            content = before.read(name)
            after.writestr(name, change(content) if name == part else content, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def zipped(parts: dict[str, bytes]) -> bytes:
    """Return a zip of these parts."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return out.getvalue()


def ods(body: str, *, manifest: str = "", mimetype: str = _MIMETYPE) -> bytes:
    """Return an ODS file with the given tables (XML)."""
    names = " ".join(f'xmlns:{key}="{value}"' for key, value in _NAMES.items())
    content = (
        f'<?xml version="1.0"?><office:document-content {names} office:version="1.3">'
        f"<office:body><office:spreadsheet>{body}</office:spreadsheet></office:body>"
        "</office:document-content>"
    )
    space = "urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"
    listing = f'<manifest:manifest xmlns:manifest="{space}">{manifest}</manifest:manifest>'
    return zipped(
        {
            "mimetype": mimetype.encode(),
            "content.xml": content.encode(),
            "META-INF/manifest.xml": listing.encode(),
        }
    )


def ods_table(name: str, rows: Iterable[Iterable[str]]) -> str:
    """Return a table of cells (XML), one row element for each row."""
    inside = "".join(f"<table:table-row>{''.join(row)}</table:table-row>" for row in rows)
    return f'<table:table table:name="{name}">{inside}</table:table>'


def ods_cell(value: Any, attributes: str = "") -> str:
    """Return a text, number or date cell (XML)."""
    if value is None:
        return f"<table:table-cell {attributes}/>"
    if isinstance(value, int | float):
        kind = f'office:value-type="float" office:value="{value}"'
    elif hasattr(value, "isoformat"):
        kind = f'office:value-type="date" office:date-value="{value.isoformat()}"'
    else:
        kind = 'office:value-type="string"'
    return f"<table:table-cell {kind} {attributes}><text:p>{value}</text:p></table:table-cell>"

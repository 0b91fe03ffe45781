"""XLSX worksheets before they are read: how far the table reaches, and which cells get lost.

One stray cell in the last corner of a worksheet makes a table of 17 thousand million cells. The
reader hands error cells and formulas without a stored result out as empty; they are found here,
so that they are never taken for "not examined".
"""

from __future__ import annotations

import posixpath
import re
import zipfile
from collections.abc import Iterator

from stell.exchange.container import Worksheet, part_of, tree, unreadable
from stell.exchange.limits import MAX_CELLS, MAX_COLUMNS, MAX_ROWS, refuse_extent

_ROOT = re.compile(rb"<(\w+:)?worksheet\b")
_REFERENCE = re.compile(rb"""\br\s*=\s*["']([A-Z]{1,3})([0-9]{1,7})["']""")
_ROW_NUMBERS = re.compile(rb"""row\b[^>]*?\br\s*=\s*["']([0-9]{1,7})["']""")
_ERROR_TYPE = re.compile(rb"""\bt\s*=\s*["']e["']""")
_TEXT_TYPE = re.compile(rb"""\bt\s*=\s*["']str["']""")
_FORMULA = re.compile(rb"<(?:\w+:)?f\b")
_FILLED = re.compile(rb"<(?:\w+:)?[vtf]\b")
_STORED = re.compile(rb"<(?:\w+:)?[vt]\b[^>/]*>[^<]")
_LETTERS, _DIGITS = b"ABCDEFGHIJKLMNOPQRSTUVWXYZ", b"0123456789"
_FEW_COLUMNS = MAX_CELLS // MAX_ROWS  # with so few, no number of rows makes too many cells


def look_into_xlsx(archive: zipfile.ZipFile, name: str) -> dict[str, Worksheet]:
    """Return what was seen in each worksheet, by its title.

    Raises
    ------
    SheetError
        `sheet.too_large` when a worksheet's table would be, `sheet.unreadable` when it is damaged.
    """
    seen = {}
    names = set(archive.namelist())
    for title, part in _xlsx_parts(archive, name).items():
        if part in names:
            seen[title] = _look_into_cells(part_of(archive, part, name), name)
    return seen


def _xlsx_parts(archive: zipfile.ZipFile, name: str) -> dict[str, str]:
    """Return the worksheets' parts by title, in the order of the workbook."""
    root = "xl/workbook.xml"
    for target, kind in _relations(archive, "_rels/.rels", "", name).values():
        if kind.endswith("/officeDocument"):
            root = target
    folder, leaf = posixpath.split(root)
    targets = _relations(archive, f"{folder}/_rels/{leaf}.rels".lstrip("/"), folder, name)
    parts = {}
    for element in tree(archive, root, name).iter():
        if element.tag.rpartition("}")[2] == "sheet":
            key = next((v for k, v in element.attrib.items() if k.endswith("}id")), "")
            if key in targets:
                parts[element.get("name", "")] = targets[key][0]
    return parts


def _relations(
    archive: zipfile.ZipFile, part: str, folder: str, name: str
) -> dict[str, tuple[str, str]]:
    if part not in archive.namelist():
        return {}
    found = {}
    for element in tree(archive, part, name).iter():
        target = element.get("Target", "")
        if target and element.get("TargetMode") != "External":
            place = target[1:] if target[0] == "/" else posixpath.join(folder, target)
            place = posixpath.normpath(place)
            found[element.get("Id", "")] = (place, element.get("Type", ""))
    return found


def _look_into_cells(xml: bytes, name: str) -> Worksheet:
    sheet = Worksheet()
    if xml.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise unreadable("a worksheet is written in UTF-16, which no spreadsheet does", name)
    root = _ROOT.search(xml, 0, 10_000)
    prefix = root[1] or b"" if root else b""
    mark = b"<" + prefix + b"c "
    if re.search(mark[:-1] + rb"[>\t\r\n]", xml):
        xml = re.sub(mark[:-1] + rb"(>|[\t\r\n])", mark + rb"\1", xml)
    refuse_extent(*_extent(xml, mark), name)
    sheet.filled = _FILLED.search(xml) is not None
    if any(sign in xml for sign in (b"</f>", b":f>", b't="e"', b"t='e'")):
        sheet.lost = dict(_lost_cells(xml, mark, name))
    return sheet


def _extent(xml: bytes, mark: bytes) -> tuple[int, int]:
    """Return how many rows and columns the table has at most, as cheaply as can be known.

    Millions of cells are common, so their places are read as usually written; only a file that
    writes them otherwise, or has a cell far out, is gone through cell by cell.
    """
    usual = mark + b'r="'
    # Letters alone for a cell in a row of up to five digits, the whole place for any other.
    every = re.findall(usual + rb'([A-Z]{1,2}(?=[0-9]{1,5}")|[A-Z]{1,3}[0-9]+)', xml)
    if len(every) != xml.count(mark):
        return _extent_of_filled(xml, mark)
    places = set(every)
    far = [place for place in places if place[-1:].isdigit()]
    rows = max((int(place.lstrip(_LETTERS)) for place in far), default=0)
    columns = max((_column_number(place.rstrip(_DIGITS)) for place in places), default=0)
    if columns > MAX_COLUMNS or rows > MAX_ROWS:
        return _extent_of_filled(xml, mark)
    if columns > _FEW_COLUMNS and not far:
        rows = max(map(int, set(re.findall(usual + rb"[A-Z]+([0-9]+)", xml))), default=0)
    return rows, columns


def _extent_of_filled(xml: bytes, mark: bytes) -> tuple[int, int]:
    """Measure the table from the cells that hold something: formats alone do not count."""
    rows = columns = 0
    for attributes, inside in _cells(xml, mark):
        if not inside.strip():
            continue
        place = _REFERENCE.search(attributes)
        if place is None:  # it stands behind the cell before it, in whatever row
            rows = max(map(int, _ROW_NUMBERS.findall(xml)), default=rows)
        else:
            rows = max(rows, int(place[2]))
            columns = max(columns, _column_number(place[1]))
    return rows, columns


def _cells(xml: bytes, mark: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Yield the attributes and the contents of every cell."""
    end = b"</" + mark[1:-1] + b">"
    for piece in xml.split(mark)[1:]:
        attributes, _, inside = piece.partition(b">")
        yield attributes, b"" if attributes.endswith(b"/") else inside.partition(end)[0]


def _lost_cells(xml: bytes, mark: bytes, name: str) -> Iterator[tuple[tuple[int, int], str]]:
    for attributes, inside in _cells(xml, mark):
        error = _ERROR_TYPE.search(attributes)
        if not error and b"f" not in inside:
            continue
        why = _why_lost(attributes, inside, bool(error))
        if not why:
            continue
        place = _REFERENCE.search(attributes)
        if place is None:
            raise unreadable(f"{why}, and the file does not say which cell it is", name)
        yield (int(place[2]) - 1, _column_number(place[1]) - 1), why


def _why_lost(attributes: bytes, inside: bytes, error: bool) -> str:
    if error:
        shown = re.search(rb"<(?:\w+:)?v>([^<]*)", inside)
        what = shown.group(1).decode("utf-8", "replace") if shown else "an error"
        return f"the cell shows {what}"
    # A formula whose result is the empty text says so by its type.
    if not _FORMULA.search(inside) or _STORED.search(inside) or _TEXT_TYPE.search(attributes):
        return ""
    return "the cell holds a formula whose result is not stored in the file"


def _column_number(letters: bytes) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + letter - 64
    return number

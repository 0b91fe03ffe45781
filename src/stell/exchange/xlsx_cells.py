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
from stell.exchange.limits import refuse_extent

_FAR = re.compile(rb"""\br\s*=\s*["'](?:[A-Z]{3}[0-9]|[A-Z]*(?:[2-9][0-9]{5}|[0-9]{7,})["'])""")
_COLUMNS = re.compile(rb"""\br\s*=\s*["']([A-Z]{1,3})[0-9]""")
_ROWS = re.compile(rb"""\br\s*=\s*["'][A-Z]*([0-9]+)["']""")
_CELL = re.compile(
    rb"""<(?:\w+:)?c\b([^>]*?)(?:/>|>(.*?)</(?:\w+:)?c>)""",
    re.DOTALL,
)
_REFERENCE = re.compile(rb"""\br\s*=\s*["']([A-Z]{1,3})([0-9]{1,7})["']""")
_ERROR_TYPE = re.compile(rb"""\bt\s*=\s*["']e["']""")
_TEXT_TYPE = re.compile(rb"""\bt\s*=\s*["']str["']""")
_FORMULA = re.compile(rb"<(?:\w+:)?f\b")
_FILLED = re.compile(rb"<(?:\w+:)?(?:v|t|f)\b")
_STORED = re.compile(rb"<(?:\w+:)?(?:v|t)\b[^>/]*>[^<]")


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
    if _FAR.search(xml):
        _refuse_far_cells(xml, name)
    else:
        columns = max(map(_column_number, set(_COLUMNS.findall(xml))), default=0)
        rows = max((int(r) for r in set(_ROWS.findall(xml))), default=0) if columns > 60 else 0
        refuse_extent(rows, columns, name)
    sheet.filled = _FILLED.search(xml) is not None
    if b"<f" in xml or b":f" in xml or _ERROR_TYPE.search(xml):
        sheet.lost = dict(_lost_cells(xml, name))
    return sheet


def _refuse_far_cells(xml: bytes, name: str) -> None:
    """Measure the table from the cells that hold something: formats alone do not count."""
    rows = columns = 0
    for attributes, inside in _CELL.findall(xml):
        place = _REFERENCE.search(attributes)
        if place and inside.strip():
            rows = max(rows, int(place.group(2)))
            columns = max(columns, _column_number(place.group(1)))
    refuse_extent(rows, columns, name)


def _lost_cells(xml: bytes, name: str) -> Iterator[tuple[tuple[int, int], str]]:
    for attributes, inside in _CELL.findall(xml):
        error = _ERROR_TYPE.search(attributes)
        if not error and b"f" not in inside:
            continue
        why = _why_lost(attributes, inside, bool(error))
        if not why:
            continue
        place = _REFERENCE.search(attributes)
        if place is None:
            raise unreadable(f"{why}, and the file does not say which cell it is", name)
        yield (int(place.group(2)) - 1, _column_number(place.group(1)) - 1), why


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

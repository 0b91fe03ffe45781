"""ODS tables before they are read: how far they reach, merged cells, and which cells get lost.

One pass over the part with the contents; see `xlsx_cells` for why.
"""

from __future__ import annotations

import zipfile
from xml.parsers import expat

from stell.exchange.container import Worksheet, part_of, unreadable
from stell.exchange.limits import refuse_extent

_TABLE = "urn:oasis:names:tc:opendocument:xmlns:table:1.0 "
_OFFICE = "urn:oasis:names:tc:opendocument:xmlns:office:1.0 "
_CALCEXT = "urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0 "
_VALUE_TYPES = (f"{_OFFICE}value-type", f"{_CALCEXT}value-type")


def look_into_ods(archive: zipfile.ZipFile, name: str) -> dict[str, Worksheet]:
    """Return what was seen in each table of an ODS file, by its title.

    Raises
    ------
    SheetError
        `sheet.too_large` when a table would be, `sheet.unreadable` when the file is damaged.
    """
    raw = part_of(archive, "content.xml", name)
    if b"<!DOCTYPE" in raw or b"<!ENTITY" in raw:
        raise unreadable("the workbook holds XML declarations that no spreadsheet writes", name)
    walk = _Walk(name)
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.StartElementHandler = walk.start
    parser.EndElementHandler = walk.end
    try:
        parser.Parse(raw, True)
    except (expat.ExpatError, ValueError) as error:
        raise unreadable(f"the workbook is damaged ({error})", name) from None
    return walk.tables


class _Walk:
    """Rows and columns counted the way a spreadsheet shows them, repeats included."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.tables: dict[str, Worksheet] = {}
        self.depth = 0
        self.row = self.column = 0
        self.row_repeat = 1

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        if tag == f"{_TABLE}table":
            self.depth += 1
            if self.depth == 1:
                self.here = Worksheet()
                self.tables[attributes.get(f"{_TABLE}name", "")] = self.here
                self.row = 0
        elif self.depth == 1 and tag == f"{_TABLE}table-row":
            self.column = 0
            self.row_repeat = int(attributes.get(f"{_TABLE}number-rows-repeated", 1))
        elif self.depth == 1 and tag.startswith(_TABLE) and tag.endswith("table-cell"):
            self._cell(attributes)

    def end(self, tag: str) -> None:
        if tag == f"{_TABLE}table":
            self.depth -= 1
        elif self.depth == 1 and tag == f"{_TABLE}table-row":
            self.row += self.row_repeat

    def _cell(self, attributes: dict[str, str]) -> None:
        repeat = int(attributes.get(f"{_TABLE}number-columns-repeated", 1))
        at = (self.row, self.column)
        if any(key in attributes for key in _VALUE_TYPES):
            self.here.filled = True
            refuse_extent(self.row + self.row_repeat, self.column + repeat, self.name)
            if attributes.get(_VALUE_TYPES[1]) == "error":
                self.here.lost[at] = "the cell shows an error"
        elif f"{_TABLE}formula" in attributes:
            self.here.filled = True
            self.here.lost[at] = "the cell holds a formula whose result is not stored in the file"
        rows = int(attributes.get(f"{_TABLE}number-rows-spanned", 1))
        columns = int(attributes.get(f"{_TABLE}number-columns-spanned", 1))
        if rows > 1 or columns > 1:
            end = (self.row + rows - 1, self.column + columns - 1)
            self.here.merged.append((at, end))
        self.column += repeat

"""Read the table of a CSV, XLSX or ODS file: its titles and its rows, as they stand.

What the titles mean is decided in `columns`, what the cells mean in `values`.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from pathlib import Path

from stell.core.errors import SheetError
from stell.exchange import delimited
from stell.exchange.cells import Cell, Table, is_blank
from stell.exchange.container import ZIP_MARK, refuse_other_kinds, unreadable
from stell.exchange.headers import Knows, Range, find_titles
from stell.exchange.limits import MAX_FILE_BYTES, too_large
from stell.exchange.phrases import column_letter
from stell.exchange.workbook import read_workbook

__all__ = ["Cell", "Table", "read_table"]

_MOST_MERGED = 200_000
WHOLE_ROW = -1  # stands for the column in `Table.troubles`


def read_table(path: Path, *, sheet: str = "", knows: Knows | None = None) -> Table:
    """Return the table in a CSV, XLSX or ODS file.

    Parameters
    ----------
    path : Path
        What kind of file it is, is seen from its contents and not from its name.
    sheet : str
        Title of the worksheet; without it the first visible one that holds something.
    knows : callable, optional
        Whether a column title is known; finds the row of titles below title lines.

    Raises
    ------
    SheetError
        `sheet.unreadable`, `sheet.empty` or `sheet.too_large`; nothing else for any bytes.
    """
    raw = _bytes_of(path)
    name = path.name
    refuse_other_kinds(raw, name)
    known = knows or _knows_nothing
    if raw.startswith(ZIP_MARK):
        return _from_workbook(raw, name, sheet, known)
    if sheet:
        raise SheetError(
            "sheet.unreadable",
            "a CSV file has no worksheets to choose from",
            got=sheet,
            legal="no name of a worksheet for CSV",
            example=f"stell judge {name}",
            where=name,
        )
    return _from_csv(raw, name, known)


def _knows_nothing(title: str) -> bool:  # noqa: ARG001
    return False


def _bytes_of(path: Path) -> bytes:
    try:
        size = path.stat().st_size
        if size <= MAX_FILE_BYTES:
            raw = _read_bounded(path)
            size = max(size, len(raw))
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "it cannot be read"
        if isinstance(error, IsADirectoryError):
            why = "it is a folder"
        raise unreadable(f"the file cannot be read: {why}", str(path)) from None
    if size > MAX_FILE_BYTES:
        raise too_large(
            "the file is larger than stell takes in one piece",
            f"{size / 2**20:,.0f} MB",
            f"up to {MAX_FILE_BYTES // 2**20} MB",
            path.name,
        )
    if not raw.strip():
        raise _empty("the file is empty", path.name)
    return raw


def _read_bounded(path: Path) -> bytes:
    """Return what is there, at most a little more than is taken: a device has no size."""
    pieces: list[bytes] = []
    length = 0
    with path.open("rb") as file:
        while length <= MAX_FILE_BYTES and (piece := file.read(2**20)):
            pieces.append(piece)
            length += len(piece)
    return b"".join(pieces)


def _from_csv(raw: bytes, name: str, knows: Knows) -> Table:
    text, notices = delimited.decode(raw, name)
    records, more = delimited.parse(text, name, knows)
    rows: list[Sequence[Cell]] = [*records]
    found = find_titles(rows[:200], (), lambda t: knows(delimited.unguarded(t)))
    if found is None:
        raise _empty("the file holds no rows", name)
    at, titles = found
    titles = [delimited.unguarded(t) for t in titles]
    troubles = {
        (i + 1, WHOLE_ROW): f"the row has {len(row)} cells and the titles are {len(titles)}: "
        "a cell that holds the delimiter must stand in quotation marks"
        for i, row in enumerate(records[at + 1 :], at + 1)
        if len(row) > len(titles) and any(c.strip() for c in row[len(titles) :])
    }
    return _table(raw, name, "", rows, at, titles, troubles, notices + more)


def _from_workbook(raw: bytes, name: str, sheet: str, knows: Knows) -> Table:
    grid = read_workbook(raw, name, sheet=sheet)
    rows: list[Sequence[Cell]] = [*grid.rows]
    found = find_titles(rows, grid.merged, knows)
    if found is None:
        raise _empty(f"the worksheet {grid.title!r} holds no rows", name)
    at, titles = found
    troubles = {(r + 1, c): why for (r, c), why in grid.lost.items() if r > at}
    troubles |= _merged_troubles(grid.merged, rows, at, name)
    notices = []
    if grid.other_titles:
        others = ", ".join(repr(t) for t in grid.other_titles)
        notices.append(f"Worksheet {grid.title!r} was read; not read: {others}.")
    return _table(raw, name, grid.title, rows, at, titles, troubles, notices)


def _merged_troubles(
    merged: list[Range], rows: list[Sequence[Cell]], titles_at: int, name: str
) -> dict[tuple[int, int], str]:
    """Return every cell below the titles that is part of a merged range with contents."""
    troubles: dict[tuple[int, int], str] = {}
    for (top, left), (bottom, right) in merged:
        if bottom <= titles_at or top >= len(rows) or is_blank(rows[top][left]):
            continue
        span = f"{column_letter(left)}{top + 1}:{column_letter(right)}{bottom + 1}"
        why = f"the cell is part of the merged cells {span}, and only the first of them counts"
        for row in range(max(top, titles_at + 1), min(bottom + 1, len(rows))):
            for column in range(left, min(right + 1, len(rows[row]))):
                troubles[row + 1, column] = why
        if len(troubles) > _MOST_MERGED:
            raise unreadable("more merged cells than a table can have", name)
    return troubles


def _table(
    raw: bytes,
    name: str,
    sheet: str,
    rows: list[Sequence[Cell]],
    titles_at: int,
    titles: list[str],
    troubles: dict[tuple[int, int], str],
    notices: list[str],
) -> Table:
    width = _width(titles, rows[titles_at + 1 :])
    titles = (titles + [""] * width)[:width]
    if titles_at:
        notices.append(f"The column titles stand in row {titles_at + 1}; what is above was left.")
    kept: list[list[Cell]] = []
    numbers: list[int] = []
    repeats = 0
    blank: list[Cell] = [""] * width
    title_cells = list(rows[titles_at])
    for number, row in enumerate(rows[titles_at + 1 :], titles_at + 2):
        if not any(row) and all(map(is_blank, row)):
            continue
        if row[0] == title_cells[0] and list(row) == title_cells:
            repeats += 1
            continue
        kept.append([*row[:width], *blank[len(row) :]])
        numbers.append(number)
    if repeats:
        notices.append(f"The titles stand again {repeats} times below; those rows were left out.")
    if not kept:
        raise _empty("there is no row below the column titles", name, ", ".join(titles))
    digest = hashlib.sha256(raw).hexdigest()
    return Table(
        name, digest, sheet, tuple(titles), titles_at + 1, kept, numbers, troubles, tuple(notices)
    )


def _width(titles: list[str], rows: list[Sequence[Cell]]) -> int:
    """Return how many columns count: up to the last with a title, or with a cell in a workbook."""
    last = max((i for i, t in enumerate(titles) if t.strip()), default=-1) + 1
    for row in rows:
        while last < len(titles) and last < len(row):
            if all(is_blank(c) for c in row[last : len(titles)]):
                break
            last += 1
    return max(last, 1)


def _empty(problem: str, name: str, got: str = "") -> SheetError:
    return SheetError(
        "sheet.empty",
        problem,
        got=got or None,
        legal="a row of column titles and at least one row below it",
        example="tag, date, scrotal circumference (cm)",
        where=name,
    )

"""Which row holds the column titles, and what they are when titles are merged or in two rows."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence

from stell.exchange.cells import Cell, is_blank, shown
from stell.exchange.phrases import plain

_LOOK_AT = 20
Range = tuple[tuple[int, int], tuple[int, int]]
Knows = Callable[[str], bool]


def find_titles(
    rows: Sequence[Sequence[Cell]], merged: Iterable[Range], knows: Knows
) -> tuple[int, list[str]] | None:
    """Return the row of the column titles, counted from 0, and the titles; None without rows.

    Parameters
    ----------
    rows : sequence of rows
        From the sheet's first row on.
    merged : iterable of ((row, column), (row, column))
        First and last cell of merged ranges.
    knows : callable
        Whether a title is known. The row with most known titles wins, the first of equals; with
        none, the first row that holds two texts.
    """
    candidates = [i for i, row in enumerate(rows) if any(not is_blank(c) for c in row)][:_LOOK_AT]
    if not candidates:
        return None
    ranges = [r for r in merged if r[0][0] <= candidates[-1]]
    titled = {i: _titles_of(rows, i, ranges, knows) for i in candidates}
    known = {i: len({plain(t) for t in titles if knows(t)}) for i, titles in titled.items()}
    best = max(candidates, key=lambda i: (known[i], -i))
    if not known[best]:
        best = next((i for i in candidates if _texts(rows[i]) >= 2), candidates[0])
    return best, titled[best]


def _texts(row: Sequence[Cell]) -> int:
    return sum(isinstance(cell, str) and not is_blank(cell) for cell in row)


def _titles_of(
    rows: Sequence[Sequence[Cell]], row: int, ranges: Sequence[Range], knows: Knows
) -> list[str]:
    """Return a row's titles, completed from merged cells where that makes them known.

    A title merged downwards into this row counts here. A title merged sideways in the row above
    is put before each title below it, but only where the two together are known and the lower
    one alone is not, or stands more than once.
    """
    titles = [shown(cell) for cell in rows[row]]
    for (top, left), (bottom, right) in ranges:
        if top < row <= bottom and left == right < len(titles) and not titles[left]:
            titles[left] = _text_at(rows, top, left)
    repeated = {t for t, n in Counter(map(plain, titles)).items() if n > 1}
    for (top, left), (bottom, right) in ranges:
        if bottom != row - 1 or left == right:
            continue
        group = _text_at(rows, top, left)
        for column in range(left, min(right + 1, len(titles))):
            own = titles[column]
            both = f"{group} {own}"
            if own and knows(both) and (not knows(own) or plain(own) in repeated):
                titles[column] = both
    return titles


def _text_at(rows: Sequence[Sequence[Cell]], row: int, column: int) -> str:
    return shown(rows[row][column]) if row < len(rows) and column < len(rows[row]) else ""

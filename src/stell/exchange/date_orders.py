"""Which comes first in the days of a sheet, day or month, as all its columns of days show it.

A column's own cells count first: a number above 12 in one place, or a reading that would lie in
the future. Then the row: nobody is examined before he is born. Then the other column of days: one
hand types one sheet. Whatever is taken so is said in a notice.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from stell.core.intake import ColumnMatch, ReadingRules
from stell.core.records import Born
from stell.exchange.cells import Cell, Table
from stell.exchange.dates import (
    BirthReader,
    DateOrder,
    DayReader,
    both_readings,
    order_in_title,
    order_of,
)
from stell.exchange.refusal import Refused

DAYS = ("examined_on", "born_on")


def orders_of(
    matches: Sequence[ColumnMatch],
    columns: Mapping[int, Sequence[Cell]],
    table: Table,
    rules: ReadingRules,
) -> dict[int, DateOrder]:
    """Return the order of day and month for each column of days.

    Parameters
    ----------
    matches : sequence of ColumnMatch
        The matched columns of the sheet.
    columns : mapping of int to sequence of Cell
        Position to the column's cells, from the first row to the last.
    table : Table
    rules : ReadingRules
    """
    days = [m for m in matches if m.meaning in DAYS]
    found = {
        m.column: order_of(
            dict.fromkeys(columns[m.column]),
            rules.date_order or order_in_title(m.header),
            rules.today,
        )
        for m in days
    }
    for match in days:
        if _is_open(found[match.column]):
            found[match.column] = _by_births(match, days, columns, found, table, rules)
    for match in days:
        if _is_open(found[match.column]):
            found[match.column] = _by_another(match, days, found, table)
    return found


def _is_open(order: DateOrder) -> bool:
    return not order.order and not order.against


def _by_another(
    match: ColumnMatch, days: Sequence[ColumnMatch], found: Mapping[int, DateOrder], table: Table
) -> DateOrder:
    """Return the order of another column of days that its own cells have settled."""
    for other in days:
        order = found[other.column]
        if other.column != match.column and order.order and order.shown_by:
            why = f"as in {table.place(other.column)}"
            return DateOrder(order.order, order.shown_by, because=why)
    return found[match.column]


def _by_births(
    match: ColumnMatch,
    days: Sequence[ColumnMatch],
    columns: Mapping[int, Sequence[Cell]],
    found: Mapping[int, DateOrder],
    table: Table,
    rules: ReadingRules,
) -> DateOrder:
    """Return the order that alone lets every ram be born before he is examined."""
    orders: dict[str, str] = {}
    for other in days:
        if other.meaning == match.meaning:
            continue
        reader = BirthReader(DayReader(rules.today, found[other.column]))
        rows = zip(table.row_numbers, columns[match.column], columns[other.column], strict=True)
        for row, cell, beside in rows:
            for order in _fitting(match, cell, _read(reader, beside), rules.today):
                orders.setdefault(order, f"else row {row} would be examined before his birth")
    if len(orders) != 1:
        return found[match.column]
    ((order, why),) = orders.items()
    return DateOrder(order, why, because=why)


def _fitting(match: ColumnMatch, cell: Cell, beside: Born | None, today: date) -> Iterator[str]:
    """Yield the order that fits where the other one does not."""
    readings = both_readings(cell, today)
    if beside is None or readings is None:
        return
    examined = match.meaning == "examined_on"
    fits = {
        order: day >= beside.earliest if examined else day <= beside.latest
        for order, day in readings.items()
    }
    if sum(fits.values()) == 1:
        yield next(order for order, fit in fits.items() if fit)


def _read(reader: BirthReader, cell: Cell) -> Born | None:
    try:
        return reader(cell)
    except Refused:
        return None

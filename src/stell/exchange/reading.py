"""Read a whole sheet of examinations: every row it can, every problem with its place.

Columns are read one after another and each different cell only once, as most cells of a sheet
repeat; then the rows are put together, then compared with each other.
"""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from itertools import compress
from pathlib import Path

from stell.core.errors import SheetError, StellError
from stell.core.intake import ColumnMatch, IntakeRow, ReadingRules, SheetReading
from stell.core.protocol.ready import ReadyProtocol
from stell.core.records import written_date
from stell.exchange.cells import Cell, RowError, Table, is_blank, shown
from stell.exchange.columns import IDENTITY, Matching, Vocabulary, match_columns, require_essentials
from stell.exchange.date_orders import DAYS, orders_of
from stell.exchange.dates import DateOrder
from stell.exchange.delimited import unguarded
from stell.exchange.electronic_id import is_usual, parse
from stell.exchange.read_columns import ReadColumn, RowsOfColumns
from stell.exchange.refusal import Refused
from stell.exchange.rows import RowMaker
from stell.exchange.same_ram import problems_between
from stell.exchange.sheets import WHOLE_ROW, read_table
from stell.exchange.values import reader_for

Progress = Callable[[int, int], None]
MOST_PROBLEMS = 20_000
_TELL_EVERY = 2_000

__all__ = ["read_sheet", "read_table_rows"]


def read_sheet(
    path: Path,
    protocol: ReadyProtocol,
    rules: ReadingRules,
    *,
    progress: Progress | None = None,
) -> SheetReading:
    """Return everything a CSV, XLSX or ODS sheet says, and everything that is wrong with it.

    Parameters
    ----------
    path : Path
    protocol : ReadyProtocol
        Its checks, options and their other names are what columns and cells are matched with.
    rules : ReadingRules
    progress : callable, optional
        Called with (rows done, rows in all).

    Returns
    -------
    SheetReading
        A row with any problem is not among its `rows`.

    Raises
    ------
    SheetError
        `sheet.unreadable`, `sheet.empty`, `sheet.too_large` or `sheet.columns`, when not even the
        columns can be told apart.
    """
    vocabulary = Vocabulary(protocol)
    with _no_collecting():
        table = read_table(path, sheet=rules.sheet, knows=vocabulary.knows)
        return read_table_rows(table, protocol, rules, progress=progress, vocabulary=vocabulary)


@contextmanager
def _no_collecting() -> Iterator[None]:
    """Keep Python from looking for circles among values that have none.

    A large sheet makes millions of values in a few seconds; looking through them again and again
    takes a third of the time.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def read_table_rows(
    table: Table,
    protocol: ReadyProtocol,
    rules: ReadingRules,
    *,
    progress: Progress | None = None,
    vocabulary: Vocabulary | None = None,
) -> SheetReading:
    """Return what a table says; see `read_sheet`."""
    words = vocabulary or Vocabulary(protocol)
    with _no_collecting():
        return _read_rows(table, words, rules, progress or _no_progress)


def _read_rows(
    table: Table, words: Vocabulary, rules: ReadingRules, tell: Progress
) -> SheetReading:
    try:
        matching = match_columns(table.headers, words.protocol, rules.given, words)
    except SheetError as error:
        raise _in_file(error, table.name) from None
    require_essentials(
        matching,
        has_day=rules.examined_on is not None,
        where=table.name,
        headers=table.headers,
    )
    return _Reading(table, words, rules, matching, tell).run()


def _no_progress(done: int, total: int) -> None:  # noqa: ARG001
    return None


def _in_file(error: SheetError, name: str) -> SheetError:
    return SheetError(
        error.code,
        error.problem,
        got=error.got,
        legal=error.legal,
        example=error.example,
        where=name,
    )


class _Reading:
    def __init__(
        self,
        table: Table,
        words: Vocabulary,
        rules: ReadingRules,
        matching: Matching,
        tell: Progress,
    ) -> None:
        self.table = table
        self.words = words
        self.protocol = words.protocol
        self.rules = rules
        self.matching = matching
        self.tell = tell
        self.total = len(table.rows)
        self.notices = [*table.notices, *matching.notices]
        self.problems: list[RowError] = []
        self.found = 0
        self.refused: set[int] = set()
        self.refused_fields: dict[int, set[str]] = {}
        self.orders: dict[int, DateOrder] = {}

    def run(self) -> SheetReading:
        self.tell(0, self.total)
        columns = list(self._columns())
        if self.rules.examined_on and self.matching.of("examined_on"):
            on = written_date(self.rules.examined_on)
            self.notices.append(f"Rows without a day of their own count as examined on {on}.")
        self._whole_row_troubles()
        rows = self._rows(columns)
        for row, error in problems_between(rows, births_stated=bool(self.matching.of("born_on"))):
            self._refuse(row, None, error)
        kept = tuple(r for r in rows if r.row not in self.refused)
        self.notices += eid_notices(kept)
        self.tell(self.total, self.total)
        self.problems.sort(key=lambda p: (p.row, -1 if p.column is None else p.column))
        return SheetReading(
            name=self.table.name,
            digest=self.table.digest,
            columns=self.matching.columns,
            rows=kept,
            problems=self._told_problems(),
            refused_rows=frozenset(self.refused),
            notices=tuple(self.notices),
            unmatched=self.matching.unmatched,
        )

    def _told_problems(self) -> tuple[StellError, ...]:
        more = self.found - MOST_PROBLEMS
        if more > 0:
            self.notices.append(f"{more:,} more problems are not listed; mend the first ones.")
        return tuple(self.problems[:MOST_PROBLEMS])

    def _refuse(self, row: int, column: int | None, error: SheetError) -> None:
        self.refused.add(row)
        self.found += 1
        if self.found <= 2 * MOST_PROBLEMS:  # enough to list the first of them in order
            self.problems.append(RowError.at(self.table, row, column, error))

    # --- columns ---------------------------------------------------------------------------

    def _columns(self) -> Iterator[ReadColumn]:
        matched = [m for m in self.matching.columns if m.meaning]
        by_column = list(zip(*self.table.rows, strict=True))
        of_days = {m.column: by_column[m.column] for m in matched if m.meaning in DAYS}
        self.orders = orders_of(matched, of_days, self.table, self.rules)
        for done, match in enumerate(matched, 1):
            yield self._column(match, by_column[match.column])
            self.tell(self.total * done // (2 * len(matched)), self.total)

    def _column(self, match: ColumnMatch, cells: Sequence[Cell]) -> ReadColumn:
        if self.table.is_workbook and bool in set(map(type, cells)):
            # True and 1.0 are one key to a dictionary, and two cells to a person.
            cells = [shown(c) if isinstance(c, bool) else c for c in cells]
        different = list(dict.fromkeys(cells))
        order = self.orders.get(match.column)
        reader = reader_for(match, different, self.table, self.words, self.rules, order)
        self.notices += reader.notices
        column = ReadColumn(match, [])
        raw = not self.table.is_workbook  # only CSV needs a guard before formulas
        read = {}
        for cell in different:
            try:
                read[cell] = reader.read(unguarded(cell) if isinstance(cell, str) and raw else cell)
            except Refused as error:
                read[cell] = None
                column.refused[cell] = error
        column.values = list(map(read.__getitem__, cells))
        if column.refused:
            self._refused_cells(cells, column)
        self._troubles(column)
        return column

    def _refused_cells(self, cells: Sequence[Cell], column: ReadColumn) -> None:
        refused, at = column.refused, column.match.column
        is_refused = map(refused.__contains__, cells)
        for number, cell in compress(zip(self.table.row_numbers, cells, strict=True), is_refused):
            self._refuse(number, at, refused[cell])
            self.refused_fields.setdefault(number, set()).add(column.match.meaning)

    def _troubles(self, column: ReadColumn) -> None:
        """Refuse the rows in which the file itself does not tell what the cell holds."""
        if not self.table.troubles:
            return
        at = column.match.column
        for number in self.table.row_numbers:
            why = self.table.troubles.get((number, at))
            if why:
                error = SheetError(
                    "row.value",
                    why,
                    legal="a plain value in a cell of its own",
                    example="type the value, or leave the cell empty",
                )
                self._refuse(number, at, error)

    def _whole_row_troubles(self) -> None:
        for (number, column), why in self.table.troubles.items():
            if column == WHOLE_ROW:
                error = SheetError(
                    "row.value",
                    why,
                    legal=f"{len(self.table.headers)} cells",
                    example='"34,5"',
                )
                self._refuse(number, None, error)

    # --- rows ------------------------------------------------------------------------------

    def _rows(self, columns: Sequence[ReadColumn]) -> list[IntakeRow]:
        maker = RowMaker(self.protocol, self.rules, self._with_columns(columns))
        parts = RowsOfColumns(columns, self.protocol)
        rows = []
        for index, (number, part) in enumerate(zip(self.table.row_numbers, parts, strict=True)):
            if index % _TELL_EVERY == 0:
                self.tell(self.total // 2 + index // 2, self.total)
            if not part.says_anything and self._is_blank(index):
                continue
            try:
                rows.append(maker.make(number, part))
            except Refused as error:
                if not self._follows_from_a_cell(number, error):
                    self._refuse(number, None, error)
        return rows

    def _follows_from_a_cell(self, number: int, error: Refused) -> bool:
        """Tell whether the row lacks something only because its cell was refused already."""
        essential = {*IDENTITY, "examined_on", "override", "override_reason"}
        return error.code == "row.missing" and bool(
            essential & self.refused_fields.get(number, set())
        )

    def _with_columns(self, columns: Sequence[ReadColumn]) -> frozenset[str]:
        """Return the checks that have a column in the sheet."""
        checks = self.protocol.checks
        return frozenset(
            check.id
            for column in columns
            for check in checks.values()
            if column.match.meaning in (check.id, f"both:{check.base}")
        )

    def _is_blank(self, index: int) -> bool:
        number = self.table.row_numbers[index]
        return number not in self.refused and all(map(is_blank, self.table.rows[index]))


def eid_notices(rows: Sequence[IntakeRow]) -> list[str]:
    """Return what is unusual about the electronic numbers of a sheet, one line for each kind."""
    seen: dict[str, list[int]] = {}
    for row in rows:
        # Only what the first look does not clear is taken apart: most numbers are usual.
        if row.ram.eid and not is_usual(row.ram.eid):
            for notice in parse(row.ram.eid).notices:
                seen.setdefault(notice, []).append(row.row)
    return [
        f"{len(numbers)} electronic number{'s' if len(numbers) > 1 else ''} "
        f"(row {', '.join(map(str, numbers[:5]))}{' …' if len(numbers) > 5 else ''}): {notice}."
        for notice, numbers in seen.items()
    ]

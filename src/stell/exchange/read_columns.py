"""The values of matched columns, gone through row by row."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import repeat
from typing import Any

from stell.core.intake import ColumnMatch
from stell.core.protocol.compiled import MAX_READINGS
from stell.core.protocol.ready import ReadyProtocol
from stell.exchange.cells import NOT_EXAMINED, Cell
from stell.exchange.refusal import Refused
from stell.exchange.rows import RowParts


@dataclass(slots=True)
class ReadColumn:
    """One matched column: its cells as values; refused cells are None here."""

    match: ColumnMatch
    values: list[Any]
    refused: dict[Cell, Refused] = field(default_factory=dict)


class RowsOfColumns:
    """The values of the columns, row by row, sorted by what they are for."""

    def __init__(self, columns: Sequence[ReadColumn], protocol: ReadyProtocol) -> None:
        self.length = len(columns[0].values) if columns else 0
        checks = protocol.checks
        self.fields: dict[str, list[Any]] = {}
        self.single: list[tuple[str, list[Any]]] = []
        self.repeated: list[tuple[str, list[Any]]] = []
        self.both: list[list[Any]] = []
        self.remarks: list[tuple[str, list[Any]]] = []
        self.stops: list[tuple[str, list[Any]]] = []
        often = [c.match.meaning for c in columns]
        for column in columns:
            kind, _, name = column.match.meaning.partition(":")
            if kind == "remark":
                self.remarks.append((name, column.values))
            elif kind == "stop":
                self.stops.append((name, column.values))
            elif kind == "both":
                self.both.append(column.values)
            elif kind in checks:
                several = often.count(kind) > 1
                (self.repeated if several else self.single).append((kind, column.values))
            else:
                self.fields[kind] = column.values

    def __iter__(self) -> Iterator[RowParts]:
        ids = [check_id for check_id, _ in self.single]
        names = list(self.fields)
        single = _rows_of([v for _, v in self.single], self.length)
        fields = _rows_of(list(self.fields.values()), self.length)
        others = self.repeated or self.both or self.remarks or self.stops
        for index, (found, said) in enumerate(zip(single, fields, strict=True)):
            observed = {i: v for i, v in zip(ids, found, strict=True) if v is not None}
            part = RowParts(
                {n: v for n, v in zip(names, said, strict=True) if v is not None}, observed
            )
            if others:
                self._add_others(part, index)
            if NOT_EXAMINED in found:
                part.left_out |= {i for i, v in observed.items() if v is NOT_EXAMINED}
            yield part

    def _add_others(self, part: RowParts, index: int) -> None:
        for check_id, values in self.repeated:
            if values[index] is NOT_EXAMINED:
                part.left_out.add(check_id)
            elif values[index] is not None:
                so_far: Any = part.observed.get(check_id, ())
                part.observed[check_id] = (*so_far, *values[index])[:MAX_READINGS]
        for column in self.both:
            if isinstance(column[index], Mapping):
                for check_id, answer in column[index].items():
                    part.observed.setdefault(check_id, answer)
        part.remarks = {i: v[index] for i, v in self.remarks if v[index] is not None}
        part.normal_stops = {stop for stop, v in self.stops if v[index]}


def _rows_of(columns: list[list[Any]], length: int) -> Iterator[tuple[Any, ...]]:
    return zip(*columns, strict=True) if columns else repeat((), length)

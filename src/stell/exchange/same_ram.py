"""Rows of one sheet against each other: the same ram twice on a day, one tag on two rams."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import timedelta

from stell.core.errors import SheetError
from stell.core.intake import IntakeRow
from stell.core.records import Born, written_date
from stell.exchange.refusal import refused

Found = tuple[int, SheetError]
_MOST_NAMED = 6


def problems_between(rows: Sequence[IntakeRow], *, births_stated: bool) -> Iterator[Found]:
    """Yield (row number, problem) for rows that speak of one ram in ways that cannot both be.

    One ram is one electronic number; where that is missing, one tag within a flock; where that is
    missing too, one name. Every row concerned is named, as a person has to choose between them.
    """
    by_eid = _grouped(rows, lambda r: r.ram.eid)
    by_tag = _grouped(rows, lambda r: r.ram.tag and f"{r.flock}\n{_tag_key(r.ram.tag)}")
    by_name = _grouped(
        rows, lambda r: "" if r.ram.eid or r.ram.tag else f"{r.flock}\n{r.ram.name.casefold()}"
    )
    yield from _differing(by_tag, "tag", "electronic numbers", lambda r: r.ram.eid)
    yield from _differing(by_eid, "electronic number", "tags", lambda r: _tag_key(r.ram.tag))
    told: set[int] = set()
    # Where every row of a tag has an electronic number, those groups say it all.
    by_tag = [group for group in by_tag if not all(row.ram.eid for row in group)]
    for same in (*by_eid, *by_tag, *by_name):
        yield from _same_day(same, told)
        if births_stated:  # ages are rounded by people; only births are held against each other
            yield from _born_differently(same)
    yield from _same_id(rows)


def _tag_key(tag: str) -> str:
    return "".join(tag.split()).casefold()


def _grouped(rows: Iterable[IntakeRow], key: Callable[[IntakeRow], str]) -> list[list[IntakeRow]]:
    """Return the groups of two rows or more that share a key."""
    groups: dict[str, list[IntakeRow]] = {}
    for row in rows:
        value = key(row)
        if value:
            groups.setdefault(value, []).append(row)
    return [group for group in groups.values() if len(group) > 1]


def _differing(
    groups: list[list[IntakeRow]], shared: str, what: str, key: Callable[[IntakeRow], str]
) -> Iterator[Found]:
    for group in groups:
        values = list(dict.fromkeys(key(row) for row in group if key(row)))
        if len(values) > 1:
            problem = refused(
                f"one {shared} stands with different {what} in {_rows(group)}",
                " and ".join(values[:3]),
                f"one ram, one {shared}",
                f"correct the {shared} or the other number in one of the rows",
                "row.identity",
            )
            yield from ((row.row, problem) for row in group)


def _same_day(group: list[IntakeRow], told: set[int]) -> Iterator[Found]:
    by_day: dict[object, list[IntakeRow]] = {}
    for row in group:
        by_day.setdefault(row.exam.examined_on, []).append(row)
    for same in by_day.values():
        if len(same) < 2:
            continue
        for row in same:
            if row.row in told:
                continue
            told.add(row.row)
            yield (
                row.row,
                refused(
                    f"{_rows(same)} speak of the same ram on the same day",
                    f"{row.ram.label}, {written_date(row.exam.examined_on)}",
                    "one row for one examination; a second reading goes into a column of its own",
                    "columns 'SC' and 'SC 2'",
                    "row.duplicate",
                ),
            )


def _born_differently(group: list[IntakeRow]) -> Iterator[Found]:
    births = [row.ram.born for row in group if row.ram.born and _is_stated(row.ram.born)]
    if not births or max(b.earliest for b in births) <= min(b.latest for b in births):
        return
    for row in group:
        if row.ram.born is not None:
            yield (
                row.row,
                refused(
                    f"{_rows(group)} give the same ram different births",
                    written_date(row.ram.born.earliest),
                    "one birth for one ram",
                    "correct the birth, or the tag, in one of the rows",
                    "row.identity",
                ),
            )


def _is_stated(born: Born) -> bool:
    """Tell whether a birth is a day, a month or a year, and not worked out from an age."""
    return born.is_exact or (born.earliest.day == 1 and (born.latest + timedelta(days=1)).day == 1)


def _same_id(rows: Sequence[IntakeRow]) -> Iterator[Found]:
    for group in _grouped(rows, lambda r: r.exam.exam_id):
        for row in group:
            yield (
                row.row,
                refused(
                    f"{_rows(group)} have the same id of the examination",
                    row.exam.exam_id,
                    "an id of its own, or an empty cell",
                    "leave the cell empty",
                    "row.duplicate",
                ),
            )


def _rows(group: Sequence[IntakeRow]) -> str:
    numbers = [str(row.row) for row in group[:_MOST_NAMED]]
    more = f" and {len(group) - _MOST_NAMED} more" if len(group) > _MOST_NAMED else ""
    return f"rows {', '.join(numbers)}{more}"

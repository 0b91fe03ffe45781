"""Refusals that repeat down a column are told once, with the rows they are in."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from stell.core.errors import SheetError, StellError

_MANY = 3  # so many alike are told as one
_MOST_ROWS = 8


def grouped(problems: Iterable[StellError]) -> list[StellError]:
    """Return problems with those of one column that are alike put together, in order.

    What a problem says of every such cell comes from the column's reader (`alike`); without it,
    only the same words about the same contents are alike.
    """
    groups: dict[object, list[Any]] = {}
    for at, problem in enumerate(problems):
        groups.setdefault(_key(problem) or at, []).append(problem)
    told: list[StellError] = []
    for group in groups.values():
        told += [_together(group)] if len(group) >= _MANY else group
    return told


def _key(problem: StellError) -> object:
    column = getattr(problem, "column", None)
    if column is None:
        return None
    alike = getattr(problem, "alike", "")
    same = alike or (problem.problem, str(problem.got), problem.legal)
    return (column, problem.code, same)


def _together(group: Sequence[Any]) -> StellError:
    first = group[0]
    rows = f"rows {_spans(sorted({p.row for p in group}))}"
    if first.alike:
        problem = f"column '{first.header.strip()}': {len(group)} rows {first.alike}"
        got = f"{first.got} in row {first.row}"
    else:
        problem = f"column '{first.header.strip()}': {len(group)} rows: {first.problem}"
        got = first.got
    return SheetError(
        first.code, problem, got=got, legal=first.legal, example=first.example, where=rows
    )


def _spans(rows: Sequence[int]) -> str:
    """Return row numbers as people write them.

    Examples
    --------
    >>> _spans([2, 3, 4, 7, 9, 10])
    '2–4, 7, 9–10'
    """
    spans: list[list[int]] = []
    for row in rows:
        if spans and row == spans[-1][1] + 1:
            spans[-1][1] = row
        else:
            spans.append([row, row])
    texts = [str(a) if a == b else f"{a}–{b}" for a, b in spans[:_MOST_ROWS]]
    return ", ".join(texts) + (" …" if len(spans) > _MOST_ROWS else "")

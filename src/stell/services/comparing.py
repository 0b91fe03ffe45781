"""Whose verdict differs between two protocols. No database."""

from __future__ import annotations

from dataclasses import dataclass

from stell.core.intake import IntakeRow, SheetReading
from stell.core.judge import judge
from stell.core.protocol.ready import ReadyProtocol
from stell.core.records import Season
from stell.core.verdict import Verdict


@dataclass(frozen=True, slots=True)
class RowDifference:
    """A ram whose verdict differs, with both verdicts."""

    row: IntakeRow
    a: Verdict
    b: Verdict


@dataclass(frozen=True, slots=True)
class Comparison:
    """Whose verdict differs between the protocols `a` and `b`, out of how many judged."""

    a: ReadyProtocol
    b: ReadyProtocol
    rows: tuple[RowDifference, ...]
    judged: int


def compare_on(
    reading: SheetReading,
    a: ReadyProtocol,
    b: ReadyProtocol,
    season: Season | None = None,
    *,
    read_by_b: SheetReading | None = None,
) -> Comparison:
    """Return on which rows of a sheet two protocols come to different ends.

    A verdict differs when its outcome, its class, its restrictions or the day of the
    re-examination does.

    Parameters
    ----------
    reading : SheetReading
        As `a` reads the sheet.
    read_by_b : SheetReading, optional
        As `b` reads it: what "rest normal" covers, and what words mean, is each protocol's own.
        Without it `b` judges what `a` has read. Rows that one of them refuses are left out.
    """
    others = {row.row: row for row in (read_by_b or reading).rows}
    rows = []
    judged = 0
    for row in reading.rows:
        other = others.get(row.row)
        if other is None:
            continue
        judged += 1
        by_a = judge(a, row.ram, row.exam, season)
        by_b = judge(b, other.ram, other.exam, season)
        if _end(by_a) != _end(by_b):
            rows.append(RowDifference(row, by_a, by_b))
    return Comparison(a, b, tuple(rows), judged)


def _end(verdict: Verdict) -> tuple[object, ...]:
    return (
        verdict.outcome,
        verdict.classed,
        frozenset(verdict.restrictions),
        verdict.reexamine_on,
    )

"""Which standard of a measured check speaks for a ram: the first whose condition holds.

Where a fact is open, several standards could be the one. If all of them let the value pass without
effect, the open fact does not matter. When his age is known only to lie within a span, every age in
the span is tried (those at which a standard begins or ends are enough), so that a big ram need not
wait for a birth date that nobody has.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from stell.core.facts import Facts
from stell.core.protocol.conditions import Node, Span
from stell.core.protocol.ready import ReadyCheck, ReadyStandard

AGE = "age_months"


class Chosen(NamedTuple):
    """The standard that speaks, or else the condition that could not be decided, or neither."""

    standard: ReadyStandard | None
    undecided: Node | None


def standard_for(check: ReadyCheck, facts: Facts, value: int) -> Chosen:
    """Return the standard for a value [fixed units]; neither part is set when none covers him."""
    age = facts.get(AGE)
    if not isinstance(age, Span):
        return _first(check, facts, value)
    chosen = [_first(check, facts.at_age(a), value) for a in _ages(check, age)]
    standards = [c.standard for c in chosen if c.standard is not None]
    if not standards and all(c.undecided is None for c in chosen):
        return Chosen(None, None)
    same = len({s.standard_id for s in standards}) == 1
    if len(standards) == len(chosen) and (same or all(_passes(s, value) for s in standards)):
        return chosen[-1]
    return Chosen(None, next((c.undecided for c in chosen if c.undecided), _asks_age(check)))


def _first(check: ReadyCheck, facts: Facts, value: int) -> Chosen:
    """Return the first that holds; open ones before it do not matter if all let the value pass."""
    possible: list[ReadyStandard] = []
    undecided: Node | None = None
    for standard in check.standards:
        holds = standard.holds(facts)
        if holds is False:
            continue
        possible.append(standard)
        if holds is None:
            undecided = undecided or standard.applies
        elif undecided is None or all(_passes(s, value) for s in possible):
            return Chosen(standard, None)
        else:
            break
    return Chosen(None, undecided)


def _passes(standard: ReadyStandard, value: int) -> bool:
    band = standard.band_of(value)
    return band is not None and not band.rule.effects


def _asks_age(check: ReadyCheck) -> Node | None:
    return next((s.applies for s in check.standards if any(_breaks(s.applies))), None)


def _ages(check: ReadyCheck, span: Span) -> list[int]:
    """Return the ages worth trying: both ends, and what lies at and beside each limit of age."""
    ages = {span.low, span.high}
    for limit in {b for s in check.standards for b in _breaks(s.applies)}:
        ages |= {a for a in (limit - 1, limit, limit + 1) if span.low <= a <= span.high}
    return sorted(ages)


def _breaks(node: Node) -> Iterator[int]:
    """Yield every number with which a condition compares the age. [half steps of months]"""
    if node["op"] in ("all", "any"):
        for part in node["of"]:
            yield from _breaks(part)
    elif node["op"] == "not":
        yield from _breaks(node["of"])
    elif node["fact"] == AGE and node["op"] != "known":
        yield from node["values"] if node["op"] == "in" else [node["value"]]

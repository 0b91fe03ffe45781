"""Conditions of protocol rules, and their three-valued logic: true, false, unknown.

Written form (in a protocol file)
    A table of facts, all of which must hold:
    ``{ age_months = { gt = 14 }, breed = { in = ["x"] } }``. Besides facts a table may hold
    ``all = [...]``, ``any = [...]`` and ``not = {...}``.
Normal form (what both evaluators read)
    ``{"op": "all"|"any", "of": [...]}``, ``{"op": "not", "of": ...}``,
    ``{"op": "lt"|"le"|"gt"|"ge"|"eq", "fact": name, "value": ...}``,
    ``{"op": "in", "fact": name, "values": [...]}``, ``{"op": "known", "fact": name}``.
    ``between = [a, b]`` (both ends included) becomes ``all`` of ``ge`` and ``le``.

Logic
    A comparison with an unknown fact is unknown; `known` is never unknown.
    all: false if any part is false, else unknown if any is unknown, else true.
    any: true if any part is true, else unknown if any is unknown, else false.
    not: turns true and false about and leaves unknown.
    A span (a fact known only to lie between two numbers) compares true or false only when every
    number in it agrees, else unknown.
    A breed or type that is not stated compares as none of the named ones; only `known` tells.
    A fact with several values (findings that may stand together) is ``eq``/``in`` when any of
    them is.
Numbers are whole fixed units (see `core.units`), so no rounding can differ between languages.
"""

from __future__ import annotations

import operator
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Protocol

from stell.core.errors import ProtocolError
from stell.core.protocol.schema import LARGEST
from stell.core.units import UNITS, Unit, to_fixed

Truth = bool | None
Node = dict[str, Any]
COMPARISONS = ("lt", "le", "gt", "ge", "eq", "in", "between", "known")


@dataclass(frozen=True, slots=True)
class Span:
    """A number known only to lie between two, both included. [fixed units]"""

    low: int
    high: int


FactValue = int | str | bool | Span | tuple[str, ...] | None


class FactSource(Protocol):
    """Anything that answers ``get(name)`` with a fact, or None when it is not known."""

    def get(self, name: str, /) -> FactValue:
        """Return the fact of that name."""
        ...


Test = Callable[[FactSource], Truth]


@dataclass(frozen=True, slots=True)
class Fact:
    """What a condition may speak of.

    Attributes
    ----------
    name : str
    kind : str
        ``number``, ``word``, ``words`` (several at once) or ``flag``.
    unit : Unit or None
        Of a number.
    legal : tuple of str
        Of a word; empty when any slug is legal.
    """

    name: str
    kind: str
    unit: Unit | None = None
    legal: tuple[str, ...] = ()


def context_facts() -> dict[str, Fact]:
    """Return the facts that do not come from a check: who the ram is, and when it is."""
    from stell.core.records import CIRCUMSTANCES, INTENDED_USES, RAM_TYPES

    facts = (
        Fact("age_months", "number", UNITS["months"]),
        Fact("breed", "word"),
        Fact("ram_type", "word", legal=RAM_TYPES),
        Fact("intended_use", "word", legal=INTENDED_USES),
        Fact("circumstance", "words", legal=CIRCUMSTANCES),
        Fact("in_season", "flag"),
        Fact("days_since_longest_day", "number", UNITS["days"]),
        Fact("day_length", "number", UNITS["hours"]),
        Fact("day_length_range", "number", UNITS["hours"]),
        Fact("days_to_mating", "number", UNITS["days"]),
    )
    return {fact.name: fact for fact in facts}


def compile_condition(raw: Any, facts: Mapping[str, Fact], *, where: str) -> Node:
    """Return the normal form of a written condition.

    Parameters
    ----------
    raw : object
        As read from TOML; an empty table is "always".
    facts : mapping of str to Fact
        What may be spoken of.
    where : str
        Key path, for error texts.

    Raises
    ------
    ProtocolError
        `protocol.invalid` for an unknown fact, comparison or value.

    Examples
    --------
    >>> compile_condition({"age_months": {"gt": 14}}, context_facts(), where="applies")
    {'op': 'gt', 'fact': 'age_months', 'value': 28}
    """
    if not isinstance(raw, dict):
        raise _invalid("a condition must be a table", raw, where)
    parts: list[Node] = []
    for key, value in raw.items():
        here = f"{where}.{key}"
        if key in ("all", "any"):
            if not isinstance(value, list) or not value:
                raise _invalid(f"'{key}' takes a list of conditions", value, here)
            of = [compile_condition(v, facts, where=f"{here}[{i}]") for i, v in enumerate(value)]
            parts.append({"op": key, "of": of})
        elif key == "not":
            parts.append({"op": "not", "of": compile_condition(value, facts, where=here)})
        elif key in facts:
            parts.extend(_comparisons(facts[key], value, here))
        else:
            raise ProtocolError(
                "protocol.invalid",
                "a condition speaks of a fact that does not exist",
                got=key,
                legal=", ".join(sorted(facts)),
                example="{ age_months = { gt = 14 } }",
                where=where,
            )
    return parts[0] if len(parts) == 1 else {"op": "all", "of": parts}


def _comparisons(fact: Fact, raw: Any, where: str) -> list[Node]:
    if fact.kind == "flag" and isinstance(raw, bool):
        return [{"op": "eq", "fact": fact.name, "value": raw}]
    if not isinstance(raw, dict) or not raw:
        raise _invalid("a fact needs a comparison such as { gt = 14 }", raw, where)
    nodes: list[Node] = []
    for op, value in raw.items():
        here = f"{where}.{op}"
        if op not in COMPARISONS:
            raise ProtocolError(
                "protocol.invalid",
                "the comparison is not known",
                got=op,
                legal=", ".join(COMPARISONS),
                example="{ gt = 14 }",
                where=where,
            )
        nodes.extend(_one(fact, op, value, here))
    return nodes


def _one(fact: Fact, op: str, value: Any, where: str) -> list[Node]:
    name = fact.name
    if op == "known":
        if not isinstance(value, bool):
            raise _invalid("'known' takes true or false", value, where)
        node = {"op": "known", "fact": name}
        return [node if value else {"op": "not", "of": node}]
    if op == "in":
        if not isinstance(value, list) or not value:
            raise _invalid("'in' takes a list", value, where)
        return [{"op": "in", "fact": name, "values": [_literal(fact, v, where) for v in value]}]
    if op == "between":
        if not isinstance(value, list) or len(value) != 2 or fact.kind != "number":
            raise _invalid("'between' takes [least, most] of a number", value, where)
        low, high = (_literal(fact, v, where) for v in value)
        if low > high:
            raise _invalid("'between' has its ends the wrong way round", value, where)
        return [
            {"op": "ge", "fact": name, "value": low},
            {"op": "le", "fact": name, "value": high},
        ]
    if op != "eq" and fact.kind != "number":
        raise _invalid(f"'{op}' compares numbers, and {name} is not one", value, where)
    return [{"op": op, "fact": name, "value": _literal(fact, value, where)}]


def _literal(fact: Fact, value: Any, where: str) -> Any:
    if fact.kind == "number":
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise _invalid(f"{fact.name} is a number", value, where)
        if not -LARGEST <= value <= LARGEST:
            raise _invalid(f"{fact.name} cannot be compared with that", value, where)
        assert fact.unit is not None
        return to_fixed(value, fact.unit)
    if fact.kind == "flag":
        if not isinstance(value, bool):
            raise _invalid(f"{fact.name} is true or false", value, where)
        return value
    if not isinstance(value, str) or (fact.legal and value not in fact.legal):
        legal = ", ".join(fact.legal) or "a lower-case word in quotes"
        raise ProtocolError(
            "protocol.invalid",
            f"{fact.name} cannot be that",
            got=value,
            legal=legal,
            example=f'{fact.name} = {{ eq = "{fact.legal[0] if fact.legal else "gotland"}" }}',
            where=where,
        )
    return value


def _invalid(problem: str, got: Any, where: str) -> ProtocolError:
    return ProtocolError(
        "protocol.invalid",
        problem,
        got=got,
        legal="facts with comparisons, all, any, not",
        example="{ age_months = { gt = 14 } }",
        where=where,
    )


def evaluate(node: Node, facts: FactSource) -> Truth:
    """Return whether a condition in normal form holds, or None when that cannot be known.

    Examples
    --------
    >>> evaluate({"op": "lt", "fact": "age_months", "value": 28}, {"age_months": Span(20, 30)})
    >>> evaluate({"op": "lt", "fact": "age_months", "value": 28}, {"age_months": 27})
    True
    """
    return tester(node)(facts)


def tester(node: Node) -> Test:
    """Return a condition in normal form as a function of the facts: built once, asked often."""
    op = node["op"]
    if op in ("all", "any"):
        return _joined(tuple(tester(part) for part in node["of"]), decisive=op == "any")
    if op == "not":
        return _negated(tester(node["of"]))
    name = node["fact"]
    if op == "known":
        return lambda facts: facts.get(name) not in (None, "")
    if op in ("in", "eq"):
        return _one_of(name, tuple(node["values"]) if op == "in" else (node["value"],))
    return _compared(name, _ORDER[op], node["value"])


def _joined(parts: tuple[Test, ...], *, decisive: bool) -> Test:
    """All of the parts (a false one decides) or any of them (a true one decides)."""

    def holds(facts: FactSource) -> Truth:
        truth: Truth = not decisive
        for part in parts:
            held = part(facts)
            if held is decisive:
                return decisive
            if held is None:
                truth = None
        return truth

    return holds


def _negated(part: Test) -> Test:
    def holds(facts: FactSource) -> Truth:
        held = part(facts)
        return None if held is None else not held

    return holds


def _one_of(name: str, wanted: tuple[Any, ...]) -> Test:
    def holds(facts: FactSource) -> Truth:
        value = facts.get(name)
        if value is None:
            return None
        if isinstance(value, tuple):
            return any(v in wanted for v in value)
        if isinstance(value, Span) and value.low != value.high:
            return None if any(value.low <= w <= value.high for w in wanted) else False
        return (value.low if isinstance(value, Span) else value) in wanted

    return holds


def _compared(name: str, ordered: Callable[[Any, int], bool], limit: int) -> Test:
    def holds(facts: FactSource) -> Truth:
        value = facts.get(name)
        if value is None:
            return None
        if isinstance(value, Span):
            low, high = ordered(value.low, limit), ordered(value.high, limit)
            return low if low is high else None
        return ordered(value, limit)

    return holds


_ORDER = {"lt": operator.lt, "le": operator.le, "gt": operator.gt, "ge": operator.ge}


def facts_in(node: Node) -> set[str]:
    """Return the names of all facts a condition speaks of."""
    if node["op"] in ("all", "any"):
        return set().union(*(facts_in(part) for part in node["of"])) if node["of"] else set()
    if node["op"] == "not":
        return facts_in(node["of"])
    return {node["fact"]}

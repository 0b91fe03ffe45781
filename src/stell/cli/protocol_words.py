"""A protocol's conditions, effects, limits and sources in words that a vet reads."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from stell.core.units import shown

if TYPE_CHECKING:
    from stell.core.protocol.ready import (
        Origin,
        ReadyBand,
        ReadyCheck,
        ReadyProtocol,
        Rule,
        RuleEffect,
    )

BASIS = {
    "published": "published",
    "published-secondary": "second-hand",
    "common-practice": "common practice",
    "memory": "from memory",
    "practice": "the practice's own",
}
FACT_WORDS = {
    "age_months": "age",
    "breed": "breed",
    "ram_type": "type",
    "intended_use": "use",
    "circumstance": "circumstance",
    "in_season": "season",
    "days_since_longest_day": "days since the longest day",
    "day_length": "day length",
    "day_length_range": "range of day length over the year",
    "days_to_mating": "days to mating",
}
# Ages are counted in half steps: odd is "more than n months, less than n + 1". Said with whole
# months: more than odd is from n + 1 on, up to odd is under n + 1.
_WHOLE = {
    "gt": lambda v: ("ge", v + 1) if v % 2 else ("gt", v),
    "ge": lambda v: ("gt", v - 1) if v % 2 else ("ge", v),
    "lt": lambda v: ("le", v - 1) if v % 2 else ("lt", v),
    "le": lambda v: ("lt", v + 1) if v % 2 else ("le", v),
}
_ORDERS = {"lt": "under", "le": "up to", "gt": "over", "ge": "from", "eq": ""}


def condition_words(node: Mapping[str, Any], protocol: ReadyProtocol) -> str:
    """Return a condition in words; empty for one that always holds.

    Parameters
    ----------
    node : mapping
        Normal form, see `stell.core.protocol.conditions`.
    protocol : ReadyProtocol
        For the titles and units of its checks.
    """
    op = node["op"]
    if op in ("all", "any"):
        parts = [condition_words(part, protocol) for part in _merged(node["of"], op)]
        joint = " and " if op == "all" else " or "
        inner = {"all": "any", "any": "all"}[op]
        marked = [
            f"({text})" if part["op"] == inner and len(part["of"]) > 1 else text
            for part, text in zip(_merged(node["of"], op), parts, strict=True)
        ]
        return joint.join(marked)
    if op == "not":
        return f"not ({condition_words(node['of'], protocol)})"
    fact = node["fact"]
    if fact == "age_months" and op in _WHOLE:
        op, whole = _WHOLE[op](node["value"])
        node = {"op": op, "fact": fact, "value": whole}
    if op == "known":
        return f"{_title(fact, protocol)} known"
    if op == "between":
        low, high = (_value(fact, v, protocol) for v in node["values"])
        return f"{_title(fact, protocol)} {low} to {high}"
    values = node["values"] if op == "in" else [node["value"]]
    if fact == "in_season":
        return "in season" if values[0] else "out of season"
    words = " or ".join(_value(fact, v, protocol) for v in values)
    return " ".join(part for part in (_title(fact, protocol), _ORDERS.get(op, ""), words) if part)


def _merged(parts: Iterable[Mapping[str, Any]], op: str) -> list[Mapping[str, Any]]:
    """Return the parts with each pair of "from a" and "up to b" of one fact as one span."""
    parts = list(parts)
    compared = {p["fact"] for p in parts if "fact" in p and p["op"] != "known"}
    if op == "all":  # "known and equal to ..." says no more than "equal to ..."
        parts = [p for p in parts if not (p["op"] == "known" and p["fact"] in compared)]
    merged: list[Mapping[str, Any]] = []
    for part in parts:
        last = merged[-1] if merged else None
        if (
            op == "all"
            and last is not None
            and (last["op"], part["op"]) == ("ge", "le")
            and last["fact"] == part["fact"]
        ):
            values = [last["value"], part["value"]]
            merged[-1] = {"op": "between", "fact": part["fact"], "values": values}
        else:
            merged.append(part)
    return merged


def _title(fact: str, protocol: ReadyProtocol) -> str:
    check = protocol.checks.get(fact)
    return check.title.lower() if check else FACT_WORDS.get(fact, fact)


def _value(fact: str, value: Any, protocol: ReadyProtocol) -> str:
    check = protocol.checks.get(fact)
    if check is not None and check.unit is not None:
        return shown(value, check.unit)
    if check is not None:
        rule = check.rules.get(value)
        return f'"{rule.label.lower()}"' if rule else str(value)
    unit = _fact_unit(fact)
    if unit is not None:
        return shown(value, unit)
    return str(value).replace("_", " ")


def _fact_unit(fact: str) -> Any:
    from stell.core.protocol.conditions import context_facts

    known = context_facts().get(fact)
    return known.unit if known else None


def effect_words(effect: RuleEffect, protocol: ReadyProtocol) -> str:
    """Return one effect in words, with the condition it hangs on."""
    kind = effect.kind.name
    if kind == "treat":
        days = effect.within_days
        words = f"treat within {days} {'day' if days == 1 else 'days'}" if days else "treat at once"
    elif kind == "defer":
        words = f"defer {effect.days} {'day' if effect.days == 1 else 'days'}"
        if effect.until_in_season:
            words += ", and until he is in season"
    elif kind == "restrict":
        words = f"restrict: {protocol.restrictions[effect.restriction].title.lower()}"
    else:
        words = kind
    if effect.when is None:
        return words
    return f"{words} if {condition_words(effect.when, protocol)}"


def effects_words(rule: Rule, protocol: ReadyProtocol) -> str:
    """Return all effects of a rule in words; ``no effect`` when it has none."""
    return "; ".join(effect_words(e, protocol) for e in rule.effects) or "no effect"


def band_words(check: ReadyCheck, band: ReadyBand) -> str:
    """Return where a band lies, for example ``below 32.0 cm``."""
    from stell.core.verdict import band_text

    return band_text(check, band)


def origin_words(origin: Origin | None, numbers: Mapping[str, int]) -> str:
    """Return source number, place and basis, for example ``[3] page 2, published``."""
    if origin is None:
        return ""
    basis = BASIS[origin.basis]
    if not origin.source:
        return basis
    return f"[{numbers.get(origin.source, 0)}] {basis}"


def cited(protocol: ReadyProtocol) -> dict[str, int]:
    """Return the sources that a protocol leans on, numbered in the order of the walk."""
    numbers: dict[str, int] = {}
    for check in protocol.checks.values():
        if check.spec.source:
            numbers.setdefault(check.spec.source, len(numbers) + 1)
        for standard in check.standards:
            if standard.origin.source:
                numbers.setdefault(standard.origin.source, len(numbers) + 1)
        for rule in check.rules.values():
            if rule.origin is not None and rule.origin.source:
                numbers.setdefault(rule.origin.source, len(numbers) + 1)
    for origin in protocol.origins.values():
        if origin.source:
            numbers.setdefault(origin.source, len(numbers) + 1)
    return numbers

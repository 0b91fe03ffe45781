"""A practice's copy beside what it was copied from: figures changed under an old citation.

A source must not be cited for a number that it does not hold. Whoever changes a limit, a number of
days or a figure says so by ``basis = "practice"`` (or names a source of their own).
"""

from __future__ import annotations

from collections.abc import Iterator

from stell.core.errors import ProtocolError
from stell.core.protocol.load import load_shipped, shipped
from stell.core.protocol.ready import Origin, ReadyProtocol, Rule


def original_of(copy: ReadyProtocol) -> ReadyProtocol | None:
    """Return the shipped protocol that `copy` names in ``copied_from``, if it is that version."""
    name = copy.spec.copied_from.split(" ")[0]
    if name not in shipped():
        return None
    try:
        original = load_shipped(name)
    except ProtocolError:
        return None
    return original if original.named == copy.spec.copied_from else None


def borrowed_citations(copy: ReadyProtocol, original: ReadyProtocol) -> tuple[str, ...]:
    """Return a sentence for each statement that was changed but still has its old origin.

    Parameters
    ----------
    copy : ReadyProtocol
        A practice's protocol.
    original : ReadyProtocol
        What it was copied from.
    """
    return tuple(dict.fromkeys([*_rules(copy, original), *_figures(copy, original)]))


def _rules(copy: ReadyProtocol, original: ReadyProtocol) -> Iterator[str]:
    before = {rule.rule_id: (rule, _numbers(original, rule)) for _, rule in original.rules()}
    for check, rule in copy.rules():
        old, numbers = before.get(rule.rule_id, (None, None))
        if old is None or old.origin is None or rule.origin is None:
            continue
        if _numbers(copy, rule) != numbers and _same(rule.origin, old.origin):
            yield _told(f"{check.title}: {rule.label}", rule.origin, original)


def _numbers(protocol: ReadyProtocol, rule: Rule) -> tuple[object, ...]:
    """Return the numbers of a rule: its days, and the limits of its band."""
    days = tuple((e.kind, e.days, e.within_days) for e in rule.effects)
    for check in protocol.checks.values():
        for standard in check.standards:
            for band in standard.bands:
                if band.rule is rule:
                    return (*days, band.low, band.high)
    return days


def _figures(copy: ReadyProtocol, original: ReadyProtocol) -> Iterator[str]:
    for where, origin in copy.origins.items():
        group, _, key = where.partition(".")
        if where not in original.origins or group not in ("timing", "targets"):
            continue
        one, other = (_figure(p, group, key) for p in (copy, original))
        if one != other and _same(origin, original.origins[where]):
            yield _told(where, origin, original)


def _figure(protocol: ReadyProtocol, group: str, key: str) -> tuple[object, ...]:
    holder = protocol.spec.timing if group == "timing" else None
    figure = getattr(holder, key) if holder is not None else protocol.spec.targets[key]
    return figure.value, figure.low, figure.high, figure.unit


def _same(one: Origin, other: Origin) -> bool:
    cited = (one.source, one.where, one.basis)
    return one.basis != "practice" and cited == (other.source, other.where, other.basis)


def _told(what: str, origin: Origin, original: ReadyProtocol) -> str:
    cited = f"{origin.source}, {origin.basis}" if origin.source else origin.basis
    return (
        f"{what}: differs from {original.named}, yet still rests on the same origin ({cited}). "
        'If the number is yours, say basis = "practice"'
    )

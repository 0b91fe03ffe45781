"""What differs between two protocols: checks, answers, limits and figures, each with its source.

Nothing is printed here; the answer is values.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from stell.cli.protocol_words import BASIS, band_words, condition_words, effects_words
from stell.core.protocol.ready import Origin, ReadyBand, ReadyCheck, ReadyProtocol
from stell.core.units import shown, to_fixed, unit_named


@dataclass(frozen=True, slots=True)
class Side:
    """What one protocol says.

    Attributes
    ----------
    text : str
        In words; limits take a line for each band.
    source, where, basis : str
        Where it comes from; `source` is a key of the bibliography, empty for a habit of the trade.
    """

    text: str
    source: str = ""
    where: str = ""
    basis: str = ""


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing on which two protocols differ.

    Attributes
    ----------
    part : str
        ``check``, ``answer``, ``limits``, ``required``, ``order``, ``figure``, ``season`` or
        ``age class``.
    key : str
        Id of the check, answer, stop or figure; ``stops`` for the order of the stops.
    title : str
        For people.
    first, second : Side or None
        None where a protocol does not have it at all.
    """

    part: str
    key: str
    title: str
    first: Side | None
    second: Side | None


def differences(first: ReadyProtocol, second: ReadyProtocol) -> tuple[Difference, ...]:
    """Return everything on which the two differ, in the order of the walk round the ram."""
    found = [
        *_limits(first, second),
        *_checks(first, second),
        *_order(first, second),
        *_figures(first, second),
    ]
    return tuple(found)


def _side(text: str, origin: Origin | None = None) -> Side:
    if origin is None:
        return Side(text)
    return Side(text, origin.source, origin.where, BASIS[origin.basis])


def _pairs(first: ReadyProtocol, second: ReadyProtocol) -> Iterator[tuple[str, str]]:
    """Yield the id and title of every check, in the order of the first, then of the second."""
    seen: set[str] = set()
    for protocol in (first, second):
        for check in protocol.checks.values():
            if check.id not in seen:
                seen.add(check.id)
                yield check.id, check.title


def _limits(first: ReadyProtocol, second: ReadyProtocol) -> Iterator[Difference]:
    for check_id, title in _pairs(first, second):
        if check_id not in first.checks or check_id not in second.checks:
            continue  # said once, under the checks that only one of them has
        texts = [_standards(p, check_id) for p in (first, second)]
        if texts[0] != texts[1] and (texts[0] or texts[1]):
            rows = max(len(t) for t in texts)
            for i in range(rows):
                sides = [t[i] if i < len(t) else None for t in texts]
                if sides[0] != sides[1]:
                    yield Difference("limits", check_id, title, sides[0], sides[1])


def _standards(protocol: ReadyProtocol, check_id: str) -> list[Side]:
    check = protocol.checks[check_id]
    sides = []
    for standard in check.standards:
        whom = condition_words(standard.applies, protocol)
        bands = [_band(check, band, protocol) for band in standard.bands]
        text = "\n".join([f"{whom or 'any ram'}:", *bands])
        sides.append(_side(text, standard.origin))
    return sides


def _band(check: ReadyCheck, band: ReadyBand, protocol: ReadyProtocol) -> str:
    text = f"- {band_words(check, band)}: {band.rule.label}"
    return f"{text}, {effects_words(band.rule, protocol)}" if band.rule.effects else text


def _checks(first: ReadyProtocol, second: ReadyProtocol) -> Iterator[Difference]:
    for check_id, title in _pairs(first, second):
        one, other = first.checks.get(check_id), second.checks.get(check_id)
        if one is None or other is None:
            sides = [_side(_kind(c)) if c else None for c in (one, other)]
            yield Difference("check", check_id, title, sides[0], sides[1])
            continue
        required = [_required(p, c) for p, c in ((first, one), (second, other))]
        if required[0] != required[1]:
            a, b = (_side(text) for text in required)
            yield Difference("required", check_id, title, a, b)
        yield from _answers(first, second, check_id, title)


def _kind(check: ReadyCheck) -> str:
    if check.unit is not None:
        return f"measured in {check.unit.symbol or check.unit.name}"
    return f"{len(check.rules)} answers"


def _required(protocol: ReadyProtocol, check: ReadyCheck) -> str:
    if check.id in protocol.always_required:
        return "always required"
    if check not in protocol.sometimes_required:
        return "may be left out"
    nodes = [n for n in (check.asked_when, check.required_when) if n is not None]
    return "required if " + " and ".join(condition_words(n, protocol) for n in nodes)


def _answers(
    first: ReadyProtocol, second: ReadyProtocol, check_id: str, title: str
) -> Iterator[Difference]:
    one, other = first.checks[check_id], second.checks[check_id]
    for option in dict.fromkeys((*one.rules, *other.rules)):
        rules = [c.rules.get(option) for c in (one, other)]
        sides = [
            _side(effects_words(r, p), r.origin) if r else None
            for r, p in zip(rules, (first, second), strict=True)
        ]
        texts = [s.text if s else None for s in sides]
        if texts[0] != texts[1]:
            label = next(r.label for r in rules if r)
            key = f"{check_id}.{option}"
            yield Difference("answer", key, f"{title}: {label}", sides[0], sides[1])


def _order(first: ReadyProtocol, second: ReadyProtocol) -> Iterator[Difference]:
    """Yield what comes earlier or elsewhere on the walk: stops, checks in a stop, moved checks."""
    stops = [{stop.id: stop.title for stop in p.spec.stop} for p in (first, second)]
    yield from _reordered("stops", "Stops", stops)
    for check_id, title in _pairs(first, second):
        at = [p.checks[check_id].spec.stop for p in (first, second) if check_id in p.checks]
        if len(at) == 2 and at[0] != at[1]:
            one, other = (_side(f"at {titles[s]}") for titles, s in zip(stops, at, strict=True))
            yield Difference("order", check_id, title, one, other)
    for stop_id, stop in stops[0].items():
        here = [
            {c.id: c.title for c in p.checks.values() if c.spec.stop == stop_id}
            for p in (first, second)
        ]
        yield from _reordered(f"stop:{stop_id}", stop, here)


def _reordered(key: str, title: str, titles: Sequence[dict[str, str]]) -> Iterator[Difference]:
    """Yield one difference where what both have stands in another order."""
    one, other = titles
    orders = [[i for i in one if i in other], [i for i in other if i in one]]
    if orders[0] != orders[1]:
        moved = [
            [i for i, j in zip(order, against, strict=True) if i != j]
            for order, against in (orders, reversed(orders))
        ]
        texts = [", ".join(t[i] for i in m) for t, m in zip(titles, moved, strict=True)]
        yield Difference("order", key, title, _side(texts[0]), _side(texts[1]))


def _figures(first: ReadyProtocol, second: ReadyProtocol) -> Iterator[Difference]:
    sides = [_figures_of(p) for p in (first, second)]
    for key in dict.fromkeys((*sides[0], *sides[1])):
        one, other = sides[0].get(key), sides[1].get(key)
        if (one.text if one else None) != (other.text if other else None):
            title = key.split(".", 1)[-1].replace("_", " ")
            part = "age class" if key.startswith("age_class") else key.split(".")[0]
            part = "figure" if part in ("timing", "targets") else part
            yield Difference(part, key, title, one, other)


def _figures_of(protocol: ReadyProtocol) -> dict[str, Side]:
    spec = protocol.spec
    figures = {f"targets.{k}": v for k, v in spec.targets.items()}
    if spec.timing is not None:
        for name in type(spec.timing).model_fields:
            figures[f"timing.{name}"] = getattr(spec.timing, name)
    sides = {}
    for key, figure in figures.items():
        unit = unit_named(figure.unit)
        text = shown(to_fixed(figure.value, unit), unit)
        sides[key] = _side(text, protocol.origins.get(key))
    if protocol.in_season is not None:
        sides["season.in_season"] = Side(condition_words(protocol.in_season, protocol))
    for age in spec.age_class:
        until = "" if age.until_months is None else f" to under {age.until_months}"
        origin = protocol.origins.get(f"age_class.{age.id}")
        text = f"{age.title}: from {age.from_months}{until} months"
        sides[f"age_class.{age.id}"] = _side(text, origin)
    return sides

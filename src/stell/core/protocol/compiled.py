"""Make a protocol ready for judging: sides expanded, numbers whole, conditions in normal form.

Whatever can only be seen across the whole file is refused here, with its key.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from itertools import pairwise
from typing import Any

from stell.core.errors import ProtocolError
from stell.core.protocol import schema
from stell.core.protocol.conditions import (
    Fact,
    Node,
    compile_condition,
    context_facts,
    facts_in,
    tester,
)
from stell.core.protocol.ready import (
    Origin,
    ReadyBand,
    ReadyCheck,
    ReadyProtocol,
    ReadyStandard,
    Rule,
    RuleEffect,
)
from stell.core.units import Unit, from_fixed, to_fixed, unit_named

__all__ = [
    "MAX_READINGS",
    "Origin",
    "ReadyBand",
    "ReadyCheck",
    "ReadyProtocol",
    "ReadyStandard",
    "Rule",
    "RuleEffect",
    "compile_protocol",
]

MAX_READINGS = 9
_TWO_SIDED_95 = 1.96  # standard normal quantile, a fact of arithmetic and not of the trade


def compile_protocol(
    spec: schema.Protocol, *, digest: str = "", shared: Mapping[str, schema.Source] | None = None
) -> ReadyProtocol:
    """Return `spec` ready for judging.

    Raises
    ------
    ProtocolError
        `protocol.invalid`, `protocol.source`, `protocol.unit` or `protocol.cycle`.
    """
    return _Compiler(spec, digest, dict(shared or {}) | dict(spec.sources)).run()


class _Compiler:
    def __init__(
        self, spec: schema.Protocol, digest: str, sources: dict[str, schema.Source]
    ) -> None:
        self.spec = spec
        self.digest = digest
        self.sources = sources
        self.stops = {s.id for s in spec.stop}
        self.restrictions = {r.id: r for r in spec.restriction}
        self.facts = context_facts()

    def run(self) -> ReadyProtocol:
        self._refuse_repeats()
        for index, check in enumerate(self.spec.check):
            for check_id, _ in _sides(check):
                self.facts[check_id] = _fact_of(check, check_id, ("check", index))
        checks = {c.id: c for c in self._checks()}
        _refuse_cycles(checks)
        season = self.spec.season
        in_season = None
        if season is not None:
            self._origin(season, None, "season")
            # The season is decided from the days alone: it may not ask about itself.
            days = {k: f for k, f in context_facts().items() if f.kind == "number"}
            in_season = compile_condition(season.in_season, days, where="season.in_season")
        return ReadyProtocol(
            spec=self.spec,
            digest=self.digest,
            sources=self.sources,
            checks=checks,
            in_season=in_season,
            season_holds=tester(in_season) if in_season is not None else None,
            always_required=frozenset(
                c.id for c in checks.values() if c.required and c.asked_when is None
            ),
            sometimes_required=tuple(
                c
                for c in checks.values()
                if c.required_when is not None or (c.required and c.asked_when is not None)
            ),
            restrictions=self.restrictions,
            age_classes={a.id: a for a in self.spec.age_class},
            order={check_id: i for i, check_id in enumerate(checks)},
            origins=self._figure_origins(),
        )

    def _refuse_repeats(self) -> None:
        for kind, items in (
            ("stop", [s.id for s in self.spec.stop]),
            ("check", [i for c in self.spec.check for i, _ in _sides(c)]),
            ("restriction", [r.id for r in self.spec.restriction]),
            ("age_class", [a.id for a in self.spec.age_class]),
        ):
            seen: set[str] = set()
            for position, item in enumerate(items):
                if item in seen:
                    raise _bad(f"the id of a {kind} stands twice", item, f"{kind}[{position}]")
                seen.add(item)

    def _checks(self) -> Iterable[ReadyCheck]:
        for index, check in enumerate(self.spec.check):
            where = f"check[{index}]"
            if check.stop not in self.stops:
                raise ProtocolError(
                    "protocol.invalid",
                    f"check '{check.id}' stands at a stop that does not exist",
                    got=check.stop,
                    legal=", ".join(sorted(self.stops)),
                    example='stop = "head"',
                    where=f"{where}.stop",
                )
            for check_id, side in _sides(check):
                yield self._check(check, check_id, side, where)

    def _check(self, check: schema.Check, check_id: str, side: str, where: str) -> ReadyCheck:
        unit = unit_named(check.unit, where=f"{where}.unit") if check.unit else None
        shown_side = f" ({side})" if side else ""
        title = f"{check.title}{shown_side}"
        rules = {
            o.id: self._option_rule(check, check_id, o, f"{where}.option[{i}]")
            for i, o in enumerate(check.option)
        }
        if len(rules) != len(check.option):
            raise _bad("an option's id stands twice", [o.id for o in check.option], where)
        asked = self._condition(check.asked_when, f"{where}.asked_when")
        needed = self._condition(check.required_when, f"{where}.required_when")
        conditions = [node for node in (asked, needed) if node is not None]
        normal = next((o.id for o in check.option if o.normal), "")
        return ReadyCheck(
            id=check_id,
            base=check.id,
            side=side,
            title=title,
            short=(check.short or check.title) + shown_side,
            spec=check,
            unit=unit,
            asked_when=asked,
            required=check.required and check.required_when is None,
            required_when=needed,
            wanted=tester({"op": "all", "of": conditions}) if conditions else None,
            rules=rules,
            normal=normal,
            nothing_found=(normal,) if check.several else normal,
            standards=tuple(
                self._standard(check, check_id, s, unit, f"{where}.standard[{i}]")
                for i, s in enumerate(check.standard)
            ),
            plausible=_plausible(check, unit),
            error_by_readings=self._errors(check, check.error_same_person, unit, where),
            error_other_by_readings=self._errors(check, check.error_other_person, unit, where),
        )

    def _condition(self, raw: dict[str, Any] | None, where: str) -> Node | None:
        return None if raw is None else compile_condition(raw, self.facts, where=where)

    def _option_rule(
        self, check: schema.Check, check_id: str, option: schema.Option, where: str
    ) -> Rule:
        origin = None if option.normal else self._origin(option, check, where)
        return Rule(
            rule_id=f"{check_id}.{option.id}",
            label=option.label,
            effects=self._effects(option.effects, where),
            do=option.do or "",
            owner=option.owner or "",
            flags=option.flags,
            origin=origin,
            brief=option.brief or "",
        )

    def _effects(self, effects: Iterable[schema.Effect], where: str) -> tuple[RuleEffect, ...]:
        ready = []
        for i, e in enumerate(effects):
            if e.restriction is not None and e.restriction not in self.restrictions:
                raise ProtocolError(
                    "protocol.invalid",
                    "the restriction is not defined in this file",
                    got=e.restriction,
                    legal=", ".join(self.restrictions) or "none are defined",
                    example='[[restriction]] id = "not_replacements"',
                    where=f"{where}.effects[{i}]",
                )
            when = self._condition(e.when, f"{where}.effects[{i}].when")
            ready.append(
                RuleEffect(
                    kind=schema.Severity[e.kind],
                    days=e.days or 0,
                    within_days=e.within_days or 0,
                    restriction=e.restriction or "",
                    when=when,
                    holds=tester(when) if when is not None else None,
                    until_in_season=e.until_in_season,
                )
            )
        return tuple(ready)

    def _origin(
        self, stated: schema.Provenance, inherited: schema.Provenance | None, where: str
    ) -> Origin:
        above = inherited or schema.Provenance()
        basis = stated.basis or above.basis
        # A statement with a basis of its own does not borrow the source of the check around it.
        own = stated.basis is not None
        source = stated.source or (None if own and stated.source is None else above.source)
        place = stated.where or (None if own and stated.source is None else above.where)
        checked = stated.checked_on or above.checked_on
        if basis is None or checked is None:
            raise _unsourced("it has no 'basis' or no 'checked_on' date", where)
        if basis in ("published", "published-secondary") and not (source and place):
            raise _unsourced(f"basis '{basis}' needs 'source' and 'where'", where)
        if source and source not in self.sources:
            raise ProtocolError(
                "protocol.source",
                "the source is not in the bibliography",
                got=source,
                legal=", ".join(sorted(self.sources)) or "no source is listed",
                example='[sources.my_source] title = "…"',
                where=where,
            )
        return Origin(source or "", place or "", basis, checked, stated.remark or "")

    def _figure_origins(self) -> dict[str, Origin]:
        named: dict[str, schema.Figure] = {f"targets.{k}": v for k, v in self.spec.targets.items()}
        if self.spec.timing is not None:
            for key in type(self.spec.timing).model_fields:
                named[f"timing.{key}"] = getattr(self.spec.timing, key)
        origins = {}
        for where, figure in named.items():
            unit_named(figure.unit, where=f"{where}.unit")
            origins[where] = self._origin(figure, None, where)
        for i, age in enumerate(self.spec.age_class):
            origins[f"age_class.{age.id}"] = self._origin(age, None, f"age_class[{i}]")
        return origins

    def _errors(
        self, check: schema.Check, figure: schema.Figure | None, unit: Unit | None, where: str
    ) -> tuple[int, ...]:
        """95 % half-width of the mean of k readings, for k = 0 … MAX_READINGS. [fixed units]"""
        if figure is None or unit is None:
            return (0,) * (MAX_READINGS + 1)
        here = f"{where}.error"
        self._origin(figure, check, here)
        if figure.unit != unit.name:
            raise ProtocolError(
                "protocol.unit",
                "an error must be in the unit of its check",
                got=figure.unit,
                legal=unit.name,
                example=f'unit = "{unit.name}"',
                where=here,
            )
        sd = float(figure.value) * unit.per_unit
        half = [_TWO_SIDED_95 * sd / math.sqrt(k) for k in range(1, MAX_READINGS + 1)]
        return (0, *(int(h + 0.5) for h in half))

    def _standard(
        self,
        check: schema.Check,
        check_id: str,
        standard: schema.Standard,
        unit: Unit | None,
        where: str,
    ) -> ReadyStandard:
        assert unit is not None
        origin = self._origin(standard, check, where)
        low, high = _plausible(check, unit)
        bands = []
        for i, band in enumerate(standard.bands):
            here = f"{where}.bands[{i}]"
            if self.spec.classes and band.classed not in self.spec.classes:
                raise ProtocolError(
                    "protocol.invalid",
                    "the class is not one of this file's classes",
                    got=band.classed,
                    legal=", ".join(self.spec.classes),
                    example=f'classed = "{self.spec.classes[-1]}"',
                    where=here,
                )
            rule = Rule(
                rule_id=f"{check_id}.{standard.id}.{band.classed}",
                label=band.classed.replace("_", " "),
                effects=self._effects(band.effects, here),
                do=band.do or "",
                owner=band.owner or "",
                flags=band.flags,
                origin=origin,
                classed=band.classed,
                brief=band.brief or "",
            )
            bands.append(_ready_band(band, rule, unit, low, high))
        names = [b.classed for b in standard.bands]
        if len(set(names)) != len(names):
            raise _bad("a class stands twice in one standard", ", ".join(names), where)
        bands.sort(key=lambda b: b.low)
        _refuse_holes(bands, standard, unit, low, high, where)
        applies = compile_condition(standard.applies, self.facts, where=f"{where}.applies")
        return ReadyStandard(
            standard_id=f"{check_id}.{standard.id}",
            title=standard.title,
            applies=applies,
            holds=tester(applies),
            bands=tuple(bands),
            limits=_limits(bands),
            origin=origin,
        )


def _sides(check: schema.Check) -> list[tuple[str, str]]:
    if not check.sides:
        return [(check.id, "")]
    return [(f"{check.id}_{side}", side) for side in check.sides]


def _fact_of(check: schema.Check, check_id: str, where: tuple[str | int, ...]) -> Fact:
    if check.kind == "measure":
        assert check.unit is not None
        return Fact(check_id, "number", unit_named(check.unit, where=f"check[{where[1]}].unit"))
    options = tuple(o.id for o in check.option)
    return Fact(check_id, "words" if check.several else "word", legal=options)


def _plausible(check: schema.Check, unit: Unit | None) -> tuple[int, int]:
    if unit is None or check.plausible is None:
        return (0, 0)
    return to_fixed(check.plausible.min, unit), to_fixed(check.plausible.max, unit)


def _ready_band(band: schema.Band, rule: Rule, unit: Unit, low: int, high: int) -> ReadyBand:
    start = low
    end = high
    from_limit = to_limit = None
    if band.ge is not None:
        start = from_limit = to_fixed(band.ge, unit)
    if band.gt is not None:
        from_limit = to_fixed(band.gt, unit)
        start = from_limit + 1
    if band.le is not None:
        end = to_limit = to_fixed(band.le, unit)
    if band.lt is not None:
        to_limit = to_fixed(band.lt, unit)
        end = to_limit - 1
    return ReadyBand(start, end, from_limit, to_limit, rule)


def _refuse_holes(
    bands: list[ReadyBand],
    standard: schema.Standard,
    unit: Unit,
    low: int,
    high: int,
    where: str,
) -> None:
    covered = [(b.low, b.high) for b in bands]
    covered += [(to_fixed(a, unit), to_fixed(b, unit)) for a, b in standard.no_standard_between]
    covered.sort()
    edge = low
    for start, end in covered:
        if start > end:
            raise _bad("a band is empty", _span(start, end, unit), where)
        if start < edge:
            raise _bad("two bands overlap", _span(start, edge - 1, unit), where)
        if start > edge:
            raise _hole(edge, start - 1, unit, where)
        edge = end + 1
    if edge <= high:
        raise _hole(edge, high, unit, where)


def _span(start: int, end: int, unit: Unit) -> str:
    return f"{from_fixed(start, unit)} to {from_fixed(end, unit)} {unit.symbol}".strip()


def _hole(start: int, end: int, unit: Unit, where: str) -> ProtocolError:
    return ProtocolError(
        "protocol.invalid",
        "the bands leave a hole within 'plausible'",
        got=f"nothing for {_span(start, end, unit)}",
        legal="bands that cover 'plausible' from end to end, or a stretch named as silent",
        example="no_standard_between = [[1, 9]]",
        where=where,
    )


def _limits(bands: list[ReadyBand]) -> tuple[int, ...]:
    """Return the limits at which the worst effect changes: only these are worth a second look."""
    limits = []
    for below, above in pairwise(bands):
        if below.rule.worst != above.rule.worst:
            written = above.from_limit if above.from_limit is not None else below.to_limit
            limits.append(above.low if written is None else written)
    return tuple(limits)


def _refuse_cycles(checks: Mapping[str, ReadyCheck]) -> None:
    waits = {
        c.id: sorted(
            f
            for node in (c.asked_when, c.required_when)
            if node is not None
            for f in facts_in(node)
            if f in checks
        )
        for c in checks.values()
    }
    done: set[str] = set()

    def walk(check_id: str, trail: tuple[str, ...]) -> None:
        if check_id in trail:
            circle = " -> ".join((*trail[trail.index(check_id) :], check_id))
            raise ProtocolError(
                "protocol.cycle",
                "checks wait for each other in a circle, so none of them would ever be asked",
                got=circle,
                legal="asked_when and required_when that speak of checks which do not wait in turn",
                example='asked_when = { penis = { eq = "seen" } }',
                where=f"check {check_id}.asked_when",
            )
        if check_id not in done:
            for other in waits[check_id]:
                walk(other, (*trail, check_id))
            done.add(check_id)

    for check_id in waits:
        walk(check_id, ())


def _bad(problem: str, got: object, where: str) -> ProtocolError:
    return ProtocolError("protocol.invalid", problem, got=got, where=where)


def _unsourced(why: str, where: str) -> ProtocolError:
    return ProtocolError(
        "protocol.source",
        f"a statement lacks its origin: {why}",
        legal="source, where, basis (published, published-secondary, common-practice, memory, "
        "practice) and checked_on, here or in the check around it",
        example='basis = "common-practice"\nchecked_on = 2026-11-25',
        where=where,
    )

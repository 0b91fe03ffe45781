"""The judge: (protocol, ram, examination, season) to a verdict with reasons.

No clinical number stands here; all of them come from the protocol. The verdict is the worst
effect that held: reject makes unsatisfactory, defer makes deferred. Anything required and missing,
or a rule that cannot be decided because a fact is unknown, makes incomplete, unless the ram is
already unsatisfactory. The order of the observations never matters.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date, timedelta
from typing import Any

from stell.core.actions import actions_for
from stell.core.daylength import season_facts
from stell.core.protocol.compiled import MAX_READINGS
from stell.core.protocol.conditions import FactValue, Node, Span, facts_in
from stell.core.protocol.ready import ReadyCheck, ReadyProtocol, ReadyStandard, Rule, RuleEffect
from stell.core.protocol.schema import Severity
from stell.core.records import Examination, Observed, Ram, Season, age_half_steps
from stell.core.units import shown
from stell.core.verdict import Borderline, Missing, Outcome, Reason, Verdict

__all__ = ["FACT_TITLES", "Facts", "judge"]

FACT_TITLES = {
    "age_months": "his age",
    "breed": "his breed",
    "ram_type": "his type (hill, lowland, terminal …)",
    "intended_use": "what he is meant to sire",
    "in_season": "the flock's latitude",
    "days_since_longest_day": "the flock's latitude",
    "day_length": "the flock's latitude",
    "day_length_range": "the flock's latitude",
    "days_to_mating": "the start of mating",
}
_OLDEST_MONTHS = 360  # an open-ended age class ends here: no sheep on record is older


class Facts:
    """What conditions may ask about one examination; each fact is worked out when first asked."""

    def __init__(
        self, protocol: ReadyProtocol, ram: Ram, exam: Examination, season: Season
    ) -> None:
        self.protocol = protocol
        self.ram = ram
        self.exam = exam
        self.season = season
        self._known: dict[str, FactValue] = {}

    def get(self, name: str, /) -> FactValue:
        """Return a fact, or None when it is not known."""
        known = self._known
        if name not in known:
            work_out = _CONTEXT.get(name)
            known[name] = work_out(self) if work_out else self._check_fact(name)
        return known[name]

    def _days_to_mating(self) -> int | None:
        start = self.season.mating_start_on
        return (start - self.exam.examined_on).days if start else None

    def _in_season(self) -> bool | None:
        holds = self.protocol.season_holds
        return holds(self) if holds else None

    def _day(self, field: int) -> int | None:
        latitude = self.season.latitude_deg
        return None if latitude is None else season_facts(latitude, self.exam.examined_on)[field]

    def _check_fact(self, name: str) -> FactValue:
        observed = self.exam.observations.get(name)
        check = self.protocol.checks.get(name)
        if observed is None or check is None:
            return None
        if check.is_measure:
            readings = _readings(observed)
            return mean_reading(readings) if readings else None
        if check.spec.several:
            return tuple(str(v) for v in _answers(observed))
        return observed if isinstance(observed, str) else None


# Breed and type that are not stated count as none of the named ones: a row for one breed needs its
# name, and a sheet without breeds is still judged by the general rows.
_CONTEXT: dict[str, Callable[[Facts], FactValue]] = {
    "age_months": lambda f: age_of(f.protocol, f.ram, f.exam),
    "breed": lambda f: f.ram.breed,
    "ram_type": lambda f: f.ram.ram_type,
    "intended_use": lambda f: f.ram.intended_use or None,
    "circumstance": lambda f: f.exam.circumstances,
    "days_to_mating": Facts._days_to_mating,
    "in_season": Facts._in_season,
    "day_length": lambda f: f._day(0),
    "day_length_range": lambda f: f._day(1),
    "days_since_longest_day": lambda f: f._day(2),
}


def age_of(protocol: ReadyProtocol, ram: Ram, exam: Examination) -> int | Span | None:
    """Return the ram's age that day as far as it is known. [half steps of calendar months]"""
    on = exam.examined_on
    if ram.born is not None:
        if ram.born.earliest > on:
            return None
        oldest = age_half_steps(ram.born.earliest, on)
        youngest = age_half_steps(min(ram.born.latest, on), on)
        return oldest if oldest == youngest else Span(youngest, oldest)
    known = protocol.age_classes.get(ram.age_class)
    if known is None:
        return None
    since = ram.age_class_on or on
    passed = age_half_steps(since, on) if since <= on else 0
    until = known.until_months if known.until_months is not None else _OLDEST_MONTHS
    return Span(2 * known.from_months + passed, 2 * until - 1 + passed)


def mean_reading(readings: tuple[int, ...]) -> int:
    """Return the mean of whole readings, halves rounded up. [fixed units]

    Examples
    --------
    >>> mean_reading((320, 325))
    323
    """
    return (2 * sum(readings) + len(readings)) // (2 * len(readings))


def _readings(observed: Observed) -> tuple[int, ...]:
    if isinstance(observed, tuple):
        return tuple(v for v in observed if isinstance(v, int))
    return (observed,) if isinstance(observed, int) else ()


def _answers(observed: Observed) -> tuple[Any, ...]:
    return observed if isinstance(observed, tuple) else (observed,)


def judge(
    protocol: ReadyProtocol, ram: Ram, exam: Examination, season: Season | None = None
) -> Verdict:
    """Return the verdict on one examination.

    Parameters
    ----------
    protocol : ReadyProtocol
        From `stell.core.protocol.load`.
    ram : Ram
    exam : Examination
        Measured values as tuples of whole fixed units.
    season : Season, optional
        Start of mating and latitude; unknown parts make rules that need them undecidable.

    Returns
    -------
    Verdict
    """
    return _Bench(protocol, Facts(protocol, ram, exam, season or Season())).verdict()


class _Bench:
    """One judgement in the making."""

    def __init__(self, protocol: ReadyProtocol, facts: Facts) -> None:
        self.protocol = protocol
        self.facts = facts
        self.reasons: list[Reason] = []
        self.findings: list[Reason] = []
        self.missing: list[Missing] = []
        self.borderline: list[Borderline] = []
        self.not_covered: list[str] = []

    def verdict(self) -> Verdict:
        exam = self.facts.exam
        checks = self.protocol.checks
        for check_id, observed in exam.observations.items():
            check = checks.get(check_id)
            if check is None:
                self.not_covered.append(check_id)
            elif check.unit is not None:
                self._measured(check, observed)
            elif observed != check.nothing_found:
                self._chosen(check, observed)
        self._not_examined()
        return self._sum_up()

    def _chosen(self, check: ReadyCheck, observed: Observed) -> None:
        for answer in _answers(observed):
            rule = check.rules.get(answer)
            if rule is None:
                self.missing.append(Missing(check.id, check.title, "unknown_answer", str(answer)))
            elif rule.effects:
                held = self._held(check, rule)
                if held:
                    self.reasons.append(Reason(check, rule, held))

    def _measured(self, check: ReadyCheck, observed: Observed) -> None:
        readings = _readings(observed)
        if not readings:
            self.missing.append(Missing(check.id, check.title, "unknown_answer", str(observed)))
            return
        value = mean_reading(readings)
        low, high = check.plausible
        if not low <= min(readings) <= max(readings) <= high:
            self._implausible(check, min(readings) if min(readings) < low else max(readings))
            return
        if not check.standards:
            return
        standard = self._standard_for(check)
        if standard is None:
            return
        band = standard.band_of(value)
        if band is None:
            self._no_standard(check, f"the source says nothing about {self._shown(check, value)}")
            return
        self._band(check, standard, value, len(readings))

    def _band(self, check: ReadyCheck, standard: ReadyStandard, value: int, readings: int) -> None:
        band = standard.band_of(value)
        assert band is not None
        held = self._held(check, band.rule) if band.rule.effects else ()
        reason = Reason(check, band.rule, held, value, standard, band)
        (self.reasons if held else self.findings).append(reason)
        if check.spec.second_reading_near_limit and readings == 1:
            error = check.error_by_readings[min(readings, MAX_READINGS)]
            for limit in standard.limits:
                if abs(value - limit) <= error:
                    self.borderline.append(Borderline(check, value, limit, error))
                    break

    def _standard_for(self, check: ReadyCheck) -> ReadyStandard | None:
        for standard in check.standards:
            holds = standard.holds(self.facts)
            if holds:
                return standard
            if holds is None:
                self._needs(check, standard.applies)
                return None
        self._no_standard(check, "no standard in this protocol covers a ram like him")
        return None

    def _held(self, check: ReadyCheck, rule: Rule) -> tuple[RuleEffect, ...]:
        """Return the effects whose condition holds; an undecidable one is recorded as missing."""
        held = []
        for effect in rule.effects:
            holds = effect.holds is None or effect.holds(self.facts)
            if holds:
                held.append(effect)
            elif holds is None and effect.when is not None:
                self._needs(check, effect.when)
        return tuple(held)

    def _needs(self, check: ReadyCheck, node: Node) -> None:
        unknown = sorted(f for f in facts_in(node) if self._is_open(f))
        titles = dict.fromkeys(self._fact_title(f) for f in unknown)
        missing = Missing(check.id, check.title, "fact_unknown", " and ".join(titles))
        if missing not in self.missing:
            self.missing.append(missing)

    def _is_open(self, fact: str) -> bool:
        value = self.facts.get(fact)
        return value is None or isinstance(value, Span)

    def _fact_title(self, fact: str) -> str:
        if fact == "age_months" and self.facts.get(fact) is not None:
            return "his age more exactly"
        check = self.protocol.checks.get(fact)
        return check.title.lower() if check else FACT_TITLES.get(fact, fact)

    def _implausible(self, check: ReadyCheck, value: int) -> None:
        low, high = (self._shown(check, v) for v in check.plausible)
        detail = f"{self._shown(check, value)} cannot be right (legal: {low} to {high})"
        self.missing.append(Missing(check.id, check.title, "implausible", detail))

    def _no_standard(self, check: ReadyCheck, detail: str) -> None:
        if check.spec.no_standard == "incomplete" and self._is_required(check):
            self.missing.append(Missing(check.id, check.title, "no_standard", detail))

    def _shown(self, check: ReadyCheck, value: int) -> str:
        assert check.unit is not None
        return shown(value, check.unit)

    def _is_required(self, check: ReadyCheck) -> bool:
        if check.id in self.protocol.always_required:
            return True
        return check in self.protocol.sometimes_required and self._is_wanted(check)

    def _is_wanted(self, check: ReadyCheck) -> bool:
        """Whether a check required only sometimes is required now; unknown counts as yes."""
        return check.wanted is None or check.wanted(self.facts) is not False

    def _not_examined(self) -> None:
        observed = self.facts.exam.observations
        for check_id in self.protocol.always_required - observed.keys():
            title = self.protocol.checks[check_id].title
            self.missing.append(Missing(check_id, title, "not_examined"))
        for check in self.protocol.sometimes_required:
            if check.id not in observed and self._is_wanted(check):
                self.missing.append(Missing(check.id, check.title, "not_examined"))

    def _sum_up(self) -> Verdict:
        order = self.protocol.order
        self.reasons.sort(key=lambda r: (-r.severity, order[r.check.id], r.rule.rule_id))
        if len(self.findings) > 1:
            self.findings.sort(key=lambda r: order[r.check.id])
        if len(self.missing) > 1:
            self.missing.sort(key=lambda m: (order[m.check_id], m.why, m.detail))
        worst = max((r.severity for r in self.reasons), default=0)
        outcome = _outcome(worst, bool(self.missing))
        exam, season = self.facts.exam, self.facts.season
        days = max((e.days for r in self.reasons for e in r.effects), default=0)
        again = exam.examined_on + timedelta(days=days) if days else None
        restrictions = _restrictions(self.reasons)
        in_season = self.facts.get("in_season")
        age = self.facts.get("age_months")
        return Verdict(
            outcome=outcome,
            protocol=self.protocol.named,
            examined_on=exam.examined_on,
            classed=self._class(),
            reasons=tuple(self.reasons),
            findings=tuple(self.findings),
            missing=tuple(self.missing),
            borderline=tuple(self.borderline),
            restrictions=restrictions,
            fits_intended_use=self._fits(restrictions),
            actions=actions_for(
                self.reasons,
                self.missing,
                self.borderline,
                self.protocol,
                exam.examined_on,
                rejected=outcome is Outcome.UNSATISFACTORY,
            ),
            reexamine_on=again if outcome is not Outcome.UNSATISFACTORY else None,
            ready_in_time=_ready(outcome, again, season),
            age=age if isinstance(age, int | Span) else None,
            in_season=in_season if isinstance(in_season, bool) else None,
            not_covered=tuple(sorted(self.not_covered)),
        )

    def _class(self) -> str:
        """Return the worst class met: a protocol lists its classes from worst to best."""
        classes = self.protocol.spec.classes
        met = [r.rule.classed for r in (*self.reasons, *self.findings) if r.rule.classed]
        return min(met, key=classes.index) if met and classes else ""

    def _fits(self, restrictions: Iterable[str]) -> bool | None:
        clashes = {
            use
            for restriction in restrictions
            for use in self.protocol.restrictions[restriction].clashes_with
        }
        if not clashes:
            return True
        use = self.facts.ram.intended_use
        return None if not use else use not in clashes


def _outcome(worst: int, something_missing: bool) -> Outcome:
    if worst == Severity.reject:
        return Outcome.UNSATISFACTORY
    if something_missing:
        return Outcome.INCOMPLETE
    return Outcome.DEFERRED if worst == Severity.defer else Outcome.SATISFACTORY


def _ready(outcome: Outcome, again: date | None, season: Season) -> bool | None:
    if outcome is Outcome.UNSATISFACTORY:
        return False
    if outcome is Outcome.SATISFACTORY:
        return True
    if season.mating_start_on is None:
        return None
    if again is not None and again > season.mating_start_on:
        return False
    return True if outcome is Outcome.DEFERRED else None


def _restrictions(reasons: Iterable[Reason]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(e.restriction for r in reasons for e in r.effects if e.restriction))

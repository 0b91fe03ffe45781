"""The judge: (protocol, ram, examination, season) to a verdict with reasons.

No clinical number stands here; all of them come from the protocol. The verdict is the worst
effect that held: reject makes unsatisfactory, defer makes deferred. Anything required and missing,
or a rule that cannot be decided because a fact is unknown, makes incomplete, unless the ram is
already unsatisfactory. The order of the observations never matters.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, timedelta
from functools import partial

from stell.core.actions import actions_for
from stell.core.choosing import standard_for
from stell.core.facts import FACT_TITLES, Facts, answers_of, mean_reading, readings_of
from stell.core.protocol.compiled import MAX_READINGS
from stell.core.protocol.conditions import Node, Span, facts_in
from stell.core.protocol.ready import ReadyCheck, ReadyProtocol, ReadyStandard, Rule, RuleEffect
from stell.core.protocol.schema import Severity
from stell.core.records import (
    INTENDED_USES,
    Examination,
    Observed,
    Ram,
    Season,
    written_date,
)
from stell.core.units import shown
from stell.core.verdict import Borderline, Missing, Outcome, Reason, Verdict
from stell.core.waiting import first_in_season, first_standard_on


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
        for answer in answers_of(observed):
            rule = check.rules.get(answer)
            if rule is None:
                self.missing.append(Missing(check.id, check.title, "unknown_answer", str(answer)))
            elif rule.effects:
                held = self._held(check, rule)
                if held:
                    self.reasons.append(Reason(check, rule, held))

    def _measured(self, check: ReadyCheck, observed: Observed) -> None:
        readings = readings_of(observed)
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
        standard = self._standard_for(check, value)
        if standard is None:
            return
        if standard.band_of(value) is None:
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

    def _standard_for(self, check: ReadyCheck, value: int) -> ReadyStandard | None:
        chosen = standard_for(check, self.facts, value)
        if chosen.undecided is not None:
            self._needs(check, chosen.undecided)
        elif chosen.standard is None:
            self._too_early(check)
        return chosen.standard

    def _too_early(self, check: ReadyCheck) -> None:
        first = first_standard_on(check, self.facts)
        when = f"; the first that does holds from {written_date(first)}" if first else ""
        detail = f"no standard in this protocol covers a ram like him{when}"
        self._no_standard(check, detail, first)

    def _held(self, check: ReadyCheck, rule: Rule) -> tuple[RuleEffect, ...]:
        """Return the effects whose condition holds; an undecidable one is recorded as missing."""
        held = []
        for effect in rule.effects:
            holds = effect.holds is None or effect.holds(self.facts)
            if holds:
                held.append(self._waiting(effect) if effect.until_in_season else effect)
            elif holds is None and effect.when is not None:
                self._needs(check, effect.when)
        return tuple(held)

    def _waiting(self, effect: RuleEffect) -> RuleEffect:
        """Return the effect lasting at least until the season begins."""
        on = self.facts.exam.examined_on
        begins = first_in_season(self.protocol, self.facts.season.latitude_deg, on)
        return replace(effect, days=max(effect.days, (begins - on).days)) if begins else effect

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

    def _no_standard(self, check: ReadyCheck, detail: str, first: date | None = None) -> None:
        if check.spec.no_standard == "incomplete" and self._is_required(check):
            self.missing.append(Missing(check.id, check.title, "no_standard", detail, first))

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
        reasons, missing = tuple(self.reasons), tuple(self.missing)
        borderline = tuple(self.borderline)
        outcome = _outcome(max((r.severity for r in reasons), default=0), bool(missing))
        rejected = outcome is Outcome.UNSATISFACTORY
        exam, season = self.facts.exam, self.facts.season
        again = _again_on(reasons, exam.examined_on)
        restrictions = _restrictions(reasons)
        in_season = self.facts.get("in_season")
        age = self.facts.get("age_months")
        return Verdict(
            outcome=outcome,
            protocol=self.protocol.named,
            examined_on=exam.examined_on,
            classed=self._class(),
            reasons=reasons,
            findings=tuple(self.findings),
            missing=missing,
            borderline=borderline,
            restrictions=restrictions,
            fits_intended_use=self._fits(restrictions),
            act=partial(
                actions_for,
                reasons,
                missing,
                borderline,
                self.protocol,
                exam.examined_on,
                rejected=rejected,
            ),
            reexamine_on=None if rejected else again,
            ready_in_time=_ready(outcome, again, season, reasons),
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
        if clashes & set(self.facts.exam.circumstances):
            return False
        use = self.facts.ram.intended_use
        asks_for_use = bool(clashes & set(INTENDED_USES))
        return None if asks_for_use and not use else use not in clashes


def _outcome(worst: int, something_missing: bool) -> Outcome:
    if worst == Severity.reject:
        return Outcome.UNSATISFACTORY
    if something_missing:
        return Outcome.INCOMPLETE
    return Outcome.DEFERRED if worst == Severity.defer else Outcome.SATISFACTORY


def _again_on(reasons: tuple[Reason, ...], on: date) -> date | None:
    """Return the day on which the longest deferral ends; none until an authority clears him."""
    if any(r.awaits_clearance for r in reasons):
        return None
    days = max((e.days for r in reasons for e in r.effects), default=0)
    return on + timedelta(days=days) if days else None


def _ready(
    outcome: Outcome, again: date | None, season: Season, reasons: Iterable[Reason]
) -> bool | None:
    if outcome is Outcome.UNSATISFACTORY:
        return False
    if outcome is Outcome.SATISFACTORY:
        return True
    if season.mating_start_on is None or any(r.awaits_clearance for r in reasons):
        return None
    if again is not None and again > season.mating_start_on:
        return False
    return True if outcome is Outcome.DEFERRED else None


def _restrictions(reasons: Iterable[Reason]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(e.restriction for r in reasons for e in r.effects if e.restriction))

"""What the rules may ask about one examination: who the ram is, when it is, what was found."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from stell.core.daylength import season_facts
from stell.core.protocol.conditions import FactValue, Span
from stell.core.protocol.ready import ReadyProtocol
from stell.core.records import Examination, Observed, Ram, Season, age_half_steps

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


_UNASKED = object()


class Facts:
    """What conditions may ask about one examination; each fact is worked out when first asked."""

    def __init__(
        self, protocol: ReadyProtocol, ram: Ram, exam: Examination, season: Season
    ) -> None:
        self.protocol = protocol
        self.ram = ram
        self.exam = exam
        self.season = season
        self._known: dict[str, object] = {}

    def get(self, name: str, /) -> FactValue:
        """Return a fact, or None when it is not known."""
        value = self._known.get(name, _UNASKED)
        if value is not _UNASKED:
            return value  # type: ignore[return-value]
        work_out = _CONTEXT.get(name)
        if work_out is None:
            value = self._check_fact(name)
        else:
            value = work_out(self)
        self._known[name] = value
        return value

    def at_age(self, half_steps: int) -> Facts:
        """Return the same facts for a ram of exactly that age. [half steps of calendar months]"""
        facts = Facts(self.protocol, self.ram, self.exam, self.season)
        facts._known["age_months"] = half_steps
        return facts

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
        if observed is None:
            return None
        check = self.protocol.checks.get(name)
        if check is None:
            return None
        if check.unit is not None:
            readings = readings_of(observed)
            return mean_reading(readings) if readings else None
        if check.spec.several:
            return tuple(str(v) for v in answers_of(observed))
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


def readings_of(observed: Observed) -> tuple[int, ...]:
    if isinstance(observed, tuple):
        return tuple(v for v in observed if isinstance(v, int))
    return (observed,) if isinstance(observed, int) else ()


def answers_of(observed: Observed) -> tuple[Any, ...]:
    return observed if isinstance(observed, tuple) else (observed,)

"""How long to wait until a figure can be used: for the season, or for a standard to fit his age."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import lru_cache

from stell.core.daylength import season_facts
from stell.core.facts import Facts
from stell.core.protocol.conditions import FactValue, Test
from stell.core.protocol.ready import ReadyCheck, ReadyProtocol
from stell.core.records import monthly_day

_ONE_YEAR_DAYS = 366
_MONTHS_AHEAD = 24


@dataclass(frozen=True, slots=True)
class _DayFacts:
    """The day-length facts of one day, for the protocol's season condition."""

    latitude_deg: float
    on: date

    def get(self, name: str, /) -> FactValue:
        day = season_facts(self.latitude_deg, self.on)
        return {
            "day_length": day.day_length_minutes,
            "day_length_range": day.day_length_range_minutes,
            "days_since_longest_day": day.days_since_longest_day,
        }.get(name)


def first_in_season(protocol: ReadyProtocol, latitude_deg: float | None, on: date) -> date | None:
    """Return the first day from `on` that the protocol counts as in season, within a year.

    None when the protocol has no season, the latitude is not known, or no day of a year is in it.
    """
    if protocol.season_holds is None or latitude_deg is None:
        return None
    return _first_day(protocol.season_holds, latitude_deg, on)


@lru_cache(maxsize=4096)
def _first_day(holds: Test, latitude_deg: float, on: date) -> date | None:
    for ahead in range(_ONE_YEAR_DAYS):
        day = on + timedelta(days=ahead)
        if holds(_DayFacts(latitude_deg, day)):
            return day
    return None


def first_standard_on(check: ReadyCheck, facts: Facts) -> date | None:
    """Return the first day on which he is old enough for a standard of a check, within two years.

    None when his birth is not known to the day, or no standard will ever fit him. Limits of age lie
    on the monthly days of his birth or begin the day after, so only those days are looked at.
    """
    born = facts.ram.born
    if born is None or not born.is_exact:
        return None
    on = facts.exam.examined_on
    for ahead in range(_MONTHS_AHEAD + 1):
        months = on.month - 1 + ahead
        turn = monthly_day(on.year + months // 12, months % 12 + 1, born.earliest.day)
        for day in (turn, turn + timedelta(days=1)):
            if day > on and _fits(check, facts, day):
                return day
    return None


def _fits(check: ReadyCheck, facts: Facts, day: date) -> bool:
    then = Facts(facts.protocol, facts.ram, replace(facts.exam, examined_on=day), facts.season)
    return any(standard.holds(then) for standard in check.standards)

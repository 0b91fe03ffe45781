"""Which season a day belongs to."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from stell.core.errors import ValueRefused

# An examination up to so many days after the rams went in still belongs to that season: about
# three cycles of 17 days and a week. A convention of this program, not a clinical figure.
SEASON_LASTS_DAYS = 60
# A start moved by no more than this is the same season with another day.
SAME_SEASON_DAYS = 60
_YEAR_DAYS = 365
_FIRST_YEAR, _LAST_YEAR = 1950, 2150


def refuse_start(start: date) -> None:
    """Refuse a start that cannot be meant; on record it would spoil every page of its flock.

    Raises
    ------
    ValueRefused
        `value.date`.
    """
    if not _FIRST_YEAR <= start.year <= _LAST_YEAR:
        raise ValueRefused(
            "value.date",
            "the day the rams go in lies in a year that cannot be meant",
            got=start.isoformat(),
            legal=f"a day from {_FIRST_YEAR} to {_LAST_YEAR}",
            example="2026-11-02",
        )


@dataclass(frozen=True, slots=True)
class SeasonDays:
    """A season: the day the rams go in, and the days (both in) whose examinations belong to it."""

    mating_start_on: date | None
    from_on: date
    until_on: date

    def holds(self, day: date) -> bool:
        """Whether a day belongs to it."""
        return self.from_on <= day <= self.until_on


def season_days(start: date, starts: Iterable[date]) -> SeasonDays:
    """Return the days of the season that starts on `start`, given all the flock's starts.

    It opens on the day after the season before it has ended, at most a year before its own end.
    """
    lasts = timedelta(days=SEASON_LASTS_DAYS)
    opens = start - timedelta(days=_YEAR_DAYS) + lasts
    before = [s for s in starts if s < start]
    if before:
        opens = max(opens, max(before) + lasts)
    return SeasonDays(start, opens + timedelta(days=1), start + lasts)


def season_of_day(day: date, starts: Iterable[date]) -> SeasonDays:
    """Return the season a day belongs to; without a fitting start, the year up to that day.

    Examples
    --------
    >>> starts = (date(2025, 11, 1), date(2026, 11, 1))
    >>> season_of_day(date(2025, 12, 31), starts).mating_start_on  # 60 days after the start
    datetime.date(2025, 11, 1)
    >>> season_of_day(date(2026, 1, 1), starts).mating_start_on
    datetime.date(2026, 11, 1)
    """
    known = sorted(starts)
    for start in known:
        season = season_days(start, known)
        if season.holds(day):
            return season
    return SeasonDays(None, day - timedelta(days=_YEAR_DAYS - 1), day)


def season_to_show(today: date, starts: Iterable[date]) -> SeasonDays:
    """Return the season that is on or comes next; else the last one; else the year up to today."""
    known = sorted(starts)
    lasts = timedelta(days=SEASON_LASTS_DAYS)
    for start in known:
        if start + lasts >= today:
            return season_days(start, known)
    return season_days(known[-1], known) if known else season_of_day(today, ())

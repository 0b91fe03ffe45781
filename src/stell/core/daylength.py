"""Length of day from latitude and date, and how far a day is from the longest of the year.

Sheep breed when days get shorter, so a small circumference or a listless ram in spring means
something else than in autumn. What the judge asks about the season stands in `season_facts`.

The model is the one called CBM by Forsythe et al. [1]_. It knows the day of the year and not the
year itself. Set against an astronomical library it is within 2.3 minutes in the weeks of the
longest and the shortest day (to 55 degrees), and too long by up to 6, 7 and 8.5 minutes at 50, 55
and 60 degrees in mid September, where one day differs from the next by four to six. The tests in
``tests/reference/daylength`` hold it to that. No rule about rams is finer than a day or two.

References
----------
.. [1] W. C. Forsythe, E. J. Rykiel, R. S. Stahl, H. Wu and R. M. Schoolfield, "A model comparison
   for daylength as a function of latitude and day of year", Ecological Modelling 80 (1995) 87-95.
   doi:10.1016/0304-3800(94)00034-F
"""

from __future__ import annotations

import calendar
import math
from datetime import date, timedelta
from functools import lru_cache
from typing import NamedTuple

from stell.core.errors import ValueRefused

# The sun counts as up while its upper limb stands above the horizon as refraction shows it.
SUNRISE_ANGLE_DEG = 0.8333
_DAYS = range(1, 366)


class SeasonFacts(NamedTuple):
    """What a day is within its year, in whole numbers that never differ between machines.

    Attributes
    ----------
    day_length_minutes : int
        Sunrise to sunset. [minutes]
    day_length_range_minutes : int
        Longest less shortest day of a year. Small near the equator. [minutes]
    days_since_longest_day : int
        0 on the longest day itself, at most 365. [days]
    """

    day_length_minutes: int
    day_length_range_minutes: int
    days_since_longest_day: int


def day_length_hours(latitude_deg: float, on: date) -> float:
    """Return the time from sunrise to sunset. [hours]

    Parameters
    ----------
    latitude_deg : float
        North positive, -90 to 90. [degrees]
    on : date
        The day.

    Returns
    -------
    float
        0 in polar night, 24 in polar day.

    Raises
    ------
    ValueRefused
        `value.range` when the latitude is no latitude.

    References
    ----------
    Forsythe et al. 1995, equations 1 to 3, with p of their table 1 for sunrise and sunset with
    refraction and the sun's upper limb.

    Examples
    --------
    >>> round(day_length_hours(51.5, date(2025, 6, 21)), 2)
    16.64
    >>> day_length_hours(80.0, date(2025, 12, 21))
    0.0
    """
    return _hours(_checked(latitude_deg), _day_of_year(on))


@lru_cache(maxsize=4096)
def day_length_range_hours(latitude_deg: float) -> float:
    """Return how much longer the longest day of a year is than the shortest. [hours]

    Parameters
    ----------
    latitude_deg : float
        North positive, -90 to 90. [degrees]

    Raises
    ------
    ValueRefused
        `value.range` when the latitude is no latitude.

    Examples
    --------
    >>> round(day_length_range_hours(57.0), 1)
    11.2
    >>> round(day_length_range_hours(0.0), 2)
    0.01
    """
    latitude_deg = _checked(latitude_deg)
    lengths = [_hours(latitude_deg, day) for day in _DAYS]
    return max(lengths) - min(lengths)


def longest_day(latitude_deg: float, year: int) -> date:
    """Return the longest day of a year: in June in the north, in December in the south.

    It is the day on which the model has the sun highest: 22 June or 22 December, a day earlier in
    leap years. The almanac's solstice may fall a day from it. Near the poles, where the day has
    24 hours for weeks, it is the middle of those weeks. The equator goes with the north: by the
    model its June day is the longest of the year, by seconds.

    Parameters
    ----------
    latitude_deg : float
        North positive, -90 to 90. [degrees]
    year : int
        1 to 9999.

    Raises
    ------
    ValueRefused
        `value.range` when the latitude is no latitude.

    Examples
    --------
    >>> longest_day(51.5, 2026)
    datetime.date(2026, 6, 22)
    >>> longest_day(-35.0, 2026)
    datetime.date(2026, 12, 22)
    """
    return date(year, 1, 1) + timedelta(days=_longest_day_of_year(_checked(latitude_deg)) - 1)


def days_since_longest_day(latitude_deg: float, on: date) -> int:
    """Return the days since the last longest day, 0 on the day itself, at most 365. [days]

    Parameters
    ----------
    latitude_deg : float
        North positive, -90 to 90. [degrees]
    on : date
        The day.

    Raises
    ------
    ValueRefused
        `value.range` when the latitude is no latitude.

    Examples
    --------
    >>> days_since_longest_day(57.0, date(2026, 10, 4))
    104
    >>> days_since_longest_day(57.0, date(2026, 6, 21))
    364
    """
    days = _day_of_year(on) - _longest_day_of_year(_checked(latitude_deg))
    if days >= 0:
        return days
    return days + (366 if calendar.isleap(on.year - 1) else 365)


@lru_cache(maxsize=4096)
def season_facts(latitude_deg: float, on: date) -> SeasonFacts:
    """Return what the judge asks about a day. Kept, so that asking again costs nothing.

    Parameters
    ----------
    latitude_deg : float
        North positive, -90 to 90. [degrees]
    on : date
        The day.

    Raises
    ------
    ValueRefused
        `value.range` when the latitude is no latitude.

    Examples
    --------
    >>> season_facts(55.0, date(2026, 10, 15))
    SeasonFacts(day_length_minutes=637, day_length_range_minutes=613, days_since_longest_day=115)
    """
    return SeasonFacts(
        round(day_length_hours(latitude_deg, on) * 60),
        round(day_length_range_hours(latitude_deg) * 60),
        days_since_longest_day(latitude_deg, on),
    )


def hours_text(hours: float) -> str:
    """Return a length of day as people read it, to the nearest minute.

    Parameters
    ----------
    hours : float
        Not negative. [hours]

    Raises
    ------
    ValueRefused
        `value.range` when it is negative or no number.

    Examples
    --------
    >>> hours_text(16.638)
    '16 h 38 min'
    >>> hours_text(9.9999)
    '10 h 0 min'
    """
    if not (0 <= hours < math.inf):
        raise ValueRefused(
            "value.range",
            "a length of day cannot be this",
            got=hours,
            legal="0 to 24 hours",
            example="16.64",
        )
    whole, minutes = divmod(round(hours * 60), 60)
    return f"{whole} h {minutes} min"


def _checked(latitude_deg: float) -> float:
    if not -90 <= latitude_deg <= 90:  # also true for NaN
        raise ValueRefused(
            "value.range",
            "the latitude is not on this earth",
            got=latitude_deg,
            legal="-90 (south) to 90 (north) degrees",
            example="56.8",
        )
    return float(latitude_deg)


def _day_of_year(on: date) -> int:
    return on.timetuple().tm_yday


def _declination(day: int) -> float:
    """Return how far north of the equator the sun stands, equations 1 and 2. [radians]"""
    turn = 0.2163108 + 2 * math.atan(0.9671396 * math.tan(0.00860 * (day - 186)))
    return math.asin(0.39795 * math.cos(turn))


def _hours(latitude_deg: float, day: int) -> float:
    """Return the length of a day of the year, equation 3. [hours]"""
    sun = _declination(day)
    here = math.radians(latitude_deg)
    lifted = math.sin(math.radians(SUNRISE_ANGLE_DEG)) + math.sin(here) * math.sin(sun)
    cosine = lifted / (math.cos(here) * math.cos(sun))
    return 24 - 24 / math.pi * math.acos(max(-1.0, min(1.0, cosine)))


@lru_cache(maxsize=4096)
def _longest_day_of_year(latitude_deg: float) -> int:
    """Return the day of the year with the highest sun, which is also the longest.

    The length of day itself would not do: near the poles it is 24 h for weeks.
    """
    side = -1.0 if latitude_deg < 0 else 1.0
    return max(_DAYS, key=lambda day: side * _declination(day))

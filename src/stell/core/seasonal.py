"""How much a scrotum may be expected to differ between two days of the year, by season alone.

Testes grow while days shorten and shrink while they lengthen. Over the year the circumference is
taken to follow

    SC(t) = mean (1 + a cos(2 pi (t - t_peak) / 365)),    t in days since the longest day,

a choice of ours that fits what is published: a peak about three months after the longest day and
a trough about three months after the shortest. Amplitude and peak are figures of the protocol,
given as ranges, and a range is a flat distribution: its standard deviation is its width over the
root of 12 [1]_.

References
----------
.. [1] JCGM 100:2008, Evaluation of measurement data: Guide to the expression of uncertainty in
   measurement, 4.3.7 (half-width a gives a / sqrt(3)) and 5.1.2 (propagation).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from stell.core.daylength import day_length_range_hours
from stell.core.errors import ProtocolError
from stell.core.protocol.ready import ReadyProtocol

_YEAR_DAYS = 365


@dataclass(frozen=True, slots=True)
class SeasonalSwing:
    """How far and when a measure swings over the year.

    Attributes
    ----------
    amplitude_low, amplitude_high : float
        From the year's mean to its peak, as a share of the mean. [1]
    peak_days_after_longest_day : float
        [days]
    peak_uncertainty_days : float
        Half the width of the range in which the peak falls. [days]
    """

    amplitude_low: float
    amplitude_high: float
    peak_days_after_longest_day: float
    peak_uncertainty_days: float = 0.0

    @property
    def amplitude(self) -> float:
        """Middle of the range. [1]"""
        return (self.amplitude_low + self.amplitude_high) / 2

    def angle(self, days_since_longest_day: float) -> float:
        """Return how far a day is from the peak, a year being a full turn. [radians]"""
        days = days_since_longest_day - self.peak_days_after_longest_day
        return 2 * math.pi * days / _YEAR_DAYS


@dataclass(frozen=True, slots=True)
class SeasonalDifference:
    """What the season alone makes of a difference: later day less earlier day. [fixed units]"""

    expected: float
    variance: float


def seasonal_difference(
    swing: SeasonalSwing, now: float, now_day: int, then: float, then_day: int
) -> SeasonalDifference:
    """Return the difference that the season alone makes between two readings of one ram.

    His mean over the year is taken from both readings, each brought back to the middle of the
    year. Exchanging now and then turns the sign about.

    Parameters
    ----------
    swing : SeasonalSwing
    now, then : float
        Mean readings. [any unit, the same for both]
    now_day, then_day : int
        Days since the longest day, 0 to 365. [days]

    Returns
    -------
    SeasonalDifference
        In the unit of the readings, and its square.

    Examples
    --------
    A ram of 35 cm at the peak, half a year later, with a swing of 6 percent:

    >>> swing = SeasonalSwing(0.06, 0.06, 101)
    >>> round(seasonal_difference(swing, 31.0, 283, 35.0, 101).expected, 1)
    -4.0
    """
    at_now, at_then = swing.angle(now_day), swing.angle(then_day)
    a = swing.amplitude
    mean = (now / (1 + a * math.cos(at_now)) + then / (1 + a * math.cos(at_then))) / 2
    turn = math.cos(at_now) - math.cos(at_then)
    slope = 2 * math.pi / _YEAR_DAYS * (math.sin(at_now) - math.sin(at_then))
    by_amplitude = (mean * turn) ** 2 * (swing.amplitude_high - swing.amplitude_low) ** 2 / 12
    by_peak = (mean * a * slope) ** 2 * swing.peak_uncertainty_days**2 / 3
    return SeasonalDifference(mean * a * turn, by_amplitude + by_peak)


def widest_seasonal_difference(
    swing: SeasonalSwing, mean: float, days: tuple[tuple[int, int], ...]
) -> float:
    """Return the most that the season could make of a difference when the place is not known.

    Parameters
    ----------
    swing : SeasonalSwing
    mean : float
        Of the readings. [any unit]
    days : tuple of (int, int)
        Days since the longest day at both visits, for each place that is possible. [days]

    Returns
    -------
    float
        In the unit of `mean`, never negative.
    """
    turns = (abs(math.cos(swing.angle(a)) - math.cos(swing.angle(b))) for a, b in days)
    return mean * swing.amplitude_high * max(turns)


def swing_of(protocol: ReadyProtocol, latitude_deg: float | None) -> SeasonalSwing | None:
    """Return the swing that a protocol gives for a place, or None when it gives none.

    Targets read: ``seasonal_swing`` (ratio, low, high) and ``seasonal_peak`` (days after the
    longest day). Where day length varies over the year by less than ``tropics_day_length_range``
    (hours), ``seasonal_swing_tropics`` takes the place of the former.

    Parameters
    ----------
    protocol : ReadyProtocol
    latitude_deg : float or None
        North positive; None when not known, which counts as away from the equator. [degrees]

    Raises
    ------
    ProtocolError
        `protocol.unit` when a figure is in another unit.
    """
    targets = protocol.spec.targets
    swing, peak = targets.get("seasonal_swing"), targets.get("seasonal_peak")
    if swing is None or peak is None:
        return None
    tropics, least = targets.get("seasonal_swing_tropics"), targets.get("tropics_day_length_range")
    if tropics is not None and least is not None and latitude_deg is not None:
        _in_unit("tropics_day_length_range", least.unit, "hours")
        if day_length_range_hours(latitude_deg) < least.value:
            swing = tropics
    _in_unit("seasonal_swing", swing.unit, "ratio")
    _in_unit("seasonal_peak", peak.unit, "days")
    low = swing.value if swing.low is None else swing.low
    high = swing.value if swing.high is None else swing.high
    earliest = peak.value if peak.low is None else peak.low
    latest = peak.value if peak.high is None else peak.high
    return SeasonalSwing(float(low), float(high), float(peak.value), (latest - earliest) / 2)


def _in_unit(key: str, unit: str, wanted: str) -> None:
    if unit != wanted:
        raise ProtocolError(
            "protocol.unit",
            "a figure of the season is in another unit",
            got=unit,
            legal=wanted,
            example=f'unit = "{wanted}"',
            where=f"targets.{key}.unit",
        )

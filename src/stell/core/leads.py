"""How long before mating a thing has to happen, and how such stretches of time are said."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date

from stell.core.errors import ProtocolError
from stell.core.protocol.schema import Figure

_DAYS_IN = {"days": 1, "weeks": 7}


@dataclass(frozen=True, slots=True)
class Lead:
    """How long before the start of mating: value and range. [days]"""

    days: int
    low: int
    high: int

    def __add__(self, other: Lead) -> Lead:
        """Return one stretch after the other."""
        return Lead(self.days + other.days, self.low + other.low, self.high + other.high)


def lead_of(figure: Figure, *, where: str = "timing") -> Lead:
    """Return a figure in whole days, parts of a day counted as a day.

    Raises
    ------
    ProtocolError
        `protocol.unit` unless it is in days or weeks; `protocol.invalid` when the range does not
        hold the value or the value is negative.

    Examples
    --------
    >>> lead_of(Figure(value=10, low=8, unit="weeks"))
    Lead(days=70, low=56, high=70)
    """
    if figure.unit not in _DAYS_IN:
        raise ProtocolError(
            "protocol.unit",
            "a lead before mating is counted in days or weeks",
            got=figure.unit,
            legal=", ".join(_DAYS_IN),
            example='unit = "weeks"',
            where=f"{where}.unit",
        )
    per_unit = _DAYS_IN[figure.unit]
    low = figure.value if figure.low is None else figure.low
    high = figure.value if figure.high is None else figure.high
    if not 0 <= low <= figure.value <= high:
        raise ProtocolError(
            "protocol.invalid",
            "the range of a figure does not hold its value",
            got=f"value {figure.value}, low {low}, high {high}",
            legal="0 <= low <= value <= high",
            example="value = 10\nlow = 8\nhigh = 10",
            where=where,
        )
    days, low, high = (math.ceil(v * per_unit) for v in (figure.value, low, high))
    return Lead(days, low, high)


def when_text(day: date, today: date) -> str:
    """Return how far away a day is.

    Examples
    --------
    >>> when_text(date(2026, 10, 4), date(2026, 10, 1))
    'in 3 days'
    >>> when_text(date(2026, 10, 4), date(2026, 10, 5))
    '1 day ago'
    """
    days = (day - today).days
    if days == 0:
        return "today"
    return f"in {span_text(days)}" if days > 0 else f"{span_text(-days)} ago"


def span_text(days: int) -> str:
    """Return a number of days as people say it: whole weeks from two on, else days.

    Examples
    --------
    >>> span_text(70), span_text(60), span_text(1), span_text(7)
    ('10 weeks', '60 days', '1 day', '7 days')
    """
    if days >= 14 and days % 7 == 0:
        return f"{days // 7} weeks"
    return "1 day" if days == 1 else f"{days} days"

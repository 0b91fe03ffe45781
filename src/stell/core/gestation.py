"""From mating to lambing, and back: when the first and the last lambs are due.

How long ewes carry differs by breed, litter and age, so the length is an argument and comes from
the protocol, or from what the flock's own book says.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from stell.core.errors import ValueRefused
from stell.core.leads import lead_of
from stell.core.protocol.schema import Figure

# A guard against slips of the pen, far wider than any breed. [days]
_SHORTEST, _LONGEST = 120, 180


@dataclass(frozen=True, slots=True)
class Gestation:
    """How long ewes carry.

    Attributes
    ----------
    days : int
        As expected. [days]
    shortest, longest : int
        The usual range. [days]

    Raises
    ------
    ValueRefused
        `value.range` for a length that no ewe carries, or a range that does not hold it.
    """

    days: int
    shortest: int
    longest: int

    def __post_init__(self) -> None:
        """Refuse slips of the pen."""
        if not _SHORTEST <= self.shortest <= self.days <= self.longest <= _LONGEST:
            raise ValueRefused(
                "value.range",
                "no ewe carries that long, or the range does not hold the length",
                got=f"{self.days} ({self.shortest} to {self.longest}) days",
                legal=f"{_SHORTEST} to {_LONGEST} days, shortest <= length <= longest",
                example="147 (142 to 152) days",
            )

    @classmethod
    def exactly(cls, days: int) -> Gestation:
        """Return a length without a range. [days]"""
        return cls(days, days, days)

    @classmethod
    def of(cls, figure: Figure) -> Gestation:
        """Return a protocol's figure.

        Raises
        ------
        ProtocolError
            `protocol.unit` unless it is in days or weeks.
        """
        lead = lead_of(figure, where="targets.gestation")
        return cls(lead.days, lead.low, lead.high)


@dataclass(frozen=True, slots=True)
class Lambing:
    """When lambs are due.

    Attributes
    ----------
    first_on : date
        From the first day of mating, as expected.
    last_on : date
        From the last day of mating, as expected; equal to `first_on` for a single day.
    earliest_on, latest_on : date
        The same with the shortest and the longest length.
    """

    first_on: date
    last_on: date
    earliest_on: date
    latest_on: date


def expected_lambing(
    mated_on: date, gestation: Gestation, *, last_mated_on: date | None = None
) -> Lambing:
    """Return when lambs are due from a day, or a stretch of days, of mating.

    Parameters
    ----------
    mated_on : date
        The day of mating, or the day the rams go in.
    gestation : Gestation
    last_mated_on : date, optional
        The day the rams come out.

    Raises
    ------
    ValueRefused
        `value.date` when the rams come out before they go in.

    Examples
    --------
    >>> expected_lambing(date(2026, 10, 1), Gestation.exactly(147)).first_on
    datetime.date(2027, 2, 25)
    """
    until = last_mated_on or mated_on
    if until < mated_on:
        raise ValueRefused(
            "value.date",
            "the rams come out before they go in",
            got=until.isoformat(),
            legal=f"{mated_on.isoformat()} or later",
            example=(mated_on + timedelta(35)).isoformat(),
        )
    return Lambing(
        first_on=mated_on + timedelta(gestation.days),
        last_on=until + timedelta(gestation.days),
        earliest_on=mated_on + timedelta(gestation.shortest),
        latest_on=until + timedelta(gestation.longest),
    )


def mating_start_for(first_lambs_on: date, gestation: Gestation) -> date:
    """Return the day the rams go in for first lambs on a wanted day.

    Examples
    --------
    >>> mating_start_for(date(2027, 2, 25), Gestation.exactly(147))
    datetime.date(2026, 10, 1)
    """
    return first_lambs_on - timedelta(gestation.days)

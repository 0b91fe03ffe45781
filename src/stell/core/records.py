"""Values that travel through stell: rams, examinations, seasons. Frozen, units in the name.

These are plain values: no database row, no clock, no file. `store.mapping` turns rows into them
and back.
"""

from __future__ import annotations

import calendar
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

# One observed value. A choice is an option's id, or several ids; a measurement is one or more
# readings as whole fixed units of its check (see `core.units`).
Observed = str | tuple[str, ...] | tuple[int, ...]

INTENDED_USES = ("replacements", "terminal", "both")
RAM_TYPES = ("hill", "lowland", "terminal", "longwool", "dairy", "hair")
CIRCUMSTANCES = ("bought_in", "single_sire", "synchronised", "poor_result_before", "for_sale")


@dataclass(frozen=True, slots=True)
class Born:
    """When a ram was born, as well as it is known: he was born on one of these days.

    Attributes
    ----------
    earliest, latest : date
        Equal when the day is known.

    Examples
    --------
    >>> Born.in_year(2024)
    Born(earliest=datetime.date(2024, 1, 1), latest=datetime.date(2024, 12, 31))
    """

    earliest: date
    latest: date

    @classmethod
    def on(cls, day: date) -> Born:
        """Return a birth on a known day."""
        return cls(day, day)

    @classmethod
    def in_month(cls, year: int, month: int) -> Born:
        """Return a birth on some day of a month."""
        return cls(date(year, month, 1), date(year, month, calendar.monthrange(year, month)[1]))

    @classmethod
    def in_year(cls, year: int) -> Born:
        """Return a birth on some day of a year."""
        return cls(date(year, 1, 1), date(year, 12, 31))

    @property
    def is_exact(self) -> bool:
        """Whether the day itself is known."""
        return self.earliest == self.latest


@dataclass(frozen=True, slots=True)
class Ram:
    """A ram as the judge sees him.

    Attributes
    ----------
    ram_id : str
        UUID text, or any text that is unique within one call.
    tag, name, eid : str
        Visible tag, name, 15-digit electronic number. Empty when unknown.
    breed : str
        Lower-case slug, for example ``gotland``. Empty when unknown.
    ram_type : str
        One of `RAM_TYPES`, or empty.
    born : Born or None
        Birth, or None when nothing is known.
    age_class : str
        An age class of the protocol in use (``ram_lamb`` …), used only when `born` is None.
    age_class_on : date or None
        The day on which that age class held.
    intended_use : str
        One of `INTENDED_USES`, or empty.
    """

    ram_id: str
    tag: str = ""
    name: str = ""
    eid: str = ""
    breed: str = ""
    ram_type: str = ""
    born: Born | None = None
    age_class: str = ""
    age_class_on: date | None = None
    intended_use: str = ""

    @property
    def label(self) -> str:
        """What a person calls him: tag and name."""
        return " ".join(part for part in (self.tag or self.eid, self.name) if part) or self.ram_id


@dataclass(frozen=True, slots=True)
class Examination:
    """One examination of one ram, as it was found that day.

    Attributes
    ----------
    exam_id : str
        UUID text.
    ram_id : str
        Whose.
    examined_on : date
        Day of the examination.
    observations : mapping of str to Observed
        Check id to what was found. A check that is absent was not examined.
    examiner : str
        Who examined.
    note : str
        Free text.
    remarks : mapping of str to str
        Check id to free text.
    circumstances : tuple of str
        From `CIRCUMSTANCES`.
    replaces : str
        The examination this one corrects, or empty.
    """

    exam_id: str
    ram_id: str
    examined_on: date
    observations: Mapping[str, Observed]
    examiner: str = ""
    note: str = ""
    remarks: Mapping[str, str] = field(default_factory=dict)
    circumstances: tuple[str, ...] = ()
    replaces: str = ""


@dataclass(frozen=True, slots=True)
class Season:
    """Where and when a flock goes to mating.

    Attributes
    ----------
    mating_start_on : date or None
        The day the rams go in.
    latitude_deg : float or None
        North positive. [degrees]
    """

    mating_start_on: date | None = None
    latitude_deg: float | None = None


def age_half_steps(born: date, on: date) -> int:
    """Return age in half steps of calendar months: ``2 n`` is n months to the day.

    The monthly day of a ram born on the 31st falls on the last day of shorter months.

    Raises
    ------
    ValueError
        If `on` is before `born`.

    Examples
    --------
    >>> age_half_steps(date(2024, 3, 10), date(2025, 5, 10))  # 14 months to the day
    28
    >>> age_half_steps(date(2024, 3, 10), date(2025, 5, 11))  # a day more
    29
    """
    if on < born:
        raise ValueError(f"examined on {on}, before he was born on {born}")
    months = (on.year - born.year) * 12 + on.month - born.month
    turn = monthly_day(on.year, on.month, born.day)
    if on < turn:
        months -= 1
        return 2 * months + 1
    return 2 * months + (1 if on > turn else 0)


def monthly_day(year: int, month: int, day: int) -> date:
    """Return the given day of a month, or the month's last day when it is shorter.

    Examples
    --------
    >>> monthly_day(2025, 2, 31)
    datetime.date(2025, 2, 28)
    """
    return date(year, month, min(day, calendar.monthrange(year, month)[1]))


def add_days(day: date, days: int) -> date:
    """Return `day` plus so many days. [days]"""
    return day + timedelta(days=days)


def written_date(day: date) -> str:
    """Return a date that nobody can misread: day, month as a word, year.

    Examples
    --------
    >>> written_date(date(2026, 10, 4))
    '4 Oct 2026'
    """
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def observations_from_json(raw: Mapping[str, Any]) -> dict[str, Observed]:
    """Return observations as `Examination` holds them, from JSON values (lists become tuples)."""
    return {k: tuple(v) if isinstance(v, list) else v for k, v in raw.items()}

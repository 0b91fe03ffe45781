"""Ages in months or years, or as a class of the trade, and the births they leave possible."""

from __future__ import annotations

import calendar
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from stell.core.protocol.schema import AgeClass
from stell.core.records import Born
from stell.exchange.cells import Cell, shown
from stell.exchange.phrases import near, plain
from stell.exchange.refusal import Refused, refused

_AGE = re.compile(r"(\d{1,3})(?:[\s-]*([a-z]+))??(?:[\s-]*old)?", re.IGNORECASE | re.ASCII)
_MONTHS = {"m", "mo", "mos", "mth", "mths", "month", "months"}
_YEARS = {"y", "yr", "yrs", "year", "years", "yo"}
_OLDEST_MONTHS = 360


@dataclass(frozen=True, slots=True)
class Age:
    """An age at the examination: so many whole months, or a class.

    Attributes
    ----------
    from_months, until_months : int
        At least so many and fewer than so many calendar months; both 0 for a class.
    age_class : str
    """

    from_months: int = 0
    until_months: int = 0
    age_class: str = ""

    def born(self, on: date) -> Born:
        """Return the births that make him this old on a day."""
        return Born(
            _youngest(on, self.until_months) + timedelta(days=1), _youngest(on, self.from_months)
        )


def _youngest(on: date, months: int) -> date:
    """Return the last birthday that makes a ram so many calendar months old on a day.

    The monthly day of a ram born on the 31st is the last day of shorter months, so on such a
    last day all later birthdays count too (see `records.age_half_steps`).
    """
    index = on.year * 12 + on.month - 1 - months
    year, month = divmod(index, 12)
    last = calendar.monthrange(year, month + 1)[1]
    is_last = on.day == calendar.monthrange(on.year, on.month)[1]
    return date(year, month + 1, last if is_last else min(on.day, last))


@dataclass(frozen=True, slots=True)
class AgeReader:
    """Reads the cells of an age column.

    Attributes
    ----------
    classes : mapping of str to AgeClass
        The protocol's.
    unit : str
        ``months`` or ``years`` from the title, or empty: then a bare number is refused.
    """

    classes: Mapping[str, AgeClass]
    unit: str = ""

    def __call__(self, cell: Cell) -> Age | None:
        """Return the age in a cell, or None when it is empty."""
        text = shown(cell)
        if not text:
            return None
        by_word = self._class_named(text)
        if by_word:
            return Age(age_class=by_word)
        found = _AGE.fullmatch(text)
        if not found:
            raise self._unknown(text)
        word = (found[2] or self.unit).casefold()
        months = int(found[1]) * (12 if word in _YEARS else 1)
        if word not in _MONTHS | _YEARS:
            raise self._unknown(text) if word else self._bare(text)
        if months > _OLDEST_MONTHS:
            raise refused(
                "no sheep is that old",
                text,
                f"up to {_OLDEST_MONTHS} months",
                "18 months",
            )
        return Age(months, months + (12 if word in _YEARS else 1))

    def _class_named(self, text: str) -> str:
        words = plain(text)
        for age_class in self.classes.values():
            names = (age_class.id, age_class.title, *age_class.also_called)
            if any(plain(name) == words for name in names):
                return age_class.id
        return ""

    def _bare(self, text: str) -> Refused:
        return refused(
            "the column does not say whether this is in months or in years",
            text,
            "18 months, 2 years, or a title such as 'Age (months)'",
            f"{text} months",
            "row.unit",
        )

    def _unknown(self, text: str) -> Refused:
        titles = [c.title for c in self.classes.values()]
        return refused(
            "this cannot be read as an age",
            text,
            ", ".join(["18 months", "2 years", *titles]),
            (near(text, titles) or ["18 months"])[0],
        )

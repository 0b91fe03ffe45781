"""How printed pages say dates, ages and lists, so that every page says them alike."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date

from stell.core.protocol.conditions import Span
from stell.core.records import written_date

_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def weekday_date(day: date) -> str:
    """Return a date with its weekday, for days on which somebody has to act.

    Examples
    --------
    >>> weekday_date(date(2026, 10, 4))
    'Sun 4 Oct 2026'
    """
    return f"{_WEEKDAYS[day.weekday()]} {written_date(day)}"


def day_month(day: date) -> str:
    """Return day and month, where the year is plain.

    Examples
    --------
    >>> day_month(date(2026, 10, 4))
    '4 Oct'
    """
    return written_date(day).rpartition(" ")[0]


def month_year(day: date) -> str:
    """Return month and year, for figures of the past.

    Examples
    --------
    >>> month_year(date(2025, 8, 19))
    'Aug 2025'
    """
    return written_date(day).partition(" ")[2]


def days_text(days: Iterable[date]) -> str:
    """Return several days in order, joined; a long run as first and last.

    Examples
    --------
    >>> days_text([date(2026, 8, 3), date(2026, 8, 1)])
    '1 Aug 2026 and 3 Aug 2026'
    """
    ordered = sorted(set(days))
    if len(ordered) > 3:
        return f"{written_date(ordered[0])} to {written_date(ordered[-1])}"
    return listed(written_date(d) for d in ordered)


def listed(words: Iterable[str], joint: str = "and") -> str:
    """Return words as a spoken list.

    Examples
    --------
    >>> listed(["a", "b", "c"])
    'a, b and c'
    """
    all_words = list(words)
    if len(all_words) < 2:
        return "".join(all_words)
    return f"{', '.join(all_words[:-1])} {joint} {all_words[-1]}"


def counted(number: int, one: str, many: str = "") -> str:
    """Return a number with its noun.

    Examples
    --------
    >>> counted(1, "ram"), counted(3, "ram")
    ('1 ram', '3 rams')
    """
    return f"{number} {one}" if number == 1 else f"{number} {many or one + 's'}"


def age_text(age: int | Span | None, known_as: str = "") -> str:
    """Return an age [half steps of calendar months] as people say it.

    Parameters
    ----------
    age : int or Span or None
    known_as : str
        The trade's word for his age class, said when the age is a long stretch.

    Examples
    --------
    >>> age_text(16), age_text(59), age_text(Span(24, 47)), age_text(None)
    ('8 months', '2 years 5 months', '12 to 23 months', 'age unknown')
    """
    if age is None:
        return known_as or "age unknown"
    if isinstance(age, int):
        return _months_text(age // 2)
    low, high = age.low // 2, age.high // 2
    if low == high:
        return _months_text(low)
    if known_as:
        return known_as
    if low < 24:
        return f"{low} to {high} months" if high < 48 else f"over {_months_text(low)}"
    return f"{low // 12} to {high // 12} years" if low // 12 != high // 12 else _years(low // 12)


def _years(years: int) -> str:
    return counted(years, "year")


def _months_text(months: int) -> str:
    if months < 24:
        return counted(months, "month")
    years, rest = divmod(months, 12)
    return f"{_years(years)} {counted(rest, 'month')}" if rest else _years(years)


def natural_key(label: str) -> tuple[tuple[int, int, str], ...]:
    """Return a sorting key that puts tag 9 before tag 10.

    Examples
    --------
    >>> sorted(["A10", "A9", "B1"], key=natural_key)
    ['A9', 'A10', 'B1']
    """
    parts = re.findall(r"[0-9]+|[^0-9]+", label.casefold())
    return tuple((0, int(p), "") if p.isascii() and p.isdigit() else (1, 0, p) for p in parts)


def sentence(text: str) -> str:
    """Return text with a capital first letter and a full stop.

    Examples
    --------
    >>> sentence("feet: scald")
    'Feet: scald.'
    """
    text = text.strip()
    if not text:
        return ""
    return text[0].upper() + text[1:] + ("" if text[-1] in ".!?…" else ".")


def shortened(text: str, most: int) -> str:
    """Return text of at most so many characters, cut at the end where it is longer.

    Examples
    --------
    >>> shortened("Harrow Beck", 8)
    'Harrow…'
    """
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"

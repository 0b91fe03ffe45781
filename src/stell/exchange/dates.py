"""Days, months and years as people write them; what could be two days is refused."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from stell.core.records import Born, written_date
from stell.exchange.cells import Cell, shown
from stell.exchange.refusal import Refused, refused

_EARLIEST_YEARS = 30  # no sheep on record is older, so no sheet can mean a day before that
_TWO_DIGIT_YEARS = 10
_SERIAL_START = date(1899, 12, 30)  # day 0 of a spreadsheet's day numbers since 1 Mar 1900
_SERIALS = range(30_000, 80_000)  # 1982 to 2119
_MONTH_NAMES = (  # English, German, French, Spanish, Dutch; full names, accents left out
    "january januar janvier enero januari",
    "february februar fevrier febrero februari",
    "march marz maerz mars marzo maart",
    "april avril abril",
    "may mai mayo mei",
    "june juni juin junio",
    "july juli juillet julio",
    "august aout agosto augustus",
    "september septembre septiembre",
    "october oktober octobre octubre",
    "november novembre noviembre",
    "december dezember decembre diciembre",
)
_SHORT = (
    "jan ene",
    "feb fev",
    "mar mrt mrz",
    "apr avr abr",
    "may mai mei",
    "jun",
    "jul",
    "aug aou ago",
    "sep sept",
    "oct okt",
    "nov",
    "dec dez dic",
)
_MONTHS = {
    word: number
    for number, words in enumerate(zip(_MONTH_NAMES, _SHORT, strict=True), 1)
    for word in " ".join(words).split()
}
_CLOCK = re.compile(
    r"(?:T| +)\d{1,2}:\d{2}(?::\d{2}(?:\.\d+)?)?(?: ?(?:Z|[+-]\d{2}:?\d{2}|[ap]m))?$", re.IGNORECASE
)
_NUMERIC = re.compile(r"(\d{1,4})\s*([./ -])\s*(\d{1,2})\s*\2\s*(\d{1,4})", re.ASCII)
_COMPACT = re.compile(r"((?:19|20)\d\d)(\d\d)(\d\d)", re.ASCII)
_DAY_NAMED = re.compile(
    r"(\d{1,2})(?:st|nd|rd|th|\.)?[ ./-]*(?:of |de )?([a-z]{3,})\.?[ ./,-]*(?:de )?'?(\d{4}|\d{2})",
    re.ASCII,
)
_NAMED_DAY = re.compile(r"([a-z]{3,})\.?[ -]*(\d{1,2})(?:st|nd|rd|th)?[ ,-]+(\d{4})", re.ASCII)
_WEEKDAY = re.compile(r"(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*\.?,? +")
_NAMED_MONTH = re.compile(r"([a-z]{3,})\.?[ ./,-]*(\d{4})", re.ASCII)
_YEAR_MONTH = re.compile(r"(\d{4})[-/.](\d{1,2})", re.ASCII)
_MONTH_YEAR = re.compile(r"(\d{1,2})[-/.](\d{4})", re.ASCII)
_YEAR = re.compile(r"(?:19|20)\d\d", re.ASCII)
_INTERVAL = re.compile(r"(\d{4}-\d\d-\d\d)/(\d{4}-\d\d-\d\d)", re.ASCII)
_LONGEST = 60


@dataclass(frozen=True, slots=True)
class DateOrder:
    """Which of the first two numbers of a written day is the day.

    Attributes
    ----------
    order : str
        ``day-first``, ``month-first``, or empty when it is not settled.
    shown_by : str
        What settled it, a cell or a row; empty when a rule did.
    against : str
        A cell that says the opposite: then nothing is settled.
    because : str
        Why it is settled, for a notice.
    """

    order: str = ""
    shown_by: str = ""
    against: str = ""
    because: str = field(default="", compare=False)


def order_of(cells: Iterable[Cell], rule: str = "", today: date | None = None) -> DateOrder:
    """Return the order that a column's own cells show, or that the rule or its title says.

    A number above 12 in one place settles the whole column; so does, when `today` is given, a
    cell of which one reading would lie in the future.
    """
    if rule:
        return DateOrder(rule)
    cells = list(cells)
    sure = _order_by_numbers(cells)
    if sure.order or sure.against or today is None:
        return sure
    return _order_by_future(cells, today)


def _order_by_future(cells: Iterable[Cell], today: date) -> DateOrder:
    shown: dict[str, str] = {}
    for cell in cells:
        readings = both_readings(cell, today)
        past = [order for order, day in (readings or {}).items() if day <= today]
        if len(past) == 1:
            shown.setdefault(past[0], str(cell).strip())
    if len(shown) == 2:
        return DateOrder("", shown["day-first"], shown["month-first"])
    for order, cell in shown.items():
        return DateOrder(order, cell, because=f"else {cell!r} would lie in the future")
    return DateOrder()


def both_readings(cell: Cell, today: date) -> dict[str, date] | None:
    """Return the two days that a cell can mean, by order; None when it means one, or none."""
    found = _numeric_in(cell)
    if found is None or len(found[1]) > 2 or found[2] == "." or len(found[4]) not in (2, 4):
        return None
    a, b, year = int(found[1]), int(found[3]), int(found[4])
    year += 2000 if len(found[4]) == 2 else 0
    if a == b or not (1 <= a <= 12 and 1 <= b <= 12) or year > today.year + 1 or year < 1900:
        return None
    return {"day-first": date(year, b, a), "month-first": date(year, a, b)}


def _order_by_numbers(cells: Iterable[Cell]) -> DateOrder:
    day_first = month_first = ""
    for cell in cells:
        found = _numeric_in(cell)
        if found is None or len(found[1]) == 4:
            continue
        if 12 < int(found[1]) <= 31 and int(found[3]) <= 12:
            day_first = day_first or str(cell).strip()
        elif 12 < int(found[3]) <= 31 and int(found[1]) <= 12:
            month_first = month_first or str(cell).strip()
    if day_first and month_first:
        return DateOrder("", day_first, month_first)
    if day_first or month_first:
        shown_by = day_first or month_first
        because = f"because {shown_by!r} can only be so"
        return DateOrder("day-first" if day_first else "month-first", shown_by, because=because)
    return DateOrder()


def _numeric_in(cell: Cell) -> re.Match[str] | None:
    if not isinstance(cell, str) or len(cell) > _LONGEST:
        return None
    return _NUMERIC.fullmatch(_CLOCK.sub("", cell.strip()))


def order_in_title(title: str) -> str:
    """Return the order that a title such as ``Date (dd/mm/yyyy)`` states, or the empty text.

    Examples
    --------
    >>> order_in_title("Date (DD/MM/YYYY)"), order_in_title("m/d/y"), order_in_title("Date")
    ('day-first', 'month-first', '')
    """
    found = re.search(r"\b(d{1,2}|m{1,2})[./ -](d{1,2}|m{1,2})[./ -]y{1,4}\b", title, re.I)
    if found is None or found[1][0].casefold() == found[2][0].casefold():
        return ""
    return "day-first" if found[1][0] in "dD" else "month-first"


@dataclass(frozen=True, slots=True)
class DayReader:
    """Reads the cells of a column of days.

    Attributes
    ----------
    today : date
        Later days are refused.
    order : DateOrder
    swapped_by : str
        A text cell that shows that the spreadsheet took day and month the other way round when it
        turned the other cells into dates; empty when nothing points to that.
    """

    today: date
    order: DateOrder
    swapped_by: str = ""

    def __call__(self, cell: Cell) -> date | None:
        """Return the day in a cell, or None when it is empty."""
        if isinstance(cell, datetime):
            return self._possible(self._of_spreadsheet(cell.date()), cell)
        if isinstance(cell, date):
            return self._possible(self._of_spreadsheet(cell), cell)
        if isinstance(cell, float | int) and not isinstance(cell, bool):
            cell = shown(cell)
        if not isinstance(cell, str):
            raise self._not_a_day(shown(cell))
        text = " ".join(cell.split())
        return self._possible(self._of_text(_CLOCK.sub("", text)), text) if text else None

    def _of_text(self, text: str) -> date:
        if len(text) > _LONGEST:
            raise self._not_a_day(text)
        if text.isascii() and text.isdigit() and len(text) == 5 and int(text) in _SERIALS:
            return _SERIAL_START + timedelta(days=int(text))
        if found := _COMPACT.fullmatch(text):
            return self._day(int(found[1]), int(found[2]), int(found[3]), text)
        if found := _NUMERIC.fullmatch(text):
            return self._numeric(found, text)
        day = self._named(_lettered(text), text)
        if day is None:
            raise self._not_a_day(text)
        return day

    def _named(self, lettered: str, text: str) -> date | None:
        bare = _WEEKDAY.sub("", lettered, count=1)
        if (found := _DAY_NAMED.fullmatch(bare)) and found[2] in _MONTHS:
            return self._day(self._year(found[3], text), _MONTHS[found[2]], int(found[1]), text)
        if (found := _NAMED_DAY.fullmatch(bare)) and found[1] in _MONTHS:
            return self._day(int(found[3]), _MONTHS[found[1]], int(found[2]), text)
        return None

    def _numeric(self, found: re.Match[str], text: str) -> date:
        first, mark, second, last = found[1], found[2], int(found[3]), found[4]
        if len(first) == 4:
            return self._day(int(first), second, int(last), text)
        if len(first) == 3 or len(last) in (1, 3):
            raise self._not_a_day(text)
        year, a = self._year(last, text), int(first)
        order = self.order.order
        if not order and mark == "." and not self.order.against:
            order = "day-first"  # no country writes the month first with points
        if not order and a <= 12 and second <= 12 and a != second:
            raise self._ambiguous(year, a, second, text)
        if order == "month-first" or (not order and second > 12):
            return self._day(year, a, second, text)
        return self._day(year, second, a, text)

    def _year(self, written: str, text: str) -> int:
        if len(written) == 4:
            return int(written)
        year = 2000 + int(written)
        if year < self.today.year - _TWO_DIGIT_YEARS:
            raise refused(
                "a year of two digits that lies far back", text, "a year of four digits",
                f"4 Oct {year}", "row.date",
            )  # fmt: skip
        return year

    def _day(self, year: int, month: int, day: int, text: str) -> date:
        try:
            return date(year, month, day)
        except ValueError:
            raise refused(
                "there is no such day", text, "a day of the calendar",
                written_date(self.today), "row.date",
            ) from None  # fmt: skip

    def _of_spreadsheet(self, day: date) -> date:
        if self.swapped_by and day.day <= 12 and day.day != day.month:
            other = date(day.year, day.day, day.month)
            raise refused(
                f"the spreadsheet may have taken day and month the other way round, "
                f"as {self.swapped_by!r} in the same column is no date to it",
                written_date(day),
                "the column typed as text, or the order of day and month stated",
                f"{written_date(other)} or {written_date(day)}",
                "row.date",
            )
        return day

    def _possible(self, day: date, cell: object) -> date:
        if day > self.today:
            raise refused(
                "the day lies in the future",
                cell if isinstance(cell, str) else written_date(day),
                f"a day up to {written_date(self.today)}",
                written_date(self.today),
                "row.date",
            )
        if day.year < self.today.year - _EARLIEST_YEARS:
            raise refused(
                "the day lies too far back to be meant",
                cell if isinstance(cell, str) else written_date(day),
                f"a day after {self.today.year - _EARLIEST_YEARS}",
                written_date(self.today),
                "row.date",
            )
        return day

    def _ambiguous(self, year: int, a: int, b: int, text: str) -> Refused:
        one, other = written_date(date(year, b, a)), written_date(date(year, a, b))
        why = (
            f"the column has both {self.order.shown_by!r} and {self.order.against!r}"
            if self.order.against
            else "no cell of the column tells day and month apart"
        )
        error = refused(
            f"this can be {one} or {other}: {why}",
            text,
            "days as 2026-10-04 or 4 Oct 2026, or the order stated: --date-order day-first or "
            "--date-order month-first",
            f"{one} or {other}",
            "row.date",
        )
        error.alike = f"could be day-month or month-day ({why})"
        return error

    def _not_a_day(self, text: str) -> Refused:
        return refused(
            "this cannot be read as a day",
            text,
            "2026-10-04, 4 Oct 2026, 04.10.2026 or 4/10/2026",
            written_date(self.today),
            "row.date",
        )


def _lettered(text: str) -> str:
    split = unicodedata.normalize("NFKD", text.casefold())
    return "".join(c for c in split if not unicodedata.combining(c))


def swapped_by(cells: Iterable[Cell]) -> str:
    """Return a text that only day-first makes a day, where no date cell has a day above 12.

    A spreadsheet that expects the month first turns ``04/10/2026`` into 10 April, without a
    word, and leaves ``25/10/2026`` as text. Then no date cell of the column can be trusted.
    """
    text = ""
    dates = 0
    for cell in cells:
        if isinstance(cell, date):
            if cell.day > 12:
                return ""
            dates += 1
        elif isinstance(cell, str) and not text:
            found = _numeric_in(cell)
            if found and len(found[1]) < 4 and max(int(found[1]), int(found[3])) > 12:
                text = cell.strip()
    return text if dates else ""


def is_serial(cell: Cell) -> bool:
    """Tell whether a cell is a spreadsheet's day number."""
    if isinstance(cell, bool) or not isinstance(cell, float | int | str):
        return False
    text = shown(cell)
    return len(text) == 5 and text.isascii() and text.isdigit() and int(text) in _SERIALS


def day_of_serial(cell: Cell) -> date:
    """Return the day of a spreadsheet's day number (1 is 1 Jan 1900).

    Examples
    --------
    >>> day_of_serial(46299.0)
    datetime.date(2026, 10, 4)
    """
    return _SERIAL_START + timedelta(days=int(shown(cell)))


@dataclass(frozen=True, slots=True)
class BirthReader:
    """Reads the cells of a column of births: a day, a month or a year."""

    days: DayReader

    def __call__(self, cell: Cell) -> Born | None:
        """Return the birth in a cell, or None when it is empty."""
        if isinstance(cell, float | int) and not isinstance(cell, bool):
            cell = shown(cell)
        if isinstance(cell, str):
            text = " ".join(cell.split())
            born = self._of_part(text)
            if born is not None:
                return self._possible(born, text)
        day = self.days(cell)
        return None if day is None else Born.on(day)

    def _of_part(self, text: str) -> Born | None:
        if found := _INTERVAL.fullmatch(text):
            earliest, latest = self.days(found[1]), self.days(found[2])
            if earliest is None or latest is None or earliest > latest:
                raise refused("the interval ends before it begins", text, "earliest/latest day",
                              "2024-03-05/2024-04-04", "row.date")  # fmt: skip
            return Born(earliest, latest)
        if _YEAR.fullmatch(text):
            return Born.in_year(int(text))
        if found := _YEAR_MONTH.fullmatch(text):
            return self._month(int(found[1]), int(found[2]), text)
        if found := _MONTH_YEAR.fullmatch(text):
            return self._month(int(found[2]), int(found[1]), text)
        found = _NAMED_MONTH.fullmatch(_lettered(text[:_LONGEST]))
        if found and found[1] in _MONTHS:
            return self._month(int(found[2]), _MONTHS[found[1]], text)
        return None

    def _month(self, year: int, month: int, text: str) -> Born:
        if not 1 <= month <= 12 or not 1 <= year <= 9998:
            raise refused("there is no such month", text, "Apr 2024 or 2024-04", "Apr 2024",
                          "row.date")  # fmt: skip
        return Born.in_month(year, month)

    def _possible(self, born: Born, text: str) -> Born:
        if born.earliest > self.days.today:
            raise refused(
                "the birth lies in the future",
                text,
                f"up to {written_date(self.days.today)}",
                str(self.days.today.year - 1),
                "row.date",
            )
        if born.latest.year < self.days.today.year - _EARLIEST_YEARS:
            raise refused(
                "the birth lies too far back to be meant",
                text,
                f"a year after {self.days.today.year - _EARLIEST_YEARS}",
                str(self.days.today.year - 1),
                "row.date",
            )
        return born


def all_first_of_month(cells: Iterable[Cell]) -> bool:
    """Tell whether three date cells or more are there and every one is a first of the month."""
    days = [c for c in cells if isinstance(c, date)]
    return len(days) >= 3 and all(d.day == 1 for d in days)

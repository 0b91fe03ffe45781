"""The line of weeks: a season laid out as a course of stones, one stone a week.

Everything is counted from the day the rams go in, so that the courses of several flocks, put below
each other, line up: the same place in the course means the same time left. Values only; the
template draws them. Places are parts of the whole width. [%]
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from stell.core.leads import span_text, when_text
from stell.core.records import written_date
from stell.core.timetable import Milestone, Timetable

WEEKS_AFTER = 6  # about two cycles of mating, and something of the third
MOST_WEEKS_BEFORE = 26
LEAST_WEEKS_BEFORE = 8
# Stones of a dry wall are not of one height. The order is fixed, so that a page looks the same
# each time it is opened. [px]
_HEIGHTS = (30, 34, 31, 27, 33, 29, 34, 28, 32, 30, 27, 33)
# A peg must not cover the next one. Room for it on a phone of 320 px and on a desk. [%]
_PEG_NARROW, _PEG_WIDE = 10.5, 3.4
_NOTE_ROOM = 9.0


@dataclass(frozen=True, slots=True)
class Stone:
    """One week. `state` is ``gone``, ``now``, ``ahead`` or ``mating``. [%, height in px]"""

    x: float
    width: float
    height: int
    state: str


@dataclass(frozen=True, slots=True)
class Peg:
    """One milestone. `narrow` and `wide` are the rows in which it hangs, 0 next to the stones."""

    letter: str
    x: float
    narrow: int
    wide: int
    milestone: Milestone
    when: str
    is_past: bool


@dataclass(frozen=True, slots=True)
class Note:
    """Something written at a place of the course: a month, a visit, a day to look again."""

    x: float
    text: str
    on: date
    count: int = 0


@dataclass(frozen=True, slots=True)
class Course:
    """A season's line of weeks.

    Attributes
    ----------
    stones, pegs : tuples
    months, visits, again : tuple of Note
        First days of months; days on which rams were examined; days to look again.
    start_x : float
        The day the rams go in. [%]
    today_x : float or None
        None when today lies outside the course. [%]
    outside : str
        ``before`` or ``after`` when today lies outside, else empty.
    label : str
        The whole in one sentence, for people who do not see the picture.
    """

    stones: tuple[Stone, ...]
    pegs: tuple[Peg, ...]
    months: tuple[Note, ...]
    visits: tuple[Note, ...]
    again: tuple[Note, ...]
    start_x: float
    today_x: float | None
    outside: str
    label: str

    @property
    def rows_narrow(self) -> int:
        """Rows of pegs on a phone. [1]"""
        return 1 + max((p.narrow for p in self.pegs), default=-1)

    @property
    def rows_wide(self) -> int:
        """Rows of pegs on a desk. [1]"""
        return 1 + max((p.wide for p in self.pegs), default=-1)

    @property
    def today_lean(self) -> str:
        """To which side the word "today" is set so that it stays in the picture."""
        at = 50.0 if self.today_x is None else self.today_x
        return "start" if at < 6 else "end" if at > 94 else "middle"


def course_of(
    table: Timetable | None,
    *,
    visits: Iterable[date] = (),
    again: Iterable[date] = (),
    weeks_before: int = 0,
) -> Course | None:
    """Return the line of weeks, or None when no start of mating is known.

    Parameters
    ----------
    table : Timetable or None
    visits, again : iterables of date
        One entry for each ram examined, or to be looked at again, on that day.
    weeks_before : int
        Weeks to show ahead of mating, so that several courses line up; 0 for as many as this one
        needs.
    """
    if table is None or table.mating_start_on is None:
        return None
    start, today = table.mating_start_on, table.today
    seen, due = Counter(visits), Counter(again)
    scale = _Scale(start, weeks_before or weeks_needed(table, [*seen, *due]))
    return Course(
        stones=scale.stones(today),
        pegs=_pegs(table.milestones, scale, today),
        months=scale.months(),
        visits=_notes(seen, scale),
        again=_notes(due, scale),
        start_x=scale.place(start),
        today_x=scale.place(today) if scale.holds(today) else None,
        outside="" if scale.holds(today) else "before" if today < start else "after",
        label=_label(start, today, seen),
    )


class _Scale:
    """Where a day lies on the course."""

    def __init__(self, start: date, weeks_before: int) -> None:
        self.first = start - timedelta(weeks=weeks_before)
        self.start = start
        self.weeks = weeks_before + WEEKS_AFTER

    def holds(self, day: date) -> bool:
        return 0 <= (day - self.first).days <= 7 * self.weeks

    def place(self, day: date) -> float:
        return round((day - self.first).days / (7 * self.weeks) * 100, 3)

    def stones(self, today: date) -> tuple[Stone, ...]:
        width = 100 / self.weeks
        return tuple(
            Stone(
                x=round(i * width, 3),
                width=round(width, 3),
                height=_HEIGHTS[i % len(_HEIGHTS)],
                state=self._state(self.first + timedelta(weeks=i), today),
            )
            for i in range(self.weeks)
        )

    def _state(self, monday: date, today: date) -> str:
        if monday <= today < monday + timedelta(weeks=1):
            return "now"
        if monday + timedelta(weeks=1) <= today:
            return "gone"
        return "mating" if monday >= self.start else "ahead"

    def months(self) -> tuple[Note, ...]:
        found: list[Note] = []
        last = self.first + timedelta(weeks=self.weeks)
        year, month = self.first.year, self.first.month
        while True:
            year, month = (year + 1, 1) if month == 12 else (year, month + 1)
            first = date(year, month, 1)
            # A name at the very end would run out of the picture.
            if self.place(first) > 94 or first >= last:
                return tuple(found)
            found.append(Note(self.place(first), written_date(first).split()[1], first))


def weeks_needed(table: Timetable, days: Iterable[date] = ()) -> int:
    """Return how many weeks a course has to show ahead of mating so that nothing falls off.

    Parameters
    ----------
    table : Timetable
    days : iterable of date
        Days of visits.
    """
    start = table.mating_start_on
    if start is None:
        return LEAST_WEEKS_BEFORE
    leads = [m.lead.days for m in table.milestones]
    ahead = [(start - day).days for day in (*days, table.today)]
    most = 7 * (MOST_WEEKS_BEFORE - 1)
    wanted = max([*leads, *(d for d in ahead if d <= most)], default=0)
    return min(MOST_WEEKS_BEFORE, max(LEAST_WEEKS_BEFORE, math.ceil((wanted + 4) / 7)))


def _pegs(milestones: Sequence[Milestone], scale: _Scale, today: date) -> tuple[Peg, ...]:
    shown = [m for m in milestones if scale.holds(m.on)]
    places = [scale.place(m.on) for m in shown]
    narrow, wide = rows_for(places, _PEG_NARROW), rows_for(places, _PEG_WIDE)
    return tuple(
        Peg(
            letter=chr(ord("A") + i),
            x=places[i],
            narrow=narrow[i],
            wide=wide[i],
            milestone=milestone,
            when=when_text(milestone.on, today),
            is_past=milestone.on < today,
        )
        for i, milestone in enumerate(shown)
    )


def rows_for(places: Sequence[float], room: float) -> list[int]:
    """Return the lowest row for each place in which it does not touch its neighbours.

    Parameters
    ----------
    places : sequence of float
        Rising. [%]
    room : float
        Least distance within a row. [%]

    Examples
    --------
    >>> rows_for([10, 12, 20, 21], 5)
    [0, 1, 0, 1]
    """
    last_in_row: list[float] = []
    rows = []
    for place in places:
        for row, last in enumerate(last_in_row):
            if place - last >= room:
                last_in_row[row] = place
                break
        else:
            row = len(last_in_row)
            last_in_row.append(place)
        rows.append(row)
    return rows


def _notes(days: Counter[date], scale: _Scale) -> tuple[Note, ...]:
    """Return a note a day; days too close to be told apart share the first one's place."""
    notes: list[Note] = []
    for day, count in sorted(days.items()):
        if not scale.holds(day):
            continue
        place = scale.place(day)
        if notes and place - notes[-1].x < _NOTE_ROOM:
            first = notes[-1]
            notes[-1] = Note(first.x, first.text, first.on, first.count + count)
        else:
            notes.append(Note(place, written_date(day), day, count))
    return tuple(notes)


def _label(start: date, today: date, seen: Counter[date]) -> str:
    days = (start - today).days
    if days > 0:
        stand = f"Today is {span_text(days)} before the rams go in on {written_date(start)}."
    elif days == 0:
        stand = f"The rams go in today, {written_date(start)}."
    else:
        stand = f"Today is {span_text(-days)} after the rams went in on {written_date(start)}."
    if not seen:
        return f"{stand} No ram has been examined this season."
    days_said = ", ".join(
        f"{count} {'ram' if count == 1 else 'rams'} on {written_date(day)}"
        for day, count in sorted(seen.items())
    )
    return f"{stand} Examined: {days_said}."

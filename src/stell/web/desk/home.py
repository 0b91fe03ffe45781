"""The first page: every flock with its line of weeks, and what is due."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from stell.core.timetable import Milestone
from stell.core.worklist import AT_ONCE
from stell.services import lookup, seasons
from stell.services.due import DueItem
from stell.services.records import FlockRecord
from stell.services.seasons import FlockSeason
from stell.web.clock import today
from stell.web.desk.tables import Count, counts
from stell.web.desk.weeks import Course, course_of, weeks_needed

SOON_DAYS = 14
MOST_DUE = 7
# More marks than this in a row are no longer counted by eye. [rams]
MOST_MARKS = 60


@dataclass(frozen=True, slots=True)
class FlockLine:
    """One flock on the first page."""

    flock: FlockRecord
    season: FlockSeason
    counts: list[Count]
    draws_marks: bool
    course: Course | None
    overdue: int
    next_day: Milestone | None


@require_safe
def home(request: HttpRequest) -> HttpResponse:
    """Show the flocks and the work list's head."""
    day = today()
    found = seasons.seasons_of(lookup.flock_rows(), day)
    pressing = pressing_items(found, day)
    return render(
        request,
        "desk/home.html",
        {
            "flocks": flock_lines(found, day),
            "pressing": pressing[:MOST_DUE],
            "more_pressing": max(0, len(pressing) - MOST_DUE),
            "overdue": sum(item.is_overdue for item in pressing),
            "soon_days": SOON_DAYS,
        },
    )


def pressing_items(found: list[FlockSeason], day: date) -> list[DueItem]:
    """Return what is open and due within `SOON_DAYS`, in the order of the work list.

    The seasons are at hand already; to ask for the work list would judge every ram twice.
    """
    items = [
        DueItem(season.flock, thing, (thing.due_on - day).days)
        for season in found
        for thing in season.to_do  # each flock's things are in order
    ]
    items = [item for item in items if item.days_left <= SOON_DAYS]
    return sorted(items, key=_pressure)


def _pressure(item: DueItem) -> tuple[int, date, str]:
    kind, due_on = item.todo.kind, item.todo.due_on
    at_once = kind in AT_ONCE and item.days_left <= 0
    return AT_ONCE.index(kind) if at_once else len(AT_ONCE), due_on, item.flock.name


def flock_lines(found: list[FlockSeason], day: date) -> list[FlockLine]:
    """Return the flocks' lines, the next to go to mating first.

    Their courses show the same weeks, so that they line up.
    """
    found = sorted(found, key=lambda season: _nearness(season, day))
    visits = [visit_days(season) for season in found]
    weeks = max(
        (
            weeks_needed(season.timetable, days)
            for season, days in zip(found, visits, strict=True)
            if season.timetable is not None
        ),
        default=0,
    )
    return [
        FlockLine(
            flock=season.flock,
            season=season,
            counts=counts(season),
            draws_marks=len(season.rams) <= MOST_MARKS,
            course=course_of(season.timetable, visits=days, weeks_before=weeks),
            overdue=sum(thing.due_on < day for thing in season.to_do),
            next_day=next_day(season, day),
        )
        for season, days in zip(found, visits, strict=True)
    ]


def _nearness(season: FlockSeason, day: date) -> tuple[int, date, str]:
    """Return what flocks are sorted by: mating to come, then begun, then without a start."""
    start = season.mating_start_on
    if start is None:
        return 2, date.max, season.flock.name
    return int(start < day), start, season.flock.name


def visit_days(season: FlockSeason) -> list[date]:
    """Return the day of each ram's examinations that stand, one entry a ram and day."""
    return [
        record.exam.examined_on
        for ram in season.rams
        for record in ((ram.examination, *ram.earlier) if ram.examination else ())
    ]


def next_day(season: FlockSeason, day: date) -> Milestone | None:
    """Return the next day of the timetable, or None when all have passed."""
    if season.timetable is None:
        return None
    return next((m for m in season.timetable.milestones if m.on >= day), None)

"""One flock's season: the line of weeks, what is to be done, and every ram."""

from __future__ import annotations

from datetime import date

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from stell.core.verdict import Outcome
from stell.services import flocks, seasons
from stell.services.seasons import FlockSeason
from stell.web.clock import today
from stell.web.desk.home import MOST_MARKS, visit_days
from stell.web.desk.tables import ORDERS, counts, first_day_counts, ram_lines
from stell.web.desk.weeks import course_of

MOST_TO_DO = 9


@require_safe
def flock(request: HttpRequest, slug: str) -> HttpResponse:
    """Show the season that is on or comes next."""
    return _season_page(request, slug, None)


@require_safe
def flock_season(request: HttpRequest, slug: str, start: date) -> HttpResponse:
    """Show the season that began, or begins, on that day."""
    if start not in flocks.find_flock(slug).mating_starts:
        raise Http404
    return _season_page(request, slug, start)


def _season_page(request: HttpRequest, slug: str, start: date | None) -> HttpResponse:
    day = today()
    season = seasons.flock_season(slug, start, today=day)
    order = request.GET.get("order", "")
    order = order if order in ORDERS else ORDERS[0]
    to_do = season.to_do
    lines = ram_lines(season, order)
    return render(
        request,
        "desk/flock.html",
        {
            "season": season,
            "flock": season.flock,
            "course": course_of(
                season.timetable, visits=visit_days(season), again=days_to_look_again(season)
            ),
            "counts": counts(season),
            "draws_marks": len(season.rams) <= MOST_MARKS,
            "lines": lines,
            "first_day": first_day_counts(lines),
            "order": order,
            "to_do": to_do[:MOST_TO_DO],
            "more": max(0, len(to_do) - MOST_TO_DO),
            "overdue": sum(thing.due_on < day for thing in to_do),
            "other_starts": [
                s for s in reversed(season.flock.mating_starts) if s != season.mating_start_on
            ],
        },
    )


def days_to_look_again(season: FlockSeason) -> list[date]:
    """Return the day on which each deferred ram is to be examined again."""
    return [
        ram.decision.proposed.reexamine_on
        for ram in season.rams
        if ram.decision is not None
        and ram.outcome is Outcome.DEFERRED
        and ram.decision.proposed.reexamine_on is not None
    ]

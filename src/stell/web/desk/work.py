"""The work list across all flocks, as a page and as a calendar file."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from datetime import UTC, datetime

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from stell.core.worklist import AT_ONCE
from stell.exchange.calendar import CalendarEvent, to_ics
from stell.services import due, flocks
from stell.services.due import DueItem
from stell.web.clock import today
from stell.web.desk.wording import kind_title

# Day counts after which a new heading begins; the last heading takes the rest. [days]
_WEEK, _MONTH = 7, 28


@dataclass(frozen=True, slots=True)
class Part:
    """A stretch of the work list under one heading."""

    key: str
    title: str
    items: list[DueItem]


@require_safe
def work(request: HttpRequest) -> HttpResponse:
    """Show what is to be done, overdue first; ``?flock=`` narrows it to one flock."""
    slug = request.GET.get("flock", "")
    chosen = flocks.find_flock(slug) if slug else None
    items = due.work_list(today(), flock=chosen)
    return render(
        request,
        "desk/work.html",
        {
            "parts": parts_of(items),
            "chosen": chosen,
            "flocks": flocks.all_flocks(),
            "count": len(items),
        },
    )


@require_safe
def calendar(request: HttpRequest) -> HttpResponse:
    """Send the same list as a calendar file."""
    slug = request.GET.get("flock", "")
    chosen = flocks.find_flock(slug) if slug else None
    content = calendar_file(due.work_list(today(), flock=chosen), datetime.now(UTC))
    name = f"stell-{chosen.slug}.ics" if chosen else "stell.ics"
    return HttpResponse(
        content,
        content_type="text/calendar; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )


def parts_of(items: list[DueItem]) -> list[Part]:
    """Return the list under its headings, empty ones left out; the order of the list is kept.

    What brooks no delay stands under a heading of its own, however long it has been due.
    """
    at_once = [i for i in items if i.todo.kind in AT_ONCE and i.days_left <= 0]
    others = [i for i in items if i.todo.kind not in AT_ONCE or i.days_left > 0]
    headings = (
        ("overdue", _("Overdue"), -math.inf, 0),
        ("week", _("Within a week"), 0, _WEEK),
        ("month", _("The three weeks after"), _WEEK, _MONTH),
        ("later", _("Later"), _MONTH, math.inf),
    )
    parts = [
        Part(key, title, [item for item in others if first <= item.days_left < end])
        for key, title, first, end in headings
    ]
    return [part for part in (Part("at-once", _("At once"), at_once), *parts) if part.items]


def calendar_file(items: list[DueItem], stamp: datetime) -> bytes:
    """Return the list as a calendar.

    An entry keeps its name when its day moves, so that importing a later file moves it too.
    """
    events, met = [], Counter[str]()
    for item in items:
        key = event_key(item)
        met[key] += 1
        events.append(
            CalendarEvent(
                uid=f"{key}-{met[key]}",
                on=item.todo.due_on,
                summary=event_title(item),
                description=item.todo.sentence,
            )
        )
    return to_ics(events, stamp=stamp, name=_("stell work list"))


def event_key(item: DueItem) -> str:
    """Return what tells an entry from all others, less its day: of what, of whom, which year's."""
    whom = item.todo.ram.id if item.todo.ram else "flock"
    return f"{item.todo.exam_id or item.flock.id}-{whom}-{item.todo.kind}-{item.todo.due_on.year}"


def event_title(item: DueItem) -> str:
    """Return what a calendar shows at a glance: what, who, where."""
    who = [item.todo.ram.label] if item.todo.ram else []
    return f"{kind_title(item.todo.kind).capitalize()}: {', '.join([*who, item.flock.name])}"

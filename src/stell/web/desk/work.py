"""The work list across all flocks, as a page and as a calendar file."""

from __future__ import annotations

import math
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from stell.services import due, flocks
from stell.services.due import DueItem
from stell.web.clock import today

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


def parts_of(items: list[DueItem]) -> list[Part]:
    """Return the list under its headings, empty ones left out; the order of the list is kept."""
    headings = (
        ("overdue", _("Overdue"), -math.inf, 0),
        ("week", _("Within a week"), 0, _WEEK),
        ("month", _("The three weeks after"), _WEEK, _MONTH),
        ("later", _("Later"), _MONTH, math.inf),
    )
    parts = [
        Part(key, title, [item for item in items if first <= item.days_left < end])
        for key, title, first, end in headings
    ]
    return [part for part in parts if part.items]

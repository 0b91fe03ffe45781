"""What every page shows around its contents."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.http import HttpRequest
from django.utils.translation import gettext_lazy as _

from stell import __version__
from stell.web.clock import today

_PLACES = (
    ("home", _("Flocks"), ("home", "flock", "flock_season", "ram")),
    ("work", _("Work list"), ("work",)),
    ("protocols", _("Protocol"), ("protocols", "protocol")),
)


def frame(request: HttpRequest) -> dict[str, Any]:
    """Return the places of the site, today's date and the version."""
    match = request.resolver_match
    name = match.url_name if match else ""
    return {
        "places": [{"url": u, "title": t, "is_here": name in pages} for u, t, pages in _PLACES],
        "today": today(),
        "is_set_day": settings.STELL_TODAY is not None,
        "version": __version__,
    }

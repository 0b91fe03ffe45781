"""A desk that is left alone is shut, and no session outlasts a working day.

Django lets a session's age begin anew each time something is written to it; here it counts from
the log-in.
"""

from __future__ import annotations

import time
from collections.abc import Callable

from django.conf import settings
from django.contrib.auth import logout
from django.http import HttpRequest, HttpResponse

_BEGAN, _SEEN = "began_at", "seen_at"
# Noted no oftener than this, so that reading pages does not write to the store each time. [s]
NOTE_EVERY = 5 * 60


class IdleEnds:
    """Log out whoever has asked for nothing for `SESSION_IDLE_SECONDS`, or is in for too long."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer; the request counts as a sign of life."""
        if request.user.is_authenticated:
            now = int(time.time())
            if self._is_over(request, now):
                logout(request)
            elif now - request.session.get(_SEEN, 0) >= NOTE_EVERY:
                request.session.setdefault(_BEGAN, now)
                request.session[_SEEN] = now
        return self.get_response(request)

    @staticmethod
    def _is_over(request: HttpRequest, now: int) -> bool:
        seen, began = (request.session.get(key, now) for key in (_SEEN, _BEGAN))
        idle = now - seen > settings.SESSION_IDLE_SECONDS
        return idle or now - began > settings.SESSION_COOKIE_AGE

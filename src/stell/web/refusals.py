"""Errors of stell's own family as pages: what was got, what is legal, an example."""

from __future__ import annotations

from collections.abc import Callable

from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from stell.core.errors import StellError
from stell.store.transactions import explained

_STATUS = {
    "record.not_found": 404,
    "protocol.unknown": 404,
    "record.ambiguous": 409,
    "store.busy": 503,
    "store.full": 503,
    "store.unreadable": 503,
}


def status_of(error: StellError) -> int:
    """Return the HTTP status that belongs to an error of ours."""
    return _STATUS.get(error.code, 400)


class Refusals:
    """Turn a `StellError` that a page raises into a page that says it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Pass on: the work is in `process_exception`."""
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        """Answer for our own errors and for what the database says; leave all others to Django."""
        told = explained(error) if isinstance(error, DatabaseError) else error
        if not isinstance(told, StellError):
            return None
        return render(request, "desk/refused.html", {"error": told}, status=status_of(told))

"""Headers that Django does not set by itself."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

_UNUSED = ("camera", "geolocation", "microphone", "payment", "usb", "serial")
PERMISSIONS = ", ".join(f"{feature}=()" for feature in _UNUSED)


class QuietHeaders:
    """Keep pages with records out of every cache, and switch off what the desk never uses."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer, with the headers set."""
        response = self.get_response(request)
        response.headers.setdefault("Permissions-Policy", PERMISSIONS)
        response.headers.setdefault("Cross-Origin-Resource-Policy", "same-origin")
        response.headers.setdefault("Cache-Control", "no-store")
        return response

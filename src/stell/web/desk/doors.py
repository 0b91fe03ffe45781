"""Doors that stand open: logging in and out, and whether the site is alive."""

from __future__ import annotations

from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

log_in = LoginView.as_view(template_name="desk/log_in.html", redirect_authenticated_user=True)
log_out = LogoutView.as_view()


@login_not_required
@require_safe
def healthz(_request: HttpRequest) -> HttpResponse:
    """Answer ``ok``: says that the site answers, and nothing about what is kept in it."""
    return HttpResponse("ok\n", content_type="text/plain; charset=utf-8")

"""Addresses of the site."""

from __future__ import annotations

from datetime import date

from django.urls import path, register_converter

from stell.web.desk import doors, flock, home, papers, protocol, ram, work


class Day:
    """A day in an address, as ISO 8601."""

    regex = r"\d{4}-\d{2}-\d{2}"

    def to_python(self, text: str) -> date:
        """Return the day; an impossible one makes the address unknown."""
        return date.fromisoformat(text)

    def to_url(self, day: date) -> str:
        """Return the day as it stands in the address."""
        return day.isoformat()


register_converter(Day, "day")

urlpatterns = [
    path("healthz", doors.healthz, name="healthz"),
    path("log-in/", doors.log_in, name="log_in"),
    path("log-out/", doors.log_out, name="log_out"),
    path("", home.home, name="home"),
    path("flocks/<slug:slug>/", flock.flock, name="flock"),
    path("flocks/<slug:slug>/mating/<day:start>/", flock.flock_season, name="flock_season"),
    path("flocks/<slug:slug>/report.pdf", papers.owner_report, name="owner_report"),
    path("flocks/<slug:slug>/run-sheet.pdf", papers.run_sheet, name="run_sheet"),
    path("rams/<uuid:ram_id>/", ram.ram, name="ram"),
    path("due/", work.work, name="work"),
    path("due/stell.ics", work.calendar, name="calendar"),
    path("protocol/", protocol.protocol_in_force, name="protocols"),
    path("protocol/<slug:name>/<str:version>/", protocol.protocol, name="protocol"),
    path("protocol/<slug:name>/<str:version>/form.pdf", papers.blank_form, name="blank_form"),
]

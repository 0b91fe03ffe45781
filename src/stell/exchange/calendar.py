"""Days to remember as a calendar file (RFC 5545): all-day events that keep their identity.

An event says the flock's name and what to do; no person is named in it, as calendars are shared.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from icalendar import Alarm, Calendar, Event

from stell import __version__

_DOMAIN = "stell"


@dataclass(frozen=True, slots=True)
class CalendarEvent:
    """One day to remember.

    Attributes
    ----------
    uid : str
        Stays the same when the event moves to another day: a UUID, or any text that does.
    on : date
    summary : str
        One line: flock and what to do.
    description : str
        More lines, without the name of a person.
    sequence : int
        Raised by one whenever the event changes.
    cancelled : bool
        Whether it no longer holds.
    remind_days_before : int or None
        When to remind. [days]
    """

    uid: str
    on: date
    summary: str
    description: str = ""
    sequence: int = 0
    cancelled: bool = False
    remind_days_before: int | None = None


def to_ics(events: Iterable[CalendarEvent], *, stamp: datetime, name: str = "") -> bytes:
    """Return the events as a calendar file.

    Parameters
    ----------
    events : iterable of CalendarEvent
    stamp : datetime
        When the file is made, with its time zone.
    name : str
        What the calendar is called where it is shown.

    Raises
    ------
    ValueError
        If `stamp` has no time zone.
    """
    if stamp.tzinfo is None:
        raise ValueError("stamp needs a time zone, for example datetime.now(UTC)")
    calendar = Calendar()
    calendar.add("prodid", f"-//stell//stell {__version__}//EN")
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    if name:
        calendar.add("x-wr-calname", name)
    for event in events:
        calendar.add_component(_event(event, stamp.astimezone(UTC).replace(microsecond=0)))
    return calendar.to_ical()


def _event(event: CalendarEvent, stamp: datetime) -> Event:
    made = Event()
    made.add("uid", f"{event.uid}@{_DOMAIN}")
    made.add("dtstamp", stamp)
    made.add("dtstart", event.on)
    made.add("dtend", event.on + timedelta(days=1))  # RFC 5545: the end is not part of the event
    made.add("summary", event.summary)
    if event.description:
        made.add("description", event.description)
    made.add("sequence", event.sequence)
    made.add("status", "CANCELLED" if event.cancelled else "CONFIRMED")
    made.add("transp", "TRANSPARENT")  # the day stays free for other work
    if event.remind_days_before is not None and not event.cancelled:
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", event.summary)
        alarm.add("trigger", timedelta(days=-event.remind_days_before))
        made.add_component(alarm)
    return made

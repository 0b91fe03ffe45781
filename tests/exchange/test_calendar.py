"""Calendar files: read back by the library, and held to the letter of RFC 5545."""

from datetime import UTC, date, datetime, timedelta

import pytest
from icalendar import Calendar

from stell.exchange.calendar import CalendarEvent, to_ics

STAMP = datetime.fromisoformat("2026-11-25T12:00:00.123456+01:00")
EVENT = CalendarEvent(
    uid="0199c4b2-8d1e-7c3a-9f00-5a1b2c3d4e5f",
    on=date(2026, 12, 4),
    summary="Hill End: examine R12 again (Gewicht, ½ Maß; naß)",
    description="Testis tone soft on 4 Oct 2026.\nMating starts 20 Dec 2026.",
    remind_days_before=3,
)


def read(events, **how):
    return Calendar.from_ical(to_ics(events, stamp=STAMP, **how))


def test_an_event_comes_back() -> None:
    calendar = read([EVENT], name="stell: Hill End")
    assert calendar["x-wr-calname"] == "stell: Hill End"
    (event,) = calendar.walk("VEVENT")
    assert event["uid"] == "0199c4b2-8d1e-7c3a-9f00-5a1b2c3d4e5f@stell"
    assert event.decoded("dtstart") == date(2026, 12, 4)
    assert event.decoded("dtend") == date(2026, 12, 5)
    assert event.decoded("dtstamp") == datetime(2026, 11, 25, 11, tzinfo=UTC)
    assert str(event["summary"]) == EVENT.summary
    assert str(event["description"]) == EVENT.description
    assert event["status"] == "CONFIRMED"
    (alarm,) = event.walk("VALARM")
    assert alarm.decoded("trigger") == timedelta(days=-3)


def test_the_letter_of_the_standard() -> None:
    raw = to_ics([EVENT], stamp=STAMP)
    lines = raw.split(b"\r\n")
    assert b"\n" not in b"".join(lines), "every line ends in CRLF (3.1)"
    assert max(map(len, lines)) <= 75, "lines fold at 75 octets (3.1)"
    assert lines[0] == b"BEGIN:VCALENDAR"
    assert b"VERSION:2.0" in lines
    assert b"DTSTART;VALUE=DATE:20261204" in lines, "all day (3.6.1)"
    assert b"DTSTAMP:20261125T110000Z" in lines, "in UTC (3.8.7.2)"
    assert any(line.startswith(b"PRODID:") for line in lines), "required (3.6)"


def test_a_moved_event_keeps_its_identity_and_a_withdrawn_one_says_so() -> None:
    moved = CalendarEvent(EVENT.uid, date(2026, 12, 11), EVENT.summary, sequence=1)
    gone = CalendarEvent(EVENT.uid, date(2026, 12, 11), EVENT.summary, sequence=2, cancelled=True,
                         remind_days_before=3)  # fmt: skip
    first, second, third = (read([e]).walk("VEVENT")[0] for e in (EVENT, moved, gone))
    assert first["uid"] == second["uid"] == third["uid"]
    assert [e["sequence"] for e in (first, second, third)] == [0, 1, 2]
    assert third["status"] == "CANCELLED"
    assert not third.walk("VALARM"), "nobody is reminded of it"


def test_the_same_events_make_the_same_file() -> None:
    assert to_ics([EVENT], stamp=STAMP) == to_ics([EVENT], stamp=STAMP)


def test_no_event_is_an_empty_calendar() -> None:
    assert not read([]).walk("VEVENT")


def test_a_time_without_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="needs a time zone"):
        to_ics([], stamp=STAMP.replace(tzinfo=None))

"""The line of weeks: places checked by counting weeks by hand."""

from datetime import date, timedelta
from itertools import pairwise

import pytest

from stell.core.protocol.load import load_shipped
from stell.core.timetable import timetable
from stell.web.desk.weeks import (
    LEAST_WEEKS_BEFORE,
    MOST_WEEKS_BEFORE,
    WEEKS_AFTER,
    Course,
    course_of,
    rows_for,
    weeks_needed,
)

RAMS_IN = date(2026, 11, 2)  # a Monday


def course(today: date, **given) -> Course:
    table = timetable(RAMS_IN, load_shipped("house").spec.timing, today=today)
    found = course_of(table, **given)
    assert found is not None, "a flock with a start of mating has a line of weeks"
    return found


def test_gate_stands_between_the_weeks_before_and_after() -> None:
    line = course(date(2026, 9, 14), weeks_before=14)
    assert len(line.stones) == 14 + WEEKS_AFTER, "one stone a week"
    # 14 weeks of 20 lie ahead of the day the rams go in.
    assert line.start_x == pytest.approx(70.0), "the gate stands 14 weeks in"
    # 2 Nov less 14 Sep is 49 days, 7 weeks; so 7 of 20 weeks lie before today.
    assert line.today_x == pytest.approx(35.0), "today stands 7 weeks ahead of the gate"


def test_every_week_has_one_state() -> None:
    line = course(date(2026, 9, 16), weeks_before=14)  # two days into the eighth week
    states = [stone.state for stone in line.stones]
    assert states == ["gone"] * 7 + ["now"] + ["ahead"] * 6 + ["mating"] * 6, states


def test_weeks_of_mating_that_have_passed_are_gone() -> None:
    line = course(RAMS_IN + timedelta(days=10), weeks_before=14)
    states = [stone.state for stone in line.stones]
    assert states == ["gone"] * 15 + ["now"] + ["mating"] * 4, states


@pytest.mark.parametrize(
    ("today", "outside"),
    [
        (RAMS_IN - timedelta(weeks=40), "before"),
        (RAMS_IN + timedelta(weeks=WEEKS_AFTER, days=1), "after"),
        (RAMS_IN, ""),
    ],
)
def test_today_outside_the_line_is_said(today: date, outside: str) -> None:
    line = course(today, weeks_before=14)
    assert line.outside == outside, f"{today} lies {outside or 'inside'}"
    assert (line.today_x is None) == bool(outside), "a day outside has no place"


def test_visits_of_one_day_are_counted_together() -> None:
    day = date(2026, 8, 31)
    line = course(date(2026, 9, 14), visits=[day] * 5 + [date(2026, 10, 1)], weeks_before=14)
    assert [(v.on, v.count) for v in line.visits] == [(day, 5), (date(2026, 10, 1), 1)]
    # 31 Aug is 63 days, 9 weeks before; 5 of 20 weeks lie before it.
    assert line.visits[0].x == pytest.approx(25.0), line.visits


def test_visits_too_close_to_draw_share_a_place() -> None:
    days = [date(2026, 8, 31), date(2026, 9, 1), date(2026, 9, 2)]
    line = course(date(2026, 9, 14), visits=days, weeks_before=14)
    assert [v.count for v in line.visits] == [3], "three rams, one mark"


def test_picture_is_said_in_words() -> None:
    line = course(date(2026, 9, 14), visits=[date(2026, 8, 31)] * 2)
    assert line.label == (
        "Today is 7 weeks before the rams go in on 2 Nov 2026. Examined: 2 rams on 31 Aug 2026."
    )
    assert course(RAMS_IN).label.startswith("The rams go in today, 2 Nov 2026."), "the day itself"


def test_months_begin_where_they_begin() -> None:
    line = course(date(2026, 9, 14), weeks_before=14)  # from Mon 27 Jul to Mon 14 Dec
    assert [m.text for m in line.months] == ["Aug", "Sep", "Oct", "Nov", "Dec"]
    # 1 Sep is 36 days after 27 Jul, of 140.
    assert line.months[1].x == pytest.approx(36 / 140 * 100, abs=1e-3)


def test_pegs_hang_in_order_and_never_cover_each_other() -> None:
    line = course(date(2026, 9, 14))
    assert [p.letter for p in line.pegs] == list("ABCDEFGHIJ")[: len(line.pegs)]
    assert line.pegs[-1].milestone.code == "rams_in", "the last one is the day the rams go in"
    for row in {p.narrow for p in line.pegs}:
        places = [p.x for p in line.pegs if p.narrow == row]
        gaps = [b - a for a, b in pairwise(places)]
        # 22 px wide, drawn on a line of about 284 px on a phone of 320 px.
        assert all(gap * 2.84 >= 22 for gap in gaps), f"row {row}: {places}"


def test_rows_take_the_lowest_that_is_free() -> None:
    assert rows_for([0, 1, 2, 10], 5) == [0, 1, 2, 0]
    assert rows_for([], 5) == []


def test_weeks_shown_are_bounded() -> None:
    timing = load_shipped("house").spec.timing
    late = timetable(RAMS_IN, None, today=RAMS_IN)
    assert weeks_needed(late) == LEAST_WEEKS_BEFORE, "nothing to show, so the least"
    far = timetable(RAMS_IN, timing, today=RAMS_IN - timedelta(days=1000))
    assert weeks_needed(far) <= MOST_WEEKS_BEFORE, "a far day does not stretch the line"
    unknown = timetable(None, timing, today=RAMS_IN)
    assert weeks_needed(unknown) == LEAST_WEEKS_BEFORE, "no start, nothing to count back from"


def test_without_a_start_there_is_no_line() -> None:
    assert course_of(timetable(None, None, today=RAMS_IN)) is None, "nothing to count back from"
    assert course_of(None) is None, "no timetable"

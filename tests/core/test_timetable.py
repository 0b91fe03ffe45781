"""The timetable: days counted back from the start of mating, and odd input."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stell.core.errors import ValueRefused
from stell.core.timetable import timetable
from tests.core.mating import START, TIMING, figure, ram


# Expected days by GNU date: date -d "2026-10-04 - 70 days"
@pytest.mark.parametrize(
    ("code", "on", "earliest", "latest"),
    [
        ("ideal_examination", date(2026, 7, 26), date(2026, 7, 26), date(2026, 8, 9)),
        ("last_sensible_examination", date(2026, 8, 9), date(2026, 8, 9), date(2026, 8, 23)),
        ("sperm_cycle", date(2026, 8, 5), date(2026, 7, 26), date(2026, 8, 16)),
        ("shearing_lead", date(2026, 8, 23), date(2026, 8, 9), date(2026, 8, 23)),
        ("stress_free", date(2026, 9, 4), date(2026, 9, 4), date(2026, 9, 6)),
        ("condition_lead", date(2026, 8, 9), date(2026, 7, 26), date(2026, 8, 9)),
        ("early_reexamination", date(2026, 9, 6), date(2026, 9, 4), date(2026, 9, 20)),
        # 28 + 14 = 42 days; at most 42 + 28 = 70, at least 21 + 7 = 28.
        ("last_purchase", date(2026, 8, 23), date(2026, 7, 26), date(2026, 9, 6)),
        ("quarantine_ends", date(2026, 9, 20), date(2026, 9, 6), date(2026, 9, 27)),
        ("rams_in", START, START, START),
    ],
)
def test_milestones_count_back_from_the_start(code, on, earliest, latest) -> None:
    found = timetable(START, TIMING, today=date(2026, 7, 1)).milestone(code)
    assert found is not None, code
    assert (found.on, found.earliest, found.latest) == (on, earliest, latest), found


def test_milestones_stand_in_order_and_say_their_days() -> None:
    table = timetable(START, TIMING, today=date(2026, 8, 12))
    days = [m.on for m in table.milestones]
    assert days == sorted(days)
    assert len(days) == 10
    assert table.state == "ahead"
    lines = table.sentences()
    assert lines[0] == "Mating starts on 4 Oct 2026, in 53 days."
    shear = next(line for line in lines if "shear" in line)
    assert shear.startswith("23 Aug 2026 (in 11 days): Last day to shear (6 weeks before")
    assert "Buy or borrow by 23 Aug 2026 (in 11 days)" in " ".join(lines)


@given(st.integers(0, 300), st.integers(0, 300), st.dates(date(1950, 1, 1), date(2150, 1, 1)))
def test_a_longer_lead_is_never_a_later_day(shorter: int, more: int, start: date) -> None:
    def day(days: int, name: str, code: str) -> date:
        figures = TIMING.model_copy(update={name: figure(days, None, None, "days")})
        found = timetable(start, figures, today=start).milestone(code)
        assert found is not None, code
        return found.on

    for name, code in (
        ("quarantine", "last_purchase"),
        ("settling", "last_purchase"),
        ("sperm_cycle", "sperm_cycle"),
        ("shearing_lead", "shearing_lead"),
    ):
        gap = day(shorter, name, code) - day(shorter + more, name, code)
        assert gap == timedelta(more), f"{name}: {gap}"


@given(st.dates(date(1950, 1, 1), date(2150, 1, 1)), st.integers(-400, 400))
def test_no_today_breaks_it_and_range_holds_the_day(start: date, ahead: int) -> None:
    table = timetable(start, TIMING, today=start - timedelta(ahead), deferred=[ram(28)])
    assert all(m.earliest <= m.on <= m.latest <= start for m in table.milestones)
    assert table.state == ("ahead" if ahead > 0 else "begun" if ahead < 0 else "today")
    assert all(line.endswith(".") for line in table.sentences()), table.sentences()


def test_no_start_of_mating() -> None:
    table = timetable(None, TIMING, today=date(2026, 8, 1), deferred=[ram(28)])
    assert (table.state, table.milestones, table.purchase) == ("no_date", (), None)
    (found,) = table.deferred
    assert (found.ready_in_time, found.days_to_spare, found.decide_by) == (None, None, None)
    assert found.advice == "unknown"
    assert "cannot be said without a start of mating" in found.sentence
    assert "No start of mating is set" in table.opening


def test_no_figures_still_tell_who_is_ready() -> None:
    table = timetable(START, None, today=date(2026, 9, 1), deferred=[ram(28), ram(60, name="c")])
    assert table.milestones == ()
    assert [d.advice for d in table.deferred] == ["too_late", "wait"]
    assert "no timing figures" in table.opening


def test_start_in_the_past() -> None:
    table = timetable(START, TIMING, today=date(2026, 10, 20))
    assert table.state == "begun"
    assert table.opening.startswith("Mating started on 4 Oct 2026, 16 days ago")


@pytest.mark.parametrize("year", [1, 1026, 2206, 9999])
def test_start_in_an_impossible_year(year: int) -> None:
    with pytest.raises(ValueRefused) as refused:
        timetable(date(year, 10, 4), TIMING, today=date(2026, 8, 1))
    assert refused.value.code == "value.date"
    assert "1900 to 2200" in str(refused.value)

"""What a visit leaves, and which rams a late visit catches."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stell.core.errors import ValueRefused
from stell.core.visit import rams_caught_by, what_a_visit_leaves
from tests.core.mating import START, TIMING, ram


def test_visit_five_weeks_ahead_leaves_two_and_four_weeks_and_no_sperm_cycle() -> None:
    # Trade arithmetic: 35 days ahead, so 14 and 28 days end before the start and 60 do not.
    left = what_a_visit_leaves(START - timedelta(35), START, TIMING, (14, 28, 60))
    assert left.days_before == 35
    assert [(f.days, f.fits, f.days_to_spare) for f in left.deferrals] == [
        (14, True, 21),
        (28, True, 7),
        (60, False, -25),
    ]
    assert left.can_still_buy is False, "28 + 14 days do not fit into 35"
    assert left.sentence == (
        "A visit on 30 Aug 2026, 5 weeks before the rams go in; there is time for 2 weeks and a "
        "short deferral (4 weeks); there is no time for a whole sperm cycle (60 days)."
    )


def test_visit_that_leaves_exactly_the_time_fits() -> None:
    left = what_a_visit_leaves(START - timedelta(60), START, TIMING)
    assert [f.fits for f in left.deferrals] == [True, True]
    assert what_a_visit_leaves(START - timedelta(59), START, TIMING).deferrals[-1].fits is False
    assert what_a_visit_leaves(START - timedelta(42), START, TIMING).can_still_buy is True


def test_rams_caught_are_exactly_those_put_off_beyond_the_start() -> None:
    rams = [ram(days, name=str(days)) for days in (14, 28, 35, 36, 60, 90)]
    caught = rams_caught_by(START - timedelta(35), START, rams)
    assert [r.days for r in caught] == [36, 60, 90], "35 days end on the day the rams go in"
    assert rams_caught_by(START - timedelta(90), START, rams) == ()
    assert rams_caught_by(START + timedelta(1), START, rams) == tuple(rams)
    assert rams_caught_by(START, None, rams) == ()


@given(st.integers(-100, 200), st.lists(st.integers(1, 120), max_size=8))
def test_a_ram_is_caught_when_his_length_does_not_fit(ahead: int, lengths: list[int]) -> None:
    on = START - timedelta(ahead)
    fits = {f.days: f.fits for f in what_a_visit_leaves(on, START, None, lengths).deferrals}
    caught = rams_caught_by(on, START, [ram(days) for days in lengths])
    assert sorted(r.days for r in caught) == sorted(d for d in lengths if not fits[d])


def test_visit_after_the_start_and_without_one() -> None:
    after = what_a_visit_leaves(date(2026, 11, 1), START, TIMING)
    assert (after.days_before, after.can_still_buy) == (-28, False)
    assert not any(f.fits for f in after.deferrals)
    assert "4 weeks after the rams went in on 4 Oct 2026" in after.sentence
    unknown = what_a_visit_leaves(date(2026, 8, 1), None, TIMING)
    assert (unknown.days_before, unknown.can_still_buy) == (None, None)
    assert [f.fits for f in unknown.deferrals] == [None, None]
    assert "no start of mating is set" in unknown.sentence


@pytest.mark.parametrize("on", [date(1, 1, 1), date(9999, 12, 31)])
def test_visit_in_an_impossible_year(on: date) -> None:
    with pytest.raises(ValueRefused) as refused:
        what_a_visit_leaves(on, START, TIMING)
    assert refused.value.code == "value.date"

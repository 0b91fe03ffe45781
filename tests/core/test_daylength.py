"""Day length: shape, hemispheres, poles, and the distance from the longest day."""

import doctest
import math
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stell.core import daylength
from stell.core.daylength import (
    SeasonFacts,
    day_length_hours,
    day_length_range_hours,
    days_since_longest_day,
    hours_text,
    longest_day,
    season_facts,
)
from stell.core.errors import ValueRefused

latitudes = st.floats(-90, 90)
days = st.dates(date(1950, 1, 1), date(2100, 12, 31))


def test_examples_in_docstrings() -> None:
    assert doctest.testmod(daylength).failed == 0


@given(latitudes, days)
def test_a_day_has_0_to_24_hours(latitude: float, on: date) -> None:
    assert 0 <= day_length_hours(latitude, on) <= 24


@given(st.floats(0, 60), days)
def test_night_in_the_south_is_day_in_the_north(latitude: float, on: date) -> None:
    # But for the sun's width and the bending of its light, which lengthen both days: by 4 x 0.8333
    # degrees over 15 degrees an hour on the equator, more where the sun rises aslant.
    both = day_length_hours(latitude, on) + day_length_hours(-latitude, on)
    assert both + 1e-3 >= 24 + 4 * 0.8333 / 15, f"at {latitude} both have {both} h"
    assert both < 24.75, f"at {latitude} both have {both} h"


@given(latitudes, st.integers(2, 9998))
def test_longest_day_lies_in_the_summer_of_its_half_of_the_earth(latitude: float, y: int) -> None:
    # Solstices fall on 20 to 22 June and 20 to 23 December (astronomical almanacs).
    found = longest_day(latitude, y)
    month = 12 if latitude < 0 else 6
    assert (found.year, found.month) == (y, month), f"{latitude}: {found}"
    assert found.day in (21, 22), f"{latitude}: {found}"


@pytest.mark.parametrize("latitude", [-66.0, -35.0, -0.25, 0.0, 0.25, 24.45, 51.5, 57.0, 66.0])
def test_no_day_is_longer_than_the_longest(latitude: float) -> None:
    most = day_length_hours(latitude, longest_day(latitude, 2026))
    for n in range(365):
        on = date(2026, 1, 1) + timedelta(n)
        assert day_length_hours(latitude, on) <= most, f"{on} is longer at {latitude}"


@given(latitudes, days)
def test_days_since_the_longest_day_count_back_to_it(latitude: float, on: date) -> None:
    days_since = days_since_longest_day(latitude, on)
    assert 0 <= days_since <= 365
    back = on - timedelta(days_since)
    assert back == longest_day(latitude, back.year), f"{on} less {days_since} days is {back}"


@given(latitudes, days)
def test_days_since_the_longest_day_grow_by_one_a_day(latitude: float, on: date) -> None:
    today, tomorrow = (days_since_longest_day(latitude, d) for d in (on, on + timedelta(days=1)))
    assert tomorrow in (today + 1, 0), f"{today} then {tomorrow}"


def test_a_year_of_366_days_reaches_365() -> None:
    # From 21 Jun 2028 (leap year: a day early) to 22 Jun 2029 there are 366 days.
    assert days_since_longest_day(57.0, date(2029, 6, 21)) == 365
    assert days_since_longest_day(57.0, date(2029, 6, 22)) == 0


def test_first_year_of_the_calendar_is_no_trap() -> None:
    assert days_since_longest_day(57.0, date(1, 1, 1)) > 180


@pytest.mark.parametrize("latitude", [90.0, 80.0, 70.0, -70.0, -80.0, -90.0])
def test_polar_day_and_polar_night_are_clipped(latitude: float) -> None:
    june, december = (day_length_hours(latitude, date(2026, m, 21)) for m in (6, 12))
    assert {june, december} == {0.0, 24.0}
    assert (june == 24.0) == (latitude > 0)
    assert day_length_range_hours(latitude) == 24.0


def test_range_grows_with_distance_from_the_equator() -> None:
    ranges = [day_length_range_hours(latitude) for latitude in range(0, 67, 3)]
    assert ranges == sorted(ranges)
    assert ranges[0] < 0.02, "on the equator all days are alike"


@pytest.mark.parametrize("latitude", [math.nan, math.inf, -math.inf, 90.1, -91.0, 570.0])
@pytest.mark.parametrize(
    "ask",
    [
        lambda lat: day_length_hours(lat, date(2026, 6, 21)),
        day_length_range_hours,
        lambda lat: longest_day(lat, 2026),
        lambda lat: days_since_longest_day(lat, date(2026, 6, 21)),
        lambda lat: season_facts(lat, date(2026, 6, 21)),
    ],
)
def test_no_latitude_is_refused(latitude: float, ask) -> None:
    with pytest.raises(ValueRefused) as refused:
        ask(latitude)
    assert refused.value.code == "value.range"
    assert "-90 (south) to 90 (north)" in str(refused.value)


@given(latitudes, days)
def test_season_facts_are_the_same_things_in_whole_numbers(latitude: float, on: date) -> None:
    facts = season_facts(latitude, on)
    assert abs(facts.day_length_minutes - 60 * day_length_hours(latitude, on)) <= 0.5
    assert abs(facts.day_length_range_minutes - 60 * day_length_range_hours(latitude)) <= 0.5
    assert facts.days_since_longest_day == days_since_longest_day(latitude, on)
    assert all(type(value) is int for value in facts)


def test_season_facts_asked_again_are_kept() -> None:
    season_facts.cache_clear()
    first = season_facts(56.5, date(2026, 10, 4))
    assert season_facts(56.5, date(2026, 10, 4)) is first
    assert season_facts.cache_info().hits == 1
    assert isinstance(first, SeasonFacts)


@pytest.mark.parametrize(
    ("hours", "text"),
    [
        (0.0, "0 h 0 min"),
        (0.5, "0 h 30 min"),
        (16 + 38 / 60, "16 h 38 min"),
        (11.9999, "12 h 0 min"),
        (24.0, "24 h 0 min"),
    ],
)
def test_hours_as_people_read_them(hours: float, text: str) -> None:
    assert hours_text(hours) == text


@pytest.mark.parametrize("hours", [-0.1, math.nan, math.inf])
def test_hours_that_are_none_are_refused(hours: float) -> None:
    with pytest.raises(ValueRefused) as refused:
        hours_text(hours)
    assert refused.value.code == "value.range"

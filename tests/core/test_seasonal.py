"""The seasonal swing of scrotal circumference: phase, size, uncertainty, hemispheres."""

import doctest
import math
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stell.core import seasonal
from stell.core.daylength import days_since_longest_day
from stell.core.errors import ProtocolError
from stell.core.protocol.load import load_text
from stell.core.seasonal import (
    SeasonalSwing,
    seasonal_difference,
    swing_of,
    widest_seasonal_difference,
)

PROTOCOL = (Path(__file__).parent / "change.toml").read_text("utf-8")
SWING = SeasonalSwing(0.04, 0.08, 101, 30)
day = st.integers(0, 365)
size = st.floats(200, 450)


def test_examples_in_docstrings() -> None:
    assert doctest.testmod(seasonal).failed == 0


def test_peak_falls_on_the_first_of_october_and_of_april() -> None:
    # Lees 1969, Wales 52.4 N: largest about 3 months after the longest day (as reported by
    # Dyrmundsson et al. 1981, https://timarit.is/page/7321420); Lunstra and Schanbacher 1976,
    # Nebraska: largest in October, least in May; 35 S: about April.
    assert days_since_longest_day(52.4, date(2026, 10, 1)) == 101
    assert days_since_longest_day(-35.0, date(2027, 4, 2)) == 101


def test_half_a_year_by_hand() -> None:
    # Mean 340 mm, amplitude 0.06: 360.4 at the peak, 319.6 half a year later (day 283.5), so the
    # season makes 40.8 mm. Day 283 is half a day off: cos(2 pi 182 / 365) = -0.99996.
    made = seasonal_difference(SWING, 319.6, 283, 360.4, 101)
    assert made.expected == pytest.approx(-40.8, abs=0.01)
    # GUM 4.3.7: half-width 0.02 has standard uncertainty 0.02 / sqrt(3) = 0.011547; times
    # 340 x 2 = 7.852. The peak's 30 days hardly count there, the curve being flat at both ends.
    assert math.sqrt(made.variance) == pytest.approx(7.852, abs=0.01)


def test_quarter_of_a_year_by_hand() -> None:
    # From the peak (360.4) to a quarter turn later (91.25 days; mean 340): -20.4. On the slope the
    # peak's date counts: 340 x 0.06 x 2 pi / 365 x 30 / sqrt(3) = 6.08; the amplitude's share is
    # 340 x 0.011547 = 3.93; together 7.24.
    made = seasonal_difference(SWING, 340.0, 192, 360.4, 101)
    assert made.expected == pytest.approx(-20.4, abs=0.15)
    assert math.sqrt(made.variance) == pytest.approx(7.24, abs=0.05)


def test_rectangle_as_in_a_chemists_guide() -> None:
    # "not less than 7 or more than 10": 1.5 / sqrt(3) = 0.87 (EURACHEM/CITAC guide, appendix E.1).
    # A swing of 0.07 to 0.10 over a full half turn of a mean of 100 has twice 100 x that / 100.
    made = seasonal_difference(SeasonalSwing(0.07, 0.10, 0), 91.5, 182, 108.5, 0)
    assert math.sqrt(made.variance) == pytest.approx(2 * 0.87, abs=0.01)


@given(size, day, size, day)
def test_exchanging_the_days_turns_the_sign(now: float, a: int, then: float, b: int) -> None:
    there, back = (
        seasonal_difference(SWING, now, a, then, b),
        seasonal_difference(SWING, then, b, now, a),
    )
    assert there.expected == pytest.approx(-back.expected, abs=1e-9)
    assert there.variance == pytest.approx(back.variance)


@given(size, day)
def test_same_day_of_another_year_owes_nothing_to_the_season(value: float, on: int) -> None:
    made = seasonal_difference(SWING, value, on, value + 20, on)
    assert made.expected == pytest.approx(0, abs=1e-9)
    assert made.variance == pytest.approx(0, abs=1e-9)


@given(size, day, day)
def test_a_ram_who_follows_the_curve_has_nothing_left(mean: float, a: int, b: int) -> None:
    now, then = (mean * (1 + 0.06 * math.cos(2 * math.pi * (d - 101) / 365)) for d in (a, b))
    made = seasonal_difference(SWING, now, a, then, b)
    assert now - then - made.expected == pytest.approx(0, abs=1e-6)


@given(size, day, day)
def test_bound_for_an_unknown_place_holds_either_place(mean: float, a: int, b: int) -> None:
    other = tuple((d + 182) % 365 for d in (a, b))
    bound = widest_seasonal_difference(SWING, mean, ((a, b), other))
    strongest = replace(SWING, amplitude_low=0.08)
    for x, y in ((a, b), other):
        turn = math.cos(strongest.angle(x)) - math.cos(strongest.angle(y))
        assert abs(mean * 0.08 * turn) <= bound + 1e-9


def test_swing_is_read_from_the_protocol() -> None:
    protocol = load_text(PROTOCOL)
    assert swing_of(protocol, 56.0) == SWING
    assert swing_of(protocol, -35.0) == SWING
    assert swing_of(protocol, None) == SWING


def test_near_the_equator_the_small_swing_holds() -> None:
    # At 10 degrees the longest day is 1.2 h longer than the shortest, at 30 degrees 3.9 h.
    found = swing_of(load_text(PROTOCOL), 10.0)
    assert found == SeasonalSwing(0, 0.04, 101, 30)
    assert found.amplitude == pytest.approx(0.02)
    assert swing_of(load_text(PROTOCOL), 30.0) == SWING


def test_protocol_without_figures_has_no_swing() -> None:
    text = PROTOCOL.replace("seasonal_peak", "another_figure")
    assert swing_of(load_text(text), 56.0) is None


@pytest.mark.parametrize(
    ("wrong", "right"),
    [('131, unit = "days"', '131, unit = "weeks"'), ('0.08, unit = "ratio"', '8, unit = "cm"')],
)
def test_figures_in_another_unit_are_refused(wrong: str, right: str) -> None:
    with pytest.raises(ProtocolError) as refused:
        swing_of(load_text(PROTOCOL.replace(wrong, right)), 56.0)
    assert refused.value.code == "protocol.unit"

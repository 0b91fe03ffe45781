"""From mating to lambing and back: ranges, stretches of mating, slips of the pen."""

import doctest
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stell.core import gestation
from stell.core.errors import ProtocolError, ValueRefused
from stell.core.gestation import Gestation, expected_lambing, mating_start_for
from stell.core.protocol.schema import Figure

days = st.dates(date(1950, 1, 1), date(2150, 12, 31))


def test_examples_in_docstrings() -> None:
    assert doctest.testmod(gestation).failed == 0


def test_a_stretch_of_mating_with_a_range() -> None:
    # GNU date: 2026-10-04 + 147, 2026-11-08 + 147, 2026-10-04 + 142, 2026-11-08 + 152 days.
    found = expected_lambing(
        date(2026, 10, 4), Gestation(147, 142, 152), last_mated_on=date(2026, 11, 8)
    )
    assert (found.first_on, found.last_on) == (date(2027, 2, 28), date(2027, 4, 4))
    assert (found.earliest_on, found.latest_on) == (date(2027, 2, 23), date(2027, 4, 9))


@given(days, st.integers(120, 180))
def test_there_and_back(mated_on: date, length: int) -> None:
    carried = Gestation.exactly(length)
    found = expected_lambing(mated_on, carried)
    assert found.first_on == found.last_on == found.earliest_on == found.latest_on
    assert mating_start_for(found.first_on, carried) == mated_on


@given(days, st.integers(125, 170), st.integers(0, 5), st.integers(0, 5), st.integers(0, 90))
def test_a_longer_stretch_only_moves_the_end(on: date, mid: int, less: int, more: int, n: int):
    carried = Gestation(mid, mid - less, mid + more)
    short, long = (
        expected_lambing(on, carried),
        expected_lambing(on, carried, last_mated_on=on + timedelta(n)),
    )
    assert (long.first_on, long.earliest_on) == (short.first_on, short.earliest_on)
    assert long.last_on - short.last_on == timedelta(n)
    assert long.latest_on - long.last_on == timedelta(more)


def test_length_from_a_protocol() -> None:
    weeks = Figure(value=21, low=20.5, high=22, unit="weeks")
    assert Gestation.of(weeks) == Gestation(147, 144, 154)
    with pytest.raises(ProtocolError) as refused:
        Gestation.of(Figure(value=5, unit="months"))
    assert "targets.gestation" in str(refused.value)


@pytest.mark.parametrize(
    ("length", "shortest", "longest"), [(14, 14, 14), (1470, 147, 1470), (147, 148, 152)]
)
def test_slips_of_the_pen_are_refused(length: int, shortest: int, longest: int) -> None:
    with pytest.raises(ValueRefused) as refused:
        Gestation(length, shortest, longest)
    assert refused.value.code == "value.range"


def test_rams_out_before_they_go_in() -> None:
    with pytest.raises(ValueRefused) as refused:
        expected_lambing(date(2026, 10, 4), Gestation.exactly(147), last_mated_on=date(2026, 10, 3))
    assert refused.value.code == "value.date"

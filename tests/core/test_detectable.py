"""The smallest difference between two visits that is more than measuring."""

import doctest
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stell.core import detectable
from stell.core.detectable import ReadingError, detectable_change
from stell.core.errors import ValueRefused

deviations = st.floats(0.01, 50)
numbers = st.integers(1, 9)


def test_examples_in_docstrings() -> None:
    assert doctest.testmod(detectable).failed == 0


def test_least_significant_change_of_bone_density() -> None:
    # International Society for Clinical Densitometry: least significant change is 2.77 times the
    # precision error at 95 %.
    # http://www.iscd.org/resources/calculators/precision-calculator/glossary/
    assert detectable_change(1, 1) == pytest.approx(2.77, abs=0.005)


def test_reference_change_value() -> None:
    # Fraser: RCV = 2^(1/2) Z (CV_A^2 + CV_I^2)^(1/2), Z = 1.96 for 95 % two-tailed.
    # http://biologicalvariation.com/RCV.html; for CV_A 3 %, CV_I 4 % by hand: 1.4142 x 1.96 x 5.
    assert detectable_change(3**2, 4**2, 3**2, 4**2) == pytest.approx(13.859, abs=0.001)


def test_means_of_several_results() -> None:
    # Jones and Chung: RCV = Z CV (1/n1 + 1/n2)^(1/2), quoted in doi:10.1177/0004563217690176.
    # For Z 1.96, CV 10, n1 = 1, n2 = 4 by hand: 1.96 x 10 x 1.118034 = 21.913.
    error = ReadingError(10, None)
    one, four = (error.variance(k, same_person=True) for k in (1, 4))
    assert one is not None
    assert four is not None
    assert detectable_change(one, four) == pytest.approx(21.913, abs=0.001)


@given(deviations, numbers, numbers, st.booleans())
def test_more_readings_never_ask_for_a_bigger_difference(
    sd: float, k: int, more: int, same: bool
) -> None:
    error = ReadingError(sd, 1.5 * sd)
    few, many = error.variance(k, same_person=same), error.variance(k + more, same_person=same)
    assert few is not None
    assert many is not None
    assert many < few, f"{k + more} readings scatter more than {k}"
    assert detectable_change(many, many) < detectable_change(few, few)


@given(deviations, numbers)
def test_two_people_never_agree_better_than_one_with_himself(sd: float, k: int) -> None:
    error = ReadingError(sd, 1.5 * sd)
    one, two = error.variance(k, same_person=True), error.variance(k, same_person=False)
    assert one is not None
    assert two is not None
    assert one < two
    # What sets people apart does not thin out: 1.5^2 - 1 of the variance stays.
    assert two - one == pytest.approx(1.25 * sd**2)


def test_single_reading_of_another_person_is_his_whole_scatter() -> None:
    assert ReadingError(4, 8).variance(1, same_person=False) == pytest.approx(64)


def test_what_the_protocol_does_not_say_is_not_made_up() -> None:
    assert ReadingError(None, None).variance(1, same_person=True) is None
    assert ReadingError(4, None).variance(1, same_person=False) is None
    # The scatter among people holds for one of them too, and is not thinned out.
    assert ReadingError(None, 8).variance(4, same_person=True) == pytest.approx(64)


def test_no_readings_are_refused() -> None:
    with pytest.raises(ValueRefused) as refused:
        ReadingError(4, 8).variance(0, same_person=True)
    assert refused.value.code == "value.range"


@given(st.lists(st.floats(0, 100), max_size=5))
def test_each_uncertainty_adds(variances: list[float]) -> None:
    assert detectable_change(*variances, 1.0) > detectable_change(*variances)
    assert math.isfinite(detectable_change(*variances))

"""Growth of the circumference in young rams, beside values reckoned from the published equation.

Ley and others 1990, Theriogenology (abstract): SC = -143.05 + 137.71 log(age) - 27.073 log(age)^2.
The values were reckoned by hand calculator with base-10 logarithms.
"""

from __future__ import annotations

import numpy as np
import pytest

from stell.core.errors import ValueRefused
from stell.core.growth import FIRST_DAY, LAST_DAY, expected_circumference_cm

# Age in days, circumference in cm.
BY_HAND = [
    (60, 16.22),
    (90, 22.68),
    (120, 26.24),
    (150, 28.42),
    (180, 29.82),
    (240, 31.35),
    (300, 31.95),
    (365, 32.06),
]


@pytest.mark.parametrize(("age_days", "circumference_cm"), BY_HAND)
def test_published_equation(age_days: int, circumference_cm: float) -> None:
    found = expected_circumference_cm(age_days)
    assert found == pytest.approx(circumference_cm, abs=0.006), f"at {age_days} days"


def test_the_mean_six_month_ram_of_big_breeds_is_below_30() -> None:
    # The authors' warning: a fixed 30 cm discounts the young.
    assert expected_circumference_cm(182) < 30


def test_it_rises_but_for_the_last_days() -> None:
    ages = np.arange(FIRST_DAY, LAST_DAY + 1)
    curve = np.array([expected_circumference_cm(a) for a in ages])
    turn = ages[curve.argmax()]
    # 10 ** (137.71 / (2 * 27.073)) = 349.5 days, by hand
    assert turn in (349, 350), f"turns at {turn}"


@pytest.mark.parametrize("age_days", [59.9, 365.1, 0, -1, float("nan")])
def test_outside_its_ages_it_is_refused(age_days: float) -> None:
    with pytest.raises(ValueRefused) as info:
        expected_circumference_cm(age_days)
    assert info.value.code == "value.range"
    assert "60 to 365 days" in str(info.value)

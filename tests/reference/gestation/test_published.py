"""Days of lambing as others have published them."""

from datetime import date

import pytest

from stell.core.gestation import Gestation, expected_lambing

PUBLISHED = [
    # Teagasc (Doran), Irish advisory service: mated on 1 October, 145 days, lambs on 23 February.
    (date(2025, 10, 1), 145, date(2026, 2, 23)),
    # Royal Highland Education Trust: tups in on 31 October 2020, 145 days, from 25 March 2021.
    (date(2020, 10, 31), 145, date(2021, 3, 25)),
    # By hand on a calendar, 147 days: October leaves 30 days, + 30 + 31 + 31 = 122, + 25 = 147.
    (date(2026, 10, 1), 147, date(2027, 2, 25)),
    # By hand: November leaves 10 days, + 31 + 31 + 28 + 31 = 131, + 16 = 147; a day less after
    # 29 February.
    (date(2026, 11, 20), 147, date(2027, 4, 16)),
    (date(2027, 11, 20), 147, date(2028, 4, 15)),
]


@pytest.mark.parametrize(("mated_on", "days", "lambs_on"), PUBLISHED)
def test_published_days_of_lambing(mated_on: date, days: int, lambs_on: date) -> None:
    found = expected_lambing(mated_on, Gestation.exactly(days)).first_on
    assert found == lambs_on, f"{mated_on} + {days} days"

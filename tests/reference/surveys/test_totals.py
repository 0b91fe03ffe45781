"""Published surveys whose counts must add up, or must be noticed not to.

Counts as printed in abstracts; arithmetic that is said to be wrong was redone by hand.
"""

from __future__ import annotations

import pytest

from stell.core.errors import ValueRefused
from stell.core.survey import check_counts, check_share

# name, total, parts, difference found by hand
SURVEYS = [
    # Southern Spain 2017-19, 966 rams (Anim Reprod Sci 2020): the outcomes make 964.
    ("spain_south", 966, {"suitable": 805, "failed": 130, "borderline": 29}, -2),
    # Iraq 2022, doi 10.33899/ijvs.2022.135079.2443: 57 swellings by kind.
    (
        "iraq_swellings",
        57,
        {
            "orchitis": 29,
            "peri-orchitis": 12,
            "epididymitis": 11,
            "hernia": 2,
            "haematoma": 1,
            "hydrocele": 1,
            "cryptorchid": 1,
        },
        0,
    ),
    # The same abstract: 37 positive and 22 negative cultures of 57.
    ("iraq_cultures", 57, {"positive": 37, "negative": 22}, 2),
    # Vet Res Commun 2023;47:2259: 1,232 examinations and 38 clinical cases.
    ("sardinia", 1270, {"examined": 1232, "cases": 38}, 0),
]


@pytest.mark.parametrize(
    ("name", "total", "parts", "difference"), SURVEYS, ids=[s[0] for s in SURVEYS]
)
def test_counts(name: str, total: int, parts: dict[str, int], difference: int) -> None:
    found = check_counts(total, parts)
    if not difference:
        assert not found, f"{name} adds up, by hand"
        return
    assert [d.found - d.expected for d in found] == [difference], name
    assert str(abs(difference)) in found[0].sentence


@pytest.mark.parametrize(
    ("name", "count", "total", "printed", "decimals", "agrees"),
    [
        ("southern Spain, of those with an outcome", 805, 964, 83.5, 1, True),
        ("southern Spain, of all", 805, 966, 83.5, 1, False),
        ("Iraq, swellings", 57, 172, 33.1, 1, True),
        ("Iraq, peri-orchitis", 12, 57, 20.05, 2, False),  # 21.05 by hand: a digit slipped
        ("Sicily, epididymitis", 11, 150, 7, 0, True),
        ("Sardinia 2010-17, penis or prepuce", 37, 1262, 2.93, 2, True),
        ("British lambs, undescended", 29, 5134, 0.56, 2, True),
        ("Serbia 2013, positive", 67, 225, 29.8, 1, True),
        ("Serbia 2013, suspect", 31, 225, 13.8, 1, True),
    ],
)
def test_printed_shares(
    name: str, count: int, total: int, printed: float, decimals: int, agrees: bool
) -> None:
    found = check_share(name, count, total, printed, decimals)
    assert (found is None) is agrees, found


def test_a_negative_count_is_refused() -> None:
    with pytest.raises(ValueRefused, match="cannot be negative: failed"):
        check_counts(10, {"failed": -1, "passed": 11})


def test_a_share_of_nothing_is_refused() -> None:
    with pytest.raises(ValueRefused, match="needs a total"):
        check_share("suitable", 0, 0, 0.0)

"""What a general limit does to a small breed: shares known from outside, and both rules beside it.

Outside values: Söderquist and Hultén 2006, Reprod Domest Anim 41:61-62 (abstract): mature Gotland
rams 32.4 cm, standard deviation 2; lowest limit 28 cm. Taking these as normal, a table of the
normal distribution gives: below 32 cm z = -0.2, 42.07 %; below 33 cm z = 0.3, 61.79 %; below 28 cm
z = -2.2, 1.39 %.
"""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from scipy.stats import norm

from stell.core.judge import judge
from stell.core.protocol.load import load_shipped
from stell.core.records import Born, Examination, Ram, Season
from stell.core.verdict import Outcome

MEAN_CM, SD_CM = 32.4, 2.0
IN_SEASON = date(2026, 9, 15)
SEASON = Season(mating_start_on=date(2026, 11, 5), latitude_deg=57.6)  # where the breed comes from


def classes(protocol: str, breed: str, circumferences_cm: np.ndarray) -> np.ndarray:
    ready = load_shipped(protocol)
    ram = Ram("r1", breed=breed, born=Born.on(date(2023, 4, 1)))
    met = []
    for value in circumferences_cm:
        found = {"circumference": (round(value * 10),)}
        result = judge(ready, ram, Examination("e1", "r1", IN_SEASON, found), SEASON)
        band = next(r for r in (*result.reasons, *result.findings) if r.check.id == "circumference")
        met.append(band.rule.classed)
    return np.array(met)


@pytest.fixture(scope="module")
def gotland_rams() -> np.ndarray:
    """4000 mature rams of that breed, at evenly spread quantiles (no dice). [cm]"""
    return norm.ppf((np.arange(4000) + 0.5) / 4000, MEAN_CM, SD_CM)


@pytest.mark.parametrize(
    ("protocol", "breed", "failing", "published_share"),
    [
        ("merck_older", "", {"questionable"}, 0.42),
        ("wrcc_type", "", {"questionable"}, 0.62),
        ("house", "", {"small", "far_too_small"}, 0.42),
        ("house", "gotland", {"too_small"}, 0.014),
    ],
)
def test_share_of_sound_gotland_rams_that_a_rule_fails(
    protocol: str, breed: str, failing: set[str], published_share: float, gotland_rams: np.ndarray
) -> None:
    met = classes(protocol, breed, gotland_rams)
    share = float(np.isin(met, list(failing)).mean())
    # circumferences are rounded to the millimetre: at most 0.05 cm of a density of 0.2 per cm
    assert share == pytest.approx(published_share, abs=0.012), f"{protocol} fails {share:.1%}"


def judged(breed: str, ram_type: str, cm: float) -> set[str]:
    ready = load_shipped("house")
    ram = Ram("r1", breed=breed, ram_type=ram_type, born=Born.on(date(2023, 4, 1)))
    found = {"circumference": (round(cm * 10),)}
    result = judge(ready, ram, Examination("e1", "r1", IN_SEASON, found), SEASON)
    return {r.check.id for r in result.reasons} | {result.outcome.value}


def test_a_gotland_ram_passes_where_a_lowland_ram_of_the_same_size_does_not() -> None:
    assert "circumference" not in judged("gotland", "", 28.5), "28 cm is the breed's own limit"
    other = judged("texel", "lowland", 28.5)
    assert {"circumference", Outcome.UNSATISFACTORY.value} <= other, other

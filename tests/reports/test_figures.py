"""A ram's figures against target and limit. Limits by hand from the rows of the house protocol."""

from dataclasses import replace
from datetime import date

import pytest

from stell.core.judge import judge
from stell.core.protocol.load import load_text, shipped_text
from stell.core.protocol.ready import ReadyProtocol
from stell.core.records import Born, Ram, Season
from stell.core.verdict import Decision
from stell.reports.figures import columns_of, measured_columns
from stell.reports.judged import JudgedRam
from stell.reports.values import Measured
from tests.reports.sample import RAMS_IN, house_protocol, judged, report, sample_protocol


def figures(protocol: ReadyProtocol, ram: Ram, **seen: tuple[int, ...]) -> dict[str, Measured]:
    """Return the figures of a ram by check."""
    one = judged(1, protocol)[0]
    exam = replace(one.exam, observations=dict(one.exam.observations) | seen)
    verdict = judge(protocol, ram, exam, Season(RAMS_IN, 54.4))
    made = report(protocol=protocol, judged=[JudgedRam(ram, exam, Decision(verdict))])
    return {m.check_id: m for m in made.rams[0].measured}


def ram(born: Born | None, breed: str = "suffolk", **more: str) -> Ram:
    return Ram("r", tag="K1", breed=breed, ram_type="terminal", born=born, **more)


# Examined on 12 Aug 2026. house.toml, the rows of circumference by age: above 14 months at least 32
# cm (merck_older), 8 to 14 months at least 30, Gotland above 14 months at least 28
# (soderquist_2006).
@pytest.mark.parametrize(
    ("born", "breed", "limit"),
    [
        (date(2023, 3, 1), "suffolk", "limit 32.0"),
        (date(2025, 3, 1), "suffolk", "limit 32.0"),
        (date(2025, 9, 1), "suffolk", "limit 30.0"),
        (date(2023, 3, 1), "gotland", "limit 28.0"),
    ],
)
def test_a_ram_is_shown_the_limit_of_his_age(born: date, breed: str, limit: str) -> None:
    size = figures(house_protocol(), ram(Born.on(born), breed), circumference=(360, 360))
    assert size["circumference"].limit == limit


def test_a_big_ram_of_unknown_age_is_clear_of_every_limit() -> None:
    # 10 to 16 months: the row for 8 to 14 months may hold or the one above it; he passes both
    born = Born(date(2025, 4, 1), date(2025, 10, 1))
    size = figures(house_protocol(), ram(born), circumference=(360, 360))
    assert size["circumference"].limit == "clear of every limit"


BIG_RAMS = """
  [[check.standard]]
  id         = "big"
  title      = "36 cm or more"
  applies    = { circumference = { ge = 36 } }
  basis      = "practice"
  checked_on = 2026-11-25
  no_standard_between = [[10, 35.9]]

    [[check.standard.bands]]
    classed = "adequate"
    ge      = 36
"""


@pytest.mark.parametrize(
    ("born", "limit"),
    [
        (Born.on(date(2023, 3, 1)), "limit 32.0"),
        (Born.on(date(2025, 9, 1)), "limit 30.0"),
        (Born(date(2025, 4, 1), date(2025, 10, 1)), "clear of every limit"),
        (None, "clear of every limit"),
    ],
)
def test_a_row_that_lets_big_rams_pass_hides_no_limit(born: Born | None, limit: str) -> None:
    # a practice's row of its own, for rams whose size leaves no question
    first = '  [[check.standard]]\n  id      = "gotland_mature"'
    text = shipped_text("house")
    assert text.count(first) == 1
    ours = load_text(text.replace(first, BIG_RAMS + first))
    assert figures(ours, ram(born), circumference=(360, 360))["circumference"].limit == limit


@pytest.mark.parametrize(("size", "shown"), [(301, "30.1 cm"), (325, "32.5 cm"), (299, "29.9 cm")])
def test_the_limit_shown_is_the_one_he_had_to_reach(size: int, shown: str) -> None:
    # 30.1 lies nearer to 30, below which he is rejected; to pass he needs 32
    size_of = figures(house_protocol(), ram(Born.on(date(2023, 3, 1))), circumference=(size, size))[
        "circumference"
    ]
    assert (size_of.shown, size_of.limit) == (shown, "limit 32.0")


# house.toml, targets.condition_at_mating: 3.0 to 4.0, value 3.5 (practice_bulletin_2016)
@pytest.mark.parametrize(
    ("score", "said"),
    [
        (275, "below target"),
        (300, ""),
        (400, ""),
        (425, "above target"),
    ],
)
def test_only_rams_outside_the_target_are_flagged(score: int, said: str) -> None:
    condition = figures(house_protocol(), ram(Born.on(date(2023, 3, 1))), condition=(score,))
    assert (condition["condition"].off_target, condition["condition"].limit) == (said, "")


def test_the_target_stands_in_the_column() -> None:
    house = house_protocol()
    columns = {c.title: c.target for c in columns_of(measured_columns(house), house)}
    assert columns == {
        "Condition": "target at mating 3.0–4.0, aim for 3.5",
        "Circumference": "",
    }


def test_without_a_target_the_limit_is_shown() -> None:
    # sample.toml: fit from 2.5 to below 4.5; no target
    thin = figures(sample_protocol(), ram(Born.on(date(2023, 3, 1))), condition=(275,))
    fat = figures(sample_protocol(), ram(Born.on(date(2023, 3, 1))), condition=(400,))
    assert (thin["condition"].limit, fat["condition"].limit) == ("limit 2.5", "limit 4.5")


def test_what_was_not_taken_has_no_limit() -> None:
    one = judged(1, house_protocol())[0]
    seen = {k: v for k, v in one.exam.observations.items() if k != "circumference"}
    made = report(
        protocol=house_protocol(),
        judged=[replace(one, exam=replace(one.exam, observations=seen))],
    )
    size = next(m for m in made.rams[0].measured if m.check_id == "circumference")
    assert (size.shown, size.limit) == ("", "")


def test_the_chart_draws_the_same_limit() -> None:
    house = house_protocol()
    made = report(18, protocol=house)
    drawn = {p.label: p.limit for p in made.sizes}
    for line in made.rams:
        limit = next(m.limit for m in line.measured if m.check_id == "circumference")
        assert limit == f"limit {drawn[line.tag]:.1f}", line.tag

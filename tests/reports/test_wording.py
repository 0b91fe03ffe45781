"""Words for dates, ages and lists: the examples in the source hold."""

import doctest
from datetime import date

import pytest

from stell.core.protocol.conditions import Span
from stell.press import look
from stell.press import wording as press_wording
from stell.press.wording import age_text, natural_key, weekday_date
from stell.reports import charts, todo, wording


@pytest.mark.parametrize(
    "module", [wording, press_wording, charts, todo, look], ids=lambda m: m.__name__
)
def test_examples_hold(module) -> None:
    tried = doctest.testmod(module)
    assert tried.attempted > 0, "no example was found"
    assert tried.failed == 0


# Any printed calendar.
@pytest.mark.parametrize(
    ("day", "written"),
    [
        (date(2000, 1, 1), "Sat 1 Jan 2000"),
        (date(2024, 2, 29), "Thu 29 Feb 2024"),
        (date(2026, 12, 31), "Thu 31 Dec 2026"),
    ],
)
def test_weekdays(day: date, written: str) -> None:
    assert weekday_date(day) == written


@pytest.mark.parametrize(
    ("age", "known_as", "said"),
    [
        (2, "", "1 month"),
        (47, "", "23 months"),
        (48, "", "2 years"),
        (50, "", "2 years 1 month"),
        (Span(24, 24), "", "12 months"),
        (Span(24, 719), "", "over 12 months"),
        (Span(24, 47), "shearling", "shearling"),
        (Span(72, 95), "", "3 years"),
        (None, "aged ram", "aged ram"),
    ],
)
def test_ages(age, known_as: str, said: str) -> None:
    assert age_text(age, known_as) == said


def test_tags_sort_as_people_count() -> None:
    assert sorted(["K10", "K9", "k8", "", "7", "²", "A"], key=natural_key) == [
        "", "7", "A", "k8", "K9", "K10", "²",
    ]  # fmt: skip

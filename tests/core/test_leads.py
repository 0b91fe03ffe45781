"""Leads in days, and how stretches of time are said."""

import doctest
from datetime import timedelta

import pytest

from stell.core import leads
from stell.core.errors import ProtocolError
from stell.core.leads import Lead, lead_of, span_text, when_text
from tests.core.mating import START, figure


def test_examples_in_docstrings() -> None:
    assert doctest.testmod(leads).failed == 0


def test_figures_in_weeks_and_days() -> None:
    assert lead_of(figure(8.5, None, None, "weeks")) == Lead(60, 60, 60), "59.5 days are 60"
    assert lead_of(figure(4, 3, 6, "weeks")) == Lead(28, 21, 42)


@pytest.mark.parametrize("unit", ["months", "cm"])
def test_lead_in_another_unit_is_refused(unit: str) -> None:
    with pytest.raises(ProtocolError) as refused:
        lead_of(figure(2, None, None, unit), where="timing.quarantine")
    assert refused.value.code == "protocol.unit"
    assert "timing.quarantine" in str(refused.value)


@pytest.mark.parametrize(("value", "low", "high"), [(28, 30, 42), (28, 21, 27), (-1, None, None)])
def test_range_that_does_not_hold_its_value_is_refused(value, low, high) -> None:
    with pytest.raises(ProtocolError) as refused:
        lead_of(figure(value, low, high, "days"))
    assert refused.value.code == "protocol.invalid"


@pytest.mark.parametrize(
    ("days", "text"),
    [(0, "0 days"), (1, "1 day"), (7, "7 days"), (14, "2 weeks"), (35, "5 weeks"), (60, "60 days")],
)
def test_spans_as_people_say_them(days: int, text: str) -> None:
    assert span_text(days) == text


def test_when() -> None:
    assert when_text(START, START) == "today"
    assert when_text(START, START - timedelta(21)) == "in 3 weeks"
    assert when_text(START, START + timedelta(2)) == "2 days ago"

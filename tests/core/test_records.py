"""Ages, dates and units: whole numbers with stated edges."""

from __future__ import annotations

from datetime import date

import pytest

from stell.core.errors import CODES, ProtocolError, StellError
from stell.core.records import Born, Ram, age_half_steps, written_date
from stell.core.units import UNITS, shown, to_fixed, unit_named


@pytest.mark.parametrize(
    ("born", "on", "half_steps"),
    [
        # Counted on a calendar by hand: 2 n is n months to the day, 2 n + 1 is between n and n + 1.
        (date(2024, 3, 10), date(2024, 3, 10), 0),
        (date(2024, 3, 10), date(2024, 3, 11), 1),
        (date(2024, 3, 10), date(2025, 5, 9), 27),
        (date(2024, 3, 10), date(2025, 5, 10), 28),
        (date(2024, 3, 10), date(2025, 5, 11), 29),
        (date(2024, 12, 31), date(2025, 2, 28), 4),
        (date(2024, 12, 31), date(2025, 3, 1), 5),
        (date(2024, 2, 29), date(2025, 2, 27), 23),
        (date(2024, 2, 29), date(2025, 2, 28), 24),
        (date(2024, 2, 29), date(2025, 3, 1), 25),
    ],
)
def test_age_in_half_steps(born: date, on: date, half_steps: int) -> None:
    assert age_half_steps(born, on) == half_steps


def test_an_examination_before_birth_has_no_age() -> None:
    with pytest.raises(ValueError, match="before he was born on 2026-05-01"):
        age_half_steps(date(2026, 5, 1), date(2026, 4, 1))


def test_birth_in_a_month_or_year_is_a_span_of_days() -> None:
    assert Born.in_month(2024, 2) == Born(date(2024, 2, 1), date(2024, 2, 29))
    assert not Born.in_year(2024).is_exact
    assert Born.on(date(2024, 2, 3)).is_exact


def test_dates_are_written_with_the_month_as_a_word() -> None:
    assert written_date(date(2026, 3, 4)) == "4 Mar 2026"


def test_a_ram_is_called_by_tag_and_name() -> None:
    assert Ram("id", tag="17", name="Bracken").label == "17 Bracken"
    assert Ram("id").label == "id"


def test_units_round_halves_up_and_show_as_people_read() -> None:
    assert to_fixed("33.45", UNITS["cm"]) == 335
    assert to_fixed(0.1 + 0.2, UNITS["celsius"]) == 3
    assert shown(225, UNITS["score"]) == "2.25"
    assert shown(300, UNITS["score"]) == "3.0"
    assert shown(405, UNITS["celsius"]) == "40.5 °C"


def test_an_unknown_unit_is_refused_with_all_that_are_legal() -> None:
    with pytest.raises(ProtocolError, match="legal: cm, score, percent"):
        unit_named("furlong")


def test_errors_say_what_was_got_what_is_legal_and_an_example() -> None:
    error = StellError(
        "value.range", "too large", got=345, legal="10 to 60", example="34.5", where="row 3"
    )
    assert str(error) == "row 3: too large; got: 345; legal: 10 to 60; for example: 34.5"
    assert error.as_dict()["code"] in CODES
    with pytest.raises(KeyError, match=r"not in stell\.core\.errors\.CODES"):
        StellError("no.such", "x")

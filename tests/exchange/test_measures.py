"""Written numbers: what is taken, what is refused, and what the refusal proposes."""

import doctest
from datetime import date, time
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stell.core.errors import SheetError
from stell.exchange import written_numbers
from stell.exchange.cells import NOT_EXAMINED
from stell.exchange.measures import MeasureReader, looks_like_fractions


@pytest.fixture
def reads(protocol):
    """Make a reader of a check's column."""

    def made(check_id: str = "scrotal_circumference", **how) -> MeasureReader:
        check = protocol.checks[check_id]
        return MeasureReader(check, check.unit, **how)

    return made


def refusal(reader: MeasureReader, cell) -> SheetError:
    with pytest.raises(SheetError) as caught:
        reader(cell)
    return caught.value


def test_examples_in_docstrings() -> None:
    assert doctest.testmod(written_numbers).failed == 0


# Expected millimetres worked out by hand; 1 in = 25.4 mm (international yard, 1959).
@pytest.mark.parametrize(
    ("cell", "millimetres"),
    [
        ("34.5", 345),
        ("34,5", 345),
        (" 34.5 cm ", 345),
        ("34,5cm", 345),
        ("345 mm", 345),
        ("345mm.", 345),
        ("13.5 in", 343),  # 342.9
        ('13.5"', 343),
        ("13½ inches", 343),
        ("13 1/2 in", 343),
        ("0.345 m", 345),
        ("34", 340),
        ("34.25", 343),  # halves away from zero
        ("+34", 340),
        (34.5, 345),
        (34.0, 340),
    ],
)
def test_a_length_is_read_with_its_unit(reads, cell, millimetres: int) -> None:
    assert reads()(cell) == (millimetres,)


@pytest.mark.parametrize(
    ("unit", "cell", "millimetres"),
    [("mm", "345", 345), ("inch", 13.5, 343), ("mm", "34.5 cm", 345), ("cm", "345 mm", 345)],
)
def test_the_unit_in_the_cell_goes_before_that_of_the_title(
    reads, unit: str, cell, millimetres: int
) -> None:
    assert reads(written_unit=unit)(cell) == (millimetres,)


@pytest.mark.parametrize(
    ("check", "cell", "fixed"),
    [
        ("condition", "3.5", 350),
        ("condition", "3½", 350),
        ("condition", "2 3/4", 275),
        ("condition", "¾", 75),
        ("condition", 3.25, 325),
        ("condition", "3.5/5", 350),
        ("temperature", "39.2", 392),
        ("temperature", "39,2 °C", 392),
        ("temperature", "102.6 °F", 392),  # (102.6 - 32) * 5/9 = 39.222
        ("motility", "70 %", 700),
        ("motility", "70%", 700),
        ("motility", 70.0, 700),
        ("weight", "80 kg", 800),
        ("weight", "176 lb", 798),  # 176 * 0.45359237 = 79.832 kg
    ],
)
def test_other_measures(reads, check: str, cell, fixed: int) -> None:
    assert reads(check)(cell) == (fixed,)


def test_several_readings_in_one_cell(reads) -> None:
    assert reads()("34.5; 34") == (345, 340)
    assert reads()("34,5; 345 mm; 13.5 in") == (345, 345, 343)


@pytest.mark.parametrize("cell", ["", "   ", "\t"])
def test_an_empty_cell_is_nothing(reads, cell: str) -> None:
    assert reads()(cell) is None


@pytest.mark.parametrize("cell", ["not measured", "N/A", "not done", "Not examined"])
def test_not_measured_is_said(reads, cell: str) -> None:
    assert reads()(cell) is NOT_EXAMINED


@pytest.mark.parametrize(
    ("cell", "problem", "example"),
    [
        ("345", "345 cm is not possible", "34.5 cm, if 345 was meant in mm"),
        (345.0, "345 cm is not possible", "34.5 cm, if 345 was meant in mm"),
        ("9", "9 cm is not possible", "22.9 cm, if 9 was meant in in"),
        ("-34", "-34 cm is not possible", "35.0 cm"),
        ("34.5 kg", "is not measured in kg", "35.0 cm"),
        ("34+", "a sign beside the number leaves its value open", "34"),
        (">36", "a sign beside the number leaves its value open", "36"),
        ("34-35", "a range is not a reading", "34, or as two readings: 34; 35"),
        ("34–35 cm", "a range is not a reading", "34, or as two readings: 34; 35"),
        ("34/35", "a fraction, a part of a whole, a range or a date", "35.0 cm"),
        ("34,500", "the comma can part decimals or thousands", "34.500"),
        ("big", "Scrotal circumference is a number", "35.0 cm"),
        ("34.5 cm left", "Scrotal circumference is a number", "35.0 cm"),
        ("1.2.3", "point and comma do not fit together", "34.5"),
        (float("nan"), "is a number", "35.0 cm"),
        (float("inf"), "is a number", "35.0 cm"),
        (date(2026, 5, 3), "turned the cell into a date (3 May 2026)", "3.5"),
        (time(3, 5), "turned the cell into a time", "3.5"),
        (True, "turned the cell into true or false", "3.5"),
        ("9" * 50, "is a number", "35.0 cm"),
        ("٣٤", "is a number", "35.0 cm"),  # digits, but not those a reader expects
    ],
)
def test_what_leaves_the_value_open_is_refused(reads, cell, problem: str, example: str) -> None:
    error = refusal(reads(), cell)
    assert problem in error.problem
    assert example in error.example
    assert error.legal, "says what is legal"


@pytest.mark.parametrize(
    ("cell", "problem", "example"),
    [
        ("3+", "a sign beside the number", "3"),
        ("3-", "a sign beside the number", "3"),
        ("3–3.5", "a range is not a reading", "two readings: 3; 3.5"),
        ("3/4", "a fraction, a part of a whole", "2.5"),
        ("35", "35 is not possible for Condition score", "3.5, if the decimal point was lost"),
        ("6", "6 is not possible for Condition score", "2.5"),
    ],
)
def test_condition_scores_that_are_open(reads, cell: str, problem: str, example: str) -> None:
    error = refusal(reads("condition"), cell)
    assert problem in error.problem
    assert example in error.example


def test_the_rule_of_the_decimal_comma_settles_thousands(reads) -> None:
    with_comma, with_point = reads(decimal_comma=True), reads(decimal_comma=False)
    assert with_comma("34,500") == (345,)
    assert refusal(with_point, "34,500").problem.startswith("34500 cm is not possible")
    assert "do not fit together" in refusal(with_comma, "34.5").problem
    assert with_point("34.5") == (345,)


def test_cells_shown_as_percent_are_refused_and_not_taken_for_less_than_one(reads) -> None:
    error = refusal(reads("motility"), 0.7)
    assert "a cell that a spreadsheet shows as 70 % holds 0.7" in error.problem
    assert error.example == "70"
    assert reads("motility")(0.0) == (0,)
    assert reads("motility")(1.0) == (10,), "beside larger numbers 1 is one percent"
    assert refusal(reads("motility", of_fractions=True), 1.0).example == "100"
    assert reads("motility")("0.7") == (7,), "as text it is what it says"


def test_columns_of_fractions_are_recognised() -> None:
    assert looks_like_fractions([0.7, 1.0, "", 0.0])
    assert not looks_like_fractions([0.7, 70.0])
    assert not looks_like_fractions(["0.7", True])


@given(st.decimals(Decimal("10.0"), Decimal("60.0"), places=1))
def test_every_tenth_of_a_centimetre_comes_back(value: Decimal) -> None:
    from stell.core.units import UNITS

    assert written_numbers.in_fixed(value, "cm", UNITS["cm"]) == int(value * 10)


@given(st.text(max_size=60))
def test_any_text_is_readings_nothing_or_a_refusal(protocol, text: str) -> None:
    check = protocol.checks["scrotal_circumference"]
    try:
        found = MeasureReader(check, check.unit)(text)
    except SheetError:
        return
    assert found is None or found is NOT_EXAMINED or all(100 <= v <= 600 for v in found)


@pytest.mark.parametrize(
    ("cell", "readings"),
    [
        ("30.5; 31", (305, 310)),
        ("30.5 / 31", (305, 310)),
        ("30.5 31", (305, 310)),
        ("30,5 31,0 31,5", (305, 310, 315)),
    ],
)
def test_readings_parted_by_signs_that_are_none_of_a_number(
    protocol, cell: str, readings: tuple[int, ...]
) -> None:
    check = protocol.checks["scrotal_circumference"]
    assert MeasureReader(check, check.unit)(cell) == readings


@pytest.mark.parametrize("cell", ["34 5", "3 / 4", "3 4", "30.5/31", "34.5 5"])
def test_what_may_be_one_number_is_not_parted(protocol, cell: str) -> None:
    check = protocol.checks["scrotal_circumference"]
    with pytest.raises(SheetError) as caught:
        MeasureReader(check, check.unit)(cell)
    assert "parted by a semicolon" in caught.value.legal, caught.value.text()

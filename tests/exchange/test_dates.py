"""Days, births and ages: what is taken, what is refused."""

import doctest
from datetime import UTC, date, datetime, time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stell.core.errors import SheetError
from stell.core.records import Born, age_half_steps
from stell.exchange import dates
from stell.exchange.ages import Age, AgeReader
from stell.exchange.dates import BirthReader, DateOrder, DayReader, order_of, swapped_by

TODAY = date(2026, 11, 25)
OCT_4 = date(2026, 10, 4)


def reader(order: str = "") -> DayReader:
    return DayReader(TODAY, DateOrder(order))


def refusal(read, cell) -> SheetError:
    with pytest.raises(SheetError) as caught:
        read(cell)
    assert caught.value.legal, "says what is legal"
    assert caught.value.example, "gives an example"
    return caught.value


def test_examples_in_docstrings() -> None:
    assert doctest.testmod(dates).failed == 0


@pytest.mark.parametrize(
    "cell",
    [
        "2026-10-04",
        "2026/10/4",
        "20261004",
        "2026-10-04T10:20:30Z",
        "2026-10-04 00:00:00",
        "2026-10-04T10:00:00+00:00",
        "4 Oct 2026",
        "4 October 2026",
        "04-Oct-26",
        "4th Oct 2026",
        "Sun 4 Oct 2026",
        "Oct 4, 2026",
        "October 4 2026",
        "4. Oktober 2026",
        "4 de octubre de 2026",
        "4 octobre 2026",
        "04.10.2026",
        "4.10.26",
        date(2026, 10, 4),
        datetime(2026, 10, 4, 12, 30, tzinfo=UTC),
        # Day numbers: 1 Jan 2026 is 46023 (a spreadsheet's own count), plus 276 days.
        46299.0,
        "46299",
    ],
)
def test_ways_to_write_a_day(cell) -> None:
    assert reader()(cell) == OCT_4


@pytest.mark.parametrize(
    ("order", "cell", "day"),
    [
        ("day-first", "4/10/26", OCT_4),
        ("month-first", "10/4/26", OCT_4),
        ("month-first", "10.04.2026", OCT_4),
        ("day-first", "4-10-2026", OCT_4),
        ("", "25/10/2026", date(2026, 10, 25)),
        ("", "10/25/2026", date(2026, 10, 25)),
        ("", "5/5/2026", date(2026, 5, 5)),
    ],
)
def test_the_order_of_day_and_month(order: str, cell: str, day: date) -> None:
    assert reader(order)(cell) == day


@pytest.mark.parametrize(
    ("cell", "problem"),
    [
        ("4/10/26", "this can be 4 Oct 2026 or 10 Apr 2026"),
        ("04/10/2026", "no cell of the column tells day and month apart"),
        ("26 Nov 2026", "the day lies in the future"),
        (date(2027, 1, 1), "the day lies in the future"),
        ("31 Feb 2026", "there is no such day"),
        ("2026-13-01", "there is no such day"),
        ("32/10/2026", "there is no such day"),
        ("4 Oct 1990", "too far back to be meant"),
        ("4 Oct 99", "the day lies in the future"),
        ("26-10-04", "a year of two digits that lies far back"),
        ("Oct 2026", "cannot be read as a day"),
        ("2026", "cannot be read as a day"),
        ("yesterday", "cannot be read as a day"),
        ("4 Okto 2026", "cannot be read as a day"),
        (4.5, "cannot be read as a day"),
        (True, "cannot be read as a day"),
        (time(10, 20), "cannot be read as a day"),
    ],
)
def test_days_that_are_refused(cell, problem: str) -> None:
    assert problem in refusal(reader(), cell).problem


def test_one_cell_above_12_settles_the_column() -> None:
    assert order_of(["4/10/26", "25/10/26"]) == DateOrder("day-first", "25/10/26")
    assert order_of(["4/10/26", "10/25/26"]) == DateOrder("month-first", "10/25/26")
    assert order_of(["4/10/26", "2026-10-25"]) == DateOrder(), "a year in front tells nothing"
    both = order_of(["25/10/26", "10/25/26", "4/10/26"])
    assert (both.order, both.against) == ("", "10/25/26")
    assert (
        "has both '25/10/26' and '10/25/26'" in refusal(DayReader(TODAY, both), "4/10/26").problem
    )
    assert order_of(["10/25/26"], "day-first") == DateOrder("day-first"), "a rule goes first"


def test_the_column_settles_it_in_a_sheet_and_says_so(read) -> None:
    reading = read("tag,date\nR1,4/10/2026\nR2,25/10/2026\n")
    assert [r.exam.examined_on for r in reading.rows] == [OCT_4, date(2026, 10, 25)]
    assert (
        "Days in column B (date) are read day-first, because '25/10/2026' can only be so."
        in reading.notices
    )


def test_the_title_may_state_the_order(read) -> None:
    (row,) = read("tag,Date (mm/dd/yyyy)\nR1,10/4/2026\n").rows
    assert row.exam.examined_on == OCT_4


def test_a_rule_settles_it(read) -> None:
    (row,) = read("tag,date\nR1,4/10/2026\n", date_order="day-first").rows
    assert row.exam.examined_on == OCT_4


def test_dates_that_a_spreadsheet_may_have_turned_round_are_refused() -> None:
    # A spreadsheet that expects the month first makes 10 April of 04/10/2026 and leaves
    # 25/10/2026 as text.
    column = [date(2026, 4, 10), "25/10/2026"]
    assert swapped_by(column) == "25/10/2026"
    read = DayReader(TODAY, order_of(column), swapped_by(column))
    error = refusal(read, column[0])
    assert "may have taken day and month the other way round" in error.problem
    assert error.example == "4 Oct 2026 or 10 Apr 2026"
    assert read("25/10/2026") == date(2026, 10, 25)
    assert not swapped_by([date(2026, 4, 10), date(2026, 4, 25), "25/10/2026"]), "day above 12"
    assert not swapped_by(["25/10/2026"])


@pytest.mark.parametrize(
    ("cell", "born"),
    [
        ("2024", Born(date(2024, 1, 1), date(2024, 12, 31))),
        (2024.0, Born(date(2024, 1, 1), date(2024, 12, 31))),
        ("Apr 2024", Born(date(2024, 4, 1), date(2024, 4, 30))),
        ("April 2024", Born(date(2024, 4, 1), date(2024, 4, 30))),
        ("2024-02", Born(date(2024, 2, 1), date(2024, 2, 29))),
        ("04/2024", Born(date(2024, 4, 1), date(2024, 4, 30))),
        ("10 Mar 2024", Born.on(date(2024, 3, 10))),
        (date(2024, 3, 10), Born.on(date(2024, 3, 10))),
        ("2024-03-05/2024-04-04", Born(date(2024, 3, 5), date(2024, 4, 4))),
    ],
)
def test_births_as_well_as_they_are_known(cell, born: Born) -> None:
    assert BirthReader(reader())(cell) == born


@pytest.mark.parametrize(
    ("cell", "problem"),
    [
        ("2027", "the birth lies in the future"),
        ("1990", "too far back to be meant"),
        ("13/2024", "there is no such month"),
        ("2024-00", "there is no such month"),
        ("spring 2024", "cannot be read as a day"),
        ("24", "cannot be read as a day"),
        ("Apr-24", "cannot be read as a day"),
        ("2024-04-04/2024-03-05", "the interval ends before it begins"),
    ],
)
def test_births_that_are_refused(cell, problem: str) -> None:
    assert problem in refusal(BirthReader(reader()), cell).problem


def test_births_all_on_the_first_are_remarked_upon() -> None:
    firsts = [date(2024, m, 1) for m in (3, 4, 5)]
    assert dates.all_first_of_month(firsts)
    assert not dates.all_first_of_month([*firsts, date(2024, 3, 2)])
    assert not dates.all_first_of_month(firsts[:2])


@pytest.mark.parametrize(
    ("unit", "cell", "age"),
    [
        ("months", 18.0, Age(18, 19)),
        ("", "18 months", Age(18, 19)),
        ("", "18m", Age(18, 19)),
        ("years", "2", Age(24, 36)),
        ("months", "2 yrs", Age(24, 36)),
        ("", "2-year-old", Age(24, 36)),
        ("", "Shearling", Age(age_class="shearling")),
        ("months", "2 tooth", Age(age_class="shearling")),
    ],
)
def test_ages(protocol, unit: str, cell, age: Age) -> None:
    assert AgeReader(protocol.age_classes, unit)(cell) == age


@pytest.mark.parametrize(
    ("cell", "problem"),
    [
        (3.0, "does not say whether this is in months or in years"),
        ("old", "cannot be read as an age"),
        ("1.5 years", "cannot be read as an age"),
        ("99 years", "no sheep is that old"),
    ],
)
def test_ages_that_are_refused(protocol, cell, problem: str) -> None:
    assert problem in refusal(AgeReader(protocol.age_classes), cell).problem


@given(st.dates(date(2000, 1, 1), date(2030, 12, 31)), st.integers(0, 120))
def test_an_age_leaves_exactly_the_births_that_fit(on: date, months: int) -> None:
    """Against the core's own count of half steps, which is tested elsewhere."""
    born = Age(months, months + 1).born(on)
    day = date.fromordinal
    for birth in (born.earliest, born.latest):
        assert age_half_steps(birth, on) // 2 == months, f"{birth} on {on}"
    assert age_half_steps(day(born.earliest.toordinal() - 1), on) // 2 == months + 1
    after = day(born.latest.toordinal() + 1)
    assert after > on or age_half_steps(after, on) // 2 == months - 1


@given(st.dates(date(2010, 1, 1), TODAY))
def test_every_day_comes_back_from_each_way_of_writing(day: date) -> None:
    read = reader("day-first")
    for form in ("%Y-%m-%d", "%d/%m/%Y", "%d.%m.%Y", "%d %b %Y", "%B %d, %Y", "%Y%m%d"):
        assert read(day.strftime(form)) == day, form


@given(st.text(max_size=40) | st.floats() | st.integers())
def test_any_cell_is_a_day_nothing_or_a_refusal(cell) -> None:
    try:
        found = BirthReader(reader())(cell)
    except SheetError:
        return
    assert found is None or found.earliest <= TODAY

"""What a row states joined with what is on the books."""

from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from stell.core.records import Born, Ram
from stell.services import facts

DAY = date(2026, 9, 1)
days = st.dates(date(2015, 1, 1), date(2026, 9, 1))
births = st.none() | st.tuples(days, days).map(lambda d: Born(min(d), max(d)))


def ram(**said: object) -> Ram:
    """Return a ram."""
    return Ram(**({"ram_id": "r"} | said))  # type: ignore[arg-type]


def test_a_birth_is_narrowed() -> None:
    known, stated = ram(born=Born.in_year(2024)), ram(born=Born.in_month(2024, 4))
    assert facts.as_known(stated, known, "", DAY).born == Born.in_month(2024, 4)
    assert facts.learned(stated, known, DAY).born == Born.in_month(2024, 4)


def test_a_birth_that_contradicts_counts_that_day_and_is_not_learned() -> None:
    known, stated = ram(born=Born.in_year(2023)), ram(born=Born.in_year(2024))
    assert facts.as_known(stated, known, "", DAY).born == Born.in_year(2024)
    assert facts.learned(stated, known, DAY).born == Born.in_year(2023)
    told = "born 1 Jan 2024 to 31 Dec 2024, on the books 1 Jan 2023 to 31 Dec 2023"
    assert facts.contradictions(stated, known) == [told]


@given(births, births)
def test_of_two_births_that_agree_the_order_does_not_matter(a: Born | None, b: Born | None) -> None:
    ab, ba = facts.born_both(a, b), facts.born_both(b, a)
    assert ab[1] == ba[1], "one order agrees and the other does not"
    if ab[1]:
        assert ab[0] == ba[0]


def test_the_type_comes_from_the_row_then_the_books_then_the_flock() -> None:
    stated, known, flock = ram(ram_type="hill"), ram(ram_type="terminal"), "lowland"
    assert facts.as_known(stated, known, flock, DAY).ram_type == "hill"
    assert facts.as_known(ram(), known, flock, DAY).ram_type == "terminal"
    assert facts.as_known(ram(), ram(), flock, DAY).ram_type == "lowland"
    assert facts.learned(ram(), ram(), DAY).ram_type == "", "the flock's type is not the ram's"


def test_an_age_class_holds_from_its_day_on() -> None:
    known = ram(age_class="ram_lamb", age_class_on=date(2026, 5, 1))
    assert facts.as_known(ram(), known, "", DAY).age_class_on == date(2026, 5, 1)
    before = facts.as_known(ram(), known, "", date(2026, 4, 1))
    assert (before.age_class, before.age_class_on) == ("", None)
    told = facts.as_known(ram(age_class="mature"), known, "", DAY)
    assert (told.age_class, told.age_class_on) == ("mature", DAY)


def test_an_older_sheet_does_not_take_back_an_age_class() -> None:
    known = ram(age_class="mature", age_class_on=DAY)
    learned = facts.learned(ram(age_class="ram_lamb"), known, date(2024, 9, 1))
    assert (learned.age_class, learned.age_class_on) == ("mature", DAY)


def test_what_is_stated_less_closely_is_no_difference() -> None:
    then = ram(born=Born.on(date(2024, 4, 2)), breed="texel")
    assert facts.states_otherwise(ram(born=Born.in_year(2024)), then) == []
    assert facts.states_otherwise(ram(), then) == []


def test_what_is_stated_more_closely_is_a_difference() -> None:
    then = ram(born=Born.in_year(2024), breed="texel")
    stated = ram(born=Born.on(date(2024, 4, 2)), breed="suffolk")
    assert facts.states_otherwise(stated, then) == ["breed", "born"]

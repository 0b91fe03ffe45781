"""Answers to choices: the protocol's words, words for normal, and what is refused."""

import doctest

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stell.core.errors import SheetError
from stell.core.protocol.load import load_shipped
from stell.exchange import answers
from stell.exchange.answers import ChoiceReader, says_yes, uses_n
from stell.exchange.cells import NOT_EXAMINED, visible
from stell.exchange.titles import Vocabulary


def refusal(reader: ChoiceReader, cell) -> SheetError:
    with pytest.raises(SheetError) as caught:
        reader(cell)
    return caught.value


def test_examples_in_docstrings() -> None:
    assert doctest.testmod(answers).failed == 0


@pytest.mark.parametrize(
    ("check", "cell", "answer"),
    [
        ("gait", "lame", "lame"),
        ("gait", "Lame, but bears weight", "lame"),
        ("gait", "SLIGHTLY LAME", "lame"),
        ("gait", "sound on all four.", "sound"),
        ("gait", "1", "lame"),
        ("gait", 1.0, "lame"),  # a number cell
        ("gait", 0.0, "sound"),  # named by this protocol
        ("gait", "OK", "sound"),
        ("gait", "okay", "sound"),
        ("gait", "Normal", "sound"),
        ("gait", "NAD", "sound"),
        ("gait", "n.a.d.", "sound"),
        ("gait", "Within normal limits", "sound"),
        ("teeth", "broken-mouthed", "broken"),
        ("lumps", "-", "none"),  # named by this protocol
        ("lumps", "nil", "none"),
        ("eyes", "clear", ("clear",)),
        ("eyes", "pink eye; entropion", ("inflamed", "lid_turned_in")),
        ("eyes", "pink eye, entropion", ("inflamed", "lid_turned_in")),
        ("eyes", "pink eye + entropion", ("inflamed", "lid_turned_in")),
        ("eyes", "entropion and cloudy", ("lid_turned_in", "inflamed")),
        ("eyes", "inflamed, running or cloudy", ("inflamed",)),
        ("eyes", "inflamed, running or cloudy; eyelid turned in", ("inflamed", "lid_turned_in")),
        ("eyes", "cloudy; inflamed", ("inflamed",)),
    ],
)
def test_words_that_are_understood(protocol, check: str, cell, answer) -> None:
    assert ChoiceReader(protocol.checks[check])(cell) == answer


@pytest.mark.parametrize("cell", ["", "  "])
def test_an_empty_cell_is_nothing(protocol, cell: str) -> None:
    assert ChoiceReader(protocol.checks["gait"])(cell) is None


@pytest.mark.parametrize("cell", ["not examined", "N/E", "n/a", "Not checked"])
def test_not_examined_is_said(protocol, cell: str) -> None:
    assert ChoiceReader(protocol.checks["gait"])(cell) is NOT_EXAMINED


@pytest.mark.parametrize(
    ("check", "cell"),
    [
        # A sign can be absent, or the part of the body: only the protocol may say which.
        ("teeth", "-"),
        ("teeth", "0"),
        ("teeth", "no"),
        ("teeth", "none"),
        ("teeth", "✓"),
        ("teeth", "x"),
        ("teeth", "?"),
        ("teeth", "y"),
        ("teeth", "full?"),
        ("gait", "1+"),
        ("gait", "ok, slight swelling"),
        ("gait", True),
    ],
)
def test_words_that_could_mean_two_things_are_refused(protocol, check: str, cell) -> None:
    error = refusal(ChoiceReader(protocol.checks[check]), cell)
    assert error.code == "row.value"
    assert f"remark:{check}" in error.legal


def test_the_legal_answers_are_listed_nearest_first(protocol) -> None:
    error = refusal(ChoiceReader(protocol.checks["gait"]), "hardly bear weight")
    assert error.legal.startswith("hardly bears weight | lame, but bears weight | sound")
    assert error.example == "hardly bears weight"


def test_a_refusal_does_not_nudge_towards_normal(protocol) -> None:
    error = refusal(ChoiceReader(protocol.checks["gait"]), "zzz")
    assert error.example == "a column 'remark:gait' with 'zzz'"


def test_a_word_of_another_check_is_sent_there(read) -> None:
    (error,) = read("tag,date,teeth\nR1,2026-10-04,cloudy\n").problems
    assert error.problem == "this is not an answer to 'Front teeth'; it is one to: Eyes"
    assert error.example == "a column 'Eyes' with 'cloudy'"


@pytest.mark.parametrize(
    ("check", "cell", "problem"),
    [
        ("gait", "lame; very lame", "Gait takes one answer"),
        ("eyes", "clear; entropion", "normal and something else cannot both be"),
        ("eyes", "entropion; swollen", "'swollen' is not an answer to 'Eyes'"),
    ],
)
def test_several_answers(protocol, check: str, cell: str, problem: str) -> None:
    assert problem in refusal(ChoiceReader(protocol.checks[check]), cell).problem


def test_n_beside_yes_is_no(protocol) -> None:
    column = ["n", "yes", ""]
    assert uses_n(column)
    assert says_yes(column)
    assert ChoiceReader(protocol.checks["gait"], n_is_no=True)("n") == "sound", "'no' is named"
    error = refusal(ChoiceReader(protocol.checks["teeth"], n_is_no=True), "n")
    assert "not an answer to 'Front teeth'" in error.problem


def test_n_is_normal_only_where_nothing_speaks_against_it_and_it_is_said(read) -> None:
    reading = read("tag,date,gait\nR1,2026-10-04,n\nR2,2026-10-04,lame\n")
    assert reading.rows[0].exam.observations["gait"] == "sound"
    assert "In column C (gait) 'n' is taken as normal." in reading.notices
    asking = read("tag,date,Teeth?\nR1,2026-10-04,n\n", given={"Teeth?": "teeth"})
    assert "since its title asks a question" in " ".join(asking.notices)
    assert asking.refused_rows == {2}, "'no' is no answer to that check"


def test_without_its_own_word_n_is_no_answer(protocol) -> None:
    refusal(ChoiceReader(protocol.checks["teeth"]), "n")
    assert ChoiceReader(protocol.checks["gait"])("n") == "sound", "named by this protocol"


def test_a_word_of_two_options_is_refused(protocol) -> None:
    reader = ChoiceReader(protocol.checks["gait"])
    object.__setattr__(reader, "named", {"sore": ("lame", "not_bearing")})
    error = refusal(reader, "sore")
    assert "this can mean 'lame, but bears weight' or 'hardly bears weight'" in error.problem


@given(st.text(max_size=60))
def test_any_text_is_an_answer_nothing_or_a_refusal(protocol, text: str) -> None:
    for check_id in ("gait", "eyes"):
        check = protocol.checks[check_id]
        try:
            found = ChoiceReader(check)(text)
        except SheetError:
            continue
        if found is None:
            assert not visible(text).strip()
        elif found is not NOT_EXAMINED:
            assert set(found if isinstance(found, tuple) else [found]) <= set(check.rules)


HOUSE = load_shipped("house")


@pytest.mark.parametrize(
    ("check", "cell", "named"),
    [
        ("epididymis_left", "lump L tail", ["tail enlarged or hard", "lump elsewhere along it"]),
        ("gait", "lame NWB", ["very lame, hardly bears weight"]),
        ("gait", "WB", ["lame, but bears weight", "very lame, hardly bears weight"]),
    ],
)
def test_nobody_is_led_to_one_of_two_findings_that_are_as_near(check, cell, named) -> None:
    example = refusal(ChoiceReader(HOUSE.checks[check]), cell).example
    assert example == ", or ".join(named)


def test_a_word_that_looks_like_another_checks_leads_to_no_finding() -> None:
    # "soft" is an answer to the tone of a testis, and none to where it lies.
    example = refusal(ChoiceReader(HOUSE.checks["testis_left"]), "sl soft").example
    assert example.startswith("a column 'remark:testis_left'")


@pytest.mark.parametrize("cell", ["-", "--", "no"])
def test_a_sign_is_not_sent_to_another_column(cell: str) -> None:
    words = Vocabulary(HOUSE)
    assert words.answering("-"), "no check takes the sign, so nothing is tested here"
    error = refusal(ChoiceReader(HOUSE.checks["feet"], False, words.answering), cell)
    assert "it is one to" not in error.problem
    assert "column" not in error.example

"""Electronic numbers: what readers send, what people type, and every code there and back."""

import doctest

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stell.core.errors import SheetError, ValueRefused
from stell.exchange import electronic_id
from stell.exchange.eid_cells import read_eid
from stell.exchange.electronic_id import LARGEST_NATIONAL, ElectronicId, parse, unpack

CODES = st.builds(
    ElectronicId,
    prefix=st.integers(0, 1023),
    national=st.integers(0, LARGEST_NATIONAL),
    animal=st.booleans(),
    retag=st.integers(0, 7),
    user=st.integers(0, 31),
    data_block=st.booleans(),
)


def test_examples_in_docstrings() -> None:
    assert doctest.testmod(electronic_id).failed == 0


@given(CODES)
def test_every_code_comes_back_from_its_bits(code: ElectronicId) -> None:
    assert unpack(code.pack()) == code
    assert unpack(int(code.hex, 16)) == code
    assert len(code.hex) == 16


@given(st.integers(1, 999), st.integers(0, LARGEST_NATIONAL))
def test_every_number_comes_back_from_its_digits(prefix: int, national: int) -> None:
    code = ElectronicId(prefix, national)
    for text in (code.text, code.display, f"\x02{code.text}\x03\r\n", f" {code.display}\n"):
        assert parse(text) == code
    assert parse(code.hex) == code


@given(st.text(max_size=40))
def test_any_text_is_a_number_or_a_refusal(text: str) -> None:
    try:
        code = parse(text)
    except ValueRefused:
        return
    assert 0 <= code.prefix <= 1023
    assert len(code.text) >= 15


@pytest.mark.parametrize(
    ("text", "digits"),
    [
        ("826012345600001", "826012345600001"),
        ("826 012345600001", "826012345600001"),
        ("826-0123-4560-0001", "826012345600001"),
        ("826.012345600001", "826012345600001"),
        ("\x02826012345600001\x03", "826012345600001"),
        ("826 012345600001\r\n", "826012345600001"),
        ("8000ce82dfdae801", "826012345600001"),
        ("8000 CE82 DFDA E801", "826012345600001"),
        ("036012345678901", "036012345678901"),
        ("uk 0 123456 00001", "826012345600001"),
    ],
)
def test_what_readers_send_and_people_type(text: str, digits: str) -> None:
    assert parse(text).text == digits


def test_sixteen_digits_begin_with_the_animal_flag_and_it_is_said() -> None:
    flagged = parse("1826012345600001")
    assert (flagged.text, flagged.animal) == ("826012345600001", True)
    assert flagged.notices == ("the first of 16 digits was taken as the animal flag",)
    assert parse("0826012345600001").animal is False


@pytest.mark.parametrize(
    ("text", "notice"),
    [
        ("900012345678901", "900 is a maker's code, so this is no official number"),
        ("999012345678901", "999 marks a transponder for tests"),
        ("123012345678901", "123 is no country's code known to stell"),
        ("826274877906944", "the last twelve digits are more than a transponder can hold"),
    ],
)
def test_unusual_numbers_are_kept_and_remarked_upon(text: str, notice: str) -> None:
    code = parse(text)
    assert code.text == text
    assert code.notices[0].startswith(notice)
    assert not code.is_official or "twelve" in notice


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("", "0 digits"),
        ("82601234560000", "14 digits instead of 15"),
        ("36012345678901", "14 digits: a spreadsheet drops zeros in front (036 is Australia)"),
        ("8012345678901", "13 digits: a spreadsheet drops zeros in front (008 is Albania)"),
        ("82601234560000123", "17 digits instead of 15"),
        ("2826012345600001", "16 digits instead of 15"),
        ("000012345678901", "no country has the code 000"),
        ("UK 123456", "behind the letters stand 6 digits"),
        ("QQ 012345600001", "this is no electronic number"),
        ("R12", "this is no electronic number"),
        ("12A0CE82DFDAE801", "reserved bits are set"),
        ("٨٢٦٠١٢٣٤٥٦٠٠٠٠١", "this is no electronic number"),
    ],
)
def test_what_is_no_electronic_number(text: str, problem: str) -> None:
    with pytest.raises(ValueRefused) as caught:
        parse(text)
    assert problem in caught.value.problem or (not text and "no electronic" in caught.value.problem)


def test_a_number_that_does_not_fit_is_not_packed() -> None:
    with pytest.raises(ValueRefused, match="the national code does not fit into its bits"):
        parse("826274877906944").pack()
    with pytest.raises(ValueRefused, match="the retagging counter"):
        ElectronicId(826, 1, retag=8).pack()
    with pytest.raises(ValueRefused, match="64 bits"):
        unpack(2**64)


@pytest.mark.parametrize(
    ("cell", "digits"),
    [
        (826012345600001.0, "826012345600001"),
        (826012345600001, "826012345600001"),
        ("826 012345600001", "826012345600001"),
        ("", None),
        ("  ", None),
    ],
)
def test_cells_that_are_whole(cell, digits: str | None) -> None:
    assert read_eid(cell) == digits


@pytest.mark.parametrize(
    ("cell", "problem", "example"),
    [
        ("8.26012E+14", "shortened the number to powers of ten", "826 012345600001"),
        ("8,26E14", "shortened the number to powers of ten", "826 012345600001"),
        (1.826012345600001e15, "more than 15 digits", "826 012345600001"),
        (826012345600001.5, "the number has decimals", "826 012345600001"),
        (float("inf"), "more than 15 digits", "826 012345600001"),
        (float("nan"), "the number has decimals", "826 012345600001"),
        (
            "1826012345600001",
            "16 digits instead of 15; a spreadsheet may have damaged the last ones",
            "826 012345600001, if the first digit is a reader's animal flag",
        ),
        (36012345678901.0, "drops zeros in front", "036 012345678901, if that is his number"),
        (True, "no electronic number", "826 012345600001"),
    ],
)
def test_cells_that_a_spreadsheet_has_damaged(cell, problem: str, example: str) -> None:
    with pytest.raises(SheetError) as caught:
        read_eid(cell)
    assert caught.value.code == "identity.eid"
    assert problem in caught.value.problem
    assert caught.value.example == example

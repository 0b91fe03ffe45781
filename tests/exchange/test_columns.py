"""Columns matched by meaning: titles, trade words, sides, units, readings, and what is left."""

import doctest

import pytest

from stell.core.errors import SheetError
from stell.core.intake import INTAKE_FIELDS
from stell.core.protocol.load import load_shipped, shipped
from stell.exchange import phrases, titles
from stell.exchange.columns import match_columns
from stell.exchange.field_words import FIELD_TITLES
from stell.exchange.titles import Vocabulary


def test_examples_in_docstrings() -> None:
    assert doctest.testmod(titles).failed == 0
    assert doctest.testmod(phrases).failed == 0


def meanings(headers: list[str], protocol, **given) -> list[tuple[str, str]]:
    found = match_columns(headers, protocol, given or None)
    return [(c.meaning, c.unit) for c in found.columns]


@pytest.mark.parametrize(
    ("header", "meaning", "unit"),
    [
        ("gait", "gait", ""),
        ("GAIT", "gait", ""),
        ("Lameness", "gait", ""),
        ("Front teeth", "teeth", ""),
        ("Teeth, front", "teeth", ""),
        ("Incisors", "teeth", ""),
        ("SC", "scrotal_circumference", ""),
        ("SC (cm)", "scrotal_circumference", "cm"),
        ("SC [mm]", "scrotal_circumference", "mm"),
        ("SC, mm", "scrotal_circumference", "mm"),
        ("SC in mm", "scrotal_circumference", "mm"),
        ("SC in inches", "scrotal_circumference", "inch"),
        ('SC "', "scrotal_circumference", "inch"),
        ("circ mm", "scrotal_circumference", "mm"),
        ("Scrotal circ. (in)", "scrotal_circumference", "inch"),
        ("scrotal_circumference_cm", "scrotal_circumference", "cm"),
        ("Circumference of the scrotum", "scrotal_circumference", ""),
        ("Temp °C", "temperature", "celsius"),
        ("Temp (F)", "temperature", "fahrenheit"),
        ("% motile", "motility", "percent"),
        ("motility_percent", "motility", "percent"),
        ("Weight kg", "weight", "kg"),
        ("wt (lbs)", "weight", "lb"),
        ("BCS (0-5)", "condition", "score"),
        ("condition_score", "condition", ""),
        ("Testis tone (left)", "tone_left", ""),
        ("left testis tone", "tone_left", ""),
        ("tone L", "tone_left", ""),
        ("R tone", "tone_right", ""),
        ("Tone rhs", "tone_right", ""),
        ("Tone of the right testicle", "tone_right", ""),
        ("Testis tone", "both:tone", ""),
        ("teeth notes", "remark:teeth", ""),
        ("remark: gait", "remark:gait", ""),
        ("Comments on eyes", "remark:eyes", ""),
        ("stop:head", "stop:head", ""),
        ("Head all ok", "stop:head", ""),
        ("Notes", "note", ""),
        ("Ear tag no.", "tag", ""),
        ("E-ID", "eid", ""),
        ("RFID", "eid", ""),
        ("D.O.B.", "born_on", ""),
        ("Date of birth", "born_on", ""),
        ("Date", "examined_on", ""),
        ("Date (dd/mm/yyyy)", "examined_on", "day-first"),
        ("Exam date", "examined_on", ""),
        ("Age (months)", "age_months", "months"),
        ("Age in years", "age_months", "years"),
        ("Age", "age_months", ""),
        ("Vet", "examiner", ""),
        ("Farm", "flock", ""),
        ("All else normal", "rest_normal", ""),
    ],
)
def test_titles_that_are_understood(protocol, header: str, meaning: str, unit: str) -> None:
    assert meanings([header], protocol) == [(meaning, unit)]


@pytest.mark.parametrize(
    "header",
    ["", "Price", "SC (kg)", "Gait (cm)", "Result", "Verdict", "Testis length left", "Lamb"],
)
def test_titles_that_are_not_understood_are_reported(protocol, header: str) -> None:
    found = match_columns([header], protocol)
    assert [c.meaning for c in found.columns] == [""]
    assert [c.why for c in found.columns] == ["none"]
    assert len(found.notices) == 1
    assert found.notices[0].startswith("Column A")
    assert "is not used" in found.notices[0]


def test_the_nearest_title_is_named(protocol) -> None:
    (notice,) = match_columns(["Front teath"], protocol).notices
    assert notice.endswith("""Did you mean 'Front teeth'? Then say --map "Front teath=teeth".""")


@pytest.mark.parametrize(
    "headers",
    [
        ["SC", "SC 2", "SC 3"],
        ["SC 1", "SC 2", "SC 3"],
        ["SC1", "SC2", "SC3"],
        ["SC (cm)", "SC (cm) 2", "SC 3 (cm)"],
        ["SC", "SC", "SC"],
        ["SC reading 1", "SC reading 2", "SC reading 3"],
        ["SC #1", "SC #2", "SC (3)"],
        ["scrotal_circumference_cm", "scrotal_circumference_cm_2", "circ 3"],
    ],
)
def test_several_columns_of_a_measured_check_are_readings(protocol, headers: list[str]) -> None:
    assert [m for m, _ in meanings(headers, protocol)] == ["scrotal_circumference"] * 3


def test_readings_of_one_row_come_together(read) -> None:
    (row,) = read("tag,date,SC,SC 2 (mm),SC 3\nR1,2026-10-04,34.5,340,\n").rows
    assert row.exam.observations["scrotal_circumference"] == (345, 340)


def test_more_readings_than_a_protocol_counts_are_refused(protocol) -> None:
    with pytest.raises(SheetError) as caught:
        match_columns(["SC"] * 10, protocol)
    assert "10 columns hold readings" in caught.value.problem


def test_the_surer_of_two_columns_counts_and_the_other_is_named(protocol) -> None:
    found = match_columns(["ID", "Tag", "Date", "Exam date"], protocol)
    assert [c.meaning for c in found.columns] == ["", "tag", "", "examined_on"]
    assert found.notices == (
        "Column A (ID) is not used: tag is read from Column B (Tag).",
        "Column C (Date) is not used: examined_on is read from Column D (Exam date).",
    )


def test_two_columns_that_mean_the_same_are_refused(protocol) -> None:
    with pytest.raises(SheetError) as caught:
        match_columns(["Tag", "Gait", "gait"], protocol)
    assert caught.value.code == "sheet.columns"
    assert "two columns mean gait" in caught.value.problem
    assert caught.value.got == "Column B (Gait) and Column C (gait)"


def test_a_word_of_two_meanings_is_left_open_and_said(protocol) -> None:
    words = Vocabulary(protocol)
    words.phrases["mouth"] = {"teeth": 10, "gait": 11}
    found = match_columns(["Mouth"], protocol, vocabulary=words)
    assert found.columns[0].meaning == ""
    said = 'Column A (Mouth) is not used: it can mean teeth or gait; say --map "Mouth=teeth".'
    assert found.notices == found.unmatched == (said,)


def test_what_a_person_said_goes_first(protocol) -> None:
    given = {
        "Gait": "teeth",
        "girth mm": "scrotal_circumference",
        "Ring": "scrotal_circumference (inch)",
        "Chip": "",
        "Old": "ignore",
        "Year": "age_months",
    }
    found = match_columns(["Gait", "Girth MM", "Ring", "Chip", "Old", "Year"], protocol, given)
    assert [(c.meaning, c.unit, c.why) for c in found.columns] == [
        ("teeth", "", "given"),
        ("scrotal_circumference", "mm", "given"),
        ("scrotal_circumference", "inch", "given"),
        ("", "", "given"),
        ("", "", "given"),
        ("age_months", "years", "given"),
    ]
    assert not found.notices, "what a person leaves out is not reported"


def test_a_meaning_that_does_not_exist_is_refused(protocol) -> None:
    with pytest.raises(SheetError) as caught:
        match_columns(["Mouth"], protocol, {"Mouth": "teethh"})
    assert caught.value.got == "teethh"
    assert caught.value.example == '--map "Mouth=teeth"'


@pytest.mark.parametrize(
    ("said", "meaning"),
    [
        ("examined on", "examined_on"),
        ("Examined_On", "examined_on"),
        ("date", "examined_on"),
        ("born on", "born_on"),
        ("Date of birth", "born_on"),
        ("front teeth", "teeth"),
        ("Scrotal circumference", "scrotal_circumference"),
    ],
)
def test_a_meaning_may_be_said_in_trade_words(protocol, said: str, meaning: str) -> None:
    found = match_columns(["Mouth"], protocol, {"Mouth": said})
    assert [c.meaning for c in found.columns] == [meaning]


@pytest.mark.parametrize(
    ("header", "unit"),
    [("Tests cm", "cm"), ("Testes (mm)", "mm"), ("testicle size in inches", "inch")],
)
def test_a_length_of_the_testes_is_their_circumference(protocol, header: str, unit: str) -> None:
    (column,) = match_columns([header], protocol).columns
    assert (column.meaning, column.unit) == ("scrotal_circumference", unit)


def test_testes_without_a_unit_are_no_measure(protocol) -> None:
    (column,) = match_columns(["Tests"], protocol).columns
    assert column.meaning != "scrotal_circumference"


def test_a_unit_in_an_unknown_title_leads_to_what_is_measured_in_it(protocol) -> None:
    (notice,) = match_columns(["Girth below cm"], protocol).unmatched
    assert "'Scrotal circumference'" in notice
    assert '--map "Girth below cm=scrotal_circumference"' in notice


def test_a_meaning_for_a_title_that_is_not_there_is_said(protocol) -> None:
    found = match_columns(["Tag"], protocol, {"Mouth": "teeth"})
    assert found.notices == ("No column has the title 'Mouth' for which a meaning is set.",)


def test_a_thousand_unknown_columns_are_counted_not_listed(protocol) -> None:
    found = match_columns(["tag", *(f"gene {i}" for i in range(1000))], protocol)
    assert len(found.columns) == 1001
    assert len(found.notices) == 21
    assert found.notices[-1] == "980 more columns have no known title and are not used."


def test_every_field_has_titles_and_every_title_finds_its_field(protocol) -> None:
    assert set(FIELD_TITLES) == set(INTAKE_FIELDS)
    words = Vocabulary(protocol)
    for name, written in FIELD_TITLES.items():
        for title in (name, *written):
            assert [m.name for m in words.find(title)[0]] == [name], title


@pytest.mark.parametrize("name", shipped())
def test_every_title_of_the_shipped_protocols_finds_its_check(name: str) -> None:
    protocol = load_shipped(name)
    words = Vocabulary(protocol)
    for check in protocol.checks.values():
        for title in (check.id, check.title, check.short):
            assert [m.name for m in words.find(title)[0]] == [check.id], title
        for word in check.spec.also_called:
            wanted = f"both:{check.base}" if check.side else check.id
            assert [m.name for m in words.find(word)[0]] == [wanted], word

"""Whose row is it: number before tag before name, and no guessing where they disagree."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from tests.services.sheets import BY, NOW, import_rows, row

from stell.core.errors import StellError
from stell.core.records import Born
from stell.services import flocks, rams
from stell.store import models

EID_A, EID_B = "826000000000011", "826000000000022"
NEXT = date(2027, 9, 1)
LATER = NOW + timedelta(days=365)
pytestmark = pytest.mark.usefixtures("two_rams")


@pytest.fixture
def two_rams(store: object) -> None:
    """Hill End with two rams: A1 Bob with a number, B2 Jack without; and an empty flock."""
    flocks.add_flock("Hill End", latitude_deg=54.0, by=BY, now=NOW)
    flocks.add_flock("Far Side", latitude_deg=54.0, by=BY, now=NOW)
    rows = [row(2, tag="A1", name="Bob", eid=EID_A), row(3, tag="B2", name="Jack")]
    assert import_rows(rows, "Hill End").stored == 2


def next_year(**marks: str) -> tuple[str, models.Ram | None]:
    """Import a row of the next year; return the problem's code, or the ram it was taken for."""
    result = import_rows([row(7, on=NEXT, **marks)], "Hill End", now=LATER)
    if result.problems:
        return result.problems[0].code, None
    return "", models.Examination.objects.get(examined_on=NEXT).ram


@pytest.mark.parametrize(
    ("marks", "tag"),
    [
        ({"eid": EID_A}, "A1"),
        ({"tag": "A1"}, "A1"),
        ({"tag": "a 1"}, "A1"),
        ({"tag": "A-1"}, "A1"),
        ({"name": "bob"}, "A1"),
        ({"eid": EID_A, "tag": "A1", "name": "Bob"}, "A1"),
        ({"tag": "B2", "eid": EID_B}, "B2"),
        ({"name": "Jack", "eid": EID_B}, "B2"),
    ],
)
def test_he_is_known_again(marks: dict[str, str], tag: str) -> None:
    code, ram = next_year(**marks)
    assert code == "", code
    assert ram is not None
    assert ram.tag == tag
    assert models.Ram.objects.count() == 2, "a ram was put on the books twice"


@pytest.mark.parametrize(
    ("marks", "told"),
    [
        ({"eid": EID_A, "tag": "B2"}, "two different rams"),
        ({"tag": "A1", "name": "Jack"}, "two different rams"),
        ({"tag": "A1", "eid": EID_B}, "another electronic number"),
        ({}, "names no ram"),
    ],
)
def test_marks_that_disagree_are_refused(marks: dict[str, str], told: str) -> None:
    result = import_rows([row(7, on=NEXT, **marks)], "Hill End", now=LATER)
    problem: StellError = result.problems[0]
    assert problem.code == "row.identity", problem.text()
    assert told in problem.problem, problem.text()
    assert problem.where == "flock.csv, row 7"
    assert models.Examination.objects.count() == 2, "a refused row was stored"


def test_the_number_of_a_ram_of_another_flock_is_refused_and_says_what_to_do() -> None:
    result = import_rows([row(7, eid=EID_A, on=NEXT)], "Far Side", now=LATER)
    problem = result.problems[0]
    assert problem.code == "row.identity", problem.text()
    assert "Hill End" in problem.problem
    assert problem.example.startswith(f"stell move {EID_A}")
    rams.move("A1", "Far Side", NEXT, by=BY, now=LATER)
    assert import_rows([row(7, eid=EID_A, on=NEXT)], "Far Side", now=LATER).stored == 1


def test_a_number_is_learned_by_tag() -> None:
    next_year(tag="B2", eid=EID_B)
    assert models.Ram.objects.get(tag="B2").eid == EID_B
    deed = models.AuditEntry.objects.get(action="learn")
    assert (deed.before, deed.after) == ({"eid": ""}, {"eid": EID_B})


def test_a_new_tag_is_learned_by_number_and_the_old_one_still_finds_him() -> None:
    result = import_rows([row(7, eid=EID_A, tag="A9", on=NEXT)], "Hill End", now=LATER)
    assert result.notices == ("flock.csv, row 7: known by his number; tag A1 is now A9",)
    marks = models.Identifier.objects.filter(scheme="tag", ram__eid=EID_A).order_by("id")
    assert [(m.value, m.until_on) for m in marks] == [("A1", NEXT), ("A9", None)]
    assert rams.find_ram("A1").ram.tag == "A9", "his old tag no longer finds him"


def test_a_tag_that_only_lost_its_zeros_is_pointed_out() -> None:
    import_rows([row(2, tag="0042")], "Hill End")
    result = import_rows([row(2, tag="42")], "Hill End")
    assert result.new_rams == 1
    assert "mind the leading zeros" in result.notices[0], result.notices


def test_a_second_ram_of_the_same_name_with_his_own_tag_is_a_new_ram() -> None:
    code, ram = next_year(tag="C3", name="Bob")
    assert code == "", code
    assert ram is not None
    assert ram.tag == "C3"


def test_a_name_that_two_rams_bear_is_refused() -> None:
    import_rows([row(2, tag="C3", name="Bob")], "Hill End")
    result = import_rows([row(7, name="Bob", on=NEXT)], "Hill End", now=LATER)
    assert result.problems[0].code == "row.identity"
    assert "2 rams answer" in result.problems[0].problem


def test_what_the_books_deny_is_told_and_the_books_stay() -> None:
    import_rows([row(2, tag="C3", breed="texel")], "Hill End")
    result = import_rows([row(7, tag="C3", breed="suffolk", on=NEXT)], "Hill End", now=LATER)
    told = "flock.csv, row 7: breed 'suffolk', on the books 'texel'; the books stay"
    assert result.notices == (told,)
    assert models.Ram.objects.get(tag="C3").breed == "texel"
    assert models.Examination.objects.get(ram__tag="C3", examined_on=NEXT).breed == "suffolk"


def test_a_ram_that_had_left_comes_back() -> None:
    rams.leave("A1", date(2026, 12, 1), "lent out", by=BY, now=NOW)
    result = import_rows([row(7, tag="A1", on=NEXT)], "Hill End", now=LATER)
    assert "had left on 1 Dec 2026; he is back" in result.notices[0]
    ram = models.Ram.objects.get(tag="A1")
    assert (ram.left_on, ram.left_why) == (None, "")


def test_his_use_is_as_last_stated_and_each_examination_keeps_its_own() -> None:
    import_rows([row(7, tag="A1", intended_use="replacements", on=NEXT)], "Hill End", now=LATER)
    assert models.Ram.objects.get(tag="A1").intended_use == "replacements"
    uses = models.Examination.objects.filter(ram__tag="A1").order_by("examined_on")
    assert [e.intended_use for e in uses] == ["terminal", "replacements"]


def test_a_tag_of_one_who_left_may_be_anothers_now() -> None:
    rams.leave("A1", date(2026, 12, 1), "sold", by=BY, now=NOW)
    young = Born.on(date(2026, 3, 1))
    refused = import_rows([row(7, tag="A1", born=young, on=NEXT)], "Hill End", now=LATER)
    assert refused.problems[0].code == "row.identity", refused.problems[0].text()
    assert "left on 1 Dec 2026 and was born otherwise" in refused.problems[0].problem


def test_of_two_who_bore_a_tag_the_one_who_is_here_is_meant() -> None:
    rams.leave("A1", date(2026, 12, 1), "sold", by=BY, now=NOW)
    rams.identify("B2", "tag", "A1", on=date(2027, 1, 1), by=BY, now=LATER)
    code, ram = next_year(tag="A1")
    assert code == "", code
    assert ram is not None
    assert ram.name == "Jack"

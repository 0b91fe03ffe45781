"""Rams on the books: lists, look-up, history, and what happens to them."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from tests.services.sheets import BY, NOW, import_rows, row

from stell.core.errors import RecordError, ValueRefused
from stell.core.records import Born
from stell.services import flocks, rams
from stell.services.trail import deeds
from stell.store import models

EID = "826000000000011"


@pytest.fixture(autouse=True)
def books(store: object) -> None:
    """Two flocks, each with a ram of tag 1; Hill End's has a past."""
    flocks.add_flock("Hill End", latitude_deg=54.0, by=BY, now=NOW)
    flocks.add_flock("Far Side", latitude_deg=54.0, by=BY, now=NOW)
    days = (date(2024, 8, 30), date(2025, 9, 3), date(2026, 8, 18), date(2026, 9, 1))
    sizes = (330, 335, 345, 350)
    past = [
        row(2, tag="1", name="Bob", eid=EID, on=day, circumference=(size,))
        for day, size in zip(days, sizes, strict=True)
    ]
    import_rows([*past, row(6, tag="2", name="Jack")], "Hill End")
    import_rows([row(2, tag="1", name="Ned")], "Far Side")


def test_lists_are_by_flock_and_tag() -> None:
    assert [r.label for r in rams.list_rams()] == ["1 Ned", "1 Bob", "2 Jack"]
    assert [r.label for r in rams.list_rams("hill-end", limit=1, offset=1)] == ["2 Jack"]


def test_who_has_left_is_listed_only_on_demand() -> None:
    left = rams.leave("2", date(2026, 10, 1), "sold", by=BY, now=NOW)
    assert (left.left_on, left.left_why, left.is_active) == (date(2026, 10, 1), "sold", False)
    assert [r.label for r in rams.list_rams("Hill End")] == ["1 Bob"]
    assert len(rams.list_rams("Hill End", include_left=True)) == 2


def test_he_does_not_leave_without_a_reason() -> None:
    with pytest.raises(RecordError, match="does not say why he left"):
        rams.leave("2", date(2026, 10, 1), "  ", by=BY, now=NOW)
    assert rams.find_ram("2").is_active


@pytest.mark.parametrize("mark", ["x" * 61, "\x1b[2J", "R\u202e1"])
def test_a_mark_that_no_sheet_could_hold_is_refused(mark: str) -> None:
    with pytest.raises(ValueRefused, match="not all of it can be seen"):
        rams.identify("2", "tag", mark, on=date(2026, 9, 5), by=BY, now=NOW)


@pytest.mark.parametrize("query", [EID, "826 000000000011", "bob"])
def test_he_is_found_by_every_mark(query: str) -> None:
    found = rams.find_ram(query)
    assert found.label == "1 Bob"
    assert rams.find_ram(found.id).id == found.id
    assert rams.find_ram("1", "Hill End").id == found.id


def test_a_mark_of_two_rams_asks_which() -> None:
    with pytest.raises(RecordError, match="2 rams answer to that mark") as caught:
        rams.find_ram("1")
    assert caught.value.code == "record.ambiguous"
    assert "Hill End" in caught.value.legal
    assert "Far Side" in caught.value.legal


def test_an_unknown_mark_names_what_comes_near() -> None:
    with pytest.raises(RecordError, match="no ram with that mark") as caught:
        rams.find_ram("Jck")
    assert (caught.value.code, caught.value.legal) == ("record.not_found", "Jack")


def test_the_history_is_newest_first_with_comparisons_of_the_newest() -> None:
    told = rams.history(EID)
    days = [e.examination.exam.examined_on for e in told.entries]
    assert days == [date(2026, 9, 1), date(2026, 8, 18), date(2025, 9, 3), date(2024, 8, 30)]
    assert {e.protocol for e in told.entries} == {"mini 1"}
    # 14 days, 363 days and 732 days before 1 Sep 2026.
    assert [(c.now_on, c.then_on) for c in told.comparisons] == [
        (date(2026, 9, 1), date(2026, 8, 18)),
        (date(2026, 9, 1), date(2025, 9, 3)),
        (date(2026, 9, 1), date(2024, 8, 30)),
    ]
    size = next(m for m in told.comparisons[0].measures if m.check_id == "circumference")
    assert (size.now, size.then) == (350, 345)


def test_a_ram_moves_with_his_past() -> None:
    moved = rams.move("2", "Far Side", date(2026, 10, 1), by=BY, now=NOW)
    assert moved.flock_name == "Far Side"
    assert len(rams.history(moved).entries) == 1
    assert models.Examination.objects.get(ram_id=moved.id).flock.name == "Hill End"
    deed = models.AuditEntry.objects.get(action="move")
    assert (deed.before["flock"], deed.after["flock"]) == ("hill-end", "far-side")


def test_a_ram_does_not_move_onto_anothers_tag() -> None:
    with pytest.raises(RecordError, match="another ram bears that tag"):
        rams.move(EID, "Far Side", date(2026, 10, 1), by=BY, now=NOW)
    assert rams.find_ram(EID).flock_name == "Hill End"


def test_a_new_mark_ends_the_old_one() -> None:
    day = date(2026, 10, 1)
    known = rams.identify("Jack", "tag", " 22  A ", on=day, by=BY, now=NOW + timedelta(1))
    assert known.ram.tag == "22 A"
    tags = [(i.value, i.until_on) for i in known.identifiers if i.scheme == "tag"]
    assert tags == [("2", day), ("22 A", None)]
    assert rams.find_ram("22a").id == known.id
    assert rams.find_ram("2").id == known.id, "his old tag finds him no more"


@pytest.mark.parametrize(
    ("scheme", "value", "told"),
    [
        ("tag", "1", "another ram bears that tag"),
        ("eid", EID, "another ram bears that number"),
        ("eid", "12345", "15 digits"),
        ("colour", "red", "no mark of a ram"),
        ("tag", " ", "no mark of a ram"),
    ],
)
def test_a_mark_that_cannot_be_his_is_refused(scheme: str, value: str, told: str) -> None:
    with pytest.raises((RecordError, ValueRefused), match=told):
        rams.identify("Jack", scheme, value, on=date(2026, 10, 1), by=BY, now=NOW)
    assert rams.find_ram("Jack").ram.tag == "2"


def test_what_becomes_known_of_him_leaves_his_examinations_as_they_are() -> None:
    born = Born.on(date(2022, 4, 1))
    known = rams.describe(
        EID, born=born, breed="texel", intended_use="replacements", by=BY, now=NOW
    )
    assert (known.ram.born, known.ram.breed) == (born, "texel")
    assert rams.history(EID).entries[0].examination.ram.born != born
    (deed,) = [d for d in deeds(kind="ram", object_id=known.id) if d.action == "describe"]
    assert deed.before["intended_use"] == "terminal"
    assert deed.after == {
        "breed": "texel",
        "intended_use": "replacements",
        "born_earliest": "2022-04-01",
        "born_latest": "2022-04-01",
    }
    with pytest.raises(ValueRefused, match="not legal for intended_use"):
        rams.describe(EID, intended_use="show", by=BY, now=NOW)


def test_the_outcome_of_the_time_is_told_beside_the_verdict() -> None:
    for entry in rams.history(EID).entries:
        assert entry.told is entry.decision.proposed.outcome

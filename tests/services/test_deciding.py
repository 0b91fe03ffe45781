"""A vet's own verdict and corrections: what goes beside, what replaces, what is refused."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from tests.services.sheets import BY, DAY, NOW, import_rows, row

from stell.core.errors import RecordError, StellError, ValueRefused
from stell.core.records import Born
from stell.core.verdict import Outcome
from stell.services import deciding, flocks, rams
from stell.store import models

LATER = NOW + timedelta(hours=1)


@pytest.fixture
def exam_id(store: object) -> str:
    """A normal examination of the ram with tag 1."""
    flocks.add_flock("Hill End", latitude_deg=54.0, by=BY, now=NOW)
    return import_rows([row(2, tag="1"), row(3, tag="2")], "Hill End").exam_ids[0]


def test_both_verdicts_stay_and_the_last_word_counts(exam_id: str) -> None:
    deciding.override(exam_id, "unsatisfactory", "temper", by="A. Vet", now=NOW)
    deciding.override(exam_id, Outcome.DEFERRED, "to be seen again", by="B. Vet", now=LATER)
    entry = rams.history("1").entries[0]
    assert entry.decision.outcome is Outcome.DEFERRED
    assert entry.decision.proposed.outcome is Outcome.SATISFACTORY
    assert [(o.by, o.reason) for o in entry.overrides] == [
        ("B. Vet", "to be seen again"),
        ("A. Vet", "temper"),
    ]
    assert models.AuditEntry.objects.filter(action="override").count() == 2


@pytest.mark.parametrize(
    ("outcome", "reason", "by", "kind", "told"),
    [
        ("bad", "temper", "A. Vet", ValueRefused, "the word is no verdict"),
        ("deferred", "  ", "A. Vet", RecordError, "needs a reason"),
        ("deferred", "temper", "", RecordError, "needs the name of who gives it"),
    ],
)
def test_an_own_verdict_needs_a_word_a_reason_and_a_name(
    exam_id: str, outcome: str, reason: str, by: str, kind: type[StellError], told: str
) -> None:
    with pytest.raises(kind, match=told):
        deciding.override(exam_id, outcome, reason, by=by, now=NOW)
    assert models.VetOverride.objects.count() == 0


def test_words_without_end_are_refused_before_they_spoil_an_export(exam_id: str) -> None:
    endless = "x" * 4001  # a sheet's limit; a cell of a workbook holds 32,767
    with pytest.raises(RecordError, match="longer than 4,000 characters") as caught:
        deciding.override(exam_id, "deferred", endless, by=BY, now=NOW)
    assert caught.value.got == "4,001 characters"
    for changes in ({"note": endless}, {"examiner": endless}, {"remarks": {"feet": endless}}):
        with pytest.raises(RecordError, match="longer than 4,000 characters"):
            deciding.correct(exam_id, changes, "typo", by=BY, now=NOW)
    assert models.Examination.objects.count() == 2, "nothing was stored"


@pytest.mark.parametrize("unknown", ["017f22e2-79b0-7cc3-98c4-dc0c0c07398f", "what?"])
def test_an_examination_that_is_not_there(exam_id: str, unknown: str) -> None:
    with pytest.raises(RecordError, match="no examination of that id is on record"):
        deciding.override(unknown, "deferred", "temper", by=BY, now=NOW)
    with pytest.raises(RecordError, match="no examination of that id is on record"):
        deciding.correct(unknown, {"note": "x"}, "typo", by=BY, now=NOW)


def test_a_correction_is_judged_and_says_what_it_replaces(exam_id: str) -> None:
    changes = {"observations": {"circumference": [310], "sheath": None}, "note": "read again"}
    new = deciding.correct(exam_id, changes, "tape slipped", by=BY, now=LATER)
    assert new.exam.replaces == exam_id
    assert new.exam.observations["circumference"] == (310,)
    assert "sheath" not in new.exam.observations
    newest, old = rams.history("1").entries
    assert (newest.examination.id, old.corrected_by) == (new.id, new.id)
    # By tests/core/mini.toml: 31 cm of an adult defers, and the sheath has to be looked at.
    assert newest.decision.outcome is Outcome.INCOMPLETE
    assert old.decision.outcome is Outcome.SATISFACTORY, "the old record changed its verdict"
    deed = models.AuditEntry.objects.get(action="correct")
    assert deed.before["circumference"] == [345]
    assert deed.after["circumference"] == [310]
    assert deed.after["reason"] == "tape slipped"


def test_a_correction_of_the_ram_is_learned(exam_id: str) -> None:
    changes = {"born": "2025-03-10", "breed": "texel", "intended_use": "replacements"}
    new = deciding.correct(exam_id, changes, "wrong book", by=BY, now=LATER)
    assert (new.ram.born, new.ram.breed) == (Born.on(date(2025, 3, 10)), "texel")
    stored = models.Ram.objects.get(tag="1")
    assert (stored.born_earliest, stored.intended_use) == (date(2025, 3, 10), "replacements")


def test_the_vets_own_verdict_goes_over_to_the_correction(exam_id: str) -> None:
    deciding.override(exam_id, "unsatisfactory", "temper", by="A. Vet", now=NOW)
    deciding.correct(exam_id, {"note": "x"}, "typo", by=BY, now=LATER)
    newest = rams.history("1").entries[0]
    assert newest.decision.outcome is Outcome.UNSATISFACTORY
    assert newest.overrides[0].by == "A. Vet", "it is no longer the vet's"


def test_an_examination_of_the_wrong_ram_is_put_right(exam_id: str) -> None:
    new = deciding.correct(
        exam_id, {"ram": "2", "examined_on": "2026-08-30"}, "wrong ram", by=BY, now=LATER
    )
    assert rams.find_ram("2").id == new.exam.ram_id
    days = [e.examination.exam.examined_on for e in rams.history("2").entries]
    assert days == [DAY, date(2026, 8, 30)]


def test_a_correction_cannot_land_on_a_day_that_is_taken(exam_id: str) -> None:
    with pytest.raises(RecordError, match="has an examination on record on that day"):
        deciding.correct(exam_id, {"ram": "2"}, "wrong ram", by=BY, now=LATER)


def test_only_what_stands_can_be_corrected_or_overridden(exam_id: str) -> None:
    new = deciding.correct(exam_id, {"note": "x"}, "typo", by=BY, now=LATER)
    for attempt in (
        lambda: deciding.correct(exam_id, {"note": "y"}, "typo", by=BY, now=LATER),
        lambda: deciding.override(exam_id, "deferred", "temper", by=BY, now=LATER),
    ):
        with pytest.raises(RecordError, match="a correction has replaced") as caught:
            attempt()
        assert new.id in caught.value.legal, "the message does not name the record that stands"


@pytest.mark.parametrize(
    ("changes", "code", "told"),
    [
        ({}, "record.refused", "changes nothing"),
        ({"note": ""}, "record.refused", "changes nothing"),
        ({"weight": 80}, "value.choice", "cannot be corrected"),
        ({"observations": {"horns": "none"}}, "value.choice", "no such check"),
        ({"observations": {"sheath": "wet"}}, "value.choice", "no such answer"),
        ({"observations": {"circumference": [34.5]}}, "value.range", "whole numbers of mm"),
        ({"observations": {"circumference": [3450]}}, "value.range", "100 to 600"),
        ({"observations": {"circumference": []}}, "value.range", "cannot be that"),
        ({"examined_on": "4/10/2026"}, "value.date", "could not be understood"),
        ({"ram_type": "mountain"}, "value.choice", "not legal for ram_type"),
        ({"circumstances": ["rain"]}, "value.choice", "not legal for circumstances"),
    ],
)
def test_what_cannot_be_is_refused(
    exam_id: str, changes: dict[str, object], code: str, told: str
) -> None:
    with pytest.raises(StellError, match=told) as caught:
        deciding.correct(exam_id, changes, "typo", by=BY, now=LATER)
    assert caught.value.code == code
    assert models.Examination.objects.count() == 2, "something was stored"


def test_a_correction_needs_a_reason(exam_id: str) -> None:
    with pytest.raises(RecordError, match="a correction needs a reason"):
        deciding.correct(exam_id, {"note": "x"}, " ", by=BY, now=LATER)


@pytest.mark.parametrize(
    ("day", "told"),
    [
        ("2099-01-01", "lies in the future"),
        ("2019-01-01", "before he was born"),
    ],
)
def test_a_correction_cannot_move_an_examination_out_of_the_possible(
    exam_id: str, day: str, told: str
) -> None:
    with pytest.raises(ValueRefused, match=told) as refused:
        deciding.correct(exam_id, {"examined_on": day}, "typo", by=BY, now=LATER)
    assert refused.value.code == "value.date"
    assert models.Examination.objects.filter(replaces__isnull=False).count() == 0

"""A trial of an import says what the import would do, and leaves no trace."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from tests.services.sheets import BY, NOW, import_rows, row

from stell.core.records import Born
from stell.core.verdict import Outcome
from stell.services import flocks
from stell.store import models

pytestmark = pytest.mark.usefixtures("hill_end")
NEXT = date(2027, 8, 20)
LATER = NOW + timedelta(days=360)
TABLES = (
    models.Ram,
    models.Identifier,
    models.Examination,
    models.Judgement,
    models.VetOverride,
    models.SheetImport,
    models.AuditEntry,
    models.ProtocolVersion,
    models.ColumnMapping,
)


@pytest.fixture
def hill_end(store: object) -> None:
    """A flock with two rams of last year, one born in 2023; they went in on 5 Nov 2026."""
    flocks.add_flock(
        "Hill End", latitude_deg=54.0, mating_start_on=date(2026, 11, 5), by=BY, now=NOW
    )
    import_rows([row(2, tag="BF09"), row(3, tag="BF10")], "Hill End")


def counts() -> list[int]:
    """Count what is on record."""
    return [table.objects.count() for table in TABLES]


ROWS = [
    row(2, tag="BF09", born=None, intended_use="", on=NEXT),  # what he is stands on the books
    row(3, tag="BF10"),  # stored last year already
    row(4, tag="BF 13", tone_left="soft", on=NEXT),
    row(5, tag="5", override="unsatisfactory", override_reason="temper", on=NEXT),
]


def test_a_trial_tells_what_the_import_then_does() -> None:
    before = counts()
    tried = import_rows(ROWS, "Hill End", trial=True, now=LATER)
    assert counts() == before, "a trial left something behind"
    done = import_rows(ROWS, "Hill End", now=LATER)
    for name in ("stored", "unchanged", "corrected", "refused", "new_rams", "new", "outcomes",
                 "notices"):  # fmt: skip
        assert getattr(tried, name) == getattr(done, name), name
    assert (done.stored, done.unchanged, done.new) == (3, 1, ("BF 13", "5"))
    assert len(done.exam_ids) == 3


def test_the_verdicts_of_a_trial_use_what_is_on_record() -> None:
    tried = import_rows(ROWS, "Hill End", trial=True, now=LATER)
    by_tag = {r.row.ram.tag: r for r in tried.judged}
    assert by_tag["BF09"].row.ram.born == Born.on(date(2023, 3, 10)), "as stored last year"
    # By tests/core/mini.toml: nothing wrong with a ram of that age; soft defers.
    assert by_tag["BF09"].decision.outcome is Outcome.SATISFACTORY
    assert by_tag["BF 13"].decision.outcome is Outcome.DEFERRED
    assert by_tag["5"].decision.override.reason == "temper"
    stored = {j.examination.ram.tag: j.outcome for j in _judgements_after_import()}
    proposed = {tag: r.decision.proposed.outcome.value for tag, r in by_tag.items()}
    assert stored == proposed


def _judgements_after_import() -> list[models.Judgement]:
    import_rows(ROWS, "Hill End", now=LATER)
    return list(models.Judgement.objects.filter(examination__examined_on=NEXT))


def test_a_trial_tells_of_the_good_rows_although_others_are_refused() -> None:
    clash = row(9, tag="BF10", tone_left="hard")  # other contents than on record for that day
    before = counts()
    tried = import_rows([*ROWS, clash], "Hill End", trial=True, now=LATER)
    assert (tried.stored, tried.refused, tried.refused_rows) == (3, 1, (9,))
    assert [p.code for p in tried.problems] == ["row.duplicate"]
    assert counts() == before


@pytest.mark.parametrize(
    ("tag", "meant"),
    [
        ("bf9", "BF09"),
        ("BF009", "BF09"),
        ("BFO9", "BF09"),
        ("FB09", "BF09"),
        ("09", "BF09"),
        ("BF/10", "BF10"),
        ("BF11", ""),
        ("BF90", ""),
        ("ZZ09", ""),
    ],
)
def test_a_new_ram_who_looks_like_one_on_the_books_is_pointed_out(tag: str, meant: str) -> None:
    result = import_rows([row(2, tag=tag, on=NEXT)], "Hill End", trial=True, now=LATER)
    assert result.new == (tag,)
    told = [n for n in result.notices if "did you mean" in n]
    expected = f"{tag} — did you mean {meant}, who is on the books?"
    assert [expected in n for n in told] == ([True] if meant else []), result.notices


def test_nobody_is_taken_for_a_ram_who_has_a_row_of_his_own() -> None:
    rows = [row(2, tag="bf9", on=NEXT), row(3, tag="BF09", on=NEXT)]
    result = import_rows(rows, "Hill End", trial=True, now=LATER)
    assert not [n for n in result.notices if "did you mean" in n], result.notices


def test_a_slip_in_a_name_is_pointed_out() -> None:
    import_rows([row(2, tag="", name="Bracken")], "Hill End")
    result = import_rows([row(2, name="Braken", on=NEXT)], "Hill End", trial=True, now=LATER)
    assert any("Braken — did you mean Bracken" in n for n in result.notices), result.notices


def test_a_mating_start_before_the_examinations_is_said() -> None:
    result = import_rows([row(2, tag="BF09", on=NEXT)], "Hill End", now=LATER)
    (told,) = [n for n in result.notices if "mating start" in n]
    assert "mating start on the books is 5 Nov 2026, before these examinations" in told
    assert "stell flock mating-start hill-end" in told


def test_a_start_that_is_given_or_to_come_is_not_asked_for() -> None:
    this_year = import_rows([row(2, tag="BF11")], "Hill End")
    given = import_rows(
        [row(2, tag="BF09", on=NEXT)], "Hill End", mating_start_on=date(2027, 11, 5), now=LATER
    )
    for result in (this_year, given):
        assert not [n for n in result.notices if "before these" in n], result.notices


def test_rows_that_leave_much_blank_are_counted_once() -> None:
    # Of mini.toml's choices jaw, feet, tones and sheath are required: five.
    bare = dict.fromkeys(("jaw", "feet", "tone_left", "tone_right", "sheath"))
    rows = [row(2, tag="BF11", **bare), row(3, tag="BF12", **bare), row(4, tag="BF13")]
    result = import_rows(rows, "Hill End")
    (told,) = [n for n in result.notices if "blank" in n]
    assert told.startswith("2 rows leave 5 checks blank. If blank means looked at and nothing")
    assert "add a column 'Rest normal' with yes; if not, they stay open" in told

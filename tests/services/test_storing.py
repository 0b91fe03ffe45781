"""A sheet in: what is stored, what a second import changes, what a correction replaces."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from tests.services.sheets import BY, DAY, NOW, import_rows, reading, row

from stell.core.errors import SheetError, StellError
from stell.core.records import Born
from stell.core.verdict import Outcome
from stell.services import flocks
from stell.store import models

pytestmark = pytest.mark.usefixtures("hill_end")
LATER = NOW + timedelta(days=1)


@pytest.fixture
def hill_end(store: object) -> None:
    """A flock without rams; they go in on 5 Nov 2026."""
    flocks.add_flock(
        "Hill End", latitude_deg=54.0, mating_start_on=date(2026, 11, 5), by=BY, now=NOW
    )


def counts() -> dict[str, int]:
    """Count what is on record."""
    tables = (
        models.Ram,
        models.Identifier,
        models.Examination,
        models.Judgement,
        models.VetOverride,
        models.SheetImport,
        models.AuditEntry,
    )
    return {m.__name__: m.objects.count() for m in tables}


def only_problem(problems: tuple[StellError, ...]) -> StellError:
    """Return the one problem there is."""
    assert len(problems) == 1, [p.text() for p in problems]
    return problems[0]


def test_rams_examinations_and_verdicts_are_stored() -> None:
    result = import_rows(
        [row(2, tag="1"), row(3, tag="2", tone_left="soft"), row(4, tag="3", tone_right="hard")],
        "hill end",
    )
    assert (result.stored, result.new_rams, result.refused) == (3, 3, 0)
    # By tests/core/mini.toml: soft defers 60 days, hard rejects.
    assert result.outcomes == {
        Outcome.SATISFACTORY: 1,
        Outcome.DEFERRED: 1,
        Outcome.UNSATISFACTORY: 1,
    }
    soft = models.Examination.objects.get(ram__tag="2")
    judged = soft.judgements.get()
    # 60 days after 1 Sep 2026 is 31 Oct 2026 (29 to the end of September, 31 in October).
    assert judged.reexamine_on == date(2026, 10, 31)
    assert judged.is_ready_in_time is True, "31 Oct is before the rams go in on 5 Nov"
    assert judged.rules == [["tone_left.soft", 4, 60]], judged.rules
    assert soft.observations["tone_left"] == "soft"
    assert soft.mating_start_on == date(2026, 11, 5)
    assert (soft.received_at, soft.recorded_by) == (NOW, BY)


def test_the_same_sheet_again_changes_nothing() -> None:
    rows = [row(2, tag="1"), row(3, tag="2", tone_left="soft", override="unsatisfactory",
                                 override_reason="temper")]  # fmt: skip
    import_rows(rows, "Hill End")
    before = counts()
    again = import_rows(rows, "Hill End", now=LATER)
    assert (again.stored, again.unchanged, again.exam_ids) == (0, 2, ())
    assert counts() == before, "an import of what is stored left a trace"


def test_the_order_of_several_answers_is_no_difference() -> None:
    import_rows([row(2, tag="1", feet=("scald", "rot"))], "Hill End")
    again = import_rows([row(2, tag="1", feet=("rot", "scald"))], "Hill End", now=LATER)
    assert (again.unchanged, again.problems) == (1, ())


def test_other_contents_for_the_same_ram_and_day_are_a_conflict() -> None:
    import_rows([row(2, tag="1")], "Hill End")
    before = counts()
    again = import_rows([row(9, tag="1", circumference=(310,), note="again")], "Hill End")
    problem = only_problem(again.problems)
    assert problem.code == "row.conflict", problem
    assert problem.where == "flock.csv, row 9"
    assert problem.got == "other note, circumference", problem.got
    assert counts() == before, "a refused row left a trace"


def test_a_correction_replaces_and_both_stay() -> None:
    first = import_rows([row(2, tag="1", circumference=(310,))], "Hill End")
    result = import_rows(
        [row(2, tag="1", circumference=(345,))], "Hill End", corrections="misread", now=LATER
    )
    assert (result.corrected, result.stored, result.problems) == (1, 0, ())
    new = models.Examination.objects.get(id=result.exam_ids[0])
    assert str(new.replaces_id) == first.exam_ids[0]
    assert new.correction_reason == "misread"
    assert new.replaces.observations["circumference"] == [310], "the old record was changed"
    deed = models.AuditEntry.objects.get(action="correct")
    assert (deed.by, deed.after["reason"]) == (BY, "misread")


def test_the_sheet_before_a_correction_may_come_again() -> None:
    old = [row(2, tag="1", circumference=(310,))]
    import_rows(old, "Hill End")
    import_rows([row(2, tag="1", circumference=(345,))], "Hill End", corrections="misread")
    again = import_rows(old, "Hill End", now=LATER)
    assert (again.unchanged, again.problems) == (1, ())
    assert again.notices == ("flock.csv, row 2: was corrected since; the correction stands",)


def test_a_birth_that_is_stated_later_is_a_correction_of_what_was_known() -> None:
    import_rows([row(2, tag="1", born=None)], "Hill End")
    told = [row(2, tag="1", born=Born.on(date(2023, 3, 10)))]
    problem = only_problem(import_rows(told, "Hill End").problems)
    assert problem.got == "other born", problem.text()
    result = import_rows(told, "Hill End", corrections="births added", now=LATER)
    assert result.outcomes == {Outcome.SATISFACTORY: 1}, "his age does not count yet"


def test_a_sheet_that_says_less_of_the_ram_is_no_conflict() -> None:
    import_rows([row(2, tag="1", breed="texel")], "Hill End")
    again = import_rows([row(2, tag="1", breed="", born=None)], "Hill End", now=LATER)
    assert (again.unchanged, again.problems) == (1, ())


def test_what_was_known_of_the_ram_counts_when_the_sheet_is_silent() -> None:
    import_rows([row(2, tag="1")], "Hill End")
    next_year = date(2027, 9, 1)
    import_rows([row(2, tag="1", born=None, on=next_year)], "Hill End", now=LATER)
    exam = models.Examination.objects.get(examined_on=next_year)
    assert exam.born_earliest == date(2023, 3, 10), "the birth on the books was not used"


def test_the_vets_own_verdict_is_stored_beside_the_proposal() -> None:
    rows = [row(2, tag="1", override="unsatisfactory", override_reason="temper", examiner="D. R.")]
    result = import_rows(rows, "Hill End")
    assert result.outcomes == {Outcome.UNSATISFACTORY: 1}
    exam = models.Examination.objects.get()
    assert exam.judgements.get().outcome == "satisfactory", "the proposal must stay"
    own = exam.overrides.get()
    assert (own.outcome, own.reason, own.by, own.on) == ("unsatisfactory", "temper", "D. R.", DAY)


def test_a_later_word_of_the_vet_is_added_to_an_unchanged_row() -> None:
    import_rows([row(2, tag="1", override="unsatisfactory", override_reason="temper")], "Hill End")
    again = [row(2, tag="1", override="satisfactory", override_reason="calmer now")]
    result = import_rows(again, "Hill End", now=LATER)
    assert result.unchanged == 1
    words = list(models.VetOverride.objects.values_list("outcome", flat=True))
    assert words == ["unsatisfactory", "satisfactory"], "the last word counts, both stay"


def test_a_correction_keeps_the_vets_own_verdict() -> None:
    import_rows([row(2, tag="1", override="unsatisfactory", override_reason="temper")], "Hill End")
    result = import_rows([row(2, tag="1", note="typo")], "Hill End", corrections="note", now=LATER)
    new = models.Examination.objects.get(id=result.exam_ids[0])
    assert new.overrides.get().reason == "temper", "a typo corrected lost the vet's verdict"
    assert result.outcomes == {Outcome.UNSATISFACTORY: 1}


def test_one_bad_row_and_nothing_is_stored() -> None:
    before = counts()
    bad = SheetError("row.value", "a cell that cannot be", where="flock.csv, row 3")
    sheet = reading([row(2, tag="1")], problems=(bad,), refused_rows=frozenset({3}))
    from tests.core.mini import mini

    from stell.services.storing import Terms, store_reading

    result = store_reading(sheet, "Hill End", mini(), Terms(by=BY, now=NOW))
    assert (result.stored, result.refused, result.problems) == (0, 1, (bad,))
    assert counts() == before
    kept = store_reading(sheet, "Hill End", mini(), Terms(BY, NOW, accept_good_rows=True))
    assert (kept.stored, kept.refused, kept.problems) == (1, 1, (bad,))
    assert models.SheetImport.objects.get().refused == 1


def test_two_rows_of_one_ram_and_day_are_refused() -> None:
    rows = [row(2, tag="1", eid="826000000000001"), row(3, eid="826000000000001")]
    problem = only_problem(import_rows(rows, "Hill End").problems)
    assert problem.code == "row.duplicate"
    assert problem.where == "flock.csv, row 3"
    assert "row 2" in problem.problem


def test_two_days_of_one_new_ram_are_one_ram() -> None:
    rows = [row(2, tag="1"), row(3, tag="1", on=date(2026, 9, 15))]
    result = import_rows(rows, "Hill End")
    assert (result.stored, result.new_rams) == (2, 1)


def test_ids_that_a_sheet_brings_along_are_kept() -> None:
    own = "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"
    result = import_rows([row(2, tag="1", exam_id=own)], "Hill End")
    assert result.exam_ids == (own,)
    again = import_rows([row(2, tag="1", exam_id=own)], "Hill End")
    assert again.unchanged == 1


@pytest.mark.parametrize(
    ("exam_id", "code"),
    [("not-an-id", "row.value"), ("017f22e2-79b0-7cc3-98c4-dc0c0c07398f", "row.conflict")],
)
def test_an_id_that_cannot_be_his_is_refused(exam_id: str, code: str) -> None:
    import_rows([row(2, tag="1", exam_id="017f22e2-79b0-7cc3-98c4-dc0c0c07398f")], "Hill End")
    problem = only_problem(import_rows([row(3, tag="2", exam_id=exam_id)], "Hill End").problems)
    assert problem.code == code, problem.text()


def test_a_sheet_of_several_flocks() -> None:
    flocks.add_flock("Far Side", latitude_deg=54.0, ram_type="hill", by=BY, now=NOW)
    rows = [row(2, tag="1", flock="HILL END"), row(3, tag="1", flock="far side")]
    result = import_rows(rows, None)
    assert (result.stored, result.new_rams) == (2, 2), "tag 1 is another ram in another flock"
    far = models.Examination.objects.get(flock__name="Far Side")
    assert far.ram_type == "hill", "the flock's type counts when nothing else is said"


@pytest.mark.parametrize(
    ("given", "in_row", "told"),
    [
        (None, "", "names no flock"),
        (None, "Hil End", "no flock of that name"),
        ("Hill End", "Far Side", "of another flock"),
    ],
)
def test_a_row_of_no_known_flock_is_refused(given: str | None, in_row: str, told: str) -> None:
    problem = only_problem(import_rows([row(2, tag="1", flock=in_row)], given).problems)
    assert problem.code == "row.value"
    assert told in problem.problem
    assert "Hill End" in problem.legal, "the message does not name what is legal"


def test_the_season_that_was_given_counts_before_the_flocks_own() -> None:
    import_rows([row(2, tag="1")], "Hill End", mating_start_on=date(2026, 10, 1))
    assert models.Examination.objects.get().mating_start_on == date(2026, 10, 1)


def test_a_start_that_no_season_has_is_put_on_record() -> None:
    start = date(2027, 11, 4)
    result = import_rows([row(2, tag="1", on=date(2027, 9, 1))], "Hill End", mating_start_on=start)
    told = "4 Nov 2027 is now on record as start of mating of Hill End"
    assert result.notices == (told,)
    assert flocks.find_flock("Hill End").mating_starts == (date(2026, 11, 5), start)


def test_progress_ends_with_everything_done() -> None:
    from tests.core.mini import mini

    from stell.services.storing import Terms, store_reading

    told: list[tuple[int, int]] = []
    rows = [row(n, tag=str(n)) for n in range(2, 602)]
    store_reading(
        reading(rows), "Hill End", mini(), Terms(BY, NOW), lambda d, t: told.append((d, t))
    )
    assert told == [(250, 600), (500, 600), (600, 600)]


def test_the_audit_says_who_brought_in_what() -> None:
    import_rows([row(2, tag="1")], "Hill End")
    deed = models.AuditEntry.objects.get(action="import")
    assert (deed.by, deed.at, deed.kind) == (BY, NOW, "sheet")
    assert deed.after["stored"] == 1
    assert deed.after["sheet"] == "flock.csv"

"""What was done goes off the lists; verdicts stay; what was marked by mistake is taken back."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from tests.services.sheets import BY, NOW, import_rows, row, timed

from stell.core.deeds import Deed, Medicine
from stell.core.errors import RecordError, StellError, ValueRefused
from stell.core.verdict import Outcome
from stell.services import deciding, deeds, due, flocks, rams
from stell.services.examinations import find_examination
from stell.services.reporting import owner_report
from stell.services.seasons import flock_season
from stell.store import models

START = date(2026, 11, 5)
DAY = date(2026, 9, 1)
TODAY = date(2026, 9, 16)
LATER = NOW + timedelta(days=15)
GIVEN = Medicine("Invented A", "10 ml", "28 days for meat", date(2026, 10, 4))
pytestmark = pytest.mark.usefixtures("hill_end")


@pytest.fixture
def hill_end(store: object) -> None:
    """A flock that goes to mating on 5 Nov 2026."""
    flocks.add_flock("Hill End", latitude_deg=54.0, mating_start_on=START, by=BY, now=NOW)


def seen(*rows: Any) -> tuple[str, ...]:
    """Import rows under the protocol with a timetable."""
    result = import_rows(rows, "Hill End", timed())
    assert not result.problems, [p.text() for p in result.problems]
    return result.exam_ids


def done(exam_id: str, kind: str, on: date = date(2026, 9, 2), **more: Any) -> Deed:
    """Put a deed on record."""
    return deeds.put_done(exam_id, kind, done_on=on, **({"by": BY, "now": LATER} | more))


def open_kinds(tag: str, today: date = TODAY) -> list[str]:
    """Return what the work list asks of a ram."""
    found = due.work_list(today)
    return [i.todo.kind for i in found if i.todo.ram and i.todo.ram.ram.tag == tag]


# ---------------------------------------------------------------- lists and verdict


def test_what_was_done_goes_off_the_list_and_the_verdict_stays() -> None:
    (exam_id,) = seen(row(2, tag="1", feet=("rot",)))
    assert open_kinds("1") == ["isolate", "treat", "reexamine"]
    deed = done(exam_id, "keep apart", on=DAY, done_by="Shepherd", note="old byre")
    assert (deed.kind, deed.rules, deed.done_by) == ("isolate", ("feet.rot",), "Shepherd")
    done(exam_id, "treat", medicine=GIVEN)
    assert open_kinds("1") == ["reexamine"]
    entry = rams.history("1").entries[0]
    assert entry.decision.outcome is Outcome.DEFERRED, "a deed changed the verdict"
    assert [d.kind for d in entry.deeds] == ["isolate", "treat"]
    assert entry.deeds[1].medicine == GIVEN
    assert entry.deeds[1].done_by == entry.deeds[1].entered_by == BY
    (ram,) = flock_season("Hill End", today=TODAY).rams
    assert ram.deeds == entry.deeds
    stored = models.Deed.objects.get(kind="treat")
    assert (stored.recorded_at, stored.received_at) == (LATER, LATER)
    assert stored.id.version == 7
    noted = models.AuditEntry.objects.filter(action="done")
    assert [n.after["kind"] for n in noted.order_by("id")] == ["isolate", "treat"]


def test_a_new_examination_asks_anew() -> None:
    (exam_id,) = seen(row(2, tag="1", feet=("rot",)))
    done(exam_id, "treat")
    seen(row(2, tag="1", on=date(2026, 9, 15), feet=("rot",)))
    assert open_kinds("1") == ["isolate", "treat", "reexamine"]


def test_one_of_two_findings_by_its_rule() -> None:
    (exam_id,) = seen(row(2, tag="1", feet=("scald",), sheath="sore"))
    assert done(exam_id, "treat", rule="sheath.sore").rules == ("sheath.sore",)
    left = [i.todo for i in due.work_list(TODAY) if i.todo.kind == "treat"]
    assert [t.rules for t in left] == [("feet.scald",)]
    assert done(exam_id, "treat").rules == ("feet.scald",), "what is open is what was done"
    assert open_kinds("1") == ["reexamine"]


def test_the_vets_own_rejection_can_be_carried_out() -> None:
    (exam_id,) = seen(row(2, tag="1"))
    deciding.override(exam_id, "unsatisfactory", "temper", by=BY, now=NOW)
    assert open_kinds("1") == ["withdraw"]
    assert done(exam_id, "do not use").rules == ()
    assert open_kinds("1") == []


def test_limits_on_use_are_made_known_and_go_on() -> None:
    (exam_id,) = seen(row(2, tag="1", jaw="short"))
    done(exam_id, "restrict", note="owner told")
    (entry,) = rams.history("1").entries
    assert entry.decision.proposed.restrictions == ("not_replacements",)


def test_the_owners_report_asks_no_more_for_what_was_done(tmp_path: Path) -> None:
    from pypdf import PdfReader

    (exam_id,) = seen(row(2, tag="1", feet=("rot",)))

    def text(name: str) -> str:
        pages = PdfReader(owner_report("Hill End", today=TODAY, path=tmp_path / name)).pages
        return " ".join(" ".join(p.extract_text() for p in pages).split())

    # The day on which a thing was due stands only with what is still asked for.
    assert "was due 2 Sep 2026" in text("before.pdf")
    done(exam_id, "treat")
    done(exam_id, "isolate")
    after = text("after.pdf")
    assert "was due 2 Sep 2026" not in after, "treated, and still asked for"
    assert "Keep apart" in after, "he was put apart, and that goes on"


# ---------------------------------------------------------------- withdrawal


def test_until_when_he_is_not_for_slaughter() -> None:
    ids = seen(row(2, tag="1", feet=("rot",), tone_left="hard"), row(3, tag="2"))
    done(ids[0], "treat", medicine=GIVEN)
    told = "not for slaughter before 4 Oct 2026, as entered by E. Quill (Invented A, 28 days"
    season = flock_season("Hill End", today=date(2026, 10, 3))
    assert [r.slaughter_notice[: len(told)] for r in season.rams] == [told, ""]
    (withdraw,) = [t for t in season.to_do if t.kind == "withdraw"]
    assert withdraw.notice.startswith(told), "a rejected ram is on his way to slaughter"
    assert rams.history("1").slaughter_notice(date(2026, 10, 3)).startswith(told)
    assert rams.history("1").slaughter_notice(date(2026, 10, 4)) == ""
    assert flock_season("Hill End", today=date(2026, 10, 4)).rams[0].slaughter_notice == ""


def test_a_withdrawal_outlasts_the_season_it_was_given_in() -> None:
    (exam_id,) = seen(row(2, tag="1", feet=("rot",)))
    long = Medicine("Invented A", withdrawal_until=date(2027, 3, 1))
    done(exam_id, "treat", medicine=long)
    flocks.set_mating_start("Hill End", date(2027, 11, 4), by=BY, now=NOW)
    # The season of 2026 ends 60 days after 5 Nov; on 1 Feb the one of 2027 is shown.
    season = flock_season("Hill End", today=date(2027, 2, 1))
    assert season.mating_start_on == date(2027, 11, 4)
    (ram,) = season.rams
    assert (ram.examination, ram.deeds) == (None, ())
    assert ram.slaughter_notice.startswith("not for slaughter before 1 Mar 2027")


def test_what_was_entered_is_kept_to_the_letter_and_nothing_is_reckoned() -> None:
    (exam_id,) = seen(row(2, tag="1", feet=("rot",)))
    deed = done(exam_id, "treat", medicine=Medicine(" Invented B ", "", "4 weeks", None))
    assert deed.medicine == Medicine("Invented B", "", "4 weeks", None)
    assert rams.history("1").slaughter_notice(TODAY) == ""


# ---------------------------------------------------------------- taken back


def test_a_mistaken_deed_is_taken_back_and_both_stay() -> None:
    (exam_id,) = seen(row(2, tag="1", feet=("rot",)))
    deed = done(exam_id, "treat", medicine=GIVEN)
    back = deeds.take_back(deed.deed_id, "that was tag 2", by="A. Vet", now=LATER)
    assert back.taken_back is not None
    assert (back.taken_back.reason, back.taken_back.by) == ("that was tag 2", "A. Vet")
    assert open_kinds("1") == ["isolate", "treat", "reexamine"]
    history = rams.history("1")
    assert history.entries[0].deeds == (back,), "the mistake is no longer on record"
    assert history.slaughter_notice(TODAY) == "", "he was not treated"
    assert models.AuditEntry.objects.filter(action="not done", kind="deed").count() == 1
    with pytest.raises(RecordError, match="taken back before"):
        deeds.take_back(deed.deed_id, "once more", by=BY, now=LATER)
    done(exam_id, "treat", medicine=GIVEN)
    assert open_kinds("1") == ["isolate", "reexamine"], "done in truth after all"


def test_taking_back_needs_a_reason_and_a_deed() -> None:
    (exam_id,) = seen(row(2, tag="1", feet=("rot",)))
    deed = done(exam_id, "treat")
    with pytest.raises(RecordError, match="needs a reason"):
        deeds.take_back(deed.deed_id, " ", by=BY, now=LATER)
    for unknown in ("what?", exam_id):
        with pytest.raises(RecordError, match="no deed of that id"):
            deeds.take_back(unknown, "a slip", by=BY, now=LATER)
    assert models.DeedTakenBack.objects.count() == 0


def test_which_deed_is_meant() -> None:
    (exam_id,) = seen(row(2, tag="1", feet=("rot",)))
    first = done(exam_id, "treat", on=date(2026, 9, 2))
    _, entry = find_examination(exam_id)
    with pytest.raises(RecordError, match="nothing of that kind") as caught:
        deeds.deed_meant(entry, "isolate")
    assert "treated on 2 Sep 2026" in caught.value.legal
    assert deeds.deed_meant(entry, "treat").deed_id == first.deed_id
    second = done(exam_id, "treat", on=date(2026, 9, 5))
    _, entry = find_examination("1", "Hill End", DAY)
    with pytest.raises(RecordError, match="done 2 times") as caught:
        deeds.deed_meant(entry, "treat")
    assert "--on 2026-09-05" in caught.value.example
    assert deeds.deed_meant(entry, "treat", done_on=date(2026, 9, 5)).deed_id == second.deed_id


# ---------------------------------------------------------------- corrections


def test_a_correction_keeps_what_was_done_and_asks_for_what_is_new() -> None:
    (exam_id,) = seen(row(2, tag="1", feet=("scald",)))
    done(exam_id, "treat")
    new = deciding.correct(
        exam_id, {"observations": {"sheath": "sore"}}, "left out", by=BY, now=LATER
    )
    asked = [t for t in flock_season("Hill End", today=TODAY).to_do if t.kind == "treat"]
    assert [t.rules for t in asked] == [("sheath.sore",)], "the new finding was never treated"
    again = deciding.correct(new.id, {"note": "x"}, "typo", by=BY, now=LATER)
    done(again.id, "treat")
    assert open_kinds("1") == ["reexamine"]
    assert models.Deed.objects.count() == 2, "a deed was copied"


def test_other_figures_are_asked_anew_whether_to_be_measured_again() -> None:
    (exam_id,) = seen(row(2, tag="1", circumference=(322,)))  # within 0.4 cm of 32 cm
    done(exam_id, "measure again")
    assert open_kinds("1") == []
    changes = {"observations": {"circumference": [323]}}
    deciding.correct(exam_id, changes, "misread", by=BY, now=LATER)
    assert open_kinds("1") == ["measure_again"]


def test_deeds_about_the_wrong_ram_do_not_go_over_to_the_right_one() -> None:
    ids = seen(row(2, tag="1", feet=("rot",)), row(3, tag="2", on=date(2026, 8, 20)))
    done(ids[0], "treat", medicine=GIVEN)
    deciding.correct(ids[0], {"ram": "2"}, "wrong ram", by=BY, now=LATER)
    assert "treat" in open_kinds("2"), "who was treated is for a person to say"
    assert rams.history("1").slaughter_notice(TODAY), "the needle went into somebody"


def test_what_a_correction_replaced_takes_no_more_deeds() -> None:
    (exam_id,) = seen(row(2, tag="1", feet=("rot",)))
    new = deciding.correct(exam_id, {"note": "x"}, "typo", by=BY, now=LATER)
    with pytest.raises(RecordError, match="a correction has replaced") as caught:
        done(exam_id, "treat")
    assert new.id in caught.value.legal


# ---------------------------------------------------------------- what is refused


@pytest.mark.parametrize(
    ("kind", "more", "code", "told"),
    [
        ("reexamine", {}, "value.choice", "is an examination"),
        ("complete", {}, "value.choice", "goes into the examination"),
        ("vaccinate", {}, "value.choice", "nothing a verdict asks for"),
        ("report", {}, "record.refused", "does not ask for that"),
        ("treat", {"rule": "sheath.sore"}, "value.choice", "that rule does not ask"),
        ("treat", {"by": " "}, "record.refused", "needs the name"),
        ("treat", {"on": date(2026, 8, 31)}, "value.date", "before the examination"),
        ("treat", {"on": date(2026, 9, 18)}, "value.date", "yet to come"),
        ("isolate", {"medicine": GIVEN}, "value.choice", "belong to a treatment"),
        ("treat", {"medicine": Medicine("", "10 ml")}, "value.choice", "that of a product"),
        (
            "treat",
            {"medicine": Medicine("Invented A", withdrawal_until=DAY)},
            "value.date",
            "cannot end before",
        ),
    ],
)
def test_what_cannot_be_is_refused(kind: str, more: dict[str, Any], code: str, told: str) -> None:
    (exam_id,) = seen(row(2, tag="1", feet=("rot",)))
    with pytest.raises(StellError, match=told) as caught:
        done(exam_id, kind, **more)
    assert caught.value.code == code
    assert caught.value.legal, "the message does not say what would be right"
    assert models.Deed.objects.count() == 0


def test_a_sound_ram_asks_for_nothing() -> None:
    (exam_id,) = seen(row(2, tag="1"))
    with pytest.raises(RecordError, match="nothing that could be done"):
        done(exam_id, "treat")


def test_twice_is_refused_but_for_another_treatment() -> None:
    (exam_id,) = seen(row(2, tag="1", feet=("rot",)))
    done(exam_id, "isolate")
    with pytest.raises(RecordError, match="on record as done"):
        done(exam_id, "isolate", on=date(2026, 9, 5))
    done(exam_id, "treat", medicine=GIVEN)
    with pytest.raises(RecordError, match="on record as done"):
        done(exam_id, "treat", medicine=GIVEN)
    again = done(exam_id, "treat", on=date(2026, 9, 5), medicine=GIVEN)
    assert again.rules == ("feet.rot",), "the second dose is of the same finding"


def test_the_day_where_he_stands_may_be_ahead_of_the_store() -> None:
    (exam_id,) = seen(row(2, tag="1", feet=("rot",)))
    # LATER is 16 Sep, 17:00 UTC: from 13 hours ahead of it on, the 17th has begun.
    assert done(exam_id, "treat", on=date(2026, 9, 17)).done_on == date(2026, 9, 17)


def test_the_same_deed_may_be_handed_in_twice() -> None:
    from stell.store.identity import new_id

    (exam_id, other) = seen(row(2, tag="1", feet=("rot",)), row(3, tag="2", feet=("rot",)))
    deed_id = new_id(NOW)
    first = done(exam_id, "treat", deed_id=deed_id, recorded_at=NOW, device="phone 1")
    assert done(exam_id, "treat", deed_id=deed_id, recorded_at=NOW) == first
    assert models.Deed.objects.get().recorded_at == NOW
    with pytest.raises(RecordError, match="another deed is on record under that id"):
        done(other, "treat", deed_id=deed_id)


def test_the_database_itself_refuses_what_does_not_fit() -> None:
    (exam_id,) = seen(row(2, tag="1", feet=("rot",)))
    plain = {"examination_id": exam_id, "rules": [], "done_on": DAY, "done_by": BY}
    plain |= {"recorded_at": NOW, "received_at": NOW, "recorded_by": BY}
    from stell.store.identity import new_id

    for wrong in (
        {"kind": "isolate", "product": "Invented A"},
        {"kind": "treat", "dose": "10 ml"},
        {"kind": "treat", "product": "Invented A", "withdrawal_until": date(2026, 8, 31)},
    ):
        with pytest.raises(IntegrityError), transaction.atomic():
            models.Deed(id=new_id(NOW), **plain, **wrong).save()


# ---------------------------------------------------------------- by id, by ram and day


def test_an_examination_is_found_by_its_id_or_by_ram_and_day() -> None:
    (old,) = seen(row(2, tag="1", on=date(2026, 8, 20)))
    (new,) = seen(row(2, tag="1"))
    ram, entry = find_examination("1")
    assert (ram.ram.tag, entry.examination.id) == ("1", new)
    assert find_examination(old)[1].examination.id == old
    assert find_examination("1", "Hill End", date(2026, 8, 20))[1].examination.id == old
    assert find_examination(ram.id)[1].examination.id == new, "the id of a ram"
    with pytest.raises(RecordError, match="no examination on that day") as caught:
        find_examination("1", None, date(2026, 8, 21))
    assert caught.value.legal == "2026-09-01, 2026-08-20"
    with pytest.raises(RecordError, match="no ram with that mark"):
        find_examination("017f22e2-79b0-7cc3-98c4-dc0c0c07398f")


def test_a_refused_word_is_refused_before_anything_is_looked_up() -> None:
    with pytest.raises(ValueRefused):
        deeds.put_done("nobody", "vaccinate", done_on=DAY, by=BY, now=NOW)

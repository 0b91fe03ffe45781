"""One flock's season: who stands where, who is ready, what is open.

Days are counted by hand under the invented figures of `sheets.timed`: a soft testis defers 60
days, scald 14; quarantine and settling together take 42 days.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from tests.services.sheets import BY, NOW, import_rows, row, timed

from stell.core.verdict import Outcome
from stell.services import deciding, due, flocks, rams
from stell.services.seasons import FlockSeason, RamSeason, all_seasons, flock_season

START = date(2026, 11, 5)
EARLY = date(2026, 8, 20)  # 77 days before the rams go in
LATE = date(2026, 9, 15)  # 51 days before: too late for 60 days
TODAY = date(2026, 9, 16)


@pytest.fixture
def hill_end(store: object) -> None:
    """A flock that goes to mating on 5 Nov 2026, and did on 6 Nov 2025."""
    flocks.add_flock(
        "Hill End", latitude_deg=54.0, mating_start_on=date(2025, 11, 6), by=BY, now=NOW
    )
    flocks.set_mating_start("Hill End", START, by=BY, now=NOW)


def bring_in(*rows: Any, **terms: Any) -> tuple[str, ...]:
    """Import rows under the protocol with a timetable."""
    result = import_rows(rows, "Hill End", timed(), **terms)
    assert not result.problems, [p.text() for p in result.problems]
    return result.exam_ids


def season(today: date = TODAY, start: date | None = None) -> FlockSeason:
    """Return Hill End's season."""
    return flock_season("Hill End", start, today=today)


def ram_of(found: FlockSeason, tag: str) -> RamSeason:
    """Return one ram of a season."""
    return next(r for r in found.rams if r.ram.ram.tag == tag)


def open_for(found: FlockSeason, tag: str) -> list[tuple[str, date]]:
    """Return what is open for a ram, as (kind, day)."""
    return [(t.kind, t.due_on) for t in found.to_do if t.ram and t.ram.ram.tag == tag]


@pytest.mark.usefixtures("hill_end")
def test_counts_readiness_and_days() -> None:
    bring_in(
        row(2, tag="1", on=EARLY),
        row(3, tag="2", on=EARLY, tone_left="soft"),
        row(4, tag="3", on=EARLY, tone_left="hard"),
        row(5, tag="4", on=EARLY, sheath=None),
    )
    found = season()
    assert found.mating_start_on == START
    assert found.counts == dict.fromkeys(Outcome, 1)
    assert (found.ready, found.not_ready, found.readiness_open) == (2, 1, 1)
    assert found.not_examined == 0
    soft = ram_of(found, "2")
    # 20 Aug + 60 days = 19 Oct, 17 days before 5 Nov.
    assert soft.is_ready is True
    assert "19 Oct 2026, 17 days before the rams go in" in soft.readiness
    assert not soft.is_caught_late
    assert ram_of(found, "3").readiness == "not to be used: unsatisfactory"
    assert ram_of(found, "4").is_ready is None
    assert found.timetable is not None
    # 42 days before 5 Nov is 24 Sep.
    milestone = found.timetable.milestone("last_purchase")
    assert milestone is not None
    assert milestone.on == date(2026, 9, 24)


@pytest.mark.usefixtures("hill_end")
def test_a_ram_caught_by_a_late_visit() -> None:
    bring_in(row(2, tag="1", on=LATE, tone_left="soft"), row(3, tag="2", on=LATE, feet=("scald",)))
    found = season()
    soft = ram_of(found, "1")
    # 15 Sep + 60 days = 14 Nov, 9 days after the rams went in.
    assert (soft.is_ready, soft.is_caught_late) == (False, True)
    assert "9 days too late" in soft.readiness
    scald = ram_of(found, "2")
    assert (scald.is_ready, scald.is_caught_late) == (True, False)


@pytest.mark.usefixtures("hill_end")
def test_a_reexamination_supersedes_and_the_first_stays_behind_it() -> None:
    bring_in(row(2, tag="1", on=EARLY, feet=("scald",)))
    assert open_for(season(), "1") == [("treat", EARLY), ("reexamine", date(2026, 9, 3))]
    bring_in(row(2, tag="1", on=date(2026, 9, 4)))
    found = season()
    ram = ram_of(found, "1")
    assert ram.outcome is Outcome.SATISFACTORY
    assert [e.exam.examined_on for e in ram.earlier] == [EARLY]
    assert open_for(found, "1") == [], "what has been done is still asked for"
    assert [c.then_on for c in ram.comparisons] == [EARLY]


@pytest.mark.usefixtures("hill_end")
def test_a_correction_wins_over_what_it_replaces() -> None:
    (exam_id,) = bring_in(row(2, tag="1", on=EARLY, tone_left="hard"))
    deciding.correct(exam_id, {"observations": {"tone_left": "firm"}}, "typo", by=BY, now=NOW)
    ram = ram_of(season(), "1")
    assert ram.outcome is Outcome.SATISFACTORY
    assert ram.earlier == (), "a replaced record is shown as an examination of its own"


@pytest.mark.usefixtures("hill_end")
def test_the_vets_own_verdict_counts_and_changes_what_is_open() -> None:
    ids = bring_in(
        row(2, tag="1", on=EARLY),
        row(3, tag="2", on=EARLY, tone_left="soft"),
        row(4, tag="3", on=EARLY),
    )
    words = (("unsatisfactory", "temper"), ("satisfactory", "an old scar"), ("deferred", "thin"))
    for exam_id, (outcome, reason) in zip(ids, words, strict=True):
        deciding.override(exam_id, outcome, reason, by=BY, now=NOW)
    found = season()
    assert found.counts == {
        Outcome.UNSATISFACTORY: 1,
        Outcome.SATISFACTORY: 1,
        Outcome.DEFERRED: 1,
    }
    assert open_for(found, "1") == [("withdraw", NOW.date())]
    assert open_for(found, "2") == [], "he is satisfactory and still to be seen again"
    assert open_for(found, "3") == [("reexamine", TODAY)], "the day is to be set"
    assert ram_of(found, "3").is_ready is None
    assert ram_of(found, "2").readiness == "ready, by the vet's own verdict (an old scar)"


@pytest.mark.usefixtures("hill_end")
def test_rams_not_seen_this_season_are_missed() -> None:
    last_year = date(2025, 9, 1)
    bring_in(row(2, tag="1", on=last_year), row(3, tag="2", on=last_year), row(4, tag="3"))
    found = season()
    assert found.not_examined == 2
    assert ram_of(found, "1").examination is None
    assert [r.exam.examined_on for r in ram_of(found, "1").past] == [last_year]
    (todo,) = [t for t in found.to_do if t.kind == "examine"]
    assert todo.sentence == "2 rams not examined yet: 1, 2"
    # The best day, 70 days ahead (27 Aug), has passed on 16 Sep; the last sensible one, 42 days
    # ahead, is 24 Sep.
    assert todo.due_on == date(2026, 9, 24)


@pytest.mark.usefixtures("hill_end")
def test_last_years_season_stays_as_it_was() -> None:
    bring_in(row(2, tag="1", on=date(2025, 9, 1), tone_left="hard"))
    bring_in(row(2, tag="1", on=EARLY), row(3, tag="2", on=EARLY))
    found = season(start=date(2025, 11, 6))
    assert found.counts == {Outcome.UNSATISFACTORY: 1}
    assert [r.ram.ram.tag for r in found.rams] == ["1"], "a ram of this year stands in last year"


@pytest.mark.usefixtures("hill_end")
def test_who_has_left_asks_for_nothing() -> None:
    bring_in(row(2, tag="1", on=EARLY, tone_left="hard"), row(3, tag="2", on=EARLY))
    rams.leave("1", date(2026, 9, 1), "sold", by=BY, now=NOW)
    found = season()
    gone = ram_of(found, "1")
    assert (gone.is_ready, gone.readiness) == (False, "left the flock on 1 Sep 2026 (sold)")
    assert open_for(found, "1") == []
    assert (found.ready, found.not_ready) == (1, 0), "he still counts as one of the flock"
    later = flock_season("Hill End", date(2027, 11, 4), today=date(2027, 9, 1))
    assert [r.ram.ram.tag for r in later.rams] == ["2"]


@pytest.mark.usefixtures("hill_end")
def test_the_seasons_own_start_counts_once_it_is_known() -> None:
    bring_in(row(2, tag="1", on=LATE, tone_left="soft"))
    assert ram_of(season(), "1").is_ready is False
    flocks.set_mating_start("Hill End", date(2026, 11, 20), by=BY, now=NOW)
    found = season()
    assert ram_of(found, "1").is_ready is True, "14 Nov is before the rams go in on 20 Nov"
    assert "Examined for another start of mating" in found.notices[0], found.notices


def test_without_a_start_the_year_up_to_today_is_shown(store: object) -> None:
    flocks.add_flock("Hill End", latitude_deg=54.0, by=BY, now=NOW)
    bring_in(row(2, tag="1", on=EARLY, tone_left="soft"))
    found = season()
    assert (found.mating_start_on, found.timetable) == (None, None)
    assert ram_of(found, "1").is_ready is None
    assert ("set_mating_start", TODAY) in [(t.kind, t.due_on) for t in found.to_do]


def test_an_empty_flock_has_a_season(store: object) -> None:
    flocks.add_flock("Hill End", latitude_deg=54.0, by=BY, now=NOW)
    found = season()
    assert (found.rams, found.counts, found.to_do) == ((), {}, ())


@pytest.mark.usefixtures("hill_end")
def test_the_work_list_is_across_flocks_most_pressing_first() -> None:
    flocks.add_flock("Far Side", latitude_deg=54.0, mating_start_on=START, by=BY, now=NOW)
    bring_in(
        row(2, tag="1", on=EARLY, feet=("scald",)),  # again on 3 Sep: overdue
        row(3, tag="2", on=LATE, feet=("scald",)),  # treat on 15 Sep, again on 29 Sep
    )
    import_rows([row(2, tag="9", on=LATE, feet=("blisters",))], "Far Side", timed())
    found = due.work_list(TODAY)
    assert [(i.flock.name, i.todo.kind) for i in found[:3]] == [
        ("Far Side", "report"),  # to be reported at once, whatever else is overdue
        ("Far Side", "isolate"),
        ("Hill End", "treat"),
    ]
    rest = [i.days_left for i in found[2:]]
    assert rest == sorted(rest), rest
    assert {i.is_overdue for i in found if i.days_left < 0} == {True}
    week = due.work_list(TODAY, within_days=7)
    assert week == [i for i in found if i.days_left <= 7]
    assert {i.flock.name for i in due.work_list(TODAY, flock="far side")} == {"Far Side"}


@pytest.mark.usefixtures("hill_end")
def test_nothing_of_last_season_is_open_in_the_next() -> None:
    bring_in(row(2, tag="1", on=EARLY, tone_left="soft"))
    flocks.set_mating_start("Hill End", date(2027, 11, 4), by=BY, now=NOW)
    next_spring = START + timedelta(days=150)
    kinds = {i.todo.kind for i in due.work_list(next_spring)}
    assert "reexamine" not in kinds, "last season's deferral haunts the new one"
    assert "examine" in kinds


@pytest.mark.usefixtures("hill_end")
def test_a_suspicion_is_lifted_by_no_number_of_days_and_by_no_vet() -> None:
    # Blisters are flagged notifiable in tests/core/mini.toml.
    (exam_id,) = bring_in(row(2, tag="1", on=EARLY, feet=("blisters",)))
    told = "not before the suspicion is cleared under local rules"
    assert (ram_of(season(), "1").is_ready, ram_of(season(), "1").readiness) == (None, told)
    deciding.override(exam_id, "satisfactory", "a thistle", by=BY, now=NOW)
    found = season()
    ram = ram_of(found, "1")
    assert ram.is_ready is None
    assert ram.readiness.startswith(told), ram.readiness
    assert ("report", EARLY) in open_for(found, "1"), "the duty to report was overridden"


@pytest.mark.usefixtures("hill_end")
def test_all_seasons_and_their_work_are_those_of_each() -> None:
    bring_in(row(2, tag="1", on=EARLY, tone_left="soft"))
    flocks.add_flock("Far Side", latitude_deg=54.0, mating_start_on=START, by=BY, now=NOW)
    found = all_seasons(TODAY)
    assert [s.flock.name for s in found] == ["Far Side", "Hill End"]
    assert found[1].counts == season().counts
    assert due.work_of(found, TODAY) == due.work_list(TODAY)

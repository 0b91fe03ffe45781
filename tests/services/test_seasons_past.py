"""What a flock's season says of a ram against his own past: lasting faults, and real changes."""

from __future__ import annotations

from datetime import date

import pytest
from tests.services.sheets import BY, NOW, import_rows, row, timed

from stell.services import deciding, flocks, rams
from stell.services.seasons import FlockSeason, RamSeason, flock_season

START = date(2026, 11, 5)
LAST_YEAR, THIS_YEAR, TODAY = date(2025, 9, 1), date(2026, 8, 20), date(2026, 9, 16)


@pytest.fixture(autouse=True)
def hill_end(store: object) -> None:
    """A flock that goes to mating on 5 Nov 2026, and did on 6 Nov 2025."""
    flocks.add_flock(
        "Hill End", latitude_deg=54.0, mating_start_on=date(2025, 11, 6), by=BY, now=NOW
    )
    flocks.set_mating_start("Hill End", START, by=BY, now=NOW)


def bring_in(*rows: object) -> tuple[str, ...]:
    """Import rows under the protocol with a timetable."""
    result = import_rows(rows, "Hill End", timed())  # type: ignore[arg-type]
    assert not result.problems, [p.text() for p in result.problems]
    return result.exam_ids


def of(tag: str) -> tuple[FlockSeason, RamSeason]:
    """Return the season and one ram of it."""
    found = flock_season("Hill End", today=TODAY)
    return found, next(r for r in found.rams if r.ram.ram.tag == tag)


def test_a_heritable_fault_of_last_year_is_put_to_the_vet_until_a_record_is_corrected() -> None:
    # A short jaw is heritable by tests/core/mini.toml; scald passes.
    bring_in(row(2, tag="1", on=LAST_YEAR, jaw="short", feet=("scald",)))
    (now_id,) = bring_in(row(2, tag="1", on=THIS_YEAR))
    season, ram = of("1")
    assert [(f.check_id, f.found_on) for f in ram.found_earlier] == [("jaw", LAST_YEAR)]
    asked = [n for n in season.notices if "Lower jaw: short on 1 Sep 2025" in n]
    assert len(asked) == 1, season.notices
    deciding.correct(now_id, {"observations": {"jaw": "short"}}, "seen again", by=BY, now=NOW)
    season, ram = of("1")
    assert ram.found_earlier == ()
    assert season.notices == ()


def test_who_has_left_is_not_asked_about() -> None:
    bring_in(row(2, tag="1", on=LAST_YEAR, jaw="short"))
    bring_in(row(2, tag="1", on=THIS_YEAR))
    rams.leave("1", date(2026, 9, 1), "sold", by=BY, now=NOW)
    season, ram = of("1")
    assert len(ram.found_earlier) == 1, "it stays on record"
    assert season.notices == ()


def test_a_real_change_since_last_year_is_named_and_a_small_one_is_not() -> None:
    # By tests/core/mini.toml the standard deviation of one person's reading is 4 mm:
    # 1.96 x sqrt(2) x 4 = 11.1 mm. 25 mm is more, 2 mm is less.
    both = {"examiner": "A. Vet"}
    bring_in(
        row(2, tag="1", on=LAST_YEAR, circumference=(370,), **both),
        row(3, tag="2", on=LAST_YEAR, circumference=(347,), **both),
    )
    bring_in(
        row(2, tag="1", on=THIS_YEAR, circumference=(345,), **both),
        row(3, tag="2", on=THIS_YEAR, circumference=(345,), **both),
    )
    _, lost = of("1")
    assert [(m.check_id, m.difference) for m in lost.real_changes] == [("circumference", -25)]
    assert lost.beside is not None
    assert lost.beside.then_on == LAST_YEAR
    _, same = of("2")
    assert same.real_changes == ()


def test_without_a_past_nothing_is_said() -> None:
    bring_in(row(2, tag="1", on=THIS_YEAR, jaw="short"))
    _, ram = of("1")
    assert (ram.beside, ram.real_changes, ram.found_earlier) == (None, (), ())

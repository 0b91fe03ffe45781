"""Flocks on the books, their names, and when their rams go in."""

from __future__ import annotations

from datetime import date

import pytest
from tests.services.sheets import BY, NOW, import_rows, row

from stell.core.errors import RecordError, ValueRefused
from stell.services import flocks
from stell.services.mating import season_days, season_of_day, season_to_show
from stell.services.trail import deeds
from stell.store import models

pytestmark = pytest.mark.usefixtures("sqlite_store")


def add(name: str, **said: object) -> flocks.FlockRecord:
    """Put a flock on the books."""
    return flocks.add_flock(name, **({"latitude_deg": 54.0, "by": BY, "now": NOW} | said))  # type: ignore[arg-type]


def test_a_flock_is_found_by_name_slug_and_id() -> None:
    added = add(
        "  Hill   End ", owner="T. Fell", ram_type="hill", mating_start_on=date(2026, 11, 5)
    )
    assert (added.name, added.slug) == ("Hill End", "hill-end")
    assert added.mating_starts == (date(2026, 11, 5),)
    for query in ("Hill End", "hill end", "HILL-END", added.id):
        assert flocks.find_flock(query) == added, query


def test_flocks_are_listed_by_name() -> None:
    for name in ("b", "C", "a"):
        add(name)
    assert [f.name for f in flocks.all_flocks()] == ["a", "b", "C"]


def test_an_unknown_flock_names_what_comes_near() -> None:
    add("Hill End")
    add("Far Side")
    with pytest.raises(RecordError, match="no flock of that name") as caught:
        flocks.find_flock("Hil End")
    assert (caught.value.code, caught.value.legal) == ("record.not_found", "Hill End")


def test_a_name_is_given_once() -> None:
    add("Hill End")
    with pytest.raises(RecordError, match="a flock of that name is on the books already"):
        add("hill  END")
    assert len(flocks.all_flocks()) == 1


def test_slugs_are_plain_and_free() -> None:
    assert [add(n).slug for n in ("Älvåker", "Alvaker!", "羊")] == ["alvaker", "alvaker-2", "flock"]


@pytest.mark.parametrize(
    ("said", "code"),
    [
        ({"latitude_deg": 91.0}, "value.range"),
        ({"latitude_deg": float("nan")}, "value.range"),
        ({"ram_type": "mountain"}, "value.choice"),
    ],
)
def test_what_cannot_be_is_refused(said: dict[str, object], code: str) -> None:
    with pytest.raises(ValueRefused, match="legal: ") as caught:
        add("Hill End", **said)
    assert caught.value.code == code


def test_a_flock_without_a_name_is_refused() -> None:
    with pytest.raises(ValueRefused, match="a flock needs a name"):
        add("   ")


def test_a_start_near_one_on_record_moves_it_and_another_is_a_new_season() -> None:
    add("Hill End", mating_start_on=date(2026, 11, 5))
    moved = flocks.set_mating_start("Hill End", date(2026, 11, 12), by=BY, now=NOW)
    assert moved.mating_starts == (date(2026, 11, 12),)
    second = flocks.set_mating_start("Hill End", date(2027, 11, 4), by=BY, now=NOW)
    assert second.mating_starts == (date(2026, 11, 12), date(2027, 11, 4))
    deeds = models.AuditEntry.objects.filter(action="set_mating_start").order_by("id")
    assert [d.before["mating_start_on"] for d in deeds] == ["2026-11-05", None]


@pytest.mark.parametrize("day", [date(9999, 12, 31), date(1, 1, 1), date(2206, 11, 2)])
def test_a_start_in_a_year_that_cannot_be_meant_is_refused(day: date) -> None:
    with pytest.raises(ValueRefused, match="a year that cannot be meant"):
        add("Far Side", mating_start_on=day)
    add("Hill End")
    with pytest.raises(ValueRefused, match="a year that cannot be meant") as caught:
        flocks.set_mating_start("hill-end", day, by=BY, now=NOW)
    assert caught.value.example == "2026-11-02"
    with pytest.raises(ValueRefused, match="a year that cannot be meant"):
        import_rows([row(2, tag="1")], "Hill End", mating_start_on=day)
    assert models.MatingSeason.objects.count() == 0
    assert models.Examination.objects.count() == 0


def test_the_same_start_again_is_no_deed() -> None:
    add("Hill End", mating_start_on=date(2026, 11, 5))
    flocks.set_mating_start("Hill End", date(2026, 11, 5), by=BY, now=NOW)
    assert not models.AuditEntry.objects.filter(action="set_mating_start").exists()


def test_what_is_known_of_a_flock_can_change_and_the_trail_says_how() -> None:
    added = add("Hill End", owner="T. Fell")
    add("Far Side")
    changed = flocks.change_flock("hill end", name="Hill  Top", latitude_deg=55.5, by=BY, now=NOW)
    assert (changed.name, changed.owner, changed.latitude_deg) == ("Hill Top", "T. Fell", 55.5)
    assert changed.slug == added.slug, "addresses that people keep would lead nowhere"
    assert flocks.find_flock("HILL TOP").id == added.id
    (deed,) = [d for d in deeds(kind="flock", object_id=added.id) if d.action == "change"]
    assert deed.before == {"name": "Hill End", "latitude_deg": 54.0}
    assert deed.after == {"name": "Hill Top", "latitude_deg": 55.5}
    with pytest.raises(RecordError, match="on the books already"):
        flocks.change_flock("hill top", name="far side", by=BY, now=NOW)
    with pytest.raises(ValueRefused, match="the latitude cannot be right"):
        flocks.change_flock("hill top", latitude_deg=123, by=BY, now=NOW)
    assert flocks.find_flock("Hill Top") == changed


def test_a_change_that_changes_nothing_is_no_deed() -> None:
    add("Hill End")
    flocks.change_flock("Hill End", name="hill end".title(), by=BY, now=NOW)
    assert [d.action for d in deeds()] == ["add"]


STARTS = (date(2025, 11, 1), date(2026, 11, 1))


@pytest.mark.parametrize(
    ("day", "start"),
    [
        (date(2025, 9, 1), STARTS[0]),
        (date(2025, 12, 31), STARTS[0]),  # 60 days after the rams went in
        (date(2026, 1, 1), STARTS[1]),
        (date(2026, 12, 31), STARTS[1]),
        (date(2027, 1, 1), None),  # no start is known for that season yet
        (date(2024, 12, 31), None),  # more than a year before the end of the first season
    ],
)
def test_the_season_of_a_day(day: date, start: date | None) -> None:
    season = season_of_day(day, STARTS)
    assert season.mating_start_on == start
    assert season.holds(day)


def test_seasons_leave_no_gap_and_do_not_overlap() -> None:
    first, second = (season_days(s, STARTS) for s in STARTS)
    assert (second.from_on - first.until_on).days == 1


@pytest.mark.parametrize(
    ("today", "start"),
    [
        (date(2025, 12, 31), STARTS[0]),
        (date(2026, 1, 1), STARTS[1]),
        (date(2030, 1, 1), STARTS[1]),
    ],
)
def test_the_season_to_show(today: date, start: date) -> None:
    assert season_to_show(today, STARTS).mating_start_on == start

"""Many rows at once are the same rows as one by one, on both engines."""

from __future__ import annotations

import gc
import uuid
from datetime import UTC, date, datetime

import pytest
from django.db import DatabaseError, transaction
from tests.services.sheets import NOW

from stell.core.errors import RecordError, StoreError
from stell.store import audit, bulk, models
from stell.store.transactions import explained, writing

COLUMNS = ("id", "slug", "name", "name_key", "latitude_deg", "owner", "ram_type", "created_at")


def flock(number: int) -> tuple[object, ...]:
    """Return the values of a flock."""
    return (uuid.UUID(int=number), f"s{number}", "Å", f"k{number}", -38.25, "", "hill", NOW)


def test_rows_are_what_was_given(store: object) -> None:
    assert bulk.insert(models.Flock, COLUMNS, (flock(n) for n in range(4500))) == 4500
    assert models.Flock.objects.count() == 4500
    one = models.Flock.objects.get(id=uuid.UUID(int=4321))
    assert (one.slug, one.name, one.latitude_deg, one.created_at) == ("s4321", "Å", -38.25, NOW)


def test_empty_cells_days_and_json(store: object) -> None:
    bulk.insert(models.Flock, COLUMNS, [flock(1)])
    ram = uuid.UUID(int=7)
    born = date(2024, 2, 29)
    names = ("id", "flock_id", "tag", "eid", "name", "breed", "ram_type", "age_class",
             "intended_use", "left_why", "born_earliest", "left_on", "created_at")  # fmt: skip
    bulk.insert(models.Ram, names, [(ram, uuid.UUID(int=1), "1", *[""] * 7, born, None, NOW)])
    stored = models.Ram.objects.get()
    assert (stored.born_earliest, stored.left_on, stored.flock.slug) == (born, None, "s1")
    audit.note("try", "ram", ram, by="x", at=NOW, after={"a": [1, None, "ü", {"b": 0.5}]})
    assert models.AuditEntry.objects.get().after == {"a": [1, None, "ü", {"b": 0.5}]}


def test_neighbours_with_other_times_keep_their_own(store: object) -> None:
    times = [datetime(2026, 9, day, 12, tzinfo=UTC) for day in (1, 1, 2, 1)]
    for number, at in enumerate(times):
        audit.note("try", "x", number, by="x", at=at)
    rows = [(at, "x", "all", "x", "1", {}, {}) for at in times]
    names = ("at", "by", "action", "kind", "object_id", "before", "after")
    bulk.insert(models.AuditEntry, names, rows)
    stored = models.AuditEntry.objects.filter(action="all").order_by("id")
    assert [e.at for e in stored] == times


def test_rows_are_changed_by_their_key(store: object) -> None:
    bulk.insert(models.Flock, COLUMNS, (flock(n) for n in range(3)))
    changes = [("north", 1.5, uuid.UUID(int=0)), ("south", -1.5, uuid.UUID(int=2))]
    assert bulk.update(models.Flock, ("owner", "latitude_deg"), changes) == 2
    owners = models.Flock.objects.order_by("slug").values_list("owner", flat=True)
    assert list(owners) == ["north", "", "south"]


def test_a_column_that_is_not_there_is_named(store: object) -> None:
    with pytest.raises(LookupError, match="Flock has no column 'colour'"):
        bulk.insert(models.Flock, ("id", "colour"), [])


def test_one_bad_row_takes_all_back(store: object) -> None:
    rows = [flock(n) for n in range(2500)]
    with pytest.raises(DatabaseError), writing():
        bulk.insert(models.Flock, COLUMNS, [*rows, flock(3)])
    assert models.Flock.objects.count() == 0


def test_sweeping_goes_on_afterwards() -> None:
    def fail() -> None:
        with bulk.unswept():
            assert not gc.isenabled()
            raise KeyError("stop")

    assert gc.isenabled()
    with pytest.raises(KeyError, match="stop"):
        fail()
    assert gc.isenabled()


@pytest.mark.parametrize(
    ("said", "kind", "code"),
    [
        ("database is locked", StoreError, "store.busy"),
        ("deadlock detected", StoreError, "store.busy"),
        ("database or disk is full", StoreError, "store.full"),
        ('could not extend file "base/1/2": No space left on device', StoreError, "store.full"),
        ("database disk image is malformed", StoreError, "store.unreadable"),
        ("no such table: store_ram", StoreError, "store.unreadable"),
        ("attempt to write a readonly database", StoreError, "store.unreadable"),
        ("record.immutable: what is on record stays", RecordError, "record.immutable"),
    ],
)
def test_what_a_database_says_is_explained(said: str, kind: type, code: str) -> None:
    told = explained(DatabaseError(said))
    assert isinstance(told, kind)
    assert told.code == code  # type: ignore[attr-defined]


def test_an_error_of_the_program_stays_what_it_is() -> None:
    error = DatabaseError("near SELEC: syntax error")
    assert explained(error) is error
    wrong = KeyError("x")
    assert explained(wrong) is wrong


def test_a_transaction_within_another_is_part_of_it(store: object) -> None:
    def both() -> None:
        with writing():
            bulk.insert(models.Flock, COLUMNS, [flock(1)])
            with writing():
                bulk.insert(models.Flock, COLUMNS, [flock(2)])
            raise KeyError("stop")

    with pytest.raises(KeyError, match="stop"):
        both()
    assert models.Flock.objects.count() == 0
    assert not transaction.get_connection().in_atomic_block

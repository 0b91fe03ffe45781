"""Safe copies: made while others work, checked, and put back without losing what was there."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from datetime import date, timedelta
from pathlib import Path

import pytest
from django.db import connection
from tests.services.sheets import BY, NOW, import_rows, row

from stell.core.errors import RecordError, StoreError
from stell.services import deeds, flocks, rams
from stell.services.backup import backup, inspect, manifest_of, restore
from stell.services.opening import open_store
from stell.store import migrations, models
from stell.store.settings import FILE_NAME

LATER = NOW + timedelta(days=1)
NEWEST = max(p.stem for p in Path(str(migrations.__file__)).parent.glob("0*.py"))


@pytest.fixture
def records(sqlite_store: Path) -> Path:
    """A store with two examinations."""
    flocks.add_flock("Hill End", latitude_deg=54.0, by=BY, now=NOW)
    import_rows([row(2, tag="1"), row(3, tag="2")], "Hill End")
    return sqlite_store


def test_a_copy_says_what_it_is(records: Path, tmp_path: Path) -> None:
    path = tmp_path / "away" / "copy.sqlite3"
    summary = backup(path, now=NOW)
    # The digest by the standard library over the bytes that lie on the disk.
    digest = hashlib.sha256(path.read_bytes()).hexdigest()
    assert (summary.sha256, summary.size_bytes) == (digest, path.stat().st_size)
    assert (summary.examinations, summary.schema, summary.made_at) == (2, NEWEST, NOW)
    said = json.loads(manifest_of(path).read_text())
    assert (said["sha256"], said["made_at"]) == (digest, "2026-09-01T17:00:00+00:00")
    assert inspect(path) == summary
    assert path.stat().st_mode & 0o777 == 0o600, "others may read the copy"


def test_a_copy_holds_everything_up_to_its_moment(records: Path, tmp_path: Path) -> None:
    with sqlite3.connect(records / FILE_NAME, isolation_level=None) as other:
        other.execute("BEGIN IMMEDIATE")  # somebody is writing meanwhile
        other.execute("UPDATE store_flock SET owner = 'half done'")
        backup(tmp_path / "copy.sqlite3", now=NOW)
        other.execute("ROLLBACK")
    other.close()
    with sqlite3.connect(tmp_path / "copy.sqlite3") as copy:
        assert copy.execute("SELECT owner FROM store_flock").fetchall() == [("",)]
        assert copy.execute("SELECT count(*) FROM store_judgement").fetchone() == (2,)
        with pytest.raises(sqlite3.DatabaseError, match=r"record\.immutable"):
            copy.execute("DELETE FROM store_examination")
    copy.close()


def test_a_copy_overwrites_nothing(records: Path, tmp_path: Path) -> None:
    path = tmp_path / "copy.sqlite3"
    path.write_text("precious")
    with pytest.raises(RecordError, match="a backup never overwrites") as caught:
        backup(path, now=NOW)
    assert path.read_text() == "precious"
    assert caught.value.example == "copy-2026-09-01.sqlite3"


def test_no_room_for_the_copy_leaves_no_half_of_it(
    records: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(path: Path) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("stell.store.copying.to_disk", full)
    with pytest.raises(StoreError, match="no room left") as caught:
        backup(tmp_path / "away" / "copy.sqlite3", now=NOW)
    assert caught.value.code == "store.full"
    assert list((tmp_path / "away").iterdir()) == []


def test_there_and_back(records: Path, tmp_path: Path) -> None:
    path = tmp_path / "copy.sqlite3"
    backup(path, now=NOW)
    import_rows([row(2, tag="1", on=date(2026, 9, 20))], "Hill End")
    before = rams.history("1")
    summary = restore(path, folder=records, replace=True, now=LATER)
    assert summary.examinations == 2
    open_store(records)
    assert models.Examination.objects.count() == 2
    assert rams.history("1").entries == before.entries[1:]
    (aside,) = records.glob("replaced-*")
    assert aside.name == f"replaced-20260902T170000-{FILE_NAME}"
    with sqlite3.connect(aside) as old:
        assert old.execute("SELECT count(*) FROM store_examination").fetchone() == (3,)
    old.close()
    assert import_rows([row(2, tag="7")], "Hill End").stored == 1, "no work goes on after it"


def test_into_an_empty_folder(records: Path, tmp_path: Path) -> None:
    path = tmp_path / "copy.sqlite3"
    backup(path, now=NOW)
    restore(path, folder=tmp_path / "new" / "data", now=LATER)
    open_store(tmp_path / "new" / "data")
    assert models.Examination.objects.count() == 2


def test_records_are_replaced_only_when_told(records: Path, tmp_path: Path) -> None:
    path = tmp_path / "copy.sqlite3"
    backup(path, now=NOW)
    with pytest.raises(RecordError, match="records are kept there already"):
        restore(path, folder=records, now=LATER)
    assert list(records.glob("replaced-*")) == []


def cut(path: Path) -> None:
    """Lose the end of the file."""
    path.write_bytes(path.read_bytes()[:-4096])


def spoil(path: Path) -> None:
    """Turn bytes in the middle."""
    content = bytearray(path.read_bytes())
    content[8192:8400] = bytes(208)
    path.write_bytes(content)


def exchange(path: Path) -> None:
    """Put another whole copy in its place."""
    with sqlite3.connect(path) as file:
        file.execute("UPDATE store_flock SET owner = 'somebody else'")
    file.close()


def of_tomorrow(path: Path) -> None:
    """Make it one of a version to come."""
    with sqlite3.connect(path) as file:
        file.execute("UPDATE django_migrations SET name = '9999_x' WHERE name = ?", [NEWEST])
    file.close()


@pytest.mark.parametrize("harm", [cut, spoil, exchange, of_tomorrow, lambda p: p.write_text("")])
def test_a_harmed_copy_is_refused_and_nothing_is_touched(
    harm: object, records: Path, tmp_path: Path
) -> None:
    path = tmp_path / "copy.sqlite3"
    backup(path, now=NOW)
    harm(path)  # type: ignore[operator]
    connection.close()
    before = {p.name: p.read_bytes() for p in records.iterdir()}
    with pytest.raises(StoreError) as caught:
        restore(path, folder=records, replace=True, now=LATER)
    assert caught.value.code == "store.unreadable"
    assert {p.name: p.read_bytes() for p in records.iterdir()} == before


def test_a_copy_without_its_manifest_still_goes_back(records: Path, tmp_path: Path) -> None:
    path = tmp_path / "copy.sqlite3"
    backup(path, now=NOW)
    manifest_of(path).unlink()
    assert restore(path, folder=records, replace=True, now=LATER).examinations == 2


def test_records_that_somebody_has_open_are_not_replaced(records: Path, tmp_path: Path) -> None:
    path = tmp_path / "copy.sqlite3"
    backup(path, now=NOW)
    with sqlite3.connect(records / FILE_NAME) as other:
        assert other.execute("SELECT count(*) FROM store_ram").fetchone() == (2,)
        with pytest.raises(StoreError, match="another program has the records open") as caught:
            restore(path, folder=records, replace=True, now=LATER)
    other.close()
    assert caught.value.code == "store.busy"
    assert list(records.glob("*.part")) == []
    open_store(records)
    assert models.Examination.objects.count() == 2


@pytest.mark.postgres
def test_a_server_is_copied_by_its_own_tool(postgres_store: Path, tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="has its own tool for backups") as caught:
        backup(tmp_path / "copy", now=NOW)
    assert "pg_dump" in caught.value.example


def test_what_was_done_is_in_the_copy_and_comes_back(records: Path, tmp_path: Path) -> None:
    (exam_id,) = import_rows([row(2, tag="3", feet=("rot",))], "Hill End").exam_ids
    deed = deeds.put_done(exam_id, "treat", done_on=NOW.date(), by=BY, now=NOW)
    back = deeds.take_back(deed.deed_id, "another ram", by=BY, now=NOW)
    backup(tmp_path / "copy.sqlite3", now=NOW)
    restore(tmp_path / "copy.sqlite3", folder=tmp_path / "new", now=LATER)
    open_store(tmp_path / "new")
    assert rams.history("3").entries[0].deeds == (back,)

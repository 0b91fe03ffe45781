"""What is on record stays, whoever talks to the database: raw SQL on both engines."""

from __future__ import annotations

import sqlite3
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from django.db import DatabaseError, connection, transaction
from tests.services.sheets import DAY, NOW, import_rows, row

from stell.core.errors import RecordError
from stell.services import deciding, deeds, flocks
from stell.store import guards, models
from stell.store.settings import FILE_NAME

pytestmark = pytest.mark.usefixtures("filled")
TABLES = guards.GUARDED


@pytest.fixture
def filled(store: Path) -> Path:
    """A store in which every guarded table holds a row."""
    flocks.add_flock("Hill End", latitude_deg=54.0, by="E. Quill", now=NOW)
    result = import_rows([row(2, tag="1")], "Hill End")
    exam_id = result.exam_ids[0]
    deciding.override(exam_id, "unsatisfactory", "temper", by="E. Quill", now=NOW)
    deed = deeds.put_done(exam_id, "withdraw", done_on=DAY, by="E. Quill", now=NOW)
    deeds.take_back(deed.deed_id, "another ram", by="E. Quill", now=NOW)
    return store


def execute(statement: str) -> None:
    """Run a statement outside the models."""
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement)


def number_of(table: str) -> int:
    """Count a table's rows."""
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT count(*) FROM {table}")
        return int(cursor.fetchone()[0])


def first_column(table: str) -> str:
    """Return the name of a column that is not the key."""
    model = next(m for m in connection.introspection.installed_models([table]))
    return next(f.column for f in model._meta.concrete_fields if not f.primary_key)


@pytest.mark.parametrize("table", TABLES)
def test_a_row_cannot_be_updated(table: str) -> None:
    column = first_column(table)
    with pytest.raises(DatabaseError, match=r"record\.immutable"):
        execute(f"UPDATE {table} SET {column} = {column}")


@pytest.mark.parametrize("table", TABLES)
def test_a_row_cannot_be_deleted(table: str) -> None:
    before = number_of(table)
    assert before > 0, f"the test has put nothing into {table}"
    with pytest.raises(DatabaseError, match=r"record\.immutable"):
        execute(f"DELETE FROM {table}")
    assert number_of(table) == before, f"rows of {table} are gone"


@pytest.mark.parametrize("table", TABLES)
def test_a_table_cannot_be_emptied_at_once(table: str) -> None:
    if connection.vendor != "postgresql":
        pytest.skip("SQLite has no TRUNCATE; its DELETE is tested above")
    with pytest.raises(DatabaseError, match=r"record\.immutable"):
        execute(f"TRUNCATE {table} CASCADE")


def test_a_replacing_insert_cannot_slip_past() -> None:
    exam = models.Examination.objects.get()
    verb = (
        "INSERT OR REPLACE INTO store_vetoverride"
        if connection.vendor == "sqlite"
        else "INSERT INTO store_vetoverride"
    )
    ending = (
        ""
        if connection.vendor == "sqlite"
        else " ON CONFLICT (id) DO UPDATE SET reason = excluded.reason"
    )
    with pytest.raises(DatabaseError, match=r"record\.immutable"):
        execute(
            f'{verb} (id, examination_id, outcome, reason, by, "on", at) SELECT id, '
            "examination_id, outcome, 'written over', by, \"on\", at FROM store_vetoverride"
            f"{ending}"
        )
    assert exam.overrides.get().reason == "temper", "the vet's reason was written over"


def changed_note(exam: models.Examination) -> None:
    """Change a loaded row and save it."""
    exam.note = "changed"
    exam.save()


@pytest.mark.parametrize(
    "attempt",
    [
        changed_note,
        lambda exam: exam.delete(),
        lambda exam: type(exam).objects.update(note="changed"),
        lambda exam: type(exam).objects.filter(id=exam.id).delete(),
        lambda exam: exam.judgements.update(outcome="satisfactory"),
        lambda exam: exam.overrides.all().delete(),
        lambda exam: exam.deeds.update(done_by="somebody else"),
        lambda exam: exam.deeds.get().taken_back.delete(),
    ],
)
def test_the_models_explain_before_the_database_refuses(attempt: Any) -> None:
    exam = models.Examination.objects.get()
    with pytest.raises(RecordError, match="a new record that names the one it replaces") as caught:
        attempt(exam)
    assert caught.value.code == "record.immutable", caught.value.code
    exam.refresh_from_db()
    assert exam.note == "", "the note was changed"


def test_removed_guards_are_found_and_put_back(filled: Path) -> None:
    if connection.vendor == "sqlite":
        execute("DROP TRIGGER store_examination_no_update")
    else:
        execute("ALTER TABLE store_examination DISABLE TRIGGER store_examination_no_update")
    assert guards.missing(connection) == ["store_examination_no_update"]
    guards.install(connection)
    assert guards.missing(connection) == [], "the guard was not put back"


def test_another_program_cannot_change_the_file_either(filled: Path) -> None:
    if connection.vendor != "sqlite":
        pytest.skip("a file of SQLite's is meant")
    with sqlite3.connect(filled / FILE_NAME) as other:
        with pytest.raises(sqlite3.DatabaseError, match=r"record\.immutable"):
            other.execute("UPDATE store_examination SET note = 'changed'")
        with pytest.raises(sqlite3.DatabaseError, match=r"record\.immutable"):
            other.execute("DELETE FROM store_auditentry")
    other.close()


def test_a_protocol_version_cannot_be_given_another_text() -> None:
    with pytest.raises(DatabaseError, match=r"record\.immutable"):
        execute("UPDATE store_protocolversion SET text = 'other'")


def test_dates_of_the_cast_are_what_they_say() -> None:
    exam = models.Examination.objects.get()
    assert (exam.examined_on, exam.received_at) == (date(2026, 9, 1), NOW)
    assert datetime(2026, 9, 1, 17, 0, tzinfo=UTC) == NOW

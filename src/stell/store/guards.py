"""Triggers that keep written-once rows as they are, whoever talks to the database.

The models refuse first and explain; these refuse whatever goes past the models.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

# Tables whose rows are written once.
GUARDED = (
    "store_examination",
    "store_judgement",
    "store_vetoverride",
    "store_auditentry",
    "store_protocolversion",
    "store_sheetimport",
    "store_deed",
    "store_deedtakenback",
)
MESSAGE = "record.immutable: what is on record stays; a correction is a new record"


def install(connection: Any, tables: Sequence[str] = GUARDED) -> None:
    """Put the triggers on guarded tables. Safe to call again.

    Migrations name the tables that there are in their time.
    """
    statements = (_sqlite if connection.vendor == "sqlite" else _postgres)(tables)
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)


def missing(connection: Any) -> list[str]:
    """Return the names of triggers that ought to be there and are not."""
    wanted = {f"{table}_{verb}" for table in GUARDED for verb in _verbs(connection)}
    query = (
        "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        if connection.vendor == "sqlite"
        else "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal AND tgenabled <> 'D'"
    )
    with connection.cursor() as cursor:
        cursor.execute(query)
        return sorted(wanted - {row[0] for row in cursor.fetchall()})


def _verbs(connection: Any) -> tuple[str, ...]:
    plain = ("no_update", "no_delete")
    return plain if connection.vendor == "sqlite" else (*plain, "no_truncate")


def _sqlite(tables: Sequence[str]) -> list[str]:
    return [
        f"CREATE TRIGGER IF NOT EXISTS {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, '{MESSAGE}'); END"
        for table in tables
        for verb in ("UPDATE", "DELETE")
    ]


def _postgres(tables: Sequence[str]) -> list[str]:
    function = (
        "CREATE OR REPLACE FUNCTION stell_refuse_change() RETURNS trigger LANGUAGE plpgsql AS "
        f"$body$ BEGIN RAISE EXCEPTION '{MESSAGE}' USING ERRCODE = 'restrict_violation'; END $body$"
    )
    return [function] + [
        f"CREATE OR REPLACE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
        f"FOR EACH {each} EXECUTE FUNCTION stell_refuse_change()"
        for table in tables
        for verb, each in (("UPDATE", "ROW"), ("DELETE", "ROW"), ("TRUNCATE", "STATEMENT"))
    ]

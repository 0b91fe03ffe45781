"""Walk through all examinations in order of their ids, a handful at a time, in plain SQL.

At a million rows building one object for each would cost more than judging it.
"""

from __future__ import annotations

import json
import uuid
from collections.abc import Iterator
from typing import Any

from django.db import connection

from stell.core.records import Examination, Ram, Season, observations_from_json
from stell.store import mapping

Row = tuple[Any, ...]
_JUDGED = ", ".join(f"e.{column}" for column in mapping.JUDGED)


def count(version_id: int) -> tuple[int, int]:
    """Return how many examinations there are, and how many a protocol version has judged."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*) FROM store_examination")
        total = cursor.fetchone()[0]
        cursor.execute(
            "SELECT count(*) FROM store_judgement WHERE protocol_version_id = %s", [version_id]
        )
        return total, cursor.fetchone()[0]


def not_judged(version_id: int, after: uuid.UUID | None, limit: int) -> list[Row]:
    """Return the next examinations, by id, that a protocol version has not judged.

    Rows hold the columns `mapping.JUDGED`; the first is the id as the driver gives it.
    """
    start = "WHERE" if after is None else "WHERE e.id > %s AND"
    query = (
        f"SELECT {_JUDGED} FROM store_examination e "  # noqa: S608  (names of our own columns)
        f"{start} NOT EXISTS (SELECT 1 FROM store_judgement j "
        "WHERE j.examination_id = e.id AND j.protocol_version_id = %s) ORDER BY e.id LIMIT %s"
    )
    values: list[Any] = [] if after is None else [_id_value(after)]
    with connection.cursor() as cursor:
        cursor.execute(query, [*values, version_id, limit])
        return cursor.fetchall()


def to_judge(row: Row) -> tuple[Ram, Examination, Season]:
    """Return the judge's arguments from a row of `not_judged`."""
    exam_id, ram_id, examined_on, observations, circumstances, *facts, start, latitude = row
    exam = Examination(
        exam_id,
        ram_id,
        examined_on,
        observations_from_json(json.loads(observations)),
        circumstances=tuple(json.loads(circumstances)),
    )
    return mapping.ram_from_facts(ram_id, facts), exam, Season(start, latitude)


def as_uuid(value: Any) -> uuid.UUID:
    """Return an id as the driver gave it."""
    return value if isinstance(value, uuid.UUID) else uuid.UUID(value)


def _id_value(value: uuid.UUID) -> Any:
    return value if connection.vendor == "postgresql" else value.hex


_PAIRED = (
    "FROM store_examination e "
    "JOIN store_judgement was ON was.examination_id = e.id "
    "AND was.protocol_version_id = e.protocol_version_id "
    "JOIN store_judgement now ON now.examination_id = e.id AND now.protocol_version_id = %s "
)
# A record that a correction has replaced no longer speaks for the ram.
_STANDING = "NOT EXISTS (SELECT 1 FROM store_examination c WHERE c.replaces_id = e.id)"


def moves(version_id: int) -> list[tuple[str, str, int]]:
    """Return how many standing examinations went from which outcome to which."""
    query = f"SELECT was.outcome, now.outcome, count(*) {_PAIRED} WHERE {_STANDING} GROUP BY 1, 2"
    with connection.cursor() as cursor:
        cursor.execute(query, [version_id])
        return cursor.fetchall()


def changed(version_id: int, limit: int | None) -> Iterator[Row]:
    """Yield id, ram, day, outcome before and after, for standing examinations where they differ."""
    query = (
        f"SELECT e.id, e.ram_id, e.examined_on, was.outcome, now.outcome {_PAIRED} "
        f"WHERE was.outcome <> now.outcome AND {_STANDING} ORDER BY e.examined_on DESC, e.id"
    )
    if limit is not None:
        query += f" LIMIT {int(limit)}"
    with connection.chunked_cursor() as cursor:
        cursor.execute(query, [version_id])
        while rows := cursor.fetchmany(1000):
            yield from rows

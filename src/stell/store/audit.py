"""Putting on record who did what."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from stell.store import bulk, models

_COLUMNS = ("at", "by", "action", "kind", "object_id", "before", "after")


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing done to one record. `before` and `after` hold what differs, JSON-ready."""

    action: str
    kind: str
    object_id: str
    before: Mapping[str, Any]
    after: Mapping[str, Any]


def note(
    action: str,
    kind: str,
    object_id: object,
    *,
    by: str,
    at: datetime,
    before: Mapping[str, Any] | None = None,
    after: Mapping[str, Any] | None = None,
) -> None:
    """Put one thing done on record."""
    note_all([Entry(action, kind, str(object_id), before or {}, after or {})], by=by, at=at)


def note_all(entries: Iterable[Entry], *, by: str, at: datetime) -> None:
    """Put many things done by one person at one time on record."""
    bulk.insert(
        models.AuditEntry,
        _COLUMNS,
        ((at, by, e.action, e.kind, e.object_id, e.before, e.after) for e in entries),
    )

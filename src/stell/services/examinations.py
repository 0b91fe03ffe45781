"""Which examination a person means: by its own id, or by the ram and the day."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from stell.core.errors import RecordError
from stell.services import lookup
from stell.services.rams import HistoryEntry, find_ram, history
from stell.services.records import FlockRecord, RamRecord


def find_examination(
    query: str, flock: FlockRecord | str | None = None, examined_on: date | None = None
) -> tuple[RamRecord, HistoryEntry]:
    """Return an examination and its ram.

    Parameters
    ----------
    query : str
        The examination's id, or the ram's tag, name, electronic number or id.
    flock : FlockRecord or str, optional
        Where to look for the ram.
    examined_on : date, optional
        Which of the ram's examinations; without it, the latest that stands.

    Raises
    ------
    RecordError
        `record.not_found` or `record.ambiguous` as `find_ram`; `record.not_found` when he has no
        examination that stands on that day, naming the days.
    """
    named = _by_id(query)
    if named is not None:
        return named
    found = history(find_ram(query, flock))
    standing = [e for e in found.entries if not e.corrected_by]
    for entry in standing:
        if examined_on in (None, entry.examination.exam.examined_on):
            return found.ram, entry
    raise _none_that_day(found.ram.label, examined_on, standing)


def _by_id(query: str) -> tuple[RamRecord, HistoryEntry] | None:
    """Return the examination with that id; None when it is none, as the id of a ram is."""
    if lookup.uuid_or_none(query) is None:
        return None
    try:
        record = lookup.examination_record(lookup.examination_row(query))
    except RecordError:
        return None
    found = history(record.exam.ram_id)
    return found.ram, next(e for e in found.entries if e.examination.id == record.id)


def _none_that_day(label: str, day: date | None, standing: Sequence[HistoryEntry]) -> RecordError:
    days = [e.examination.exam.examined_on.isoformat() for e in standing]
    return RecordError(
        "record.not_found",
        f"{label} has no examination" + (" on that day" if day else ""),
        got=day.isoformat() if day else None,
        legal=", ".join(days) or "he was never examined",
        example=f"--examined-on {days[0]}" if days else "",
    )

"""Flocks on the books, and when their rams go in."""

from __future__ import annotations

from datetime import date, datetime

from stell.services.records import FlockRecord


def add_flock(
    name: str,
    *,
    owner: str = "",
    latitude_deg: float,
    ram_type: str = "",
    mating_start_on: date | None = None,
    by: str,
    now: datetime,
) -> FlockRecord:
    """Put a flock on the books.

    Raises
    ------
    RecordError
        `record.refused` when a flock answers to that name already.
    ValueRefused
        `value.range` for a latitude outside -90 … 90, `value.choice` for an unknown type.
    """
    raise NotImplementedError


def set_mating_start(
    flock: FlockRecord | str, start_on: date, *, by: str, now: datetime
) -> FlockRecord:
    """Say when the rams go in.

    A start within 60 days of one on record moves that one; else it is a further season.
    """
    raise NotImplementedError


def all_flocks() -> tuple[FlockRecord, ...]:
    """Return every flock, by name."""
    raise NotImplementedError


def find_flock(name: str) -> FlockRecord:
    """Return the flock of that name, slug or id; upper and lower case are the same.

    Raises
    ------
    RecordError
        `record.not_found`, naming what comes near; `record.ambiguous`.
    """
    raise NotImplementedError

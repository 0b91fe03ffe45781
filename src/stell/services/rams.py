"""Rams on the books: lists, look-up, and a ram's whole history."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from stell.core.verdict import Decision
from stell.services.records import ExaminationRecord, FlockRecord, OverrideRecord, RamRecord


@dataclass(frozen=True, slots=True)
class HistoryEntry:
    """One examination in a ram's history.

    Attributes
    ----------
    decision : Decision
        The verdict as its protocol version gives it, and the last override.
    overrides : tuple of OverrideRecord
        All of them, newest first.
    corrected_by : str
        Examination that replaced this one, or empty.
    protocol : str
        ``id version``.
    """

    examination: ExaminationRecord
    decision: Decision
    overrides: tuple[OverrideRecord, ...]
    corrected_by: str
    protocol: str


@dataclass(frozen=True, slots=True)
class RamHistory:
    """Everything on record for a ram. `entries` newest first; `comparisons` of standing ones."""

    ram: RamRecord
    entries: tuple[HistoryEntry, ...]
    comparisons: tuple[Any, ...]


def list_rams(
    flock: FlockRecord | str | None = None,
    *,
    include_left: bool = False,
    limit: int | None = None,
    offset: int = 0,
) -> tuple[RamRecord, ...]:
    """Return rams by flock and tag."""
    raise NotImplementedError


def find_ram(query: str, flock: FlockRecord | str | None = None) -> RamRecord:
    """Return the ram with that id, electronic number, tag or name.

    Raises
    ------
    RecordError
        `record.not_found`, naming what comes near; `record.ambiguous`, naming the flocks.
    """
    raise NotImplementedError


def history(ram: RamRecord | str) -> RamHistory:
    """Return every examination of a ram, corrections and overrides included, newest first."""
    raise NotImplementedError


def leave(ram: RamRecord | str, on: date, why: str, *, by: str, now: datetime) -> RamRecord:
    """Put on record that a ram has left his flock (sold, died …)."""
    raise NotImplementedError


def move(
    ram: RamRecord | str, to: FlockRecord | str, on: date, *, by: str, now: datetime
) -> RamRecord:
    """Put on record that a ram now belongs to another flock on the books."""
    raise NotImplementedError


def identify(
    ram: RamRecord | str, scheme: str, value: str, *, on: date, by: str, now: datetime
) -> RamRecord:
    """Give a ram a tag, electronic number or name from a day on; the old one stays on record."""
    raise NotImplementedError

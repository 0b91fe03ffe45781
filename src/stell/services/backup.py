"""Safe copies of the store, and back from them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path


@dataclass(frozen=True, slots=True)
class BackupSummary:
    """A safe copy: where, how big, what is inside."""

    path: Path
    size_bytes: int
    sha256: str
    schema: str
    made_at: datetime
    examinations: int


def backup(path: Path, *, now: datetime) -> BackupSummary:
    """Write a whole, checked copy of the store to `path`; other work may go on meanwhile.

    Raises
    ------
    StoreError
        `store.full`, or `store.unreadable` when the copy fails its check (it is then removed).
    RecordError
        `record.refused` when `path` exists.
    """
    raise NotImplementedError


def inspect(path: Path) -> BackupSummary:
    """Check a backup from end to end without restoring it."""
    raise NotImplementedError


def restore(path: Path, *, folder: Path, replace: bool = False, now: datetime) -> BackupSummary:
    """Put a backup in the place of the store in `folder`; what was there is kept beside it.

    Raises
    ------
    StoreError
        `store.unreadable` when the backup does not pass its check: nothing is touched then.
    RecordError
        `record.refused` when there is a store and `replace` is not given.
    """
    raise NotImplementedError

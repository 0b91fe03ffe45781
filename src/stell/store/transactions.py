"""One way to write: all or nothing, with errors that a person can act on."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from typing import NoReturn

from django.core.exceptions import ImproperlyConfigured
from django.db import DatabaseError, connection, transaction

from stell.core.errors import RecordError, StoreError


@contextmanager
def writing() -> Iterator[None]:
    """Run the block in one transaction; on any error nothing of it stays.

    Raises
    ------
    StoreError
        `store.busy`, `store.full`, `store.unreadable`.
    RecordError
        `record.immutable` when a trigger refused.
    """
    try:
        with transaction.atomic():
            yield
    except (DatabaseError, ImproperlyConfigured) as error:
        raise_explained(error)


@contextmanager
def reading() -> Iterator[None]:
    """Run the block; explain what the database says when it fails."""
    try:
        yield
    except (DatabaseError, ImproperlyConfigured) as error:
        raise_explained(error)


def take_turn(key: int = 0x7374656C) -> None:
    """Let no other writer in until this transaction ends.

    SQLite transactions take the write lock at their start; PostgreSQL is asked for it here.
    """
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [key])


def raise_explained(error: BaseException) -> NoReturn:
    """Raise what the database or the disk said as one of our errors; others as they are."""
    told = explained(error)
    if told is error:
        raise error
    raise told from error


def explained(error: BaseException) -> BaseException:
    """Return the database's or the disk's error as one of ours; others stay what they are."""
    if isinstance(error, ImproperlyConfigured):
        return StoreError(
            "store.unreadable",
            "no store is open",
            legal="open_store(data_folder()) before other services",
        )
    if not isinstance(error, DatabaseError | sqlite3.Error | OSError):
        return error
    text = str(error).lower()
    if "record.immutable" in text:
        return RecordError(
            "record.immutable",
            "what is on record cannot be changed or removed",
            legal="a correction with a reason: a new record that names the one it replaces",
            example='stell correct … --reason "left and right were swapped"',
        )
    if "is locked" in text or "lock timeout" in text or "deadlock" in text:
        return StoreError(
            "store.busy",
            "another program is writing to the records and did not finish in time; nothing was "
            "stored",
            legal="one import at a time",
            example="wait a minute and give the same command again",
        )
    if any(sign in text for sign in _FULL):
        return StoreError(
            "store.full",
            "there is no room left to write; nothing was stored and nothing was lost",
            legal="free space where the data folder lies",
            example="make room and give the same command again",
        )
    if isinstance(error, OSError):
        return StoreError(
            "store.unreadable",
            f"the file cannot be read or written: {error.strerror or error}",
            got=str(error.filename or "") or None,
            legal="a file in a folder that may be read and written",
            example="another place, or leave to write there",
        )
    is_damaged = any(sign in text for sign in _DAMAGED)
    if is_damaged or any(sign in text for sign in _OUT_OF_REACH):
        return StoreError(
            "store.unreadable",
            "the data file is damaged" if is_damaged else "the data file cannot be read or written",
            got=str(error).strip().splitlines()[0],
            legal="a data file that stell made, in a folder that may be read and written",
            example="stell restore BACKUP" if is_damaged else "leave to write there; not a share",
        )
    return error


_FULL = ("database or disk is full", "no space left", "disk full", "could not extend file")
_DAMAGED = ("file is not a database", "disk image is malformed", "no such table")
_OUT_OF_REACH = (
    "unable to open database",
    "readonly database",
    "disk i/o error",
    "connection refused",
    "connection failed",
    "server closed the connection",
)

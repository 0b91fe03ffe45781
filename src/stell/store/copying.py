"""Whole copies of a SQLite store: made while others work, and checked from end to end."""

from __future__ import annotations

import hashlib
import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from stell.core.errors import StoreError

# "stel" in ASCII, kept in the header of the file: tells our file from another program's.
APPLICATION_ID = 0x7374656C
_MEGABYTE = 1 << 20


@contextmanager
def plain(path: Path, *, read_only: bool = False) -> Iterator[sqlite3.Connection]:
    """Open a file without Django, every statement its own transaction."""
    address = f"{path.absolute().as_uri()}?mode={'ro' if read_only else 'rwc'}"
    connection = sqlite3.connect(address, uri=True, timeout=30, isolation_level=None)
    try:
        yield connection
    finally:
        connection.close()


def check(path: Path) -> tuple[str, int]:
    """Read a copy from end to end; return its last migration and how many examinations it holds.

    Raises
    ------
    StoreError
        `store.unreadable`, saying what is wrong.
    """
    try:
        with plain(path, read_only=True) as file:
            if file.execute("PRAGMA application_id").fetchone()[0] != APPLICATION_ID:
                raise _unfit(path, "a file of another program")
            told = [row[0] for row in file.execute("PRAGMA integrity_check(5)")]
            if told != ["ok"]:
                raise _unfit(path, told[0])
            if broken := file.execute("PRAGMA foreign_key_check").fetchone():
                raise _unfit(path, f"a row of {broken[0]} points to nothing")
            schema = file.execute(
                "SELECT max(name) FROM django_migrations WHERE app = 'store'"
            ).fetchone()[0]
            number = file.execute("SELECT count(*) FROM store_examination").fetchone()[0]
    except (sqlite3.Error, OSError) as error:
        raise _unfit(path, str(error)) from error
    return schema, number


def _unfit(path: Path, got: str) -> StoreError:
    return StoreError(
        "store.unreadable",
        f"{path} is no whole copy of stell's records",
        got=got,
        legal="a file made by `stell backup`, unchanged since",
        example="stell restore another-backup.sqlite3",
    )


def sha256_of(path: Path) -> str:
    """Return the SHA-256 of a file, as hex."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def copy_durably(source: Path, target: Path) -> None:
    """Copy a file and wait until it has reached the disk."""
    with source.open("rb") as reader, target.open("xb") as writer:
        while chunk := reader.read(_MEGABYTE):
            writer.write(chunk)
        writer.flush()
        os.fsync(writer.fileno())
    target.chmod(0o600)


def to_disk(path: Path) -> None:
    """Wait until a file, or the names in a folder, have reached the disk."""
    is_folder = path.is_dir()
    if is_folder and os.name == "nt":
        return  # a folder cannot be opened there
    descriptor = os.open(path, os.O_RDONLY if is_folder else os.O_RDWR)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def alone_with(path: Path) -> None:
    """Fold the write-ahead log into the file, which only the last user of a file can.

    Raises
    ------
    StoreError
        `store.busy` when somebody else has the file open.
    """
    try:
        with plain(path) as file:
            file.execute("PRAGMA busy_timeout = 2000")
            file.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            file.execute("PRAGMA journal_mode = DELETE")
    except sqlite3.OperationalError as error:
        if "locked" not in str(error):
            raise
        raise StoreError(
            "store.busy",
            "another program has the records open, so they cannot be replaced",
            got=str(path),
            legal="no other stell at work on this folder",
            example="stop the site and close other windows, then give the command again",
        ) from error

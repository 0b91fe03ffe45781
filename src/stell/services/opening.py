"""Find the data folder and open the store in it."""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path
from shutil import disk_usage
from typing import Any

from stell.core.errors import StoreError

_LOCK_NAME = "opening.lock"
_LEAST_FREE = 128 * 2**10  # bytes: below that SQLite cannot make the files beside its own
_opened: Path | None = None


def data_folder(given: Path | None = None) -> Path:
    """Return where the records lie: `given`, else ``STELL_DATA``, else the user's data home."""
    if given is not None:
        return given.expanduser().absolute()
    if named := os.environ.get("STELL_DATA"):
        return Path(named).expanduser().absolute()
    home = os.environ.get("XDG_DATA_HOME")
    return (Path(home) if home else Path.home() / ".local" / "share") / "stell"


def open_store(folder: Path, *, create: bool = True) -> None:
    """Open the store in `folder`, bringing its tables up to date; call it before other services.

    Parameters
    ----------
    folder : Path
        From `data_folder`.
    create : bool, default True
        Whether to make folder and store when there are none.

    Raises
    ------
    StoreError
        `store.unreadable`: nothing there (and not `create`), not a store, or made by a newer
        stell. `store.busy`, `store.full`.
    """
    global _opened
    from stell.store import settings, transactions

    entry = settings.database(folder)
    path = Path(entry["NAME"]) if entry["ENGINE"].endswith("sqlite3") else None
    if path is not None and not create and not (path.is_file() and path.stat().st_size):
        raise _nothing_there(path)
    _make_folder(folder)
    settings.secret_key(folder)
    if path is not None:
        _refuse_foreign(path)
    _talk_to(entry, folder)
    with transactions.reading():
        _bring_up_to_date(folder)
    _opened = folder


def opened_folder() -> Path:
    """Return the folder of the open store.

    Raises
    ------
    StoreError
        `store.unreadable` when none is open.
    """
    if _opened is None:
        raise StoreError(
            "store.unreadable",
            "no store is open",
            legal="open_store(data_folder()) before other services",
        )
    return _opened


def _nothing_there(path: Path) -> StoreError:
    return StoreError(
        "store.unreadable",
        "no records are kept there",
        got=str(path),
        legal="a folder in which stell keeps records, given by --data or STELL_DATA",
        example="stell import flock.csv --data records",
    )


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    except OSError as error:
        raise StoreError(
            "store.unreadable",
            f"the data folder cannot be made: {error.strerror}",
            got=str(folder),
            legal="a folder that you may write to, not on a network share",
            example="stell --data ~/records …",
        ) from error


def _refuse_foreign(path: Path) -> None:
    """Mark a new file as ours; refuse one that is not."""
    from stell.store.copying import APPLICATION_ID, plain

    try:
        with plain(path) as file:
            found = file.execute("PRAGMA application_id").fetchone()[0]
            if found == APPLICATION_ID:
                return
            tables = file.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
            if found == 0 and tables == 0:
                file.execute(f"PRAGMA application_id = {APPLICATION_ID}")
                path.chmod(0o600)
                return
    except sqlite3.DatabaseError as error:
        from stell.store.transactions import explained

        if "not a database" in str(error):
            raise _foreign(path, str(error)) from error
        if "disk i/o error" in str(error).lower() and disk_usage(path.parent).free < _LEAST_FREE:
            # SQLite cannot even open its log, and does not say why.
            raise explained(sqlite3.OperationalError("database or disk is full")) from error
        raise explained(error) from error
    raise _foreign(path, "a database of another program")


def _foreign(path: Path, got: str) -> StoreError:
    return StoreError(
        "store.unreadable",
        f"{path} is not a file of stell's, so it is left alone",
        got=got,
        legal="a file that stell made, or none yet",
        example="stell --data another-folder …",
    )


def _talk_to(entry: dict[str, Any], folder: Path) -> None:
    """Point Django at the database, unless it talks to it already."""
    from django.conf import settings
    from django.db import connections

    import stell.store  # noqa: F401  (makes Django ready)
    from stell.store.settings import secret_key

    now = connections.databases["default"]
    if all(now.get(key) == entry[key] for key in ("ENGINE", "NAME")):
        return
    connections["default"].close()
    settings.DATABASES = {"default": entry}
    settings.SECRET_KEY = secret_key(folder)
    connections.settings = connections.configure_settings({"default": entry})
    del connections["default"]


def _bring_up_to_date(folder: Path) -> None:
    from django.core.management import call_command
    from django.db import connection

    from stell.store import guards
    from stell.store.copying import plain

    _refuse_newer(connection)
    if not _is_current(connection):
        with plain(folder / _LOCK_NAME) as lock:  # two programs must not make the same tables
            lock.execute("BEGIN EXCLUSIVE")
            if not _is_current(connection):
                _keep_a_copy(connection, folder)
                call_command("migrate", verbosity=0, interactive=False)
            lock.execute("ROLLBACK")
    if guards.missing(connection):
        guards.install(connection)


def _is_current(connection: Any) -> bool:
    from django.db.migrations.executor import MigrationExecutor

    executor = MigrationExecutor(connection)
    return not executor.migration_plan(executor.loader.graph.leaf_nodes())


def _refuse_newer(connection: Any) -> None:
    """Refuse tables that a newer version of the program has changed."""
    from django.db.migrations.loader import MigrationLoader

    loader = MigrationLoader(connection, ignore_no_migrations=True)
    known = set(loader.disk_migrations)
    unknown = sorted(name for app, name in set(loader.applied_migrations) - known if app == "store")
    if unknown:
        raise StoreError(
            "store.unreadable",
            "these records were written by a newer version of stell",
            got=unknown[-1],
            legal=f"tables up to {max(name for app, name in known if app == 'store')}",
            example="install the newer version and try again",
        )


def _keep_a_copy(connection: Any, folder: Path) -> None:
    """Before tables change, put a whole copy of a SQLite store beside it."""
    if connection.vendor != "sqlite" or not connection.introspection.table_names():
        return
    from django.db.migrations.recorder import MigrationRecorder

    applied = MigrationRecorder(connection).migration_qs.filter(app="store")
    copy = folder / f"before-update-{applied.count():04d}.sqlite3"
    if not copy.exists():
        with connection.cursor() as cursor:
            cursor.execute("VACUUM INTO %s", [str(copy)])

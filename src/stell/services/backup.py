"""Safe copies of the store, and back from them."""

from __future__ import annotations

import json
import os
import shutil
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from stell.core.errors import RecordError, StoreError
from stell.services.opening import opened_folder
from stell.store import copying
from stell.store.settings import FILE_NAME
from stell.store.transactions import raise_explained

_FORMAT = "stell-backup-1"


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

    A manifest (`manifest_of`) is written beside it: size, SHA-256, schema, number of examinations.

    Raises
    ------
    StoreError
        `store.full`, or `store.unreadable` when the copy fails its check (it is then removed).
    RecordError
        `record.refused` when `path` exists, or for a store on a database server.
    """
    from django.db import connection

    _refuse_server(connection)
    if path.exists():
        raise RecordError(
            "record.refused",
            "the file is there already, and a backup never overwrites",
            got=str(path),
            legal="a name that is free",
            example=f"{path.stem}-{now:%Y-%m-%d}{path.suffix or '.sqlite3'}",
        )
    part = path.with_name(f"{path.name}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        part.unlink(missing_ok=True)
        with connection.cursor() as cursor:
            cursor.execute("VACUUM INTO %s", [str(part)])
        part.chmod(0o600)
        copying.to_disk(part)
        schema, examinations = copying.check(part)
        summary = BackupSummary(
            path=path,
            size_bytes=part.stat().st_size,
            sha256=copying.sha256_of(part),
            schema=schema,
            made_at=now,
            examinations=examinations,
        )
        _write_manifest(summary)
        part.replace(path)
        copying.to_disk(path.parent)
    except BaseException as error:
        part.unlink(missing_ok=True)
        manifest_of(path).unlink(missing_ok=True)
        raise_explained(error)
    return summary


def manifest_of(path: Path) -> Path:
    """Return where the manifest of a backup lies: beside it."""
    return path.with_name(f"{path.name}.manifest.json")


def _refuse_server(connection: Any) -> None:
    if connection.vendor != "sqlite":
        raise RecordError(
            "record.refused",
            "these records are on a database server, which has its own tool for backups",
            got=connection.vendor,
            legal="the server's own tool, or an export",
            example="pg_dump --format=custom stell > stell.dump",
        )


def _write_manifest(summary: BackupSummary) -> None:
    said = asdict(summary) | {
        "format": _FORMAT,
        "path": summary.path.name,
        "made_at": summary.made_at.isoformat(),
    }
    target = manifest_of(summary.path)
    target.write_text(json.dumps(said, indent=1) + "\n", encoding="utf-8")
    copying.to_disk(target)


def inspect(path: Path) -> BackupSummary:
    """Check a backup from end to end without restoring it.

    Raises
    ------
    StoreError
        `store.unreadable` when it is not whole, not as its manifest says, or of a newer stell.
    """
    schema, examinations = copying.check(path)
    _refuse_newer(path, schema)
    digest = copying.sha256_of(path)
    manifest = _manifest(path)
    if manifest is not None and manifest.get("sha256") != digest:
        raise StoreError(
            "store.unreadable",
            "the backup is not what was written: its manifest says otherwise",
            got=f"SHA-256 {digest[:12]}…",
            legal=f"SHA-256 {str(manifest.get('sha256'))[:12]}…",
            example="stell restore another-backup.sqlite3",
            where=str(path),
        )
    if manifest is None:
        made_at = datetime.fromtimestamp(path.stat().st_mtime).astimezone()
    else:
        made_at = datetime.fromisoformat(manifest["made_at"])
    return BackupSummary(
        path=path,
        size_bytes=path.stat().st_size,
        sha256=digest,
        schema=schema,
        made_at=made_at,
        examinations=examinations,
    )


def _manifest(path: Path) -> dict[str, Any] | None:
    """Return what was written down when the backup was made; None when that file is not there."""
    try:
        return json.loads(manifest_of(path).read_text(encoding="utf-8"))
    except FileNotFoundError:
        return None
    except (OSError, ValueError) as error:
        raise StoreError(
            "store.unreadable",
            "the backup's manifest cannot be read",
            got=str(error),
            legal="the manifest as it was written, or none",
            where=str(manifest_of(path)),
        ) from error


def _refuse_newer(path: Path, schema: str) -> None:
    from stell.store import migrations

    folder = Path(str(migrations.__file__)).parent
    known = sorted(f.stem for f in folder.glob("0*.py"))
    if schema not in known:
        raise StoreError(
            "store.unreadable",
            "the backup was made by a newer version of stell",
            got=schema,
            legal=f"tables up to {known[-1]}",
            example="install the newer version and restore with it",
            where=str(path),
        )


def restore(path: Path, *, folder: Path, replace: bool = False, now: datetime) -> BackupSummary:
    """Put a backup in the place of the store in `folder`; what was there is kept beside it.

    Raises
    ------
    StoreError
        `store.unreadable` when the backup does not pass its check: nothing is touched then.
        `store.busy` when another program has the records open.
    RecordError
        `record.refused` when there is a store and `replace` is not given.
    """
    summary = inspect(path)
    target = folder / FILE_NAME
    if target.exists() and not replace:
        raise RecordError(
            "record.refused",
            "records are kept there already",
            got=str(target),
            legal="an empty folder, or leave to replace them (they are kept beside it)",
            example="stell restore … --replace",
        )
    part = folder / f"{FILE_NAME}.part"
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        part.unlink(missing_ok=True)
        copying.copy_durably(path, part)
        if copying.sha256_of(part) != summary.sha256:
            raise StoreError(
                "store.unreadable", "the copy differs from the backup: a failing disk?"
            )
        if target.exists():
            _let_go(folder)
            copying.alone_with(target)
            _keep_aside(target, now)
        part.replace(target)
        copying.to_disk(folder)
    except BaseException as error:
        part.unlink(missing_ok=True)
        raise_explained(error)
    return summary


def _let_go(folder: Path) -> None:
    """Close this program's own connection to the store that is replaced."""
    from django.db import connections

    try:
        is_ours = opened_folder() == folder
    except StoreError:
        is_ours = False
    if is_ours:
        connections.close_all()


def _keep_aside(target: Path, now: datetime) -> None:
    """Give the store that is replaced a second name; it is never gone, not even for a moment."""
    aside = target.with_name(f"replaced-{now:%Y%m%dT%H%M%S}-{target.name}")
    try:
        os.link(target, aside)
    except OSError:
        shutil.copy2(target, aside)

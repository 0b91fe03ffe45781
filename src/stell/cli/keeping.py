"""Commands that look after the records: export, backup, restore."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stell.cli.commands import command
from stell.cli.failing import UsageRefused
from stell.cli.rams import InFlock
from stell.cli.records import opened
from stell.cli.session import Session

if TYPE_CHECKING:
    from stell.services.backup import BackupSummary

FORMATS = {".csv": "csv", "": "csv", ".xlsx": "xlsx", ".json": "json"}


def register(app: typer.Typer) -> None:
    """Add the commands to `app`."""
    command(app, "export", needs=("json", "data"))(export)
    command(app, "backup", needs=("json", "data", "today"))(backup)
    command(app, "restore", needs=("json", "data", "today"))(restore)


def export(
    session: Session,
    target: Annotated[
        Path,
        typer.Argument(
            metavar="TARGET",
            help="A workbook (.xlsx), a JSON file (.json), or a folder for CSV files.",
        ),
    ],
    flock: InFlock = "",
    replace: Annotated[
        bool, typer.Option("--replace", help="Write over a file or folder that is there.")
    ] = False,
) -> None:
    """Write everything out: CSV files, a workbook, or open JSON."""
    from stell.services.exporting import export as write_out

    format_ = FORMATS.get(target.suffix.lower())
    if format_ is None or target.suffix.lower() == ".csv":
        raise UsageRefused(
            "usage",
            "the export's kind cannot be told from its name",
            got=target.name,
            legal="a name ending in .xlsx or .json, or a folder for CSV files",
            example="stell export records.xlsx",
        )
    if not replace and (target.is_file() or (target.is_dir() and any(target.iterdir()))):
        raise UsageRefused(
            "usage",
            "something is there already, and may be somebody's own",
            got=str(target),
            legal="a name that is not taken, or --replace",
            example=f"stell export {target} --replace",
        )
    opened(session, create=False)
    summary = write_out(target, format=format_, flock=flock or None)  # type: ignore[arg-type]
    if session.as_json:
        session.emit(summary)
        return
    from stell.cli.printing import table

    shown = table(session, ("Table", {"style": "bold"}), ("Rows", {"justify": "right"}))
    for name, rows in summary.rows.items():
        shown.add_row(name, f"{rows:,}")
    session.out.print(shown)
    where = ", ".join(str(f) for f in summary.files[:3])
    more = f" and {len(summary.files) - 3} more" if len(summary.files) > 3 else ""
    session.say(f"\nWritten: {where}{more}.")


def backup(
    session: Session,
    path: Annotated[Path, typer.Argument(metavar="FILE", help="Where the copy goes.")],
) -> None:
    """Write a whole, checked copy of the records."""
    from stell.services.backup import backup as make

    opened(session, create=False)
    _tell(session, make(path, now=session.now), "Backed up to")


def restore(
    session: Session,
    path: Annotated[Path, typer.Argument(metavar="FILE", help="A copy made by `stell backup`.")],
    replace: Annotated[
        bool,
        typer.Option("--replace", help="Put it in place of the records that are there now."),
    ] = False,
) -> None:
    """Put a backup in place; what it replaces is kept beside it."""
    from stell.services.backup import restore as put_back
    from stell.services.opening import data_folder

    folder = data_folder(session.folder)
    _tell(session, put_back(path, folder=folder, replace=replace, now=session.now), "Restored from")


def _tell(session: Session, summary: BackupSummary, what: str) -> None:
    if session.as_json:
        session.emit(summary)
        return
    from stell.cli.printing import counted

    session.say(
        f"{what} {summary.path}: {counted(summary.examinations, 'examination')}, "
        f"{summary.size_bytes / 1e6:.1f} MB, checked."
    )
    if not session.quiet:
        session.say(f"SHA-256 {summary.sha256}")

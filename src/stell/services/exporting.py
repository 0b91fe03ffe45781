"""Everything out, at any time: CSV folder, workbook or open JSON."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from stell.services.records import FlockRecord

Format = Literal["csv", "xlsx", "json"]


@dataclass(frozen=True, slots=True)
class ExportSummary:
    """What was written. `rows` counts rows by table name."""

    files: tuple[Path, ...]
    rows: dict[str, int]


def export(
    target: Path,
    *,
    format: Format,  # noqa: A002  (the word people type)
    flock: FlockRecord | str | None = None,
) -> ExportSummary:
    """Write everything on record (or one flock's part) to a folder (csv) or file (xlsx, json)."""
    raise NotImplementedError

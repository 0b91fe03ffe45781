"""How much stell takes in one piece, and the refusal of more."""

from __future__ import annotations

from stell.core.errors import SheetError

MAX_FILE_BYTES = 64 * 2**20
MAX_UNPACKED_BYTES = 512 * 2**20
MAX_ROWS = 200_000
MAX_COLUMNS = 4_096
MAX_CELLS = 12_000_000
MAX_PARTS = 5_000  # files inside a workbook


def too_large(problem: str, got: str, legal: str, name: str) -> SheetError:
    """Return the refusal of a sheet that is too large."""
    return SheetError(
        "sheet.too_large",
        problem,
        got=got,
        legal=legal,
        example="one sheet for each flock or year",
        where=name,
    )


def refuse_extent(rows: int, columns: int, name: str) -> None:
    """Refuse a table of so many rows and columns.

    Raises
    ------
    SheetError
        `sheet.too_large`.
    """
    if rows > MAX_ROWS:
        raise too_large(
            "the sheet has too many rows; if the table is shorter, delete the rows below it",
            f"{rows:,} rows",
            f"up to {MAX_ROWS:,} rows",
            name,
        )
    if columns > MAX_COLUMNS:
        raise too_large(
            "the sheet has too many columns; if the table is narrower, delete those beside it",
            f"{columns:,} columns",
            f"up to {MAX_COLUMNS:,} columns",
            name,
        )
    if rows * columns > MAX_CELLS:
        raise too_large(
            "the sheet has too many cells",
            f"{rows:,} rows by {columns:,} columns",
            f"up to {MAX_CELLS:,} cells",
            name,
        )

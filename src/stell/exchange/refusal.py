"""The refusal of one cell, before it is known in which row it stands."""

from __future__ import annotations

from stell.core.errors import SheetError


class Refused(SheetError):
    """A cell that its column cannot mean; `cells.RowError` adds the place."""


def refused(
    problem: str, got: object, legal: str, example: str, code: str = "row.value"
) -> Refused:
    """Return the refusal of a cell."""
    return Refused(code, problem, got=got, legal=legal, example=example)

"""The refusal of one cell, before it is known in which row it stands."""

from __future__ import annotations

from stell.core.errors import SheetError


class Refused(SheetError):
    """A cell that its column cannot mean; `cells.RowError` adds the place.

    Attributes
    ----------
    alike : str
        What is wrong, in words that fit every such cell of the column; empty where each cell has
        to be read by itself.
    """

    alike: str = ""


def refused(
    problem: str, got: object, legal: str, example: str, code: str = "row.value"
) -> Refused:
    """Return the refusal of a cell."""
    return Refused(code, problem, got=got, legal=legal, example=example)

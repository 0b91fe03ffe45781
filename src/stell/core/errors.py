"""The one family of errors: a code, what was got, what is legal, one example, and where.

Every error that reaches a person is one of these. The text is built in one place, so that the
terminal, the page and the JSON interface say the same thing. The closed list of codes is `CODES`.
"""

from __future__ import annotations

from typing import Any

CODES: dict[str, str] = {
    "protocol.unreadable": "a protocol file is not valid TOML or cannot be read",
    "protocol.invalid": "a key or value in a protocol file is missing, unknown or out of range",
    "protocol.source": "a number in a protocol file has no usable source, place, date or basis",
    "protocol.unit": "a unit in a protocol file is not one that stell knows",
    "protocol.cycle": "checks in a protocol file wait for each other in a circle",
    "protocol.unknown": "no protocol of that name is shipped or registered",
    "protocol.version": "a protocol version is already registered with other contents",
    "sheet.unreadable": "a sheet cannot be read as CSV or XLSX",
    "sheet.empty": "a sheet holds no rows",
    "sheet.too_large": "a sheet is larger than stell takes in one piece",
    "sheet.columns": "the columns of a sheet cannot be matched to what is needed",
    "row.value": "a cell holds something that its column cannot mean",
    "row.missing": "a row lacks something that every row needs",
    "row.date": "a date is ambiguous, impossible or in the future",
    "row.unit": "a measurement's unit is not known or the value does not fit it",
    "row.duplicate": "two rows of one sheet speak of the same ram on the same day",
    "row.identity": "a row's tag, electronic number and name point to different rams",
    "row.conflict": "an examination of that ram on that day is stored with other contents",
    "value.range": "a number lies outside what is possible",
    "value.choice": "a word is not one of the legal ones",
    "value.date": "a date could not be understood",
    "identity.eid": "an electronic number is not a 15-digit ISO 11784 code",
    "record.immutable": "a closed examination cannot be changed; it can be corrected",
    "record.not_found": "nothing is stored under that name",
    "record.ambiguous": "more than one stored thing answers to that name",
    "record.refused": "the record cannot be accepted as it stands",
    "store.unreadable": "the data file cannot be opened or is not one of stell's",
    "store.full": "there is no room left to write",
    "store.busy": "another program is writing to the data file",
    "usage": "the words of a command do not fit together",
}


class StellError(Exception):
    """Base of every error that is shown to a person.

    Parameters
    ----------
    code : str
        One of `CODES`.
    problem : str
        What is wrong, as a sentence without a full stop.
    got : object, optional
        What was met.
    legal : str, optional
        What would have been right.
    example : str, optional
        One thing to type instead.
    where : str, optional
        File, line, row, column or key.
    """

    exit_code = 1

    def __init__(
        self,
        code: str,
        problem: str,
        *,
        got: object = None,
        legal: str = "",
        example: str = "",
        where: str = "",
    ) -> None:
        if code not in CODES:
            raise KeyError(f"{code!r} is not in stell.core.errors.CODES")
        self.code = code
        self.problem = problem
        self.got = got
        self.legal = legal
        self.example = example
        self.where = where
        super().__init__(self.text())

    def text(self) -> str:
        """Return the whole message: where, what, what was got, what is legal, an example."""
        parts = [f"{self.where}: {self.problem}" if self.where else self.problem]
        if self.got is not None:
            shown = self.got if isinstance(self.got, str) else repr(self.got)
            if len(shown) > 80:
                shown = shown[:77] + "..."
            parts.append(f"got: {shown!r}" if isinstance(self.got, str) else f"got: {shown}")
        if self.legal:
            parts.append(f"legal: {self.legal}")
        if self.example:
            parts.append(f"for example: {self.example}")
        return "; ".join(parts)

    def as_dict(self) -> dict[str, Any]:
        """Return the error as JSON-ready values, one shape at every edge."""
        return {
            "code": self.code,
            "problem": self.problem,
            "got": None if self.got is None else str(self.got),
            "legal": self.legal,
            "example": self.example,
            "where": self.where,
        }


class ProtocolError(StellError):
    """A protocol file was refused."""

    exit_code = 3


class SheetError(StellError):
    """A sheet, or a row of it, was refused."""

    exit_code = 4


class ValueRefused(StellError):
    """A single value was refused."""

    exit_code = 2


class RecordError(StellError):
    """A stored record is missing, ambiguous or closed."""

    exit_code = 5


class StoreError(StellError):
    """The data file cannot be read or written."""

    exit_code = 6

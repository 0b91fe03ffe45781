"""Protocol versions on record, and what one changes against another."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from stell.core.intake import IntakeRow, SheetReading
from stell.core.protocol.compiled import ReadyProtocol
from stell.core.records import Season
from stell.core.verdict import Verdict


@dataclass(frozen=True, slots=True)
class ProtocolRecord:
    """One registered version."""

    id: str
    version: str
    title: str
    sha256: str
    registered_at: datetime
    registered_by: str
    judgements: int = 0

    @property
    def named(self) -> str:
        """``id version``."""
        return f"{self.id} {self.version}"


@dataclass(frozen=True, slots=True)
class Difference:
    """One way in which two protocols differ.

    `kind` is ``check_added``, ``check_removed``, ``required``, ``limit``, ``effect``, ``order``,
    ``timing`` or ``text``; `where` is the id of what differs; `sentence` says it.
    """

    kind: str
    where: str
    sentence: str


@dataclass(frozen=True, slots=True)
class RowDifference:
    """A ram whose verdict differs."""

    row: IntakeRow
    a: Verdict
    b: Verdict


@dataclass(frozen=True, slots=True)
class Comparison:
    """What differs between `a` and `b`, and whose verdict changes on a sheet."""

    a: ReadyProtocol
    b: ReadyProtocol
    differences: tuple[Difference, ...]
    rows: tuple[RowDifference, ...]
    judged: int


def register(text: str, *, by: str, now: datetime, where: str = "protocol") -> ProtocolRecord:
    """Put a protocol version on record; the same text again changes nothing.

    Raises
    ------
    ProtocolError
        What is wrong with the text; `protocol.version` when that id and version are on record
        with another text.
    """
    raise NotImplementedError


def all_protocols() -> tuple[ProtocolRecord, ...]:
    """Return every registered version, oldest first."""
    raise NotImplementedError


def load_registered(named: str) -> ReadyProtocol:
    """Return the registered version ``id version``, compiled from the text on record.

    Raises
    ------
    ProtocolError
        `protocol.unknown`.
    """
    raise NotImplementedError


def compare_on(
    reading: SheetReading, a: ReadyProtocol, b: ReadyProtocol, season: Season | None = None
) -> Comparison:
    """Return how two protocols differ, and on which rows of a sheet. No database."""
    raise NotImplementedError

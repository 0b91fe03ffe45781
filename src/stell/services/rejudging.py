"""Judge everything on record again, by another version of a protocol."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime

from stell.core.protocol.ready import ReadyProtocol
from stell.core.verdict import Outcome
from stell.services.records import Progress


@dataclass(frozen=True, slots=True)
class VerdictChange:
    """An examination whose proposal differs between two versions."""

    exam_id: str
    ram_id: str
    ram_label: str
    flock_name: str
    examined_on: date
    before: Outcome
    after: Outcome


@dataclass(frozen=True, slots=True)
class RejudgeSummary:
    """What a run did.

    Attributes
    ----------
    judged : int
        Examinations that this run (with the parts before an interruption) judged.
    already : int
        Examinations that this version had judged before the run began.
    changed : int
        Examinations whose outcome differs from the one they were first given.
    moves : mapping of (before, after) to int
        How many went from which outcome to which, unchanged ones included.
    """

    protocol: str
    total: int
    judged: int
    already: int
    changed: int
    moves: Mapping[tuple[Outcome, Outcome], int]
    was_resumed: bool


def rejudge(
    protocol: ReadyProtocol,
    *,
    by: str,
    now: datetime,
    resume: bool = True,
    progress: Progress | None = None,
    batch: int = 5000,
) -> RejudgeSummary:
    """Judge every stored examination by `protocol`; verdicts given before stay as they are.

    It may be stopped at any point, also by force; the next call goes on where it stopped.
    `resume=False` refuses to go on with an unfinished run instead.
    """
    raise NotImplementedError


def changes(protocol: ReadyProtocol, *, limit: int | None = None) -> Iterator[VerdictChange]:
    """Yield the examinations to which `protocol` gives another outcome than they first had."""
    raise NotImplementedError

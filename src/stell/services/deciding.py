"""A vet's own word: overrides beside the proposal, and corrections of what was recorded."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from stell.core.verdict import Outcome
from stell.services.records import ExaminationRecord, OverrideRecord

# What `correct` may change, beside ``ram`` (id of the ram it really was).
CORRECTABLE = (
    "observations",
    "remarks",
    "note",
    "examined_on",
    "examiner",
    "circumstances",
    "breed",
    "ram_type",
    "born",
    "age_class",
    "intended_use",
)


def override(
    exam_id: str, outcome: Outcome | str, reason: str, *, by: str, now: datetime
) -> OverrideRecord:
    """Put the vet's own verdict beside the proposal. Both stay on record; the last word counts.

    Raises
    ------
    RecordError
        `record.not_found`; `record.refused` without a reason or a name, or for an examination
        that a correction has replaced.
    """
    raise NotImplementedError


def correct(
    exam_id: str, changes: Mapping[str, Any], reason: str, *, by: str, now: datetime
) -> ExaminationRecord:
    """Record what was really found, as a new examination that replaces the old; both stay.

    Parameters
    ----------
    changes : mapping
        Keys of `CORRECTABLE`. ``observations`` and ``remarks`` are merged check by check; None
        takes a check away.

    Raises
    ------
    RecordError
        `record.not_found`; `record.refused` without a reason, without a difference, or when it
        is corrected already (then correct the newer one).
    """
    raise NotImplementedError

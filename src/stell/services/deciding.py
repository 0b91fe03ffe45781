"""A vet's own word: overrides beside the proposal. Corrections are in `correcting`."""

from __future__ import annotations

from datetime import datetime

from stell.core.errors import ValueRefused
from stell.core.verdict import Outcome
from stell.services import lookup
from stell.services.correcting import CORRECTABLE, correct, refuse_replaced, require
from stell.services.records import OverrideRecord
from stell.store import audit, identity, models
from stell.store.transactions import take_turn, writing

__all__ = ["CORRECTABLE", "correct", "override"]


def override(
    exam_id: str, outcome: Outcome | str, reason: str, *, by: str, now: datetime
) -> OverrideRecord:
    """Put the vet's own verdict beside the proposal. Both stay on record; the last word counts.

    Raises
    ------
    RecordError
        `record.not_found`; `record.refused` without a reason or a name, or for an examination
        that a correction has replaced.
    ValueRefused
        `value.choice` for a word that is no verdict.
    """
    wanted = _outcome(outcome)
    require(reason, "a vet's own verdict", "a reason", '--reason "temper: he turns on people"')
    require(by, "a vet's own verdict", "the name of who gives it", '--by "E. Quill"')
    with writing():
        take_turn()
        row = lookup.examination_row(exam_id)
        refuse_replaced(row)
        own = models.VetOverride(
            id=identity.new_id(now),
            examination_id=row.id,
            outcome=wanted.value,
            reason=reason.strip(),
            by=by.strip(),
            on=now.date(),
            at=now,
        )
        own.save()
        audit.note(
            "override",
            "override",
            own.id,
            by=by,
            at=now,
            after={"examination": str(row.id), "outcome": own.outcome, "reason": own.reason},
        )
        return lookup.override_record(own)


def _outcome(outcome: Outcome | str) -> Outcome:
    try:
        return Outcome(outcome)
    except ValueError:
        raise ValueRefused(
            "value.choice",
            "the word is no verdict",
            got=str(outcome),
            legal=", ".join(o.value for o in Outcome),
            example="unsatisfactory",
        ) from None

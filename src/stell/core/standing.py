"""What of a verdict's actions stands once the vet has decided, and what of that is still open."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import partial

from stell.core.deeds import HOLDS_ON, Deed
from stell.core.verdict import Action, Decision, Outcome

# What belongs to the proposed outcome alone and falls away when the vet decides otherwise.
_FALLS_AWAY = {
    Outcome.SATISFACTORY: ("withdraw", "reexamine", "complete", "measure_again"),
    Outcome.DEFERRED: ("withdraw", "complete"),
    Outcome.INCOMPLETE: ("withdraw",),
    Outcome.UNSATISFACTORY: ("reexamine", "complete", "measure_again", "restrict"),
}


def standing_actions(decision: Decision) -> tuple[Action, ...]:
    """Return what is asked for once the vet has decided.

    Where the vet's verdict differs from the proposal, what belongs to the proposed outcome alone
    falls away; treatment, isolation and reporting stay. A ram whom the vet alone finds
    unsatisfactory is not to be used, and that comes first.
    """
    actions = decision.proposed.actions
    own = decision.override
    if own is None or own.outcome is decision.proposed.outcome:
        return actions
    kept = tuple(a for a in actions if a.kind not in _FALLS_AWAY[own.outcome])
    if own.outcome is not Outcome.UNSATISFACTORY or any(a.kind == "withdraw" for a in kept):
        return kept
    finding = "unsatisfactory by the vet's own verdict"
    said = f"{finding}: {own.reason}"
    return (Action("withdraw", own.on, said, (), own.reason, finding), *kept)


def settles(deed: Deed, action: Action) -> bool:
    """Whether a deed did what an action asks for: the kind, and every rule that asks for it.

    A rule that a later correction brings in is therefore asked for anew.
    """
    return deed.stands and deed.kind == action.kind and set(action.rules) <= set(deed.rules)


def open_actions(decision: Decision, deeds: Iterable[Deed] = ()) -> tuple[Action, ...]:
    """Return the standing actions that no deed has settled.

    Parameters
    ----------
    decision : Decision
        Of one examination.
    deeds : iterable of Deed
        What was done about that examination.
    """
    done = tuple(deeds)
    return tuple(a for a in standing_actions(decision) if not any(settles(d, a) for d in done))


def without_done(decision: Decision, deeds: Iterable[Deed]) -> Decision:
    """Return the same decision without the actions that are over and done with.

    Outcome and reasons stay. So does what a deed has only set up (`HOLDS_ON`): a ram that was put
    apart is still to be kept apart.
    """
    done = tuple(d for d in deeds if d.kind not in HOLDS_ON)
    proposed = decision.proposed
    left = tuple(a for a in proposed.actions if not any(settles(d, a) for d in done))
    return (
        decision
        if left == proposed.actions
        else replace(decision, proposed=replace(proposed, act=partial(tuple, left)))
    )


def awaits_clearance(decision: Decision) -> bool:
    """Whether a suspicion has to be cleared by an authority, whatever day it is.

    A vet's own verdict does not lift that: local rules do.
    """
    unusable = decision.outcome is Outcome.UNSATISFACTORY
    return not unusable and any(r.awaits_clearance for r in decision.proposed.reasons)


def day_is_open(decision: Decision) -> bool:
    """Whether a vet put him off and no day for looking again follows from the protocol."""
    put_off = decision.override is not None and decision.outcome is Outcome.DEFERRED
    no_day = decision.proposed.reexamine_on is None
    return put_off and no_day and not awaits_clearance(decision)

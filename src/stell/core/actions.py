"""What follows from a judgement: things to do, each with the day by which."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from stell.core.protocol.ready import ReadyProtocol
from stell.core.protocol.schema import Severity
from stell.core.unseen import missing_text
from stell.core.verdict import Action, Borderline, Missing, Reason

_FIRST = {"report": 0, "isolate": 1, "withdraw": 2}


def actions_for(
    reasons: Sequence[Reason],
    missing: Sequence[Missing],
    borderline: Sequence[Borderline],
    protocol: ReadyProtocol,
    on: date,
    *,
    rejected: bool,
) -> tuple[Action, ...]:
    """Return all actions in order of their day; the most pressing kinds first within a day.

    Parameters
    ----------
    reasons, missing, borderline : sequences
        What the judge found.
    protocol : ReadyProtocol
        For the titles of restrictions.
    on : date
        Day of the examination, from which days are counted.
    rejected : bool
        A ram that is not to be used is not examined again or measured again.
    """
    actions = [a for reason in reasons for a in _of_reason(reason, protocol, on)]
    if not rejected:
        actions.extend(_again(reasons, on))
        if missing:
            actions.extend(_complete(missing, protocol, on))
        actions.extend(
            Action("measure_again", on, b.sentence, finding=b.sentence) for b in borderline
        )
    return tuple(sorted(actions, key=lambda a: (a.due_on, _FIRST.get(a.kind, 9))))


def _of_reason(reason: Reason, protocol: ReadyProtocol, on: date) -> Iterable[Action]:
    rule = reason.rule
    ids, found = (rule.rule_id,), reason.sentence
    if "notifiable" in rule.flags:
        text = f"{found}: stop and report under local rules. {rule.do}"
        yield Action("report", on, text, ids, rule.owner, found)
    if "isolate" in rule.flags:
        yield Action("isolate", on, f"{found}: keep him apart", ids, rule.owner, found)
    for effect in reason.effects:
        if effect.kind is Severity.treat:
            due = on + timedelta(days=effect.within_days)
            yield Action("treat", due, f"{found}: {rule.do}", ids, rule.owner, found)
        elif effect.kind is Severity.reject:
            yield Action("withdraw", on, f"{found}: {rule.do}", ids, rule.owner, found)
        elif effect.kind is Severity.restrict:
            limit = protocol.restrictions[effect.restriction]
            yield Action("restrict", on, f"{found}: {limit.title}", ids, limit.owner, found)


def _complete(missing: Sequence[Missing], protocol: ReadyProtocol, on: date) -> Iterable[Action]:
    """Yield what is to be finished, by the day from which it can be."""
    by_day: dict[date, list[Missing]] = {}
    for item in missing:
        by_day.setdefault(item.possible_on or on, []).append(item)
    for day, items in by_day.items():
        what = missing_text(items, protocol)
        yield Action("complete", day, what, finding=what)


def _again(reasons: Iterable[Reason], on: date) -> Iterable[Action]:
    """Yield one re-examination for each day on which a deferral ends."""
    by_days: dict[int, list[Reason]] = {}
    for reason in (r for r in reasons if not r.awaits_clearance):
        for days in {e.days for e in reason.effects if e.days}:
            by_days.setdefault(days, []).append(reason)
    for days, deferring in by_days.items():
        what = "; ".join(r.sentence for r in deferring)
        ids = tuple(r.rule.rule_id for r in deferring)
        owner = " ".join(dict.fromkeys(r.rule.owner for r in deferring))
        yield Action("reexamine", on + timedelta(days=days), what, ids, owner, what)

"""How reports say what a rule is worth, what follows from it and who sees to it."""

from __future__ import annotations

from datetime import date

from stell.core.protocol.schema import Severity
from stell.core.verdict import Outcome
from stell.press.wording import counted, day_month

BASIS = {
    "published": "published, read in the source",
    "published-secondary": "published, read where another reports it",
    "common-practice": "common practice, no source",
    "memory": "recalled from the source, still to be checked",
    "practice": "set by the practice",
}

FLAGS = {
    "isolate": "keep him apart from other sheep",
    "notifiable": "may be notifiable: stop, touch no other animal, report under local rules",
    "zoonosis": "can pass to people: wear gloves, wash, tell anyone who handles him",
    "flock_problem": "a matter for the whole flock: ask the vet about the others",
    "heritable": "can be passed on to his lambs",
    "act_today": "act today",
}

# For page one: a flag in front of the rams it concerns, and what to do.
WARNINGS = {
    "notifiable": ("May have to be reported by law", "Move no animal until the vet has looked."),
    "zoonosis": ("Can pass to people", "Wear gloves, wash, and tell anyone who handles them."),
}

# Whom the owner calls, or under whose orders he acts.
HOW = {
    "report": "call the vet at once",
    "treat": "as the vet directs",
    "complete": "book the vet",
    "measure_again": "book the vet",
    "reexamine": "book the vet",
}

OWN_VERDICT = "the vet's own verdict"


def effect_text(kind: Severity, days: int = 0) -> str:
    """Return what an effect means for him.

    Examples
    --------
    >>> effect_text(Severity.defer, 60)
    'examine again after 60 days'
    """
    return {
        Severity.note: "noted",
        Severity.treat: "treat",
        Severity.restrict: "limits his use",
        Severity.defer: f"examine again after {counted(days, 'day')}",
        Severity.reject: "not to be used",
    }[kind]


def ready_text(outcome: Outcome, ready: bool | None, again: date | None) -> str:
    """Return whether he can work when the rams go in, as far as it can be said."""
    if outcome is Outcome.SATISFACTORY:
        return "yes"
    if outcome is Outcome.UNSATISFACTORY:
        return "no"
    if outcome is Outcome.INCOMPLETE or ready is None:
        return "not known"
    if not ready:
        return "no, too late"
    return f"if sound on {day_month(again)}" if again else "if sound then"

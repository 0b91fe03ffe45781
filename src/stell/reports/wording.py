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

WHO = {
    "report": "you and the vet, at once",
    "isolate": "you",
    "withdraw": "you",
    "treat": "you, as the vet directs",
    "complete": "the vet",
    "measure_again": "the vet",
    "reexamine": "the vet; you book the visit",
    "restrict": "you",
}


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

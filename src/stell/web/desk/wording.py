"""Words of the desk: titles for kinds of work, effects, origins of a rule."""

from __future__ import annotations

from datetime import date

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from stell.core.leads import when_text
from stell.core.records import written_date
from stell.core.verdict import ACTION_KINDS

_WEEKDAYS = (_("Mon"), _("Tue"), _("Wed"), _("Thu"), _("Fri"), _("Sat"), _("Sun"))

# Steps of the timetable; kinds of action have their titles in core.
_STEPS = {
    "examine": _("examine"),
    "examine_by": _("examine the flock's rams"),
    "buy_by": _("buy or borrow"),
    "ideal_examination": _("best day to examine"),
    "last_sensible_examination": _("last sensible day to examine"),
    "last_purchase": _("last useful day to buy"),
    "shearing_lead": _("last day to shear"),
    "condition_lead": _("feed for condition"),
    "stress_free": _("quiet weeks begin"),
    "rams_in": _("rams in"),
}

BASIS = {
    "published": _("published, read in the source"),
    "published-secondary": _("published, read where another reports it"),
    "common-practice": _("common practice, no source"),
    "memory": _("recalled from the source, still to be checked"),
    "practice": _("set by the practice"),
}

FLAGS = {
    "isolate": _("keep him apart from other sheep"),
    "notifiable": _("may be notifiable: stop, touch no other animal, report under local rules"),
    "zoonosis": _("can pass to people: gloves, wash hands, tell whoever handles him"),
    "flock_problem": _("a matter for the whole flock"),
    "heritable": _("can be passed on to his lambs"),
    "act_today": _("act today"),
}

RAM_TYPES = {
    "hill": _("hill"),
    "lowland": _("lowland"),
    "terminal": _("terminal sire"),
    "longwool": _("longwool"),
    "dairy": _("dairy"),
    "hair": _("hair sheep"),
}

USES = {
    "replacements": _("to sire replacements"),
    "terminal": _("to sire lambs for meat"),
    "both": _("to sire replacements and lambs for meat"),
}

CIRCUMSTANCES = {
    "bought_in": _("bought in"),
    "single_sire": _("the only ram of his group"),
    "synchronised": _("for synchronised ewes"),
    "poor_result_before": _("poor result before"),
    "for_sale": _("for sale"),
}


def kind_title(kind: str) -> str:
    """Return what a kind of work is called.

    Examples
    --------
    >>> kind_title("measure_again")
    'measure again'
    """
    return str(ACTION_KINDS.get(kind) or _STEPS.get(kind) or kind.replace("_", " "))


def weekday_date(day: date) -> str:
    """Return a date with its weekday, for days on which somebody has to act."""
    return f"{_WEEKDAYS[day.weekday()]} {written_date(day)}"


def due_text(day: date, today: date) -> str:
    """Return how things stand with a day: ``3 days overdue``, ``today``, ``in 2 weeks``.

    Examples
    --------
    >>> due_text(date(2026, 9, 1), date(2026, 9, 4))
    '3 days overdue'
    """
    said = when_text(day, today)
    return said.replace(" ago", gettext(" overdue")) if day < today else said

"""The work list across flocks: what is overdue comes first, then what comes next."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from stell.core.leads import when_text
from stell.core.timetable import Timetable

# Kinds of the verdict's actions that brook no delay, in this order, whatever else is overdue.
AT_ONCE = ("report", "isolate", "withdraw")
# Milestones that a flock acts on; the others are read beside them.
_TO_DO = (
    "ideal_examination",
    "last_sensible_examination",
    "last_purchase",
    "shearing_lead",
    "condition_lead",
    "stress_free",
    "rams_in",
)


@dataclass(frozen=True, slots=True)
class WorkItem:
    """One thing to do.

    Attributes
    ----------
    flock : str
        Which flock, as people call it.
    kind : str
        A kind of action of the verdict, or the code of a milestone.
    due_on : date or None
        None when no day could be found; such items stand last.
    what : str
        A sentence.
    ram : str
        Who, as people call him; empty when it is the flock's.
    """

    flock: str
    kind: str
    due_on: date | None
    what: str
    ram: str = ""

    def due_text(self, today: date) -> str:
        """Return how things stand: ``3 days overdue``, ``today``, ``in 2 weeks``, ``no day``.

        Examples
        --------
        >>> WorkItem("Top flock", "treat", date(2026, 9, 1), "").due_text(date(2026, 9, 4))
        '3 days overdue'
        """
        if self.due_on is None:
            return "no day"
        if self.due_on < today:
            return when_text(self.due_on, today).replace(" ago", " overdue")
        return when_text(self.due_on, today)


def work_list(items: Iterable[WorkItem], *, today: date) -> tuple[WorkItem, ...]:
    """Return the items in the order in which to do them.

    What must be done at once (report, isolate, withdraw) and is due leads; then what is overdue,
    the oldest first; then by day. Ties go by flock and ram, so the order never hangs on chance.

    Parameters
    ----------
    items : iterable of WorkItem
        Of any number of flocks.
    today : date
    """

    def place(item: WorkItem) -> tuple[bool, int, date, str, str, str, str]:
        due = item.due_on or date.max
        at_once = item.kind in AT_ONCE and due <= today
        rank = AT_ONCE.index(item.kind) if at_once else len(AT_ONCE)
        return (item.due_on is None, rank, due, item.flock, item.ram, item.kind, item.what)

    return tuple(sorted(items, key=place))


def work_of_flock(flock: str, table: Timetable) -> tuple[WorkItem, ...]:
    """Return what a flock's timetable asks for: days ahead, and every deferred ram.

    A milestone that has passed is left out, since whether it was kept is not known here; a
    re-examination that has passed stays, since a deferred ram has not had it.

    Parameters
    ----------
    flock : str
        Which flock, as people call it.
    table : Timetable
    """
    days = [
        WorkItem(flock, m.code, m.on, m.sentence)
        for m in table.milestones
        if m.code in _TO_DO and m.on >= table.today
    ]
    rams = [
        WorkItem(flock, "reexamine", d.ram.reexamine_on, d.sentence, d.ram.label)
        for d in table.deferred
    ]
    return (*rams, *days)

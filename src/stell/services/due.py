"""The work list: what is to be done across all flocks, overdue first."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from stell.core.worklist import WorkItem
from stell.core.worklist import work_list as in_order
from stell.services import lookup
from stell.services.records import FlockRecord
from stell.services.season_values import FlockSeason, ToDo
from stell.services.seasons import seasons_of
from stell.store.transactions import reading


@dataclass(frozen=True, slots=True)
class DueItem:
    """One line of the work list. `days_left` is negative when overdue. [days]"""

    flock: FlockRecord
    todo: ToDo
    days_left: int

    @property
    def is_overdue(self) -> bool:
        """Whether its day has passed."""
        return self.days_left < 0


def work_list(
    today: date, *, within_days: int | None = None, flock: FlockRecord | str | None = None
) -> list[DueItem]:
    """Return what is open: at once (report, isolate, withdraw), then overdue, then by day.

    Parameters
    ----------
    within_days : int, optional
        Leave out what is due later than so many days from `today`. [days]
    """
    with reading():
        rows = list(lookup.flock_rows()) if flock is None else [lookup.flock_row(flock)]
        return work_of(seasons_of(rows, today), today, within_days=within_days)


def work_of(
    seasons: Iterable[FlockSeason], today: date, *, within_days: int | None = None
) -> list[DueItem]:
    """Return the same of seasons that are at hand."""
    found = [
        DueItem(season.flock, todo, (todo.due_on - today).days)
        for season in seasons
        for todo in season.to_do
    ]
    if within_days is not None:
        found = [item for item in found if item.days_left <= within_days]
    return _in_order(found, today)


def _in_order(found: Sequence[DueItem], today: date) -> list[DueItem]:
    by_item = {}
    for due in found:
        todo = due.todo
        ram = todo.ram.label if todo.ram else ""
        item = WorkItem(due.flock.name, todo.kind, todo.due_on, todo.sentence, ram)
        by_item[id(item)] = (item, due)
    ordered = in_order((item for item, _ in by_item.values()), today=today)
    return [by_item[id(item)][1] for item in ordered]

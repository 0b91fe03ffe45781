"""The work list: what is to be done across all flocks, overdue first."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from stell.services.records import FlockRecord
from stell.services.seasons import ToDo


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
    """Return what is open: overdue first (longest overdue at the top), then by day.

    Parameters
    ----------
    within_days : int, optional
        Leave out what is due later than so many days from `today`. [days]
    """
    raise NotImplementedError

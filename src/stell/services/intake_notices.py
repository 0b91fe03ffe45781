"""What a person is told about a sheet as a whole: checks left blank, a season not yet set."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from stell.core.intake import ColumnMatch
from stell.core.protocol.ready import ReadyProtocol
from stell.core.records import written_date
from stell.core.unseen import MOST_LISTED
from stell.core.verdict import Verdict

if TYPE_CHECKING:
    from stell.services.placing import Placed


class BlankChecks:
    """Counts the rows that leave many choices blank, and which."""

    def __init__(self, protocol: ReadyProtocol) -> None:
        self.choices = {c.id for c in protocol.checks.values() if not c.is_measure}
        self.rows = 0
        self.checks: set[str] = set()

    def see(self, verdict: Verdict) -> None:
        """Take down one row."""
        open_ones = {m.check_id for m in verdict.missing if m.why == "not_examined"} & self.choices
        if len(open_ones) > MOST_LISTED:
            self.rows += 1
            self.checks |= open_ones

    def notices(self, columns: Iterable[ColumnMatch]) -> tuple[str, ...]:
        """Return one notice, or none when no row leaves many blank."""
        if not self.rows:
            return ()
        own = next((c.header for c in columns if c.meaning == "rest_normal"), "")
        how = f"write yes into the column '{own}'" if own else "add a column 'Rest normal' with yes"
        rows = "1 row leaves" if self.rows == 1 else f"{self.rows:,} rows leave"
        notice = (
            f"{rows} {len(self.checks)} checks blank. If blank means looked at and nothing found, "
            f"{how}; if not, they stay open."
        )
        return (notice,)


def season_notices(placed: Iterable[Placed]) -> tuple[str, ...]:
    """Return for which flocks the last mating start on the books lies before the examinations."""
    late = {}
    for p in placed:
        if p.season.mating_start_on is None:
            starts = [s.start_on for s in p.flock.seasons.all()]
            if starts and max(starts) < p.row.exam.examined_on:
                late[p.flock.id] = (p.flock, max(starts))
    return tuple(
        f"{flock.name}: mating start on the books is {written_date(start)}, before these "
        f"examinations; set it with stell flock mating-start {flock.slug} DATE"
        for flock, start in late.values()
    )

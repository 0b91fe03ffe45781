"""Load an invented scenario through the same doors that real work takes.

The folder holds ``demo.toml`` and the sheets it names::

    by = "Dr A. Example"                 # who does it all

    [[flock]]
    name = "Hill End"
    owner = "…"
    latitude_deg = 55.1
    ram_type = "hill"
    mating_start_on = [2025-11-02, 2026-11-01]

    [[step]]                             # in order
    do = "import"
    sheet = "hill-end-2025.csv"
    flock = "Hill End"                   # left out: the sheet has a flock column
    protocol = "house"                   # a shipped name, or a .toml beside this file
    on = 2025-09-10                      # the day it was brought in
    examiner = "…"                       # for a sheet without that column
    corrections = ""                     # a reason: rows may replace stored ones

    [[step]]
    do = "override"
    flock = "Hill End"
    ram = "4711"                         # tag, name or electronic number
    examined_on = 2025-09-10
    outcome = "unsatisfactory"
    reason = "…"
    on = 2025-09-10

    [[step]]
    do = "correct"
    flock = "Hill End"
    ram = "4711"
    examined_on = 2025-09-10
    reason = "…"
    on = 2025-09-12
    [step.changes.observations]
    scrotal_circumference = [345]        # whole fixed units, as in the open JSON

    [[step]]
    do = "leave"
    flock = "Hill End"
    ram = "4711"
    on = 2025-12-01
    why = "sold"

``today = 2026-10-01`` at the top of demo.toml is the day on which the scenario is meant to be
looked at (`demo_day` returns it). Steps that fall after the `today` given are left out.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path


@dataclass(frozen=True, slots=True)
class DemoSummary:
    """What the scenario put on record."""

    flocks: int
    rams: int
    examinations: int
    corrections: int
    overrides: int
    today: date
    notices: tuple[str, ...] = ()


def demo_day(folder: Path | None = None) -> date:
    """Return the day on which the scenario is meant to be looked at."""
    raise NotImplementedError


def load_demo(folder: Path | None, today: date) -> DemoSummary:
    """Load the scenario in `folder` (None: the one that comes with stell) into the open store.

    Raises
    ------
    RecordError
        `record.refused` when the store holds flocks already.
    """
    raise NotImplementedError

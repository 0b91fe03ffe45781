"""Rams and examinations under the house protocol, for the tests beside this file."""

from __future__ import annotations

from datetime import date, timedelta

from stell.core.judge import judge
from stell.core.protocol.load import load_shipped
from stell.core.records import Born, Examination, Observed, Ram, Season
from stell.core.units import to_fixed
from stell.core.verdict import Verdict

IN_SEASON = date(2026, 9, 15)
OUT_OF_SEASON = date(2026, 4, 15)
SEASON = Season(mating_start_on=date(2026, 11, 25), latitude_deg=54.0)


def normal_findings() -> dict[str, Observed]:
    """Return a whole examination in which everything asked of every ram is normal."""
    ready = load_shipped("house")
    found: dict[str, Observed] = {
        check_id: ready.checks[check_id].nothing_found
        for check_id in ready.always_required
        if not ready.checks[check_id].is_measure
    }
    return found | {"process": "present", "condition": (350,), "circumference": (360,)}


def born(age: str, on: date) -> Born:
    """Return the birth of a ram of that many months; "+" a day older, "-" a day younger."""
    months = int(age.rstrip("+-"))
    year, month = divmod(on.year * 12 + on.month - 1 - months, 12)
    shift = {"+": -1, "-": 1}.get(age[-1], 0)
    return Born.on(date(year, month + 1, on.day) + timedelta(days=shift))


def verdict(
    *,
    age: str = "30",
    on: date = IN_SEASON,
    season: Season = SEASON,
    breed: str = "",
    ram_type: str = "",
    intended_use: str = "terminal",
    circumstances: tuple[str, ...] = (),
    readings: int = 2,
    **found: object,
) -> Verdict:
    """Return the house's verdict on a normal ram with some findings changed.

    A number is a measurement in the trade's unit; None takes a finding away.
    """
    ready = load_shipped("house")
    observed: dict[str, Observed] = normal_findings()
    for check_id, value in found.items():
        if value is None:
            observed.pop(check_id, None)
        elif isinstance(value, int | float):
            fixed = to_fixed(value, ready.checks[check_id].unit)
            observed[check_id] = (fixed,) * readings
        else:
            observed[check_id] = value
    ram = Ram("r1", breed=breed, ram_type=ram_type, born=born(age, on), intended_use=intended_use)
    exam = Examination("e1", "r1", on, observed, circumstances=circumstances)
    return judge(ready, ram, exam, season)

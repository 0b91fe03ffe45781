"""Reads the vignettes: a ram in the vet's words, and what should be said of him."""

from __future__ import annotations

import tomllib
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict

from stell.core.judge import judge
from stell.core.protocol.load import load_shipped
from stell.core.protocol.ready import ReadyProtocol
from stell.core.records import Born, Examination, Observed, Ram, Season
from stell.core.units import to_fixed
from stell.core.verdict import Verdict

FOLDER = Path(__file__).parent
Yes = Literal["yes", "no", "cannot be said", "any"]
Fits = Literal["yes", "no", "unknown", "any"]


class _Strict(BaseModel):
    # A key that nobody reads would be an expectation that nobody checks.
    model_config = ConfigDict(extra="forbid", frozen=True)


class RamInWords(_Strict):
    """The ram: `born` or the age class `class_` held on the day, both absent when unknown."""

    born: date | None = None
    age_class: str = ""
    breed: str = ""
    type: str = ""
    use: str = ""


class Case(_Strict):
    """One vignette. The keys are explained at the head of ``house.toml``."""

    name: str
    because: str
    protocol: str
    ram: RamInWords
    day: date
    mating: date | Literal["unknown"]
    latitude: float | Literal["unknown"]
    circumstances: tuple[str, ...] = ()
    found: dict[str, str | float | tuple[str, ...] | tuple[float, ...]]
    skipped: tuple[str, ...] = ()
    verdict: Literal["satisfactory", "deferred", "unsatisfactory", "incomplete"]
    reasons: tuple[str, ...] = ()
    silent: bool = False
    restrictions: tuple[str, ...]
    missing: tuple[str, ...] = ()
    again: date | Literal["any"] | None = None
    again_from: date | None = None
    looks: tuple[date, ...] | None = None
    in_time: Yes
    fits: Fits
    actions: tuple[str, ...] = ()
    unwanted: tuple[str, ...] = ()
    first: str | None = None
    due: dict[str, date] = {}
    flags: tuple[str, ...] = ()
    classed: str | None = None


@lru_cache(maxsize=8)
def read(name: str) -> tuple[Case, ...]:
    """Return the cases of one file, each with what is usual filled in."""
    raw = tomllib.loads((FOLDER / name).read_text(encoding="utf-8"))
    usual = raw.pop("usual")
    cases = raw.pop("case")
    assert not raw, f"{name} holds what nobody reads: {sorted(raw)}"
    return tuple(_filled(usual, case) for case in cases)


def _filled(usual: dict[str, Any], told: dict[str, Any]) -> Case:
    found = usual["found"] | told.get("found", {})
    for check in told.pop("unset", ()):
        del found[check]
    merged = usual | told | {"found": found}
    merged["ram"] = {{"class": "age_class"}.get(k, k): v for k, v in merged["ram"].items()}
    if "class" in merged:
        merged["classed"] = merged.pop("class")
    return Case(**merged)


def findings(ready: ReadyProtocol, case: Case) -> dict[str, Observed]:
    """Return everything examined and normal, with what was found and without what was skipped."""
    observed: dict[str, Observed] = {
        check.id: check.nothing_found
        for check in ready.checks.values()
        if not check.is_measure and check.required
    }
    for check_id, value in case.found.items():
        check = ready.checks[check_id]
        if isinstance(value, str):
            observed[check_id] = value
        elif check.unit is None:
            assert isinstance(value, tuple), f"{check_id}: a number for a choice"
            observed[check_id] = tuple(str(v) for v in value)
        else:
            readings = value if isinstance(value, tuple) else (value,)
            observed[check_id] = tuple(to_fixed(float(v), check.unit) for v in readings)
    return {k: v for k, v in observed.items() if k not in case.skipped}


def judged(case: Case) -> Verdict:
    """Return what the program says of the case's ram."""
    ready = load_shipped(case.protocol)
    ram = Ram(
        "r1",
        tag="00017",
        breed=case.ram.breed,
        ram_type=case.ram.type,
        born=Born.on(case.ram.born) if case.ram.born else None,
        age_class=case.ram.age_class,
        age_class_on=case.day if case.ram.age_class else None,
        intended_use=case.ram.use,
    )
    exam = Examination(
        "e1", "r1", case.day, findings(ready, case), circumstances=case.circumstances
    )
    season = Season(
        mating_start_on=case.mating if isinstance(case.mating, date) else None,
        latitude_deg=case.latitude if isinstance(case.latitude, float) else None,
    )
    return judge(ready, ram, exam, season)

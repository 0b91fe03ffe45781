"""Invented flocks for tests, pictures and benchmarks of printed pages. No real farm or ram."""

from __future__ import annotations

import random
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

from stell.core.change import compare
from stell.core.judge import judge
from stell.core.protocol.load import load_file, load_shipped
from stell.core.protocol.ready import ReadyProtocol
from stell.core.records import Born, Examination, Observed, Ram, Season
from stell.core.verdict import Decision, Outcome, Override
from stell.reports.compose import JudgedRam, owner_report_values
from stell.reports.history import history_values
from stell.reports.owner_values import OwnerReport
from stell.reports.values import HistoryReport

TODAY = date(2026, 8, 13)
VISIT = date(2026, 8, 12)
RAMS_IN = date(2026, 10, 25)
NAMES = (
    "Alder", "Birk", "Corrie", "Drake", "Eyot", "Fell", "Gorse", "Heron", "Islay", "Juniper",
    "Kestrel", "Lark", "Moss",
)  # fmt: skip
BREEDS = (("fellmark", "hill"), ("dale_longwool", "longwool"), ("bowland_down", "terminal"))
# Every seventh ram or so has one of these; None takes the observation away.
TROUBLE: dict[str, tuple[dict[str, Any], ...]] = {
    "sample": (
        {"gait": "lame", "feet": ("scald",)},
        {"testis_left": "soft"},
        {"circumference": (314,)},
        {"lips": ("scabs",)},
        {"testis_right": "hard", "circumference": (287, 291)},
        {"sheath": None},
        {"jaw": "short"},
        {"condition": (200,)},
    ),
    "house": (
        {"gait": "lame_bearing", "feet": ("scald",)},
        {"testis_tone_left": "soft"},
        {"circumference": (336,)},
        {"muzzle": "scabs"},
        {"epididymis_right": ("tail_enlarged",), "testis_tone_right": "hard"},
        {"penis": None},
        {"lower_jaw": "over_slight"},
        {"condition": (200,)},
    ),
}


# Asked only of some rams, and then required.
ALSO: dict[str, dict[str, Any]] = {"house": {"process": "present"}}


def sample_protocol() -> ReadyProtocol:
    return load_file(Path(__file__).parent / "sample.toml")


def house_protocol() -> ReadyProtocol:
    return load_shipped("house")


def all_normal(protocol: ReadyProtocol) -> dict[str, Observed]:
    """Return the normal answer to every choice that is always asked."""
    wanted = (protocol.checks[c] for c in protocol.always_required)
    return {c.id: (c.normal,) if c.spec.several else c.normal for c in wanted if not c.is_measure}


def rams(
    count: int, protocol: ReadyProtocol, seed: int = 7
) -> list[tuple[Ram, Examination, Examination | None]]:
    """Return so many rams with today's and last year's examination; equal seeds, equal rams."""
    dice = random.Random(seed)
    normal, trouble = all_normal(protocol) | ALSO.get(protocol.id, {}), TROUBLE[protocol.id]
    found = []
    for i in range(count):
        breed, kind = BREEDS[i % 3]
        born = date(2026 - dice.choice((1, 2, 2, 3, 4, 5)), dice.randint(2, 4), dice.randint(1, 28))
        ram = Ram(
            ram_id=f"ram-{i}", tag=f"K{101 + i}", name=NAMES[i % 13] if i % 2 else "",
            breed=breed, ram_type=kind, born=Born.on(born),
            intended_use="both" if i % 3 == 0 else "terminal",
        )  # fmt: skip
        size = dice.randint(326, 376)
        seen: dict[str, Any] = normal | {
            "condition": (25 * dice.randint(12, 16),),
            "circumference": (size, size + dice.choice((-3, 0, 4))),
        }
        if i % 7 in (2, 5):
            seen |= trouble[i // 3 % len(trouble)]
        seen = {k: v for k, v in seen.items() if v is not None}
        exam = Examination(
            f"exam-{i}", ram.ram_id, VISIT, seen, examiner="M. Harrow",
            note="Was off his feed in July." if i == 5 else "",
        )  # fmt: skip
        before = None
        if born.year < 2025:
            past = {"condition": (350,), "circumference": (size + dice.randint(-12, 10),)}
            before = Examination(f"past-{i}", ram.ram_id, date(2025, 8, 19), normal | past)
        found.append((ram, exam, before))
    return found


def judged(
    count: int, protocol: ReadyProtocol | None = None, start: date | None = RAMS_IN
) -> list[JudgedRam]:
    """Return judged rams; the eighth has the vet's own verdict."""
    protocol = protocol or sample_protocol()
    season = Season(start, 54.4)
    result = []
    for i, (ram, exam, before) in enumerate(rams(count, protocol)):
        own = None
        if i == 7:
            own = Override(Outcome.DEFERRED, "Served badly last year; I want to see him work.",
                           "M. Harrow", VISIT)  # fmt: skip
        verdict = judge(protocol, ram, exam, season)
        result.append(JudgedRam(ram, exam, Decision(verdict, own), before))
    return result


def report(count: int = 18, **changes: Any) -> OwnerReport:
    """Return the report of an invented flock; `changes` go to `owner_report_values`."""
    start = changes.get("mating_start_on", RAMS_IN)
    protocol = changes.get("protocol") or sample_protocol()
    values: dict[str, Any] = {
        "flock": "Harrow Beck", "owner": "J. Garside", "practice": "Stonegate Farm Vets",
        "protocol": protocol, "mating_start_on": start, "today": TODAY,
        "not_examined": [Ram("ram-x", tag="K190", name="Wren")],
    }  # fmt: skip
    if "judged" not in changes:
        values["judged"] = judged(count, protocol, start)
    return owner_report_values(**(values | changes))


def history(years: int = 4, **changes: Any) -> HistoryReport:
    """Return an invented ram's history: examined every August, and again three weeks later."""
    protocol = changes.get("protocol") or sample_protocol()
    ram = Ram("h", tag="K107", name="Gorse", eid="826012345600107", breed="fellmark",
              ram_type="hill", born=Born.on(date(2026 - years, 3, 9)))  # fmt: skip
    normal = all_normal(protocol) | ALSO.get(protocol.id, {})
    trouble = TROUBLE[protocol.id]
    found = []
    for i in range(years):
        day = date(2026 - i, 8, 12 + i)
        seen = normal | {"condition": (350 - 25 * (i % 2),), "circumference": (352 - 9 * i,)}
        if i == 1:
            seen |= trouble[0]
            later = normal | {"condition": (350,), "circumference": (349, 351)}
            again = day + timedelta(days=21)
            found.append(Examination(f"e{i}b", "h", again, later, examiner="M. Harrow"))
        found.append(Examination(f"e{i}", "h", day, seen, examiner="M. Harrow"))
    judged_ones = [
        JudgedRam(ram, e, Decision(judge(protocol, ram, e, Season(None, 54.4)))) for e in found
    ]
    by_day = sorted(found, key=lambda e: e.examined_on)
    values: dict[str, Any] = {
        "ram": ram, "flock": "Harrow Beck", "practice": "Stonegate Farm Vets",
        "protocol": protocol, "examinations": judged_ones, "today": TODAY,
        "comparisons": [
            compare(protocol, ram, now, then, 54.4) for then, now in pairwise(by_day)
        ][::-1][:2],
    }  # fmt: skip
    return history_values(**(values | changes))

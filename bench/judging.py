"""How many examinations a second the judge gets through: ``python -m bench.judging``.

The examinations are invented, through the real house protocol: four in ten have something wrong,
one in ten something missing. Target: 20,000 a second on one core.
"""

from __future__ import annotations

import random
from datetime import date, timedelta

from bench.measuring import Measured, best_of, show, yardstick
from stell.core.judge import judge
from stell.core.protocol.load import load_shipped
from stell.core.protocol.ready import ReadyCheck, ReadyProtocol
from stell.core.records import Born, Examination, Observed, Ram, Season
from stell.core.units import to_fixed

COUNT = 10_000
MEASURES = {"circumference": ("cm", 26.0, 40.0), "condition": ("score", 2.0, 4.5)}


def normal(check: ReadyCheck) -> Observed:
    """The answer of a ram with nothing wrong."""
    return (check.normal,) if check.spec.several else check.normal


def invented(protocol: ReadyProtocol, rng: random.Random, number: int) -> tuple[Ram, Examination]:
    """Return one invented ram and his examination."""
    found: dict[str, Observed] = {
        c.id: normal(c) for c in protocol.checks.values() if not c.is_measure
    }
    for name, (_, low, high) in MEASURES.items():
        unit = protocol.checks[name].unit
        assert unit is not None
        found[name] = (to_fixed(round(rng.uniform(low, high) * 2) / 2, unit),)
    if rng.random() < 0.4:
        for check in rng.sample([c for c in protocol.checks.values() if c.rules], 2):
            answer = rng.choice(list(check.rules))
            found[check.id] = (answer,) if check.spec.several else answer
    if rng.random() < 0.1:
        found.pop(rng.choice(list(found)))
    on = date(2026, 8, 1) + timedelta(days=rng.randrange(90))
    ram = Ram(
        f"r{number}",
        tag=f"{number:05}",
        breed=rng.choice(["texel", "suffolk", "gotland", ""]),
        born=Born.on(date(2020, 1, 1) + timedelta(days=rng.randrange(2000))),
        intended_use=rng.choice(["terminal", "replacements", ""]),
    )
    return ram, Examination(f"e{number}", ram.ram_id, on, found)


def main() -> int:
    """Measure and print."""
    protocol = load_shipped()
    rng = random.Random(20261125)
    season = Season(date(2026, 11, 5), 54.0)
    work = [invented(protocol, rng, i) for i in range(COUNT)]

    def run() -> None:
        for ram, exam in work:
            judge(protocol, ram, exam, season)

    stick = yardstick()
    seconds = best_of(5, run)
    rate = COUNT / seconds
    per_thousand = seconds / COUNT * 2000 / stick
    checks = sum(len(e.observations) for _, e in work) / COUNT
    return show(
        [
            Measured(
                f"judging, house protocol, {checks:.0f} checks each",
                rate,
                "exams/s",
                ">= 20,000",
                rate >= 20_000,
                f"{per_thousand:.2f} x reading and writing one as JSON",
            )
        ]
    )


if __name__ == "__main__":
    raise SystemExit(main())

"""How measurements are taken and shown: the best of several runs, and its ratio to a yardstick.

Machines are small and noisy, so every absolute figure stands beside a ratio to a yardstick that ran
in the same process a moment before.
"""

from __future__ import annotations

import json
import platform
import time
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Measured:
    """One figure, what it was held to, and how it compares with the yardstick."""

    name: str
    value: float
    unit: str
    target: str
    met: bool
    ratio: str


def best_of(runs: int, work: Callable[[], object]) -> float:
    """Return the shortest time of several runs. [s]"""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def show(results: list[Measured]) -> int:
    """Print results as a table; return 1 when a target was missed."""
    print(f"{platform.machine()}, CPython {platform.python_version()}")
    for r in results:
        mark = "met" if r.met else "MISSED"
        print(f"{r.name:<44} {r.value:>12,.3f} {r.unit:<14} {r.target:<22} {mark:<7} {r.ratio}")
    return 0 if all(r.met for r in results) else 1


def yardstick() -> float:
    """Return the time to read and write one fixed JSON text 2,000 times. [s]"""
    text = json.dumps({f"check_{i}": ["sound", i, [340 + i]] for i in range(40)})

    def work() -> None:
        for _ in range(2000):
            json.dumps(json.loads(text))

    return best_of(3, work)

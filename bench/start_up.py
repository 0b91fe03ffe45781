"""How long stell takes to start, beside a bare Python: ``python -m bench.start_up``.

Each run is a new process. The kinds are run in turn, so that a busy spell of the machine falls on
all of them alike; the shortest run of each counts.
"""

from __future__ import annotations

import subprocess
import sys
import time

from bench.measuring import Measured, show

RUNS = 15
LIMIT_S = 0.3  # for `stell --help`
CASES = {
    "python -c pass": ["-c", "pass"],
    "import typer alone": ["-c", "import typer"],
    "stell --help": ["-m", "stell", "--help"],
    "stell due --help": ["-m", "stell", "due", "--help"],
    "stell protocol show house": ["-m", "stell", "protocol", "show", "house"],
}


def wall_s(words: list[str]) -> float:
    """Return how long one run took. [s]"""
    start = time.perf_counter()
    subprocess.run([sys.executable, *words], stdout=subprocess.DEVNULL, check=True)
    return time.perf_counter() - start


def main() -> int:
    """Print the table; return 1 when the limit was missed."""
    best = dict.fromkeys(CASES, float("inf"))
    for _ in range(RUNS):
        for name, words in CASES.items():
            best[name] = min(best[name], wall_s(words))
    bare = best["python -c pass"]
    results = []
    for name, taken in best.items():
        held = name == "stell --help"
        target = f"at most {LIMIT_S} s" if held else ""
        met = taken <= LIMIT_S or not held
        ratio = f"{taken / bare:.1f} x python -c pass"
        results.append(Measured(name, taken, "s", target, met, ratio))
    return show(results)


if __name__ == "__main__":
    raise SystemExit(main())

"""How long the owner's report takes: ``python -m bench.report``.

Sixty invented rams by the house protocol. Target: under one second in a process that has just
started, from the values to the PDF, without the start of Python itself. A second report in the same
process shows what a server needs for each further one. The yardstick is the plain printing of the
same number of rows, without pictures, by the same typesetter.
"""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

from bench.measuring import Measured, best_of, show, yardstick

RAMS, MANY = 60, 300
TARGET_SECONDS = 1.0
FRESH_RUNS = 3
_FRESH = """
import sys, time
sys.path.insert(0, ".")
from tests.reports.sample import house_protocol, report
made = report({count}, protocol=house_protocol())
start = time.perf_counter()
from stell.reports.owner import build
build(made)
print(time.perf_counter() - start)
"""
_ROWS = b"""
#import "/press/look.typ": *
#show: printed
#ruled((1fr, 1fr, 1fr), ([a], [b], [c]), data.rows)
"""


def fresh(count: int) -> float:
    """Return the shortest time of several new processes, imports of the reports included. [s]"""
    times = []
    for _ in range(FRESH_RUNS):
        done = subprocess.run(
            [sys.executable, "-c", _FRESH.format(count=count)],
            cwd=Path(__file__).parents[1],
            capture_output=True,
            text=True,
            check=True,
        )
        times.append(float(done.stdout))
    return min(times)


def plain_rows(count: int) -> float:
    """Return the time to set so many rows and nothing else, in a warm process. [s]"""
    from tests.reports.sample import TODAY

    from stell.press.compile import to_pdf

    rows = [[f"K{i}", "34.5 cm", "nothing found"] for i in range(count)]

    def work() -> None:
        rows[0][0] = f"K{time.perf_counter_ns()}"  # else the typesetter remembers the page
        to_pdf(_ROWS, {"rows": rows}, title="rows", author="bench", made_on=TODAY)

    return best_of(5, work)


def warm(count: int) -> float:
    """Return the time of a further report in a process that has made one. [s]"""
    from dataclasses import replace

    from tests.reports.sample import house_protocol, report

    from stell.reports.owner import build

    made = report(count, protocol=house_protocol())
    build(made)

    def work() -> None:
        build(replace(made, summary=f"{made.summary} {time.perf_counter_ns()}"))

    return best_of(5, work)


def main() -> int:
    """Measure and print."""
    rows = plain_rows(RAMS)
    unit = yardstick()
    first, again, many = fresh(RAMS), warm(RAMS), warm(MANY)
    ratio = f"{rows * 1000:.0f} ms for {RAMS} bare rows; yardstick {unit * 1000:.0f} ms"
    return show(
        [
            Measured(f"report of {RAMS} rams, new process", first, "s", "< 1 s",
                     first < TARGET_SECONDS, f"{first / rows:.1f} x rows"),
            Measured(f"report of {RAMS} rams, warm", again, "s", "< 1 s",
                     again < TARGET_SECONDS, f"{again / rows:.1f} x rows"),
            Measured(f"report of {MANY} rams, warm", many, "s", "none", True, ratio),
        ]
    )  # fmt: skip


if __name__ == "__main__":
    raise SystemExit(main())

"""How long a large sheet takes to read: ``python -m bench.reading_sheets``.

50,000 invented examinations of 25,000 rams under the house protocol, 45 columns, as CSV and as
XLSX; one cell in a thousand cannot be read. Target: 6 s each, everything included.
"""

from __future__ import annotations

import csv
import random
import tempfile
from collections.abc import Iterator
from datetime import date
from pathlib import Path

from openpyxl import Workbook

from bench.measuring import Measured, best_of, show, yardstick
from stell.core.intake import ReadingRules
from stell.core.protocol.load import load_shipped
from stell.core.protocol.ready import ReadyCheck, ReadyProtocol
from stell.core.units import from_fixed
from stell.exchange.examination_table import column_name
from stell.exchange.reading import read_sheet

ROWS = 50_000
COLUMNS = 45
BEFORE = ("tag", "eid", "date", "born", "breed", "vet", "notes")
RULES = ReadingRules(today=date(2026, 11, 25))


def table(protocol: ReadyProtocol, rng: random.Random) -> Iterator[list[object]]:
    """Yield the titles, then rows."""
    checks = list(protocol.checks.values())[: COLUMNS - len(BEFORE)]
    yield [*BEFORE, *(column_name(c) for c in checks)]
    for number in range(ROWS):
        ram = number % (ROWS // 2)
        on = f"2026-{9 + number // (ROWS // 2):02d}-{rng.randint(1, 28):02d}"
        said = [f"T{ram}", f"826 {ram:012d}", on, "Mar 2024", "texel", "A. Vet", ""]
        yield [*said, *(found(check, rng) for check in checks)]


def found(check: ReadyCheck, rng: random.Random) -> object:
    """Return what may stand in a cell."""
    if rng.random() < 0.001:
        return "see below"
    if check.unit is not None:
        return from_fixed(rng.randint(*check.plausible), check.unit)
    return rng.choice([*check.rules, *[check.normal] * 6, "ok", ""])


def main() -> int:
    """Measure and print."""
    protocol = load_shipped()
    stick = yardstick()
    results = []
    with tempfile.TemporaryDirectory() as folder:
        rows = list(table(protocol, random.Random(20261125)))
        written = {"csv": Path(folder) / "rams.csv", "xlsx": Path(folder) / "rams.xlsx"}
        with written["csv"].open("w", newline="", encoding="utf-8") as out:
            csv.writer(out).writerows(rows)
        book = Workbook(write_only=True)
        sheet = book.create_sheet("Rams")
        for row in rows:
            sheet.append(row)
        book.save(written["xlsx"])
        del rows
        for kind, path in written.items():
            reading = read_sheet(path, protocol, RULES)
            problems = f"{len(reading.rows):,} rows, {len(reading.problems):,} problems"
            seconds = best_of(3, lambda path=path: read_sheet(path, protocol, RULES))  # type: ignore[misc]
            results.append(
                Measured(
                    f"{ROWS:,} x {COLUMNS} {kind}: {problems}",
                    seconds,
                    "s",
                    "<= 6",
                    seconds <= 6,
                    f"{seconds / stick * 2000 / ROWS:.2f} x reading and writing a row as JSON",
                )
            )
    return show(results)


if __name__ == "__main__":
    raise SystemExit(main())

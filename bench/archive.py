"""Import 50,000 rows, then judge 1,000,000 stored examinations anew: ``python -m bench.archive``.

The sheet is invented: 5,000 rams on ten days each, through the real house protocol. The archive is
that import copied twenty times over inside the database, each copy with days and ids of its own.
The changed protocol is the house one with another limit. Each part runs in a process of its own,
and the memory told is that process's highest. Targets: 20 s; 3 min and 1 GB.

``--small`` uses a hundredth of it, to see that it runs.
"""

from __future__ import annotations

import csv
import json
import random
import resource
import subprocess
import sys
import tempfile
import time
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from bench.measuring import Measured, show

ROWS, COPIES = 50_000, 20
NOW = datetime(2026, 11, 25, tzinfo=UTC)
FEET = ["sound"] * 30 + ["scald", "footrot", "overgrown"]
TONE = ["firm"] * 30 + ["soft", "hard"]


def write_sheet(path: Path, rows: int) -> None:
    """Write an invented sheet."""
    rng = random.Random(20261125)
    rams = rows // 10
    with path.open("w", newline="", encoding="utf-8") as file:
        out = csv.writer(file)
        out.writerow(
            ["Tag", "Breed", "Born", "Date", "Examiner", "Condition", "Circumference cm", "Gait",
             "Feet", "Testis tone left", "Testis tone right", "Rest normal", "Note"]
        )  # fmt: skip
        born = [date(2018, 2, 1) + timedelta(days=rng.randrange(1800)) for _ in range(rams)]
        for visit in range(10):
            on = date(2026, 9, 1) - timedelta(days=visit * 9)
            for ram in range(rams):
                out.writerow(
                    [f"{ram:06}", rng.choice(["texel", "suffolk", "lleyn"]), born[ram].isoformat(),
                     on.isoformat(), "A. Vet", rng.choice(["2.5", "3.0", "3.5", "4.0"]),
                     f"{rng.uniform(29, 39):.1f}", "normal", rng.choice(FEET), rng.choice(TONE),
                     rng.choice(TONE), "yes", ""]
                )  # fmt: skip


def opened(folder: str) -> None:
    """Open the store in this process."""
    from stell.services.opening import open_store

    open_store(Path(folder))


def part_import(folder: str) -> dict[str, float]:
    """Import the sheet into an empty store."""
    from stell.core.intake import ReadingRules
    from stell.core.protocol.load import load_shipped
    from stell.services.flocks import add_flock
    from stell.services.intake import import_sheet

    opened(folder)
    add_flock("Bench", latitude_deg=54.0, mating_start_on=date(2026, 11, 5), by="bench", now=NOW)
    start = time.perf_counter()
    result = import_sheet(
        Path(folder) / "sheet.csv",
        flock="Bench",
        protocol=load_shipped(),
        rules=ReadingRules(today=NOW.date()),
        by="bench",
        now=NOW,
    )
    return {"seconds": time.perf_counter() - start, "stored": result.stored}


def part_copy(folder: str, copies: int) -> dict[str, float]:
    """Copy the import over, with days and ids of its own."""
    import sqlite3

    from django.db import connection

    opened(folder)
    path = connection.settings_dict["NAME"]
    connection.close()
    start = time.perf_counter()
    with sqlite3.connect(path) as db:
        for table, key in (("examination", "id"), ("judgement", "examination_id")):
            columns = [r[1] for r in db.execute(f"PRAGMA table_info(store_{table})")]
            if table == "judgement":
                columns.remove("id")
            db.execute(f"CREATE TEMP TABLE first_{table} AS SELECT * FROM store_{table}")
            for k in range(1, copies):
                chosen = {
                    key: f"'{k + 1:02x}' || substr({key}, 3)",
                    "examined_on": f"date(examined_on, '-{k * 100} days')",
                }
                picked = ", ".join(chosen.get(c, c) for c in columns)
                db.execute(
                    f"INSERT INTO store_{table} ({', '.join(columns)}) "
                    f"SELECT {picked} FROM first_{table}"
                )
    return {"seconds": time.perf_counter() - start}


def part_rejudge(folder: str) -> dict[str, float]:
    """Judge everything by the changed protocol."""
    from stell.core.protocol.load import load_text, shipped_text
    from stell.services.rejudging import rejudge

    text = shipped_text("house")
    text = text.replace('id      = "house"', 'id      = "bench"', 1)
    assert 'id      = "bench"' in text
    told = []
    opened(folder)
    start = time.perf_counter()
    done = rejudge(load_text(text), by="bench", now=NOW, progress=lambda done, _: told.append(done))
    return {
        "seconds": time.perf_counter() - start,
        "judged": done.judged,
        "peak_mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
        "told": len(told),
    }


def part_bare(folder: str) -> dict[str, float]:
    """The yardstick: read the same sheet with csv and put it into a bare table in one go."""
    import sqlite3

    start = time.perf_counter()
    with (Path(folder) / "sheet.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.reader(file))
    with sqlite3.connect(Path(folder) / "bare.db") as db:
        db.execute(f"CREATE TABLE bare ({', '.join(f'c{i}' for i in range(len(rows[0])))})")
        db.executemany(f"INSERT INTO bare VALUES ({', '.join('?' * len(rows[0]))})", rows)
    return {"seconds": time.perf_counter() - start}


def in_own_process(*words: str) -> dict[str, float]:
    """Run one part in a fresh process and return what it measured."""
    done = subprocess.run(
        [sys.executable, "-m", "bench.archive", "--part", *words],
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode:
        raise SystemExit(done.stderr)
    return json.loads(done.stdout.splitlines()[-1])


def main() -> int:
    """Measure all parts and print."""
    if "--part" in sys.argv:
        name, folder, *rest = sys.argv[sys.argv.index("--part") + 1 :]
        part = {"import": part_import, "rejudge": part_rejudge, "bare": part_bare}.get(name)
        print(json.dumps(part(folder) if part else part_copy(folder, int(rest[0]))))
        return 0
    rows = ROWS // 100 if "--small" in sys.argv else ROWS
    with tempfile.TemporaryDirectory() as folder:
        write_sheet(Path(folder) / "sheet.csv", rows)
        bare = in_own_process("bare", folder)
        stored = in_own_process("import", folder)
        in_own_process("copy", folder, str(COPIES))
        again = in_own_process("rejudge", folder)
    assert stored["stored"] == rows
    assert again["judged"] == rows * COPIES
    ratio = f"{stored['seconds'] / bare['seconds']:.0f} x csv into a bare table"
    per_row = again["seconds"] / again["judged"]
    per_import = stored["seconds"] / rows
    return show(
        [
            Measured(f"importing {rows:,} rows", stored["seconds"], "s", "<= 20",
                     stored["seconds"] <= 20, ratio),
            Measured(f"judging {rows * COPIES:,} stored examinations", again["seconds"], "s",
                     "<= 180", again["seconds"] <= 180, f"{per_row / per_import:.2f} x an import"),
            Measured("its highest memory", again["peak_mb"], "MB", "<= 1,000",
                     again["peak_mb"] <= 1000, f"progress told {again['told']:.0f} times"),
        ]
    )  # fmt: skip


if __name__ == "__main__":
    raise SystemExit(main())

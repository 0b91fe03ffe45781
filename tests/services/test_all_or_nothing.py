"""An import that is killed, that finds no room, or that is not alone: all of it, or nothing."""

from __future__ import annotations

import contextlib
import os
import random
import resource
import select
import shutil
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from collections import Counter
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from django.db import connection
from tests.services.sheets import BY, NOW, import_rows, row

from stell.core.errors import StoreError
from stell.services import flocks
from stell.services.opening import open_store
from stell.store import models
from stell.store.settings import FILE_NAME

ROOT = Path(__file__).parents[2]
ROWS = 300
KILLS = 200
TABLES = ("ram", "identifier", "examination", "judgement", "vetoverride", "sheetimport")


@pytest.fixture
def hill_end(sqlite_store: Path) -> Path:
    """A SQLite store with an empty flock."""
    flocks.add_flock("Hill End", latitude_deg=54.0, by=BY, now=NOW)
    return sqlite_store


def counts(folder: Path) -> dict[str, int]:
    """Count rows, past Django, after the file's own check."""
    with sqlite3.connect(folder / FILE_NAME) as file:
        assert file.execute("PRAGMA integrity_check").fetchone() == ("ok",), "a broken file"
        assert file.execute("PRAGMA foreign_key_check").fetchone() is None, "a row points nowhere"
        found = {t: file.execute(f"SELECT count(*) FROM store_{t}").fetchone()[0] for t in TABLES}
    file.close()
    return found


def whole(imports: int, rows: int) -> dict[str, int]:
    """Return what `counts` gives after so many whole imports of the same rams."""
    per_row = dict.fromkeys(("examination", "judgement", "vetoverride"), imports * rows)
    rams = dict.fromkeys(("ram", "identifier"), rows if imports else 0)
    return rams | per_row | {"sheetimport": imports}


class Importers:
    """Programs that import until they are killed (see `interrupted`)."""

    def __init__(self) -> None:
        self.source = subprocess.Popen(
            [sys.executable, "-m", "tests.services.interrupted"],
            cwd=ROOT,
            env=os.environ | {"PYTHONPATH": f"{ROOT / 'src'}{os.pathsep}{ROOT}"},
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    def start(self, folder: Path, imports: int) -> int:
        """Start a program; return its number once it has begun its last import."""
        assert self.source.stdin is not None
        print(folder, ROWS, imports, file=self.source.stdin, flush=True)
        said = {self.read(), self.read()}  # in either order: both speak at once
        assert "begun" in said, said
        return int((said - {"begun"}).pop())

    def read(self) -> str:
        """Return the next line that is said."""
        assert self.source.stdout is not None
        return self.source.stdout.readline().strip()

    def has_finished(self) -> bool:
        """Whether the program that was killed had said ``done`` before."""
        assert self.source.stdout is not None
        return bool(select.select([self.source.stdout], [], [], 0)[0]) and self.read() == "done"

    def close(self) -> None:
        """End the source of programs."""
        self.source.communicate()


@pytest.fixture(scope="module")
def importers() -> Iterator[Importers]:
    """Where programs to be killed come from."""
    source = Importers()
    yield source
    source.close()


def test_an_import_runs_through_when_left_alone(hill_end: Path, importers: Importers) -> None:
    importers.start(hill_end, 2)
    assert importers.read() == "done"
    assert counts(hill_end) == whole(2, ROWS)


@pytest.mark.slow
def test_killed_at_any_point_it_leaves_all_or_nothing(
    hill_end: Path, tmp_path: Path, importers: Importers
) -> None:
    connection.close()
    took = duration_of_an_import(shutil.copytree(hill_end, tmp_path / "timed"), importers)
    chance = random.Random(20260901)
    ends: Counter[str] = Counter()
    for number in range(KILLS):
        folder = shutil.copytree(hill_end, tmp_path / f"try-{number}")
        before = chance.randrange(2)  # whole imports, so that there is something to lose
        program = importers.start(folder, before + 1)
        time.sleep(chance.uniform(0, 2 * took))
        kill(program)
        said_done = importers.has_finished()
        found = counts(folder)
        assert found in (whole(before, ROWS), whole(before + 1, ROWS)), f"{number}: {found}"
        is_there = found == whole(before + 1, ROWS)
        assert is_there or not said_done, f"{number}: it said done, and the import is not there"
        ends["there" if is_there else "not there"] += 1
        open_store(folder)
        assert models.Examination.objects.count() == found["examination"], "a lame store"
        connection.close()
        shutil.rmtree(folder)
    assert min(ends.values()) > KILLS / 10, f"the kills came all too early or too late: {ends}"


def kill(program: int) -> None:
    """End a program without warning, and wait until it is gone."""
    with contextlib.suppress(ProcessLookupError):
        os.kill(program, signal.SIGKILL)
        while True:
            os.kill(program, 0)
            time.sleep(0.001)


def duration_of_an_import(folder: Path, importers: Importers) -> float:
    """Measure one import. [s]"""
    importers.start(folder, 2)
    begun = time.monotonic()
    assert importers.read() == "done"
    return time.monotonic() - begun


def sheet(rows: int) -> list:
    """Return a sheet of so many rams."""
    return [row(n, tag=f"{n:05d}", note="x" * 400) for n in range(2, rows + 2)]


def test_no_room_in_the_file_stores_nothing(hill_end: Path) -> None:
    with connection.cursor() as cursor:
        pages = cursor.execute("PRAGMA page_count").fetchone()[0]
        cursor.execute(f"PRAGMA max_page_count = {pages + 20}")
    before = counts(hill_end)
    with pytest.raises(StoreError, match="no room left to write; nothing was stored") as caught:
        import_rows(sheet(500), "Hill End")
    assert caught.value.code == "store.full"
    assert counts(hill_end) == before
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA max_page_count = 1000000")
    assert import_rows(sheet(500), "Hill End").stored == 500, "room was made, and still refused"


def test_a_disk_that_takes_no_more_stores_nothing(hill_end: Path, tmp_path: Path) -> None:
    size = (hill_end / FILE_NAME).stat().st_size
    done = subprocess.run(
        [sys.executable, "-c", NO_ROOM, str(hill_end), str(size + 60_000)],
        cwd=ROOT,
        env=os.environ | {"PYTHONPATH": f"{ROOT / 'src'}{os.pathsep}{ROOT}"},
        capture_output=True,
        text=True,
        check=False,
    )
    # SQLite calls a limit on a file's size an input/output error, and only ENOSPC "full".
    assert done.stdout.strip() == "store.unreadable", done.stderr
    assert counts(hill_end) == whole(0, 0)


# A limit on the size of any file, as a disk without room would set it.
NO_ROOM = """
import resource, signal, sys
from pathlib import Path
from stell.core.errors import StoreError
from stell.services.opening import open_store
from tests.services.test_all_or_nothing import sheet
from tests.services.sheets import import_rows
open_store(Path(sys.argv[1]))
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[2]),) * 2)
try:
    import_rows(sheet(2000), "Hill End")
except StoreError as error:
    print(error.code)
"""


def check_two_at_once() -> None:
    """Import two days of the same rams from two threads."""
    days = (date(2026, 9, 1), date(2026, 9, 2))
    stored, errors = [], []

    def bring_in(day: date) -> None:
        try:
            rows = [row(n, tag=f"{n:05d}", on=day) for n in range(2, ROWS + 2)]
            stored.append(import_rows(rows, "Hill End").stored)
        except StoreError as error:
            errors.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=bring_in, args=(day,)) for day in days]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert (stored, errors) == ([ROWS, ROWS], [])
    assert models.Ram.objects.count() == ROWS, "the rams were put on the books twice"


def test_two_importers_at_once_both_get_through(hill_end: Path) -> None:
    check_two_at_once()


def test_who_waits_too_long_is_told_what_to_do(hill_end: Path) -> None:
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA busy_timeout = 50")
    with sqlite3.connect(hill_end / FILE_NAME, isolation_level=None) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(StoreError, match="wait a minute and give the same command again") as e:
            import_rows([row(2, tag="1")], "Hill End")
        assert e.value.code == "store.busy"
        other.execute("ROLLBACK")
    other.close()
    assert import_rows([row(2, tag="1")], "Hill End").stored == 1


@pytest.mark.postgres
def test_two_importers_at_once_on_postgres(postgres_store: Path) -> None:
    flocks.add_flock("Hill End", latitude_deg=54.0, by=BY, now=NOW)
    check_two_at_once()


def test_the_limit_used_above_is_there() -> None:
    assert resource.getrlimit(resource.RLIMIT_FSIZE)[1] == resource.RLIM_INFINITY

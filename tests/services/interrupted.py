"""Programs to be killed: each imports sheets into a store. Loaded once, forked for each death.

Reads lines ``FOLDER ROWS IMPORTS`` and answers each with the new program's number. That program
imports so many sheets, says ``begun`` before the last one and ``done`` when it is through.
"""

from __future__ import annotations

import os
import signal
import sys
from datetime import date, timedelta
from pathlib import Path

from tests.services.sheets import import_rows, row

from stell.services.opening import open_store


def bring_in(folder: Path, rows: int, imports: int) -> None:
    """Import so many sheets of the same rams, each of another day."""
    open_store(folder)
    for number in range(imports):
        if number == imports - 1:
            print("begun", flush=True)
        day = date(2026, 9, 1) + timedelta(days=number)
        sheet = [
            row(n, tag=f"{n:05d}", on=day, override="deferred", override_reason="seen lame")
            for n in range(2, rows + 2)
        ]
        import_rows(sheet, "Hill End")
    print("done", flush=True)


def main() -> None:
    """Fork a program for every line."""
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # the dead need nobody to ask after them
    for line in sys.stdin:
        folder, rows, imports = line.rsplit(maxsplit=2)
        number = os.fork()
        if number == 0:
            bring_in(Path(folder), int(rows), int(imports))
            os._exit(0)
        print(number, flush=True)


if __name__ == "__main__":
    main()

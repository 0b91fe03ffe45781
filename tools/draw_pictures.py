#!/usr/bin/env python3
"""Draw the pictures of printed pages in docs/pictures from an invented flock.

Run from the project's root: ``.venv/bin/python tools/draw_pictures.py``. Needs pdftoppm
(poppler-utils).
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from tests.reports.sample import (  # noqa: E402
    TODAY,
    house_protocol,
    rams,
    report,
)
from tests.reports.sample import history as sample_history  # noqa: E402

from stell.core.verdict import Outcome  # noqa: E402
from stell.paper.draw import blank_form, run_sheet  # noqa: E402
from stell.paper.run import run_sheet_values  # noqa: E402
from stell.reports import history, owner  # noqa: E402

FOLDER = ROOT / "docs" / "pictures"
DOTS_PER_INCH = 75


def draw(name: str, pdf: bytes, pages: int) -> None:
    """Write the first pages of a PDF as ``name-1.png`` and so on."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"{name}.pdf"
        path.write_bytes(pdf)
        for page in range(1, pages + 1):
            target = FOLDER / f"{name}-{page}"
            at = ["-f", str(page), "-l", str(page), "-singlefile", "-r", str(DOTS_PER_INCH)]
            subprocess.run(
                ["pdftoppm", "-png", *at, str(path), str(target)], check=True, capture_output=True
            )
            print(f"{target.name}.png: {target.with_suffix('.png').stat().st_size // 1024} kB")


def main() -> None:
    """Draw all of them."""
    protocol = house_protocol()
    FOLDER.mkdir(exist_ok=True)
    draw("owner-report", owner.build(report(18, protocol=protocol)), 4)
    draw("ram-history", history.build(sample_history(4, protocol=protocol)), 1)
    before = [
        (ram, past, Outcome.SATISFACTORY if past else None) for ram, _, past in rams(9, protocol)
    ]
    sheet = run_sheet_values(
        flock="Harrow Beck", practice="Stonegate Farm Vets", protocol=protocol, rams=before,
        today=TODAY,
    )  # fmt: skip
    draw("run-sheet", run_sheet(sheet), 1)
    draw("blank-form", blank_form(protocol, made_on=TODAY), 2)


if __name__ == "__main__":
    main()

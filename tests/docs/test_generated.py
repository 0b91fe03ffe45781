"""Documents that are made from the program say what the program does."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def test_generated_parts_are_up_to_date() -> None:
    done = subprocess.run(
        [sys.executable, str(ROOT / "tools" / "write_docs.py"), "--check"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr

"""Run every measurement of this folder, one after the other: ``python -m bench``."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

NOT_RUN = {"__init__", "__main__", "measuring"}


def main() -> int:
    """Run each module in a process of its own, so that none warms another up."""
    folder = Path(__file__).parent
    worst = 0
    for path in sorted(folder.glob("*.py")):
        if path.stem in NOT_RUN:
            continue
        print(f"\n== {path.stem}", flush=True)
        done = subprocess.run(
            [sys.executable, "-m", f"bench.{path.stem}"], cwd=folder.parent, check=False
        )
        worst = max(worst, done.returncode)
    return worst


if __name__ == "__main__":
    raise SystemExit(main())

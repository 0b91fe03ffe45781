"""Run stell's commands: in this process through typer's runner, or as a program of its own."""

import json
import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from stell.cli.main import app

ROOT = Path(__file__).parents[2]
SHEETS = ROOT / "src" / "stell" / "services" / "demo_data"


@dataclass(frozen=True)
class Ran:
    """What a command did."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """Standard output as JSON; the whole of it must be one object."""
        return json.loads(self.out)

    @property
    def result(self) -> Any:
        """The ``result`` of the JSON."""
        return self.json["result"]


@pytest.fixture
def stell(monkeypatch: pytest.MonkeyPatch) -> Callable[..., Ran]:
    """Run a command in this process, 80 columns wide and without colour."""
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("NO_COLOR", "1")

    def run(*words: object, code: int = 0) -> Ran:
        done = CliRunner().invoke(app, [str(w) for w in words])
        assert done.exit_code == code, f"exit {done.exit_code}\n{done.stdout}\n{done.stderr}"
        return Ran(done.exit_code, done.stdout, done.stderr)

    return run


@pytest.fixture
def program() -> Callable[..., Ran]:
    """Run stell as a program of its own."""

    def run(*words: object, code: int = 0, **settings: str) -> Ran:
        done = subprocess.run(
            [sys.executable, "-m", "stell", *map(str, words)],
            capture_output=True,
            encoding="utf-8",
            cwd=ROOT,
            env={**os.environ, "COLUMNS": "80", **settings},
            timeout=120,
            check=False,
        )
        assert done.returncode == code, f"exit {done.returncode}\n{done.stdout}\n{done.stderr}"
        return Ran(done.returncode, done.stdout, done.stderr)

    return run


@pytest.fixture
def sheets() -> Path:
    """The folder of the demo's sheets."""
    return SHEETS

"""Run stell's commands: in this process through typer's runner, or as a program of its own."""

import json
import os
import shutil
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

LOAD = """\
import sys
from datetime import date
from pathlib import Path
from stell.services.demo import load_demo
from stell.services.opening import open_store
open_store(Path(sys.argv[1]))
load_demo(None, date(2026, 9, 14))
"""


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


@pytest.fixture(scope="session")
def demo_records(tmp_path_factory) -> Path:
    """The demo's records, loaded once."""
    folder = tmp_path_factory.mktemp("demo") / "records"
    subprocess.run([sys.executable, "-c", LOAD, str(folder)], check=True, timeout=120)
    return folder


@pytest.fixture
def demo(stell, demo_records: Path, tmp_path: Path):
    """Run a command on a copy of the demo's records."""
    folder = tmp_path / "records"
    shutil.copytree(demo_records, folder)
    return lambda *words, code=0: stell("--data", folder, *words, code=code)


@pytest.fixture
def empty(stell, tmp_path: Path):
    """Run a command on records that are yet to be made."""
    return lambda *words, code=0: stell("--data", tmp_path / "new", *words, code=code)

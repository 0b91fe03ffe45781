"""What every test may lean on: finding programs of the system, and steady generated examples."""

import os
import shutil
from pathlib import Path

import hypothesis
import pytest

IN_CI = os.environ.get("CI", "").lower() in {"1", "true", "yes"}

# The machine may be slow and shared, so no example has a deadline. In CI the same examples
# come every time: a red run must be about the change, not about the dice.
hypothesis.settings.register_profile("desk", deadline=None, print_blob=True)
hypothesis.settings.register_profile("ci", deadline=None, print_blob=True, derandomize=True)
hypothesis.settings.load_profile("ci" if IN_CI else "desk")


def find_program(*names: str, folders: str = "") -> Path:
    """Find the first of these programs; where there is none, skip the test, or fail it in CI.

    Parameters
    ----------
    names : str
        Names to look for on the path, best first.
    folders : str
        A glob below ``/usr/lib`` to look into when the path has none of them.
    """
    for name in names:
        if found := shutil.which(name):
            return Path(found)
        if inside := sorted(Path("/usr/lib").glob(f"{folders}/{name}") if folders else []):
            return inside[-1]
    message = f"{names[0]} is not installed; `./run test` installs it where it may"
    if IN_CI:
        pytest.fail(message, pytrace=False)
    pytest.skip(message)


@pytest.fixture(scope="session")
def pdftoppm() -> Path:
    """The program that draws a PDF's pages as pictures."""
    return find_program("pdftoppm")


@pytest.fixture(scope="session")
def chromium() -> Path:
    """The system's browser, for Playwright's ``executable_path``; as root add ``--no-sandbox``."""
    return find_program("chromium", "chromium-browser", "google-chrome")


@pytest.fixture(scope="session")
def initdb() -> Path:
    """PostgreSQL's ``initdb``; ``pg_ctl`` and ``postgres`` lie beside the file it leads to."""
    return find_program("initdb", folders="postgresql/*/bin").resolve()

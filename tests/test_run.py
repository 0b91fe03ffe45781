"""The door ``./run``: makes its environment in the situations that break such scripts.

Each test copies the script beside a stand-in package with an empty lock, so that real virtual
environments are made but nothing is fetched.
"""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
STAND_IN = """\
import sys
print("stand-in", sys.argv[1:])
sys.exit(7 if "fail" in sys.argv else 0)
"""

pytestmark = pytest.mark.skipif(os.name != "posix", reason="a shell script")


@pytest.fixture
def clone(tmp_path: Path) -> Path:
    """A small clone in a folder whose name holds a space."""
    root = tmp_path / "a clone"
    (root / "src" / "stell").mkdir(parents=True)
    (root / "src" / "stell" / "__init__.py").write_text("")
    (root / "src" / "stell" / "__main__.py").write_text(STAND_IN)
    (root / "requirements.lock").write_text("")
    shutil.copy2(ROOT / "run", root / "run")
    return root


def run(
    clone: Path, *args: str, code: int = 0, **settings: str
) -> subprocess.CompletedProcess[str]:
    """Call the copied script and insist on its exit code."""
    settings = {"PYTHON": sys.executable, "STELL_NO_UV": "1", **settings}
    done = subprocess.run(
        ["/bin/sh", str(clone / "run"), *args],
        cwd=clone.parent,
        env={**os.environ, **settings},
        capture_output=True,
        text=True,
        stdin=subprocess.DEVNULL,
        check=False,
        timeout=120,
    )
    assert done.returncode == code, f"exit {done.returncode}\n{done.stdout}\n{done.stderr}"
    return done


def path_without_python(clone: Path) -> str:
    """Make a folder with the few programs the script calls, and no Python among them."""
    folder = clone.parent / "bare"
    folder.mkdir(exist_ok=True)
    for name in ("sh", "dirname", "cksum", "grep", "cat", "sed"):
        (folder / name).symlink_to(shutil.which(name))
    return str(folder)


def test_usage_needs_no_environment(clone: Path) -> None:
    printed = run(clone, PYTHON="/nowhere/python").stdout
    assert "./run demo" in printed
    assert "set -eu" not in printed, "the script's own code leaked into the usage"
    assert not (clone / ".venv").exists()


def test_too_old_a_python_is_named(clone: Path) -> None:
    refused = run(clone, "setup", code=1, PYTHON="/bin/false").stderr
    assert "PYTHON=/bin/false is not Python 3.11 or newer" in refused


@pytest.mark.slow
def test_arguments_and_exit_code_go_through(clone: Path) -> None:
    assert run(clone, "judge", "my flock.csv", "").stdout == (
        "stand-in ['judge', 'my flock.csv', '']\n"
    )
    assert run(clone, "demo", "--no-serve").stdout == "stand-in ['demo', '--no-serve']\n"
    run(clone, "fail", code=7)


@pytest.mark.slow
def test_second_call_needs_no_python_to_find_out(clone: Path) -> None:
    run(clone, "setup")
    again = run(clone, "setup", PATH=path_without_python(clone), PYTHON="/nowhere/python")
    assert again.stderr == f"stell: ready: {clone}/.venv/bin/stell\n"


@pytest.mark.slow
def test_half_made_environment_is_made_again(clone: Path) -> None:
    # What `python3 -m venv` leaves behind where ensurepip is missing.
    (clone / ".venv" / "bin").mkdir(parents=True)
    (clone / ".venv" / "bin" / "python").symlink_to("/nowhere/python3")
    (clone / ".venv" / "pyvenv.cfg").write_text("home = /nowhere\n")
    assert "stand-in" in run(clone, "list").stdout


@pytest.mark.slow
def test_no_ensurepip_falls_back_to_the_outer_pip(clone: Path) -> None:
    # A Python whose venv module cannot put pip in, as on a Debian without python3-venv.
    base = Path(sys.base_prefix) / "bin" / "python3"
    python = clone.parent / "python-without-ensurepip"
    python.write_text(
        "#!/bin/sh\n"
        'case "$*" in *--without-pip*) ;; "-m venv "*) mkdir -p "$3/bin"; exit 1 ;; esac\n'
        f'exec "{base}" "$@"\n'
    )
    python.chmod(0o755)
    assert "stand-in" in run(clone, "list", PYTHON=str(python)).stdout
    assert not list((clone / ".venv").glob("lib/python*/site-packages/pip"))


@pytest.mark.slow
def test_moved_clone_finds_itself_again(clone: Path) -> None:
    run(clone, "setup")
    moved = clone.rename(clone.parent / "moved")
    run(moved, "setup")
    (linked,) = moved.glob(".venv/lib/python*/site-packages/stell.pth")
    assert linked.read_text() == f"{moved}/src\n"


@pytest.mark.slow
def test_changed_lock_is_installed(clone: Path) -> None:
    run(clone, "setup")
    (clone / "requirements.lock").write_text("# changed\n")
    assert "installing" in run(clone, "setup").stderr
    assert "installing" not in run(clone, "setup").stderr


@pytest.mark.slow
def test_failed_install_is_not_taken_for_done(clone: Path) -> None:
    (clone / "wheelhouse").mkdir()  # offline: nothing can be found
    (clone / "requirements.lock").write_text(f"nosuchram==1.0 --hash=sha256:{'0' * 64}\n")
    for _ in range(2):
        assert "could not be installed" in run(clone, "setup", code=1).stderr
    assert not (clone / ".venv.busy").exists(), "the next set-up would wait for nobody"


@pytest.mark.slow
def test_turn_of_a_dead_set_up_is_taken_over(clone: Path) -> None:
    (clone / ".venv.busy").mkdir()
    gone = subprocess.Popen(["true"])
    gone.wait()
    (clone / ".venv.busy" / "pid").write_text(f"{gone.pid}\n")
    assert "stand-in" in run(clone, "list").stdout
    assert not (clone / ".venv.busy").exists()

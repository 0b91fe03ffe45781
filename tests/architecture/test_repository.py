"""What may not be in the repository: addresses in locks, package hosts, places on one machine."""

import hashlib
import re
import subprocess
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from stell import __version__

ROOT = Path(__file__).parents[2]
LOCKS = sorted(ROOT.glob("requirements*.lock"))
PIN = re.compile(r"^([A-Za-z0-9._-]+)==([^ ;\\]+)", re.MULTILINE)
HOST = re.compile(r"\b(?:[a-z0-9-]+\.)+[a-z]{2,}\b")
# Hosts of package registries, as SHA-256 of the name: a file that named them would itself
# be the first to break the rule it checks.
REGISTRY_HOSTS = {
    "00a7dc5a0cc388586b8665846e7d8ae94a6dd096f2aa1aa3b4aab4ac484f998a",
    "317d2d52829b78129d2c9e43d001899f0c8d30968bae00b848a47154df56b0ca",
    "3ca29e55be4befa48f875d24c27f9bed32fe06588819ed6264084b6670a1ebb0",
    "43c04ed1dabe979b9c552549bf0ab023abd3e1cc6d5ff7f42cfa2296b0973a67",
    "71741fe2460a615058687c4585f665af5e825968e51a512ffb14c6f2684a397d",
    "789e46d79514e28093cabe2bb4a0798266f584b0e508ef269ebabb6e57859290",
    "8743857e3ea00fd1c64bbc68b8af241954ad2c285e7a60340eec7ea5dcb200db",
    "87d14f070cb9686970d008f9f94e668075fd37620381409858bf040ae1271d51",
    "8b5bb5eb9d758455b8635855cf8aaf05b68775e3f83f0291e800ef338fb9783c",
    "a4aa2ac280bb8d1a0ce7a1be5a7bfb10292b49fe9435ad5cff19f421f3c70e41",
    "e680c440a2e92079ab1bf7a927e8d3920f1bcd173c0487e28e020110b2e59efc",
}


def committed_files() -> list[Path]:
    """List what git tracks or would take with ``git add``, as far as it is still there."""
    command = ["git", "-c", "safe.directory=*", "ls-files", "-z", "-c", "-o", "--exclude-standard"]
    listed = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True).stdout
    paths = (ROOT / line for line in listed.split("\0") if line)
    return [path for path in paths if path.is_file()]


def text_of(path: Path) -> str:
    """Return a file's text; a picture or a font has none."""
    content = path.read_bytes()
    return "" if b"\0" in content[:8000] else content.decode("utf-8", errors="replace")


def registry_hosts(text: str) -> set[str]:
    """Return the hosts in a text that are, or lie under, a package registry's."""
    found = set()
    for host in set(HOST.findall(text.lower())):
        labels = host.split(".")
        tails = {".".join(labels[i:]) for i in range(len(labels) - 1)}
        if any(hashlib.sha256(tail.encode()).hexdigest() in REGISTRY_HOSTS for tail in tails):
            found.add(host)
    return found


def pins(lock: Path) -> dict[str, str]:
    """Return the version a lock gives each package."""
    return {canonicalize_name(n): v for n, v in PIN.findall(lock.read_text(encoding="utf-8"))}


def test_both_locks_are_there() -> None:
    assert [lock.name for lock in LOCKS] == ["requirements-dev.lock", "requirements.lock"]


@pytest.mark.parametrize("lock", LOCKS, ids=lambda lock: lock.name)
def test_lock_names_no_address(lock: Path) -> None:
    lines = lock.read_text(encoding="utf-8").splitlines()
    named = [line for line in lines if "://" in line or line.startswith(("-", "--index"))]
    assert not named, f"remake it with tools/lock.sh; it holds {named[:3]}"


@pytest.mark.parametrize("lock", LOCKS, ids=lambda lock: lock.name)
def test_every_pin_has_a_hash(lock: Path) -> None:
    blocks = re.split(r"^(?=[A-Za-z0-9])", lock.read_text(encoding="utf-8"), flags=re.MULTILINE)
    bare = [block for block in blocks[1:] if "--hash=sha256:" not in block]
    assert not bare, f"no hash: {bare[:3]}"


def test_what_is_tested_is_what_is_shipped() -> None:
    runtime, dev = (pins(ROOT / name) for name in ("requirements.lock", "requirements-dev.lock"))
    assert len(runtime) > 20, "the pattern that reads the lock finds almost nothing"
    differing = {n: (v, dev.get(n)) for n, v in runtime.items() if dev.get(n) != v}
    assert not differing, f"tools/lock.sh brings them together: {differing}"


def test_lock_keeps_to_the_ranges_of_the_project() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    wanted = {"requirements.lock": list(project["project"]["dependencies"])}
    wanted["requirements-dev.lock"] = [
        *wanted["requirements.lock"],
        *project["dependency-groups"]["dev"],
        *(r for extra in project["project"]["optional-dependencies"].values() for r in extra),
    ]
    for lock, requirements in wanted.items():
        pinned = pins(ROOT / lock)
        for requirement in map(Requirement, requirements):
            version = pinned.get(canonicalize_name(requirement.name))
            assert version, f"{requirement} is not in {lock}: run tools/lock.sh"
            assert requirement.specifier.contains(version), f"{lock} has {version}: {requirement}"


def test_version_is_written_once() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    assert "version" not in project["project"], "the version stands in src/stell/__init__.py alone"
    assert project["tool"]["hatch"]["version"]["path"] == "src/stell/__init__.py"
    assert re.fullmatch(r"\d+\.\d+\.\d+", __version__), __version__


def test_no_lock_that_records_an_index_is_committed() -> None:
    recording = [
        path.name
        for path in committed_files()
        if path.name in {"uv.lock", "poetry.lock", "Pipfile.lock", "pdm.lock"}
        or re.fullmatch(r"pylock.*\.toml", path.name)
        or (path.name == "package-lock.json" and '"resolved"' in text_of(path))
    ]
    assert not recording, f"these record an index address: {recording}"


def test_no_package_registry_is_named() -> None:
    named = {
        path.relative_to(ROOT).as_posix(): hosts
        for path in committed_files()
        if (hosts := registry_hosts(text_of(path)))
    }
    assert not named, f"name the package, not the host it came from: {named}"


def test_the_check_for_registries_sees_one() -> None:
    # Put together here, so that the name stands nowhere in one piece.
    host = ".".join(["files", "python" + "hosted", "org"])
    assert registry_hosts(f"see https://{host}/packages/x.whl.") == {host}
    assert not registry_hosts("see https://docs.djangoproject.com/en/5.2/ and example.org")


def test_no_place_on_this_machine_is_named() -> None:
    here = re.compile(re.escape(str(ROOT)) + r"(?![\w.-])")
    naming = [p.relative_to(ROOT).as_posix() for p in committed_files() if here.search(text_of(p))]
    assert not naming, f"{ROOT} is a place on one machine; write paths from the root: {naming}"

"""Real stores for tests: a SQLite file, and a database on a PostgreSQL server of their own.

The server is started once, as an ordinary user, on a socket in a temporary folder; nothing listens
on the network. ``STELL_TEST_POSTGRES`` names a server to use instead, for example
``postgres://tester@localhost``; databases ``stell_test_…`` are made and dropped on it.
"""

from __future__ import annotations

import os
import pwd
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from uuid import uuid4

import pytest

from stell.services.opening import open_store

ENGINES = ("sqlite", pytest.param("postgres", marks=pytest.mark.postgres))
_START_SECONDS = 30


@pytest.fixture(scope="session")
def empty_store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with an empty store, to be copied: making the tables takes a third of a second."""
    folder = tmp_path_factory.mktemp("empty")
    open_store(folder)
    from django.db import connections

    connections.close_all()
    return folder


@pytest.fixture
def folder(tmp_path: Path, empty_store: Path) -> Path:
    """A data folder with an empty SQLite store."""
    return Path(shutil.copytree(empty_store, tmp_path / "data"))


@pytest.fixture
def sqlite_store(folder: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """An open, empty store in a SQLite file."""
    monkeypatch.delenv("STELL_DATABASE", raising=False)
    open_store(folder)
    yield folder
    _close()


@pytest.fixture(params=ENGINES)
def store(request: pytest.FixtureRequest) -> Iterator[Path]:
    """An open, empty store, on each engine in turn."""
    if request.param == "sqlite":
        yield request.getfixturevalue("sqlite_store")
    else:
        yield request.getfixturevalue("postgres_store")


@pytest.fixture
def postgres_store(
    tmp_path: Path, postgres_template: str, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Path]:
    """An open, empty store on a PostgreSQL server."""
    with database(postgres_template, template="stell_test_template") as address:
        monkeypatch.setenv("STELL_DATABASE", address)
        open_store(tmp_path)
        yield tmp_path
        _close()


@pytest.fixture(scope="session")
def postgres_template(postgres_server: str, tmp_path_factory: pytest.TempPathFactory) -> str:
    """The server's address, on which ``stell_test_template`` holds an empty store."""
    with pytest.MonkeyPatch.context() as patch:
        _run_sql(postgres_server, "DROP DATABASE IF EXISTS stell_test_template")
        _run_sql(postgres_server, "CREATE DATABASE stell_test_template")
        patch.setenv("STELL_DATABASE", _named(postgres_server, "stell_test_template"))
        open_store(tmp_path_factory.mktemp("template"))
        _close()
    return postgres_server


@pytest.fixture(scope="session")
def postgres_server(request: pytest.FixtureRequest) -> Iterator[str]:
    """The address of a PostgreSQL server that may be used freely."""
    if given := os.environ.get("STELL_TEST_POSTGRES"):
        yield given
        return
    programs = request.getfixturevalue("initdb").parent
    user = _ordinary_user()
    home = Path(tempfile.mkdtemp(prefix="stell-postgres-"))
    if user is not None:
        shutil.chown(home, user)
    try:
        with _server(programs, home, user):
            yield f"postgres://stell@/postgres?host={home}"
    finally:
        shutil.rmtree(home, ignore_errors=True)


def _ordinary_user() -> str | None:
    """Return whom to become: PostgreSQL refuses to run as root. None: stay who we are."""
    if os.geteuid() != 0:
        return None
    known = {entry.pw_name for entry in pwd.getpwall()}
    return next(name for name in ("postgres", "nobody") if name in known)


@contextmanager
def _server(programs: Path, home: Path, user: str | None) -> Iterator[None]:
    data = home / "data"
    made = ["-D", str(data), "-U", "stell", "--auth=trust", "--encoding=UTF8", "--locale=C"]
    subprocess.run(
        [programs / "initdb", *made, "--no-sync"],
        check=True, user=user, cwd="/", stdout=subprocess.DEVNULL,
    )  # fmt: skip
    settings = ("listen_addresses=", "fsync=off", "max_connections=20")
    command = [programs / "postgres", "-D", str(data), "-k", str(home)]
    for setting in settings:
        command += ["-c", setting]
    log = (home / "log").open("wb")
    server = subprocess.Popen(command, user=user, cwd="/", stdout=log, stderr=log)
    try:
        _wait_for(home, server)
        yield
    finally:
        server.send_signal(signal.SIGINT)  # fast shutdown
        server.wait(timeout=_START_SECONDS)
        log.close()


def _wait_for(home: Path, server: subprocess.Popen[bytes]) -> None:
    address = f"postgres://stell@/postgres?host={home}"
    until = time.monotonic() + _START_SECONDS
    while True:
        try:
            _run_sql(address, "SELECT 1")
        except Exception:
            if server.poll() is not None or time.monotonic() > until:
                pytest.fail(f"the server did not start:\n{(home / 'log').read_text()}")
            time.sleep(0.05)
        else:
            return


def _run_sql(address: str, statement: str) -> None:
    psycopg = pytest.importorskip("psycopg")
    with psycopg.connect(address.replace("postgres://", "postgresql://"), autocommit=True) as c:
        c.execute(statement)


@contextmanager
def database(address: str, *, template: str) -> Iterator[str]:
    """Make a database on a server, yield its address, drop it."""
    name = f"stell_test_{uuid4().hex[:12]}"
    _run_sql(address, f"CREATE DATABASE {name} TEMPLATE {template}")
    try:
        yield _named(address, name)
    finally:
        _run_sql(address, f"DROP DATABASE {name} WITH (FORCE)")


def _named(address: str, name: str) -> str:
    """Return a server's address with another database in it."""
    head, _, options = address.partition("?")
    scheme, _, rest = head.partition("://")
    host = rest.partition("/")[0]
    return f"{scheme}://{host}/{name}" + (f"?{options}" if options else "")


def _close() -> None:
    from django.db import connections

    connections.close_all()

"""Serve the site on this computer, and make the demo's log-in.

The site runs in a process of its own, started afresh, because Django can be set up only once in a
process and the command line sets up less of it.
"""

from __future__ import annotations

import json
import multiprocessing
import os
import secrets
import socket
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

from stell.core.errors import StellError

LOOPBACK = ("127.0.0.1", "localhost", "::1")
PORTS_TRIED = 20
# No letter or digit that is taken for another when read aloud or copied by hand.
_SIGNS = "abcdefghjkmnpqrstuvwxyz23456789"
_STARTING_SECONDS = 60
# What the server has to say is no result: it does not belong on stdout.
_STDERR = {
    "class": "logging.StreamHandler",
    "formatter": "generic",
    "stream": "ext://sys.stderr",
}


class SiteStopped(RuntimeError):
    """The site ended by itself; what it said stands on stderr."""


def serve(
    folder: Path,
    *,
    host: str = "127.0.0.1",
    port: int = 8008,
    ready: Callable[[str], None] | None = None,
    today: date | None = None,
) -> None:
    """Serve the site until somebody stops it with Ctrl-C or SIGTERM.

    Parameters
    ----------
    folder : Path
        The data folder.
    host : str
        A name of this computer itself, one of `LOOPBACK`.
    port : int
        Where to listen. When another program listens there, the next free port is taken.
    ready : callable, optional
        Called once with the address, when the site answers.
    today : date, optional
        Show everything as on this day; without it as on the day it is.

    Raises
    ------
    StellError
        `usage` for another host, or when no port is free.
    StoreError
        When the store in the folder cannot be opened.
    SiteStopped
        When the site ended by itself.
    """
    from granian.constants import Interfaces
    from granian.log import LogLevels
    from granian.server import Server

    from stell.services.opening import open_store

    chosen = free_port(host, port)
    folder = folder.expanduser().absolute()
    open_store(folder)  # here, where an error can still be shown well
    address = f"http://{f'[{host}]' if ':' in host else host}:{chosen}/"
    with _environment(folder, today), _fresh_processes():
        server = Server(
            "stell.web.worker:application",
            address=host,
            port=chosen,
            interface=Interfaces.WSGI,
            workers=1,
            blocking_threads=4,
            log_level=LogLevels.warning,
            log_dictconfig={"handlers": {"console": _STDERR, "access": _STDERR}},
            workers_kill_timeout=3,
        )
        if ready is not None:
            threading.Thread(target=_announce, args=(address, ready), daemon=True).start()
        try:
            server.serve()
        except SystemExit:
            if not server.interrupt_signal:
                raise SiteStopped("the site ended by itself; its last words stand above") from None


def free_port(host: str, port: int) -> int:
    """Return `port`, or the next one on which nobody listens.

    Raises
    ------
    StellError
        `usage` for a host that is not this computer, or when none of `PORTS_TRIED` is free.
    """
    if host not in LOOPBACK:
        raise StellError(
            "usage",
            "the desk is served to this computer alone",
            got=host,
            legal=", ".join(LOOPBACK),
            example="stell serve --host 127.0.0.1",
        )
    for candidate in range(port, min(port + PORTS_TRIED, 65536)):
        if _is_free(host, candidate):
            return candidate
    raise StellError(
        "usage",
        f"another program listens on every port from {port} on, or they may not be used",
        got=port,
        legal=f"a port from 1024 to 65535; {PORTS_TRIED} ports from the one given are tried",
        example=f"stell serve --port {10000 + port % 50000}",
    )


def _is_free(host: str, port: int) -> bool:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as probe:
        if sys.platform != "win32":  # there the option would let two programs share a port
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except (OSError, OverflowError):
            return False
    return True


@contextmanager
def _environment(folder: Path, today: date | None = None) -> Iterator[None]:
    """Tell the site's process, through its environment, what to serve."""
    wanted = {"STELL_DATA": str(folder), "DJANGO_SETTINGS_MODULE": "stell.web.settings"}
    if today is not None:
        wanted["STELL_TODAY"] = today.isoformat()
    before = {name: os.environ.get(name) for name in wanted}
    os.environ.update(wanted)
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


@contextmanager
def _fresh_processes() -> Iterator[None]:
    """Start child processes from nothing: a copy of this one would hold the store's Django."""
    before = multiprocessing.get_start_method(allow_none=True)
    multiprocessing.set_start_method("spawn", force=True)
    try:
        yield
    finally:
        multiprocessing.set_start_method(before, force=True)


def _announce(address: str, ready: Callable[[str], None]) -> None:
    """Call `ready` when the site answers; give up quietly when it never does."""
    until = time.monotonic() + _STARTING_SECONDS
    while time.monotonic() < until:
        try:
            with urllib.request.urlopen(f"{address}healthz", timeout=2) as answer:  # noqa: S310
                if answer.status == 200:
                    ready(address)
                    return
        except (urllib.error.URLError, OSError):
            time.sleep(0.05)


def make_login(name: str, password: str | None = None) -> str:
    """Make an account that may log in to the open store's site, and return its password.

    Parameters
    ----------
    name : str
        Log-in name. An account of that name gets the new password.
    password : str, optional
        Without it a random one is made: about 99 bits, to be shown once and kept nowhere.

    Raises
    ------
    StoreError
        `store.unreadable` when no store is open.
    ValueRefused
        `value.choice` for a name that cannot be used.
    """
    from stell.services.opening import opened_folder

    folder = opened_folder()
    chosen = password if password is not None else random_password()
    command = [sys.executable, "-m", "stell.web.accounts"]
    with _environment(folder):
        # The password goes by standard input: other users can read a command's words.
        done = subprocess.run(  # noqa: S603
            command,
            input=json.dumps({"name": name, "password": chosen}),
            capture_output=True,
            text=True,
            check=False,
        )
    if done.returncode == 2:
        raise _refused(json.loads(done.stdout))
    if done.returncode:
        raise SiteStopped(f"the account could not be made:\n{done.stderr}")
    return chosen


def _refused(raw: dict[str, str]) -> StellError:
    """Return the other process's error again as one of ours."""
    from stell.core.errors import ValueRefused

    return ValueRefused(
        raw["code"], raw["problem"], got=raw["got"], legal=raw["legal"], example=raw["example"]
    )


def random_password() -> str:
    """Return a password of four groups of five signs that can be copied by hand."""
    groups = ("".join(secrets.choice(_SIGNS) for _ in range(5)) for _ in range(4))
    return "-".join(groups)

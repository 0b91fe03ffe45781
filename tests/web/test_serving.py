"""The site served for real: it says when it is ready, answers, and ends when it is told to."""

import contextlib
import http.client
import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.parse
from collections.abc import Iterator
from pathlib import Path

import pytest

from stell.core.errors import StellError
from stell.web.serving import PORTS_TRIED, free_port, make_login, random_password

SERVE = """
import sys
from pathlib import Path
from stell.web.serving import serve
if __name__ == "__main__":
    serve(Path(sys.argv[1]), port=int(sys.argv[2]), ready=lambda at: print(at, flush=True))
    print("ended", flush=True)
"""
LONGEST_END = 5.0  # [s]; measured 0.3 s here, the machine is shared


@contextlib.contextmanager
def served(folder: Path, port: int) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """Serve a folder in a process group of its own; give the process and its address."""
    script = folder / "serve_it.py"
    script.write_text(SERVE)
    process = subprocess.Popen(
        [sys.executable, str(script), str(folder), str(port)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
        env=os.environ | {"PYTHONPATH": os.pathsep.join(p for p in sys.path if p)},
    )
    assert process.stdout is not None
    try:
        address = process.stdout.readline().strip()
        if not address:
            pytest.fail(f"the site did not start:\n{process.communicate()[1]}")
        yield process, address
    finally:
        if process.poll() is None:
            os.killpg(process.pid, signal.SIGKILL)
        process.communicate()


def get(address: str, path: str) -> tuple[int, dict[str, str], bytes]:
    """Return status, headers in lower case and body."""
    connection = http.client.HTTPConnection(address.removeprefix("http://").rstrip("/"), timeout=10)
    with contextlib.closing(connection):
        connection.request("GET", path)
        answer = connection.getresponse()
        headers = {name.lower(): value for name, value in answer.getheaders()}
        return answer.status, headers, answer.read()


@pytest.fixture
def port() -> int:
    """A port on which nobody listens just now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def test_site_answers_and_ends_on_ctrl_c(tmp_path: Path, port: int) -> None:
    with served(tmp_path, port) as (process, address):
        assert address == f"http://127.0.0.1:{port}/", "the address it was asked for"
        status, _, body = get(address, "/healthz")
        assert (status, body) == (200, b"ok\n")
        status, headers, _ = get(address, "/")
        assert (status, headers["location"]) == (302, "/log-in/?next=/"), status
        status, headers, _ = get(address, "/static/desk/desk.css")
        assert status == 200, "static files are served"
        assert headers["content-type"].startswith("text/css"), headers
        # Ctrl-C goes to the whole process group, as a terminal sends it.
        began = time.monotonic()
        os.killpg(process.pid, signal.SIGINT)
        said, complaints = process.communicate(timeout=LONGEST_END)
        assert time.monotonic() - began < LONGEST_END, "it takes too long to end"
        assert said.strip() == "ended", f"serve() did not come back: {complaints}"
        assert process.returncode == 0, complaints
        assert "Traceback" not in complaints, complaints


def test_site_ends_on_sigterm_though_a_browser_keeps_its_connection(
    tmp_path: Path, port: int
) -> None:
    with served(tmp_path, port) as (process, _), socket.create_connection(("127.0.0.1", port)) as s:
        s.sendall(b"GET /healthz HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: keep-alive\r\n\r\n")
        assert b"200 OK" in s.recv(4096), "the connection is in use"
        process.send_signal(signal.SIGTERM)
        _, complaints = process.communicate(timeout=LONGEST_END)
        assert process.returncode == 0, complaints
    with pytest.raises(OSError, match="refused"):
        socket.create_connection(("127.0.0.1", port), timeout=2)


def test_site_does_not_outlive_who_started_it(tmp_path: Path, port: int) -> None:
    with served(tmp_path, port) as (process, _):
        process.kill()  # without a chance to tell anybody
        process.wait(timeout=LONGEST_END)
        until = time.monotonic() + 2 * LONGEST_END
        while time.monotonic() < until:
            try:
                socket.create_connection(("127.0.0.1", port), timeout=1).close()
            except OSError:
                return
            time.sleep(0.2)
    pytest.fail("somebody still listens: a process was left behind")


def test_site_that_cannot_start_says_so_and_ends(tmp_path: Path, port: int) -> None:
    script = tmp_path / "serve_it.py"
    script.write_text(SERVE)
    broken = tmp_path / "broken"
    broken.mkdir()
    (broken / "whitenoise.py").write_text("raise ImportError('not here')\n")
    paths = [str(broken), *(p for p in sys.path if p)]
    done = subprocess.run(
        [sys.executable, str(script), str(tmp_path / "data"), str(port)],
        capture_output=True,
        text=True,
        timeout=60,
        env=os.environ | {"PYTHONPATH": os.pathsep.join(paths)},
        check=False,
    )
    assert done.returncode == 1, done.stderr
    assert done.stdout == "", "no address was given out"
    assert "SiteStopped: the site ended by itself" in done.stderr, done.stderr


def test_a_port_that_is_taken_is_passed_over() -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        taken = other.getsockname()[1]
        found = free_port("127.0.0.1", taken)
        assert taken < found < taken + PORTS_TRIED, f"{found} after {taken}"


def test_no_free_port_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("stell.web.serving._is_free", lambda *_: False)
    with pytest.raises(StellError) as refused:
        free_port("127.0.0.1", 8008)
    assert refused.value.code == "usage"
    assert "8008" in refused.value.text(), "it says which"
    assert "for example: stell serve --port" in refused.value.text()


@pytest.mark.parametrize("host", ["0.0.0.0", "192.168.1.7", "example.org", ""])
def test_only_this_computer_is_served(host: str) -> None:
    with pytest.raises(StellError) as refused:
        free_port(host, 8008)
    assert refused.value.code == "usage"
    assert "127.0.0.1" in refused.value.text(), "it says what is legal"


def test_passwords_are_random_and_can_be_copied() -> None:
    found = {random_password() for _ in range(200)}
    assert len(found) == 200, "no two alike"
    for password in found:
        assert re.fullmatch(r"([a-hj-np-z2-9]{5}-){3}[a-hj-np-z2-9]{5}", password), password
        assert not set("il1o0") & set(password), f"{password} holds a sign taken for another"


def test_login_made_for_the_demo_opens_the_site(opened: Path) -> None:
    from django.test import Client

    from stell.services.opening import open_store

    open_store(opened)
    password = make_login("demo.vet")
    browser = Client(SERVER_NAME="127.0.0.1")
    given = {"username": "demo.vet", "password": password}
    assert browser.post("/log-in/", given).status_code == 302, "the printed password opens"
    assert make_login("demo.vet", "another-long-password") == "another-long-password"
    assert Client(SERVER_NAME="127.0.0.1").post("/log-in/", given).status_code == 200, (
        "the old password is no good any more"
    )


def test_login_with_a_name_that_cannot_be_is_refused(opened: Path) -> None:
    with pytest.raises(StellError) as refused:
        make_login("a vet; drop table")
    assert refused.value.code == "value.choice"
    assert "anna.vet" in refused.value.text(), "an example is given"


def test_login_with_a_weak_password_is_refused(opened: Path) -> None:
    with pytest.raises(StellError) as refused:
        make_login("demo.vet", "ram")
    assert "too short" in refused.value.text(), refused.value.text()


def test_passwords_are_kept_as_argon2(opened: Path) -> None:
    from django.contrib.auth import get_user_model

    from tests.web import season

    kept = get_user_model().objects.get(username=season.LOGIN).password
    assert kept.startswith("argon2$argon2id$"), "no other way of keeping passwords"


def test_the_command_makes_a_login_that_opens_the_door(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "stell", "--data", str(tmp_path), "serve"]
    process = subprocess.Popen(
        [*command, "--port", str(free_port("127.0.0.1", 8300)), "--new-login", "wren"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
        env=os.environ | {"PYTHONPATH": os.pathsep.join(p for p in sys.path if p)},
    )
    assert process.stdout is not None
    try:
        told = ""
        while "Log in as" not in told and process.poll() is None:
            told += process.stdout.readline()
        address = re.search(r"http://[\d.:]+", told)
        password = re.search(r"Log in as wren with (\S+)", told)
        assert address, told
        assert password, told
        assert logged_in(address.group(), "wren", password.group(1)) == "/"
        assert logged_in(address.group(), "wren", "something else") == ""
    finally:
        os.killpg(process.pid, signal.SIGKILL)
        process.communicate()


def logged_in(address: str, name: str, password: str) -> str:
    """Return where a log-in leads, or nothing when it is refused."""
    connection = http.client.HTTPConnection(address.removeprefix("http://"), timeout=10)
    with contextlib.closing(connection):
        connection.request("GET", "/log-in/")
        page = connection.getresponse()
        assert page.status == 200
        cookie = str(page.getheader("Set-Cookie")).split(";")[0]
        token = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', page.read().decode())
        assert token
        form = urllib.parse.urlencode(
            {"username": name, "password": password, "csrfmiddlewaretoken": token.group(1)}
        )
        kind = {"Content-Type": "application/x-www-form-urlencoded", "Cookie": cookie}
        connection.request("POST", "/log-in/", form, kind)
        answer = connection.getresponse()
        answer.read()
        return answer.getheader("Location") or ""

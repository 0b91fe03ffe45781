"""Who may come in: nobody without a log-in, at no address; and what every answer carries."""

import os
import re
import subprocess
import sys
import uuid
from datetime import date
from pathlib import Path

import pytest

from tests.web import season

# Open without a log-in, and nothing of the records in them.
OPEN = {"healthz", "log_in"}
SAMPLES = {
    "slug": "larch-rigg",
    "start": date(2025, 11, 3),
    "ram_id": uuid.UUID("01990525-fe00-72f0-a42d-37f9144893be"),
    "name": "house",
    "version": "2026.1",
}


def all_addresses():
    """Yield name and a sample address of every page that the site has."""
    from django.urls import get_resolver, reverse

    for pattern in get_resolver().url_patterns:
        assert pattern.name, f"{pattern} has no name, so no test can find it"
        wanted = pattern.pattern.converters
        yield pattern.name, reverse(pattern.name, kwargs={k: SAMPLES[k] for k in wanted})


def test_stranger_is_sent_to_the_log_in_from_everywhere(stranger) -> None:
    addresses = dict(all_addresses())
    assert set(addresses) >= OPEN, "the open doors have gone"
    assert len(addresses) >= 14, f"the walk found only {sorted(addresses)}"
    for name, address in addresses.items():
        for method in (stranger.get, stranger.post, stranger.put, stranger.delete):
            answer = method(address)
            if name in OPEN:
                assert answer.status_code in (200, 405), f"{name}: {answer.status_code}"
                continue
            assert answer.status_code == 302, f"{name} answers a stranger: {answer.status_code}"
            assert answer.url.startswith("/log-in/?next="), f"{name} leads to {answer.url}"


def test_stranger_cannot_tell_what_is_there_from_what_is_not(stranger) -> None:
    there, not_there = (stranger.get(f"/flocks/{s}/") for s in ("larch-rigg", "no-such-flock"))
    assert there.status_code == not_there.status_code == 302, "both lead to the log-in"
    assert stranger.get("/nothing/here/").status_code == 404, "an address that is none"


def test_open_doors_say_nothing_of_the_records(stranger) -> None:
    assert stranger.get("/healthz").content == b"ok\n"
    page = stranger.get("/log-in/").content.decode()
    for word in ("Larch", "Morag", "Work list"):
        assert word not in page, f"the log-in page gives away {word!r}"


def test_name_and_password_open_and_log_out_shuts(stranger) -> None:
    answer = stranger.post(
        "/log-in/?next=/due/",
        {"username": season.LOGIN, "password": season.PASSWORD, "next": "/due/"},
    )
    assert answer.status_code == 302, answer.content.decode()[:2000]
    assert answer.url == "/due/", "he comes to where he wanted to go"
    assert stranger.get("/due/").status_code == 200, "and is in"
    assert stranger.get("/log-out/").status_code == 405, "a link cannot log anybody out"
    assert stranger.post("/log-out/").status_code == 302
    assert stranger.get("/due/").status_code == 302, "and is out again"


def test_log_in_does_not_lead_to_another_site(stranger) -> None:
    answer = stranger.post(
        "/log-in/",
        {"username": season.LOGIN, "password": season.PASSWORD, "next": "https://example.org/"},
    )
    assert answer.url == "/", f"led to {answer.url}"


def test_session_is_a_new_one_after_log_in(stranger) -> None:
    stranger.get("/log-in/")
    stranger.cookies["stell-session"] = "known-to-somebody-else"
    stranger.post("/log-in/", {"username": season.LOGIN, "password": season.PASSWORD})
    cookie = stranger.cookies["stell-session"]
    assert cookie.value != "known-to-somebody-else", "a planted session must not become his"
    assert cookie["httponly"], "no script may read it"
    assert cookie["samesite"] == "Lax"


def test_a_desk_left_alone_is_shut(vet, monkeypatch) -> None:
    from django.conf import settings

    from stell.web import idle

    began = 1_800_000_000
    monkeypatch.setattr(idle.time, "time", lambda: began)
    assert vet.get("/due/").status_code == 200, "at work"
    later = began + settings.SESSION_IDLE_SECONDS
    monkeypatch.setattr(idle.time, "time", lambda: later)
    assert vet.get("/due/").status_code == 200, "just in time, and counted as a sign of life"
    monkeypatch.setattr(idle.time, "time", lambda: later + settings.SESSION_IDLE_SECONDS + 1)
    assert vet.get("/due/").status_code == 302, "left alone for too long"
    monkeypatch.setattr(idle.time, "time", lambda: later)
    assert vet.get("/due/").status_code == 302, "the old session is no good any more"


def test_a_session_lasts_a_working_day_at_most(vet, monkeypatch) -> None:
    from stell.web import idle

    began, hour = 1_800_000_000, 60 * 60
    answers = []
    for hours in range(12):  # never idle for longer than an hour
        monkeypatch.setattr(idle.time, "time", lambda at=began + hours * hour + 1: at)
        answers.append(vet.get("/due/").status_code)
    assert answers == [200] * 11 + [302], f"ten hours from the log-in, then no more: {answers}"


@pytest.fixture
def no_strikes(stranger):
    """Nobody has given a wrong password yet, and nobody has afterwards."""
    from axes.utils import reset

    reset()
    yield
    reset()


def test_five_wrong_passwords_shut_the_door(stranger, no_strikes) -> None:
    wrong = {"username": season.LOGIN, "password": "not it"}
    answers = [stranger.post("/log-in/", wrong).status_code for _ in range(5)]
    assert answers == [200, 200, 200, 200, 429], f"locked at the fifth: {answers}"
    right = stranger.post("/log-in/", {"username": season.LOGIN, "password": season.PASSWORD})
    assert right.status_code == 429, "the right password does not open a locked door"
    assert b"quarter of an hour" in right.content, "the page says for how long"
    assert stranger.get("/due/").status_code == 302, "he is not in"
    other = stranger.post("/log-in/", {"username": "somebody.else", "password": "x"})
    assert other.status_code == 200, "another name is not shut out with him"


def test_wrong_password_and_unknown_name_look_alike(stranger, no_strikes) -> None:
    answers = [
        stranger.post("/log-in/", {"username": name, "password": "not it"}).content.decode()
        for name in (season.LOGIN, "nobody.here")
    ]
    assert "do not belong together" in answers[0], "it says what is wrong"
    for answer, name in zip(answers, (season.LOGIN, "nobody.here"), strict=True):
        assert f'value="{name}"' in answer, "the name is kept"
    plain = [
        re.sub(r'(csrfmiddlewaretoken" value=")[^"]+', r"\1", answer.replace(name, ""))
        for answer, name in zip(answers, (season.LOGIN, "nobody.here"), strict=True)
    ]
    assert plain[0] == plain[1], "the pages must not tell names apart"


def test_a_form_without_its_token_is_refused(opened) -> None:
    from django.test import Client

    strict = Client(SERVER_NAME="127.0.0.1", enforce_csrf_checks=True)
    answer = strict.post("/log-in/", {"username": season.LOGIN, "password": season.PASSWORD})
    assert answer.status_code == 403, "a form from elsewhere"
    assert b"The form was too old" in answer.content, "in words, not in Django's page"


def test_every_answer_carries_the_headers(vet) -> None:
    policy = {
        "default-src 'none'", "style-src 'self'", "img-src 'self'", "font-src 'self'",
        "form-action 'self'", "base-uri 'none'", "frame-ancestors 'none'", "object-src 'none'",
    }  # fmt: skip
    addresses = dict(all_addresses()) | {"not there": "/nothing/", "not here": "/flocks/nothing/"}
    for name, address in addresses.items():
        headers = vet.get(address).headers
        assert set(headers["Content-Security-Policy"].split("; ")) == policy, name
        assert headers["X-Frame-Options"] == "DENY", name
        assert headers["X-Content-Type-Options"] == "nosniff", name
        assert headers["Referrer-Policy"] == "same-origin", name
        assert headers["Cross-Origin-Opener-Policy"] == "same-origin", name
        assert "camera=()" in headers["Permissions-Policy"], name
        assert "no-store" in headers["Cache-Control"], f"{name} may be kept by a cache"


def test_static_files_may_be_kept_and_need_no_log_in(stranger) -> None:
    answer = stranger.get("/static/desk/desk.css")
    assert answer.status_code == 200, "the log-in page needs its style"
    assert b"--slate" in b"".join(answer.streaming_content), "the file itself"
    answer.close()
    assert "max-age=300" in answer.headers["Cache-Control"], answer.headers
    assert "Access-Control-Allow-Origin" not in answer.headers, "no other site is let in"
    assert stranger.get("/static/../settings.py").status_code == 404, "nothing but static files"


def test_another_host_is_refused(stranger) -> None:
    answer = stranger.get("/log-in/", SERVER_NAME="desk.example.org")
    assert answer.status_code == 400, "a page elsewhere must not talk to this desk by its own name"


def test_only_reading_is_possible(vet) -> None:
    for name, address in all_addresses():
        if name in ("log_in", "log_out"):
            continue
        assert vet.post(address).status_code == 405, f"{name} takes a POST"


def run_python(code: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """Run code in a process of its own, since Django can be set up only once in one."""
    known = {k: v for k, v in os.environ.items() if not k.startswith(("STELL", "DJANGO"))}
    return subprocess.run(
        [sys.executable, "-c", code],
        env=known | {"DJANGO_SETTINGS_MODULE": "stell.web.settings"} | environment,
        capture_output=True,
        text=True,
        check=False,
    )


def test_https_profile_passes_the_deployment_check(tmp_path) -> None:
    code = (
        "import django; django.setup()\n"
        "from django.core.management import call_command\n"
        "call_command('check', deploy=True, fail_level='WARNING')\n"
    )
    done = run_python(
        code, STELL_SITE="https", STELL_HOSTS="desk.example.org", STELL_DATA=str(tmp_path)
    )
    assert done.returncode == 0, done.stderr


def test_profiles_differ_in_cookies_and_hosts_only_as_said(tmp_path) -> None:
    code = (
        "import django; django.setup()\n"
        "from django.conf import settings as s\n"
        "print(s.SESSION_COOKIE_SECURE, s.CSRF_COOKIE_SECURE, s.SECURE_SSL_REDIRECT,"
        " s.SESSION_COOKIE_NAME, *s.ALLOWED_HOSTS)\n"
    )
    at_home = run_python(code, STELL_DATA=str(tmp_path))
    assert at_home.stdout.split() == [
        "False", "False", "False", "stell-session", "127.0.0.1", "localhost", "[::1]",
    ], at_home.stderr  # fmt: skip
    served = run_python(
        code, STELL_DATA=str(tmp_path), STELL_SITE="https", STELL_HOSTS="a.example.org, b.example"
    )
    assert served.stdout.split() == [
        "True", "True", "True", "__Host-stell-session", "a.example.org", "b.example",
    ], served.stderr  # fmt: skip


def test_handbook_names_tests_that_there_are() -> None:
    here = Path(__file__).parent
    named = set(re.findall(r"`(test_\w+)`", (here.parents[1] / "docs/desk.md").read_text("utf-8")))
    there = {
        n for p in here.glob("*.py") for n in re.findall(r"def (test_\w+)", p.read_text("utf-8"))
    }
    assert len(named) > 15, "the table has gone"
    assert named <= there, f"no such test: {sorted(named - there)}"

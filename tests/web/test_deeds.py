"""What was done stands on the ram's page, and is no longer asked for on any."""

from __future__ import annotations

import re
from datetime import date

from tests.web import season


def text_of(answer) -> str:
    """Return a page's words."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode()))


def test_done_deeds_are_shown_and_ticked_off(opened, tmp_path) -> None:
    from django.contrib.auth import get_user_model
    from django.test import Client

    from stell.core.deeds import Medicine
    from stell.services import deciding, deeds, flocks, rams
    from stell.services.opening import open_store
    from stell.web.accounts import put_account

    open_store(tmp_path)
    put_account(season.LOGIN, season.PASSWORD)
    flocks.add_flock("Few", latitude_deg=54.9, by=season.BY, now=season.at(season.VISIT))
    flocks.set_mating_start("Few", season.RAMS_IN, by=season.BY, now=season.at(season.VISIT))
    rows = season.PRESENT.replace("LR ", "FW ").replace(",3.5,36.4,", ",2.5,36.4,")
    season.put(tmp_path, "Few", rows, season.VISIT)
    browser = Client(SERVER_NAME="127.0.0.1")
    backend = "django.contrib.auth.backends.ModelBackend"
    browser.force_login(get_user_model().objects.get(), backend=backend)
    ram = rams.find_ram("FW 3")  # a hard testis: not to be used
    exam = rams.history(ram).entries[0].examination
    assert "Do not use" in text_of(browser.get("/due/"))

    deed = deeds.put_done(
        exam.id, "withdraw", done_on=season.VISIT, by=season.BY, now=season.at(season.VISIT)
    )
    assert f'"/rams/{ram.id}/"' not in browser.get("/due/").content.decode(), "still asked for"
    page = text_of(browser.get(f"/rams/{ram.id}/"))
    assert "What was done Taken out of use on 31 Aug 2026 by" in page
    assert "What follows, and by when" not in page
    deeds.take_back(deed.deed_id, "the wrong <ram>", by="A", now=season.at(season.VISIT))
    page = text_of(browser.get(f"/rams/{ram.id}/"))
    assert "Taken back on 31 Aug 2026 by A (the wrong &lt;ram&gt;)" in page
    assert "What follows, and by when Do not use" in page

    thin = rams.find_ram("FW 1")
    entry = rams.history(thin).entries[0]
    given = Medicine("Invented", withdrawal_until=date(2199, 1, 1))
    deeds.put_done(
        entry.examination.id, "treat", done_on=season.VISIT, by=season.BY,
        now=season.at(season.VISIT), medicine=given,
    )  # fmt: skip
    page = text_of(browser.get(f"/rams/{thin.id}/"))
    assert "Not for slaughter before 1 Jan 2199, as entered by" in page
    who = deciding.override(
        entry.examination.id, "unsatisfactory", "too thin", by="A", now=season.at(season.VISIT)
    )
    assert who.outcome.value == "unsatisfactory"
    listed = text_of(browser.get("/due/"))
    assert "too thin. Not for slaughter before 1 Jan 2199" in listed, "on his way to slaughter"

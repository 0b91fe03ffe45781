"""Every page over a real store: the right facts, nothing twisted, no query for every ram."""

import re
import uuid
from html import unescape

import pytest

from tests.web import season


def text_of(answer) -> str:
    """Return a page's words on one line, without its tags."""
    assert answer.status_code == 200, f"{answer.status_code}: {answer.content.decode()[:3000]}"
    body = re.sub(r"<svg.*?</svg>|<head>.*?</head>", " ", answer.content.decode(), flags=re.S)
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", body)).split())


def ram_id(tag: str) -> str:
    from stell.services import rams

    return rams.find_ram(tag).id


def line_of(page: str, tag: str) -> str:
    """Return one ram's line of the flock's table."""
    rows = re.findall(r"<tr class.*?</tr>", page, flags=re.S)
    found = [unescape(re.sub(r"<[^>]+>", " ", row)) for row in rows if f">{tag} " in row]
    assert len(found) == 1, f"{tag} stands {len(found)} times in the table"
    return " ".join(found[0].split())


def test_home_shows_flocks_counts_and_what_is_due(vet) -> None:
    page = text_of(vet.get("/"))
    assert "Larch Rigg Ewan Larch · 6 rams · rams in Mon 2 Nov 2026" in page
    # Two satisfactory, one of them within limits; of the deferred and of those not to be used one
    # each by the vet.
    assert "2 satisfactory 2 deferred 2 unsatisfactory" in page, page
    assert "2 weeks overdue Do not use: LR 3 Cob" in page, "what was due on the day of the visit"
    assert "No start of mating is set" in page, "the other flock has none"


def test_home_shows_the_head_of_the_work_list(opened) -> None:
    from stell.services import due, lookup, seasons
    from stell.web.desk.home import SOON_DAYS, pressing_items

    found = list(reversed(seasons.seasons_of(lookup.flock_rows(), season.TODAY)))
    wanted = due.work_list(season.TODAY, within_days=SOON_DAYS)
    assert len(wanted) >= 4, "there is something to put in order"
    shown = pressing_items(found, season.TODAY)
    assert [i.todo for i in shown] == [i.todo for i in wanted], "another order than the work list's"


def test_home_lines_up_the_flocks_by_the_day_the_rams_go_in(vet) -> None:
    page = vet.get("/").content.decode()
    assert page.count('class="gate"') >= 2, "one in the line of weeks and one in its key"
    assert "Today is 7 weeks before the rams go in on 2 Nov 2026." in page, "said in words too"


def test_flock_page_shows_every_ram_with_his_verdict(vet) -> None:
    page = vet.get("/flocks/larch-rigg/").content.decode()
    ash = line_of(page, "LR 1")
    assert "satisfactory" in ash
    assert "3.5" in ash, "condition as in the sheet"
    assert "36.4 cm" in ash, "circumference as in the sheet"
    assert "36.0 cm on 1 Sep 2025: 0.4 cm more" in ash, "beside last year's"
    assert "deferred" in line_of(page, "LR 2")
    assert "Fri 30 Oct 2026" in line_of(page, "LR 2"), "31 Aug and 60 days"
    assert "if sound by then" in line_of(page, "LR 2"), "deferred is not the same as ready"
    assert "find cover now" in line_of(page, "LR 2"), "30 Oct comes after the last day to buy"
    assert "unsatisfactory" in line_of(page, "LR 3")
    assert "the vet's own word" in line_of(page, "LR 4")
    assert "with restrictions" in line_of(page, "LR 5")


def test_flock_page_shows_the_season_s_days(vet) -> None:
    page = text_of(vet.get("/flocks/larch-rigg/"))
    assert "Rams go in Mon 2 Nov 2026, in 7 weeks" in page
    # The house protocol: last sensible day to examine 42 days ahead of 2 Nov, 21 Sep.
    assert "Last sensible day to examine Mon 21 Sep 2026, in 7 days" in page
    # Sound: LR 1 and LR 5. LR 2 waits until 30 Oct, 3 days ahead. LR 4's day is not set yet.
    assert (
        "2 can go in on the first day 1 if sound when examined again 1 not yet known "
        "2 cannot go in" in page
    ), page


@pytest.mark.parametrize(
    ("order", "first"), [("need", "LR 3"), ("tag", "LR 1"), ("day", "LR 3"), ("", "LR 3")]
)
def test_rams_stand_in_the_order_asked_for(vet, order: str, first: str) -> None:
    page = vet.get(f"/flocks/larch-rigg/?order={order}").content.decode()
    tags = re.findall(r'<th scope="row"><a href="/rams/[^"]+">(LR \d)', page)
    assert len(tags) == 6, tags
    assert tags[0] == first, f"in order of {order or 'nothing'}: {tags}"


def test_an_order_that_is_none_is_passed_over(vet) -> None:
    assert vet.get("/flocks/larch-rigg/?order=%3Cscript%3E").status_code == 200


def test_earlier_season_has_its_own_page(vet) -> None:
    page = text_of(vet.get("/flocks/larch-rigg/mating/2025-11-03/"))
    assert "Rams went in Mon 3 Nov 2025" in page
    assert "36.0 cm" in page, "last year's figure"
    assert "36.4 cm" not in page, "not this year's"
    assert vet.get("/flocks/larch-rigg/mating/2024-11-03/").status_code == 404, "no such season"
    assert vet.get("/flocks/larch-rigg/mating/2026-02-30/").status_code == 404, "no such day"


def test_ram_page_gives_reasons_with_their_sources(vet) -> None:
    page = text_of(vet.get(f"/rams/{ram_id('LR 2')}/"))
    assert "deferred: examine again on 30 Oct 2026" in page
    assert "Tone of the testis (left): soft" in page
    assert "Examine again after 60 days." in page
    assert "soft testes: poor nutrition, age, footrot, fly strike" in page, (
        "the place in the source"
    )
    assert "Published, read in the source." in page
    assert "Rule testis_tone_left.soft" in page


def test_ram_page_sets_him_beside_his_own_past(vet) -> None:
    page = text_of(vet.get(f"/rams/{ram_id('LR 1')}/"))
    assert "31 Aug 2026 beside 1 Sep 2025" in page
    assert "36.0 cm on 1 Sep 2025, 36.4 cm on 31 Aug 2026; 0.4 cm more" in page
    assert "ithin measurement error" in page, "0.4 cm is less than two people's readings differ"


def test_ram_page_shows_the_vet_s_word_beside_the_proposal(vet) -> None:
    page = text_of(vet.get(f"/rams/{ram_id('LR 4')}/"))
    at = page.index("Proposed by the protocol")
    assert page[at:].startswith("Proposed by the protocol satisfactory"), page[at : at + 200]
    assert "The vet's own verdict, which counts deferred Served badly last year." in page
    assert "Morag Ferrier, 31 Aug 2026" in page


def test_ram_page_asks_for_nothing_that_the_vet_s_word_makes_pointless(vet) -> None:
    page = text_of(vet.get(f"/rams/{ram_id('LR 6')}/"))
    assert "deferred: examine again on 30 Oct 2026" in page, "the proposal is still told"
    follows = page[page.index("What follows, and by when") :]
    assert "Do not use , Mon 31 Aug 2026" in follows, "by the vet's own verdict"
    assert "Examine again" not in follows.partition("Everything found")[0], (
        "nobody has to look at him again"
    )


def test_ram_page_keeps_what_a_correction_replaced(vet) -> None:
    page = text_of(vet.get(f"/rams/{ram_id('LR 5')}/"))
    assert "Correction. The remark went to another ram." in page
    assert "Replaced by a correction." in page, "the old record is still there"
    assert "two millimetres" in page, "the remark that was put right"
    assert "Not to sire replacements" in page


def test_ram_page_shows_everything_found_in_walk_order(vet) -> None:
    page = text_of(vet.get(f"/rams/{ram_id('LR 1')}/"))
    stops = ["Stand back", "Head", "Back", "Legs", "Scrotum", "Turned over"]
    at = [page.index(stop, page.index("Everything found")) for stop in stops]
    assert at == sorted(at), f"out of order: {at}"


def test_protocol_page_goes_round_the_ram(vet) -> None:
    page = text_of(vet.get("/protocol/"))
    assert "Protocol in force House protocol house 2026.1" in page
    for said in (
        "A ram charges and jumps hard enough to break a leg.",  # caution of the first stop
        "Examine again after 60 days",
        "Not to be used",
        "Common practice, no source.",
        "Counted back from the day the rams go in.",
        "Plant J. W., revised by Seaman J. (2004)",  # bibliography
    ):
        assert said in page, said
    assert text_of(vet.get("/protocol/house/2026.1/")) == page, "the version has its own address"


def test_work_list_begins_with_what_brooks_no_delay(vet) -> None:
    page = text_of(vet.get("/due/"))
    heads = [page.index(h) for h in ("At once", "Within a week", "The three weeks after", "Later")]
    assert heads == sorted(heads), "the headings are in order of days"
    first = page[heads[0] :]
    assert first.startswith("At once 2 2 weeks overdue Mon 31 Aug 2026 Do not use · LR 3 Cob"), (
        first[:200]
    )
    assert "Examine again · LR 2 Bramble · Larch Rigg" in page[heads[3] :], "on 30 Oct"


def test_work_list_of_one_flock(vet) -> None:
    page = text_of(vet.get("/due/?flock=larch-rigg"))
    assert "Work list: Larch Rigg" in page
    assert vet.get("/due/?flock=nothing").status_code == 404


def test_calendar_file_holds_the_work_list(vet) -> None:
    from icalendar import Calendar

    from stell.services import due

    answer = vet.get("/due/stell.ics")
    assert answer.status_code == 200, answer.content[:500]
    assert answer.headers["Content-Type"].startswith("text/calendar"), answer.headers
    events = Calendar.from_ical(answer.content).walk("VEVENT")
    items = due.work_list(season.TODAY)
    assert sorted(e.decoded("dtstart") for e in events) == sorted(i.todo.due_on for i in items)
    assert len({str(e["uid"]) for e in events}) == len(items), "every event has a name of its own"
    assert any("LR 2 Bramble, Larch Rigg" in str(e["summary"]) for e in events), events
    assert "Ewan Larch" not in answer.content.decode(), "no client's name leaves in a calendar"


@pytest.mark.parametrize(
    ("address", "name"),
    [
        ("/flocks/larch-rigg/report.pdf", "larch-rigg-report-2026-09-14.pdf"),
        ("/flocks/larch-rigg/run-sheet.pdf", "larch-rigg-run-sheet-2026-09-14.pdf"),
        ("/protocol/house/2026.1/form.pdf", "form-house-2026.1.pdf"),
    ],
)
def test_papers_come_as_pdf(vet, address: str, name: str) -> None:
    answer = vet.get(address)
    assert answer.status_code == 200, answer.content[:500]
    assert answer.headers["Content-Type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF-"), "a PDF begins so"
    assert f'filename="{name}"' in answer.headers["Content-Disposition"]
    assert "no-store" in answer.headers["Cache-Control"]


@pytest.mark.parametrize(
    "address",
    [
        f"/rams/{uuid.UUID(int=7)}/",
        "/rams/not-an-id/",
        "/flocks/nowhere/",
        "/flocks/nowhere/report.pdf",
        "/flocks/nowhere/mating/2025-11-03/",
        "/protocol/house/0.0/",
        "/protocol/house/0.0/form.pdf",
        "/nothing/",
    ],
)
def test_what_is_not_there_is_not_found(vet, address: str) -> None:
    answer = vet.get(address)
    assert answer.status_code == 404, address
    assert b"stell" in answer.content, "a page of our own"


def test_names_are_never_read_as_markup(vet) -> None:
    for address in ("/", "/due/", "/flocks/stone-b-fold-b-co/", f"/rams/{ram_id('SF 100')}/"):
        page = vet.get(address).content.decode()
        assert "<script>alert" not in page, f"{address} runs what a name says"
        assert "Stone <b>Fold" not in page, f"{address} sets a name as markup"
    assert season.WILD_NAME in text_of(vet.get("/")), "the name is shown as it is"


def test_our_own_errors_are_told_in_words(vet) -> None:
    answer = vet.get("/flocks/larch-rig/")
    page = " ".join(unescape(re.sub(r"<[^>]+>", " ", answer.content.decode())).split())
    assert "That did not work" in page
    assert "Got larch-rig" in page
    assert "Larch Rigg" in page, "it names what comes near"


def test_a_busy_store_is_said_to_be_busy(vet, monkeypatch) -> None:
    from django.db import OperationalError

    from stell.web.desk import home

    def locked(*_):
        raise OperationalError("database is locked")

    monkeypatch.setattr(home.lookup, "flock_rows", locked)
    answer = vet.get("/")
    assert answer.status_code == 503, "come again later"
    assert b"Another program is writing" in answer.content


def test_pages_take_no_more_queries_with_more_rams(opened, tmp_path) -> None:
    from django.contrib.auth import get_user_model
    from django.db import connection
    from django.test import Client
    from django.test.utils import CaptureQueriesContext

    from stell.services import flocks, rams
    from stell.services.opening import open_store
    from stell.web.accounts import put_account

    open_store(tmp_path)
    put_account(season.LOGIN, season.PASSWORD)
    flocks.add_flock("Few", latitude_deg=54.9, by=season.BY, now=season.at(season.VISIT))
    flocks.set_mating_start("Few", season.RAMS_IN, by=season.BY, now=season.at(season.VISIT))
    browser = Client(SERVER_NAME="127.0.0.1")
    backend = "django.contrib.auth.backends.ModelBackend"
    browser.force_login(get_user_model().objects.get(), backend=backend)

    def queries() -> dict[str, int]:
        pages = ("/", "/flocks/few/", "/due/", "/protocol/", f"/rams/{first.id}/")
        counted = {}
        for page in pages:
            browser.get(page)  # whatever is read once is read before
            with CaptureQueriesContext(connection) as seen:
                assert browser.get(page).status_code == 200, page
            counted[page] = len(seen)
        return counted

    season.put(tmp_path, "Few", season.rows_of(2), season.VISIT)
    first = rams.list_rams("Few")[0]
    few = queries()
    season.put(tmp_path, "Few", season.rows_of(40, tag="MR"), season.VISIT)
    assert len(rams.list_rams("Few")) == 42, "the flock has grown"
    assert queries() == few, "a page asks once more for every ram"
    assert max(few.values()) <= 25, f"more than anybody can follow: {few}"

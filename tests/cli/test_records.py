"""Commands that keep records: flocks, import, rams, history, due, override, correct."""

import json
from pathlib import Path

import pytest

TODAY = ("--today", "2026-09-14")


def one_line(text: str) -> str:
    """Return printed text without line breaks, so that wrapping does not matter."""
    return " ".join(text.split())


# ---------------------------------------------------------------- flocks


def test_a_flock_is_put_on_the_books_once(empty) -> None:
    words = ["flock", "add", "Top End", "--latitude", "54.9", "--owner", "T. Fellwright"]
    assert "short name top-end" in empty(*words).out
    again = empty(*words, code=5)
    assert "Top End" in again.err
    (flock,) = empty("flock", "list", "--json").result
    assert flock["slug"] == "top-end"
    assert flock["latitude_deg"] == 54.9


def test_a_latitude_that_is_none_is_refused(empty) -> None:
    assert "90" in empty("flock", "add", "Top End", "--latitude", "154.9", code=2).err


def test_mating_start_is_set_and_printed_as_a_word(empty) -> None:
    empty("flock", "add", "Top End", "--latitude", "54.9")
    printed = empty("flock", "mating-start", "top end", "2 Nov 2026")
    assert printed.out == "Top End: the rams go in on 2 Nov 2026.\n"
    assert empty("flock", "list", "--json").result[0]["mating_starts"] == ["2026-11-02"]


def test_an_unknown_flock_names_what_comes_near(demo) -> None:
    refused = demo("flock", "show", "hihg sallow", *TODAY, code=5)
    assert "High Sallow" in refused.err


def test_nothing_there_is_said_and_nothing_is_made(empty, tmp_path: Path) -> None:
    refused = empty("rams", code=6)
    assert "no records are kept there" in refused.err
    assert not (tmp_path / "new").exists()


def test_show_tells_where_a_flock_stands(demo) -> None:
    printed = demo("flock", "show", "high-sallow", *TODAY)
    assert max(map(len, printed.out.splitlines())) <= 80
    text = one_line(printed.out)
    assert "Mating starts on 2 Nov 2026, in 7 weeks" in text
    # 42 days (28 of quarantine, 14 to settle) before 2 Nov is 21 Sep.
    assert "21 Sep 2026 in 7 days Last useful day to buy" in text
    assert "look again now (was due 8 Sep 2026)" in text, "Harrow's look is overdue"
    season = demo("flock", "show", "high-sallow", *TODAY, "--json").result
    assert season["counts"]["unsatisfactory"] == 2, "Corin, and Old Tolly by the vet's word"
    assert season["not_examined"] == 0


def test_show_of_a_flock_that_was_not_visited_lists_its_rams(demo) -> None:
    text = one_line(demo("flock", "show", "cold ridding", *TODAY).out)
    assert "Not examined this season CR 201 Brock" in text


def test_all_rams_lists_the_satisfactory_ones_too(demo) -> None:
    short = demo("flock", "show", "wether-holm", *TODAY).out
    whole = demo("flock", "show", "wether-holm", *TODAY, "--all-rams").out
    assert "WH 301 Pike" not in short
    assert "WH 301 Pike" in whole


# ---------------------------------------------------------------- import


@pytest.fixture
def main_flock(empty):
    """Records with one empty flock."""
    empty("flock", "add", "High Sallow", "--latitude", "54.9", "--mating-start", "2026-11-02")
    return empty


def test_import_stores_once(main_flock, sheets) -> None:
    words = ["import", sheets / "high-sallow-2026-08.xlsx", "--flock", "high-sallow", *TODAY]
    first = main_flock(*words)
    assert "37 examinations stored, 37 rams new on the books" in one_line(first.out)
    again = main_flock(*words)
    assert "0 examinations stored, 37 stored before" in one_line(again.out)
    assert len(main_flock("rams", "--json").result) == 37


def test_a_sheet_with_mistakes_stores_nothing(main_flock, sheets) -> None:
    words = ["import", sheets / "with-errors.csv", "--flock", "high-sallow", *TODAY]
    refused = main_flock(*words, code=4)
    assert "nothing was stored, because 8 rows were refused" in one_line(refused.err)
    assert "row 3, column I" in refused.err
    assert main_flock("rams", "--json").result == []
    as_json = json.loads(main_flock(*words, "--json", code=4).err)
    assert len(as_json["others"]) == 8


def test_good_rows_are_stored_when_asked(main_flock, sheets) -> None:
    words = ["import", sheets / "with-errors.csv", "--flock", "high-sallow", *TODAY]
    printed = main_flock(*words, "--accept-good-rows", "--json", code=10)
    assert printed.result["stored"] == 2
    assert printed.result["refused"] == 8
    assert len(printed.json["problems"]) == 8
    assert {r["tag"] for r in main_flock("rams", "--json").result} == {"HS 208", "HS 209"}


def test_a_changed_row_needs_a_reason(main_flock, sheets, tmp_path: Path) -> None:
    text = (sheets / "with-errors.csv").read_text(encoding="utf-8")
    header, *rows = text.splitlines()
    (good,) = [row for row in rows if row.startswith("HS 208")]
    sheet = tmp_path / "one.csv"
    sheet.write_text(f"{header}\n{good}\n", encoding="utf-8")
    words = ["import", sheet, "--flock", "high-sallow", *TODAY]
    main_flock(*words)
    sheet.write_text(f"{header}\n{good.replace('35.5', '36.5')}\n", encoding="utf-8")
    refused = json.loads(main_flock(*words, "--json", code=4).err)
    assert [e["code"] for e in refused["others"]] == ["row.conflict"]
    printed = main_flock(*words, "--corrections", "read back from the book", "--json")
    assert printed.result["corrected"] == 1
    entries = main_flock("history", "HS 208", "--json").result["entries"]
    assert [e["observations"]["circumference"] for e in entries] == [[365], [355]]
    assert entries[0]["correction_reason"] == "read back from the book"


def test_dry_run_shows_the_columns_and_stores_nothing(main_flock, sheets) -> None:
    words = ["import", sheets / "high-sallow-2026-08.xlsx", "--flock", "high-sallow", *TODAY]
    printed = one_line(main_flock(*words, "--dry-run").out)
    assert "Scrotal circumference (cm) circumference [cm]" in printed
    assert "37 examinations stored, 37 rams new on the books" in printed
    assert "Nothing was stored" in printed
    assert main_flock("rams", "--json").result == []


def test_units_and_decimals_of_old_sheets(main_flock, sheets) -> None:
    # 14.25 in = 361.95 mm; the sheet of 2025 writes 33,5 and two readings as "31,0; 31,0".
    for name, day in (("high-sallow-2024-08.csv", "2024-08-28"),):
        main_flock("import", sheets / name, "--flock", "high-sallow", "--today", day)
    words = ["import", sheets / "high-sallow-2025-again.csv", "--flock", "high-sallow"]
    main_flock(*words, "--today", "2025-10-26")
    tolly = main_flock("history", "HS 101", "--json").result["entries"][0]
    assert tolly["observations"]["circumference"] == [362]
    fallow = main_flock("history", "HS 106", "--json").result["entries"][0]
    assert fallow["observations"]["circumference"] == [310, 310]


def test_a_sheet_of_several_flocks(main_flock, sheets) -> None:
    words = ["import", sheets / "bought-in-2026-09.csv", *TODAY]
    refused = main_flock(*words, code=4)
    assert "Cold Ridding" in refused.err, "a flock that is not on the books"
    main_flock("flock", "add", "Cold Ridding", "--latitude", "55.3")
    main_flock(*words)
    flocks = {f["slug"]: f["rams"] for f in main_flock("flock", "list", "--json").result}
    assert flocks == {"high-sallow": 4, "cold-ridding": 1}


# ---------------------------------------------------------------- rams, history, due


def test_rams_of_one_flock_and_those_that_left(demo) -> None:
    here = demo("rams", "--flock", "wether holm")
    assert "8 rams." in here.out
    left = demo("rams", "--flock", "wether holm", "--left")
    assert "9 rams." in left.out
    assert "sold: aged" in one_line(left.out)


def test_a_ram_leaves_moves_and_is_retagged(demo) -> None:
    demo("leave", "HS 140", "--why", "died: bloat", "--on", "2026-09-10", *TODAY)
    assert "HS 140" not in demo("rams", "--flock", "high-sallow").out
    demo("move", "HS 124", "cold-ridding", "--on", "2026-09-10", *TODAY)
    assert "HS 124" in demo("rams", "--flock", "cold-ridding").out
    demo("retag", "Bracken", "--tag", "HS 2103", *TODAY)
    assert demo("history", "HS 2103", "--json").result["ram"]["name"] == "Bracken"
    assert "one mark is changed at a time" in demo("retag", "Bracken", code=2).err


def test_history_newest_first_with_what_changed(demo) -> None:
    found = demo("history", "marl", "--json").result
    days = [e["examined_on"] for e in found["entries"]]
    assert days == ["2026-08-25", "2025-10-25", "2025-08-26", "2024-08-27"]
    course = {
        (c["then_on"], f["check"]): f["course"] for c in found["comparisons"] for f in c["findings"]
    }
    assert course["2025-08-26", "testis_tone_left"] == "gone"
    printed = demo("history", "marl")
    assert "struck by fly in July" in one_line(printed.out)
    assert max(map(len, printed.out.splitlines())) <= 80


def test_history_hides_replaced_examinations_unless_asked(demo) -> None:
    short = demo("history", "scythe").out
    assert "43.5" not in short
    assert "1 replaced examination not shown" in short
    whole = demo("history", "scythe", "--all").out
    assert "43.5" in whole
    assert "replaced" in whole
    assert "Digits swapped" in one_line(whole)


def test_an_unknown_ram(demo) -> None:
    assert "on the books" in demo("history", "Nobody", code=5).err


def test_due_puts_overdue_first_and_counts_them(demo) -> None:
    printed = demo("due", *TODAY)
    assert max(map(len, printed.out.splitlines())) <= 80
    items = demo("due", *TODAY, "--json").result
    harrow = next(i for i in items if i["kind"] == "reexamine" and "Harrow" in i["ram"])
    assert harrow["days_left"] == -6, "due on 8 Sep, looked at on 14 Sep"
    assert harrow["overdue"] is True
    flags = [i["overdue"] for i in items]
    assert flags == sorted(flags, reverse=True), "something overdue stands below what is not"
    assert "6 days overdue" in printed.out


def test_due_within_and_of_one_flock(demo) -> None:
    items = demo("due", *TODAY, "--within", 10, "--json").result
    assert max(i["days_left"] for i in items) <= 10
    only = demo("due", *TODAY, "--flock", "cold ridding", "--json").result
    assert {i["flock"] for i in only} == {"cold-ridding"}


def test_due_as_a_calendar(demo, tmp_path: Path) -> None:
    from datetime import date

    from icalendar import Calendar

    file = tmp_path / "due.ics"
    items = demo("due", *TODAY, "--calendar", file, "--json").result
    events = Calendar.from_ical(file.read_bytes()).walk("VEVENT")
    assert len(events) == len(items) > 10
    assert len({str(e["uid"]) for e in events}) == len(events), "two events share an identity"
    assert min(e["dtstart"].dt for e in events) == date(2026, 9, 14), "hidden in the past"
    summaries = [str(e["summary"]) for e in events]
    assert any("High Sallow HS 103 Bracken: examine again" in s for s in summaries)


# ---------------------------------------------------------------- override, correct


def test_override_stands_beside_the_proposal(demo) -> None:
    words = ["override", "Curlew", "--reason", "weighed: he has gained", *TODAY]
    printed = demo("--by", "D. Roake", *words, "--verdict", "satisfactory")
    text = "satisfactory (proposed: deferred), said D. Roake: weighed: he has gained"
    assert text in one_line(printed.out)
    entry = demo("history", "Curlew", "--json").result["entries"][0]
    assert entry["decision"]["outcome"] == "satisfactory"
    assert entry["decision"]["proposed"]["outcome"] == "deferred"
    assert entry["overrides"][0]["by"] == "D. Roake"


def test_override_wants_a_verdict_a_reason_and_an_examination(demo) -> None:
    words = ["override", "Curlew", *TODAY]
    assert "legal" in demo(*words, "--verdict", "fine", "--reason", "x", code=2).err
    assert "--reason" in demo(*words, "--verdict", "satisfactory", code=2).err
    assert "reason" in demo(*words, "--verdict", "satisfactory", "--reason", " ", code=5).err
    elsewhere = demo(
        *words, "--verdict", "satisfactory", "--reason", "x", "--examined-on", "2020-01-01", code=5
    )
    assert "2026-08-25" in elsewhere.err, "the days on which he was examined are not named"


def test_an_examination_is_named_by_its_id(demo) -> None:
    older = demo("history", "Bracken", "--json").result["entries"][1]
    words = ["override", older["id"], "--verdict", "deferred", "--reason", "seen again", *TODAY]
    demo(*words)
    entries = demo("history", "Bracken", "--json").result["entries"]
    assert [len(e["overrides"]) for e in entries][:2] == [0, 1]
    nobody = "01900000-0000-7000-8000-000000000000"
    demo("override", nobody, "--verdict", "deferred", "--reason", "x", *TODAY, code=5)


def test_correct_keeps_both_records(demo) -> None:
    words = ["correct", "HS 144", *TODAY, "--reason", "measured on the way home"]
    demo(*words, "--set", "circumference=36,5", "--set", "note=tape found", "--by", "E. Quill")
    entries = demo("history", "HS 144", "--json").result["entries"]
    assert entries[0]["observations"]["circumference"] == [365]
    assert entries[0]["note"] == "tape found"
    assert entries[0]["decision"]["outcome"] == "satisfactory"
    assert "circumference" not in entries[1]["observations"]
    assert entries[1]["replaced_by"] == entries[0]["id"]


@pytest.mark.parametrize("written", ["30.5; 31", "30.5 / 31", "30.5 31", "30,5 cm; 310 mm"])
def test_correct_takes_readings_as_a_sheet_does(demo, written: str) -> None:
    demo("correct", "HS 144", *TODAY, "--reason", "tape", "--set", f"circumference={written}")
    entry = demo("history", "HS 144", "--json").result["entries"][0]
    assert entry["observations"]["circumference"] == [305, 310]


def test_correct_by_title_short_word_and_away(demo) -> None:
    demo("correct", "Harrow", *TODAY, "--reason", "wrong line", "--set", "Feet=foot rot")
    entry = demo("history", "Harrow", "--json").result["entries"][0]
    assert entry["observations"]["feet"] == ["footrot"]
    demo("correct", "Harrow", *TODAY, "--reason", "not looked at", "--set", "feet=")
    entry = demo("history", "Harrow", "--json").result["entries"][0]
    assert "feet" not in entry["observations"]
    assert entry["decision"]["outcome"] == "incomplete"


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ("circumference", "--set needs what, = and a value"),
        ("circumference=345", "10.0 cm to 60.0 cm"),
        ("circumference=wide", "10.0 cm to 60.0 cm"),
        ("circumference=34 5", "several readings parted by a semicolon"),
        ("feet=wonky", "footrot"),
        ("wings=two", "circumference"),
    ],
)
def test_correct_refuses_what_cannot_be(demo, given: str, said: str) -> None:
    refused = demo("correct", "Harrow", *TODAY, "--reason", "x", "--set", given, code=2)
    assert said in one_line(refused.err)

"""A first sheet of one's own: what is not understood, what is left blank, tried and brought in."""

from pathlib import Path

import pytest

from stell.core.protocol.load import shipped_text

NOW = ("--today", "2026-08-12")


def one_line(text: str) -> str:
    """Return printed text without line breaks, so that wrapping does not matter."""
    return " ".join(text.split())


def write(path: Path, text: str) -> Path:
    """Write a sheet as typed."""
    path.write_text(text, encoding="utf-8")
    return path


LAST_YEAR = """\
Tag,Date,Born,Type,Use,BCS,SC,Rest normal
BF09,2025-08-10,2023-03-10,hill,terminal,3.5,34.5,yes
BF10,2025-08-10,2023-03-10,hill,terminal,3.5,34.5,yes
"""
THIS_YEAR = """\
Tag,Date,BCS,SC,Rest normal
BF10,2026-08-10,3.5,34.5,yes
bf9,2026-08-10,3.5,34.5,yes
BF 13,2026-08-10,3.5,34.5,yes
"""
BARE = "Tag,Date,SC\nBF11,2026-08-10,34.5\nBF12,2026-08-10,35\n"


@pytest.fixture
def burn_foot(empty, tmp_path: Path):
    """Records of a flock with two rams, examined last year."""
    empty("flock", "add", "Burn Foot", "--latitude", "52,3", "--mating-start", "2025-11-03")
    sheet = write(tmp_path / "last.csv", LAST_YEAR)
    empty("import", sheet, "--flock", "burn-foot", "--today", "2025-08-11")
    return empty


# ---------------------------------------------------------------- tried and brought in


def test_a_dry_run_says_exactly_what_the_import_does(burn_foot, tmp_path: Path) -> None:
    sheet = write(tmp_path / "this.csv", THIS_YEAR)
    words = ["import", sheet, "--flock", "burn-foot", *NOW]
    tried = burn_foot(*words, "--dry-run", "--json").json
    assert len(burn_foot("rams", "--json").result) == 2, "a dry run put rams on the books"
    done = burn_foot(*words, "--json").json
    same = ("stored", "unchanged", "corrected", "refused", "new_rams", "new", "outcomes")
    assert {k: tried["result"][k] for k in same} == {k: done["result"][k] for k in same}
    assert tried["notices"] == done["notices"]
    assert done["result"]["new"] == ["bf9", "BF 13"]
    outcomes = {r["ram"]["tag"]: r["outcome"] for r in tried["result"]["rams"]}
    assert outcomes["BF10"] == "satisfactory", "his age and type stand on the books"
    assert outcomes["BF 13"] == "incomplete", "nobody knows how old he is"
    assert (
        sum(n == "satisfactory" for n in outcomes.values())
        == (done["result"]["outcomes"]["satisfactory"])
    )


def test_new_rams_are_named_and_those_that_look_alike_pointed_out(burn_foot, tmp_path) -> None:
    sheet = write(tmp_path / "this.csv", THIS_YEAR)
    for extra in (["--dry-run"], []):
        printed = burn_foot("import", sheet, "--flock", "burn-foot", *NOW, *extra)
        assert "3 examinations stored, 2 rams new on the books" in one_line(printed.out)
        assert "New on the books: bf9, BF 13." in one_line(printed.out)
        assert "bf9 — did you mean BF09, who is on the books?" in one_line(printed.err)


def test_a_dry_run_prints_the_verdicts(burn_foot, tmp_path: Path) -> None:
    sheet = write(tmp_path / "this.csv", THIS_YEAR)
    printed = burn_foot("import", sheet, "--flock", "burn-foot", *NOW, "--dry-run").out
    assert max(map(len, printed.splitlines())) <= 80
    assert "this import would come to: 3 examinations stored" in one_line(printed)
    assert "BF10" in printed[printed.index("Verdict  ") :]
    assert "Nothing was stored: this was a dry run." in printed


def test_a_dry_run_of_a_sheet_with_a_mistake_tells_both(burn_foot, tmp_path: Path) -> None:
    sheet = write(tmp_path / "this.csv", THIS_YEAR.replace("34.5,yes\nbf9", "345,yes\nbf9"))
    words = ["import", sheet, "--flock", "burn-foot", *NOW]
    text = one_line(burn_foot(*words, "--dry-run", code=10).out)
    assert "would store nothing: 1 row refused" in text
    assert "Without them it would come to: 2 examinations stored" in text
    assert burn_foot(*words, "--dry-run", "--json", code=10).result["would_store"] is False
    text = one_line(burn_foot(*words, "--dry-run", "--accept-good-rows", code=10).out)
    assert "this import would come to: 2 examinations stored" in text


def test_a_dry_run_makes_no_records(empty, tmp_path: Path) -> None:
    sheet = write(tmp_path / "this.csv", THIS_YEAR)
    refused = empty("import", sheet, "--flock", "x", "--dry-run", *NOW, code=6)
    assert "no records are kept there" in one_line(refused.err)
    assert not (tmp_path / "new").exists()


def test_a_mating_start_of_last_year_is_said(burn_foot, tmp_path: Path) -> None:
    sheet = write(tmp_path / "this.csv", THIS_YEAR)
    words = ["import", sheet, "--flock", "burn-foot", *NOW, "--dry-run"]
    assert (
        "mating start on the books is 3 Nov 2025, before these examinations; set it with stell "
        "flock mating-start burn-foot"
    ) in one_line(burn_foot(*words).err)
    burn_foot("flock", "mating-start", "burn-foot", "2026-11-02")
    assert "before these examinations" not in burn_foot(*words).err


def test_judge_says_what_it_does_not_know(stell, tmp_path: Path) -> None:
    sheet = write(tmp_path / "this.csv", THIS_YEAR)
    printed = one_line(stell("judge", sheet, "--latitude", "52.3", *NOW).err)
    assert "3 rams: no birth date in the sheet; `stell import this.csv --dry-run` uses" in printed
    born = THIS_YEAR.replace("Tag,", "Tag,Born,").replace("\nBF 13,", "\nBF 13,2023,")
    sheet = write(
        tmp_path / "that.csv", born.replace("BF10,", "BF10,2023,").replace("bf9,", "bf9,,")
    )
    assert "1 ram: no birth date" in one_line(stell("judge", sheet, *NOW).err)


def test_judge_takes_a_type_for_rams_without_one(stell, tmp_path: Path) -> None:
    text = "Tag,Date,Born,Type,SC\nA,2026-08-10,2023,,34\nB,2026-08-10,2023,hair,34\n"
    sheet = write(tmp_path / "a.csv", text)
    rams = stell("judge", sheet, "--type", "hill", *NOW, "--json").result["rams"]
    assert [r["ram"]["ram_type"] for r in rams] == ["hill", "hair"]


# ---------------------------------------------------------------- blank and half-finished


def test_blank_cells_are_one_notice_and_one_line(stell, tmp_path: Path) -> None:
    printed = stell("judge", write(tmp_path / "bare.csv", BARE), "--latitude", "52.3", *NOW)
    assert one_line(printed.err).count("If blank means looked at and nothing found") == 1
    assert "2 rows leave" in printed.err
    text = one_line(printed.out)
    assert text.count("checks not examined, among them") == 2, "one line for each ram"
    assert ": not examined" not in printed.out
    as_json = stell("judge", tmp_path / "bare.csv", *NOW, "--json").result["rams"]
    assert len(as_json[0]["verdict"]["missing"]) > 20, "JSON names every one"


def test_a_column_that_is_there_is_named(stell, tmp_path: Path) -> None:
    text = BARE.replace("SC\n", "SC,All else OK\n").replace("34.5\n", "34.5,\n")
    printed = stell("judge", write(tmp_path / "bare.csv", text.replace("35\n", "35,\n")), *NOW)
    assert "write yes into the column 'All else OK'" in one_line(printed.err)


# ---------------------------------------------------------------- columns and days


def test_unknown_columns_are_told_first(stell, tmp_path: Path) -> None:
    text = BARE.replace("SC", "Girth cm")
    printed = stell("judge", write(tmp_path / "odd.csv", text), *NOW).err
    first = one_line(printed).split("note: ")[1]
    assert first.startswith("Column C (Girth cm) is not used: its title is not known.")
    assert "'Scrotal circumference'" in first
    assert '--map "Girth cm=circumference"' in first
    assert one_line(printed).count("Girth cm) is not used") == 1, "told twice"


@pytest.mark.parametrize("meaning", ["examined on", "examined_on", "Date", "date of examination"])
def test_a_field_may_be_named_in_plain_words(stell, tmp_path: Path, meaning: str) -> None:
    sheet = write(tmp_path / "odd.csv", BARE.replace("Date", "Yard"))
    printed = stell("judge", sheet, "--map", f"Yard={meaning}", *NOW, "--json").result
    assert [r["examined_on"] for r in printed["rams"]] == ["2026-08-10"] * 2


def test_a_column_of_days_that_could_be_two_is_told_once(stell, tmp_path: Path) -> None:
    rows = "".join(f"BF{n},3/4/26,34\n" for n in range(2, 13))
    refused = stell("judge", write(tmp_path / "d.csv", "Tag,Date seen,SC\n" + rows), *NOW, code=10)
    text = one_line(refused.err)
    assert "rows 2–12: column 'Date seen': 11 rows could be day-month or month-day" in text
    assert text.count("could be day-month") == 1
    assert "got 3/4/26 in row 2" in text
    assert "--date-order day-first or --date-order month-first" in text
    as_json = stell("judge", tmp_path / "d.csv", *NOW, "--json", code=10).json
    assert len(as_json["problems"]) == 11, "JSON names every row"


def test_an_import_groups_what_is_alike_too(burn_foot, tmp_path: Path) -> None:
    rows = "".join(f"BF{n},2026-08-10,34,blue\n" for n in (2, 3, 4, 6))
    sheet = write(tmp_path / "d.csv", "Tag,Date,SC,Gait\n" + rows)
    refused = burn_foot("import", sheet, "--flock", "burn-foot", *NOW, code=4)
    assert "rows 2–5: column 'Gait': 4 rows: this is not an answer" in one_line(refused.err)


# ---------------------------------------------------------------- two protocols on one sheet


@pytest.fixture
def with_one_more(tmp_path: Path) -> Path:
    """A copy of the house protocol with one more check at its first stop."""
    text = shipped_text("house")
    stop = text.split("[[stop]]\nid", 1)[1].split('"')[1]
    more = (
        f'\n[[check]]\nid = "ear_notch"\nstop = "{stop}"\ntitle = "Ear notch"\nkind = "choice"\n'
        'how = "Look."\nbasis = "common-practice"\nchecked_on = 2026-11-25\n'
        '\n[[check.option]]\nid = "none"\nlabel = "no notch"\nnormal = true\n'
        '\n[[check.option]]\nid = "cut"\nlabel = "freshly cut"\n'
        'effects = [{ kind = "reject" }]\ndo = "Wait."\nowner = "Wait."\nbrief = "cut"\n'
        'basis = "common-practice"\nchecked_on = 2026-11-25\n'
    )
    file = tmp_path / "ours.toml"
    file.write_text(text.replace('id      = "house"', 'id      = "ours"', 1) + more, "utf-8")
    return file


def test_compare_reads_the_sheet_as_judge_does(stell, tmp_path, with_one_more) -> None:
    text = "Lug,Seen,Born,Type,BCS,SC,Rest normal,Ear notch\n"
    text += "A,3/4/2026,2023,hill,3.5,34.5,yes,\nB,5/4/2026,2023,hill,3.5,34.5,yes,freshly cut\n"
    sheet = write(tmp_path / "odd.csv", text)
    words = ["protocol", "compare", "house", with_one_more, "--sheet", sheet, "--latitude", "52,3"]
    how = ["--map", "Lug=tag", "--map", "Seen=examined on", "--date-order", "day-first"]
    printed = stell(*words, *how, *NOW, "--json", code=11)
    assert printed.result["judged"] == 2
    changed = {r["ram"]: (r["a"]["outcome"], r["b"]["outcome"]) for r in printed.result["rams"]}
    assert set(changed) == {"B"}, "what 'Rest normal' covers under B was not taken as normal there"
    assert changed["B"][1] == "unsatisfactory"
    assert any("by house" in n and "Ear notch" in n for n in printed.json["notices"])


def test_another_order_of_the_walk_is_a_difference(stell, tmp_path: Path) -> None:
    text = shipped_text("house")
    parts = text.split("[[stop]]")
    parts[1], parts[2] = parts[2], parts[1]
    file = write(tmp_path / "ours.toml", "[[stop]]".join(parts))
    printed = stell("protocol", "compare", "house", file, "--json", code=11).result
    orders = [d for d in printed["differences"] if d["part"] == "order"]
    assert [d["key"] for d in orders] == ["stops"], printed["differences"]
    assert orders[0]["a"]["text"] != orders[0]["b"]["text"]
    assert "Order of the walk" in stell("protocol", "compare", "house", file, code=11).out


def test_the_demo_sheets_still_read_without_a_word_too_many(stell, sheets: Path) -> None:
    for sheet in sorted(sheets.glob("*.xlsx")):
        with_titles = stell("judge", sheet, "--today", "2026-09-14", "--json").json
        assert not [n for n in with_titles["notices"] if "is not used" in n], sheet.name

"""`stell judge`: a sheet in, verdicts and what to do by when out."""

import csv
import json
from datetime import date
from pathlib import Path

import pytest
from openpyxl import Workbook

HIGH_SALLOW = (
    "--flock",
    "High Sallow",
    "--mating-start",
    "2026-11-02",
    "--latitude",
    "54.9",
    "--today",
    "2026-09-14",
)


def one_line(text: str) -> str:
    """Return printed text without line breaks, so that wrapping does not matter."""
    return " ".join(text.split())


def write(path: Path, header: list[str], *rows: list[object]) -> Path:
    """Write a CSV sheet."""
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows([header, *rows])
    return path


HEADER = ["Tag", "Breed", "Type", "Born", "Date", "Vet", "BCS", "SC (cm)", "Feet", "Rest normal"]


def row(tag: str = "1", **cells: object) -> list[object]:
    """Return a row of a grown lowland ram with nothing wrong, in season."""
    usual: dict[str, object] = {
        "Tag": tag,
        "Breed": "Texel",
        "Type": "terminal",
        "Born": "2022-03-10",
        "Date": "2026-08-25",
        "Vet": "E. Quill",
        "BCS": "3.5",
        "SC (cm)": "35.0",
        "Feet": "sound",
        "Rest normal": "yes",
    }
    return list((usual | cells).values())


@pytest.fixture
def rams(stell, sheets):
    """The rams of the demo's last visit to the main flock, by tag."""
    printed = stell("judge", sheets / "high-sallow-2026-08.xlsx", *HIGH_SALLOW, "--json").result
    return {r["ram"]["tag"]: r for r in printed["rams"]}


def test_the_story_of_the_main_flock(rams) -> None:
    # As tools/demo_story.toml tells it; what follows from a finding is the house protocol's.
    outcomes = {tag: r["outcome"] for tag, r in rams.items()}
    assert outcomes["HS 104"] == "unsatisfactory", "the tail of an epididymis is enlarged"
    assert outcomes["HS 144"] == "incomplete", "his circumference was not measured"
    assert outcomes["HS 143"] == "incomplete", "his penis was not seen"
    deferred = {tag for tag, outcome in outcomes.items() if outcome == "deferred"}
    sure = {"HS 103", "HS 112", "HS 118", "HS 122", "HS 125", "HS 134", "HS 139"}
    assert sure <= deferred <= sure | {"HS 101"}, "Old Tolly's mouth is a matter of the protocol"
    assert outcomes["HS 108"] == "satisfactory", "a Gotland is judged by the Gotland's own limit"


def test_days_of_the_story_counted_by_hand(rams) -> None:
    # Examined on 25 Aug 2026. Footrot: 28 days, 25 + 28 - 31 = 22 Sep. Scald: 14 days, 8 Sep.
    # Soft testes: 60 days = 6 left in August + 30 + 24, so 24 Oct.
    again = {tag: r["verdict"]["reexamine_on"] for tag, r in rams.items()}
    assert again["HS 103"] == "2026-09-22"
    assert again["HS 112"] == "2026-09-08"
    assert again["HS 134"] == "2026-10-24"
    assert rams["HS 134"]["verdict"]["ready_in_time"] is True


def test_a_visit_five_weeks_ahead_is_too_late_for_a_sperm_cycle(stell, sheets) -> None:
    words = ["judge", sheets / "high-sallow-2026-08.xlsx", "--latitude", 54.9, "--json"]
    printed = stell(*words, "--mating-start", "2026-09-29", "--today", "2026-09-14").result
    late = {r["ram"]["tag"] for r in printed["rams"] if r["verdict"]["ready_in_time"] is False} - {
        "HS 104"
    }
    assert late == {"HS 118", "HS 134", "HS 139"}, "those put off for 60 days, and no others"


def test_table_leads_with_the_gravest_and_fits(stell, sheets) -> None:
    printed = stell("judge", sheets / "high-sallow-2026-08.xlsx", *HIGH_SALLOW).out
    assert max(map(len, printed.splitlines())) <= 80
    body = printed[printed.index("Verdict") :]
    places = [body.index(w) for w in ("unsatisfactory", "incomplete", "deferred", "● satisf")]
    assert places == sorted(places)
    counts = stell("judge", sheets / "high-sallow-2026-08.xlsx", *HIGH_SALLOW, "--json").result[
        "counts"
    ]
    assert ", ".join(f"{n} {outcome}" for outcome, n in counts.items() if n) in printed
    assert sum(counts.values()) == 37
    assert "The rams go in on 2 Nov 2026, in 7 weeks" in printed


def test_what_to_do_by_when(stell, sheets) -> None:
    printed = stell("judge", sheets / "high-sallow-2026-08.xlsx", *HIGH_SALLOW).out
    lines = printed.splitlines()
    start = next(i for i, line in enumerate(lines) if "Bracken" in line)
    bracken = lines[start : start + 5]
    assert "treat" in bracken[3]
    assert bracken[3].rstrip().endswith("28 Aug 2026")
    assert "examine again" in bracken[4]
    assert bracken[4].rstrip().endswith("22 Sep 2026")


def test_full_names_rule_and_source(stell, sheets) -> None:
    printed = one_line(
        stell("judge", sheets / "high-sallow-2026-08.xlsx", *HIGH_SALLOW, "--full").out
    )
    assert "rule feet.footrot: footrot_case" in printed
    assert "published" in printed


def test_the_same_rams_from_csv_and_workbook(stell, tmp_path: Path) -> None:
    rows = [row("1"), row("2", Feet="footrot"), row("3", **{"SC (cm)": "31.0"})]
    sheet = write(tmp_path / "rams.csv", HEADER, *rows)
    book = Workbook()
    for cells in (HEADER, *rows):
        book.active.append(cells)
    book.save(tmp_path / "rams.xlsx")
    outcomes = []
    for path in (sheet, tmp_path / "rams.xlsx"):
        printed = stell("judge", path, *HIGH_SALLOW, "--json").result
        outcomes.append([r["outcome"] for r in printed["rams"]])
    assert outcomes[0] == outcomes[1] == ["satisfactory", "deferred", "deferred"]


def test_out_of_season_small_is_looked_at_again_not_rejected(stell, tmp_path: Path) -> None:
    # 29.0 cm, grown: rejected in season, measured again in 60 days out of it (house protocol).
    # 5 May is 319 days after the longest day, 25 Aug 65 days: see knowledge of the season.
    outcomes = {}
    for day in ("2026-05-05", "2026-08-25"):
        sheet = write(tmp_path / "rams.csv", HEADER, row(Date=day, **{"SC (cm)": "29.0"}))
        printed = stell("judge", sheet, "--latitude", 54.9, "--today", "2026-09-14", "--json")
        outcomes[day] = printed.result["rams"][0]["outcome"]
    assert outcomes == {"2026-05-05": "deferred", "2026-08-25": "unsatisfactory"}


def test_another_protocol_another_verdict(stell, tmp_path: Path) -> None:
    # 32.5 cm when grown: satisfactory from 32 (Merck older), questionable under 33 (lecture).
    sheet = write(tmp_path / "rams.csv", HEADER, row(**{"SC (cm)": "32.5; 32.5"}))
    found = {}
    for name in ("merck_older", "wrcc_type"):
        words = ["judge", sheet, "--protocol", name, "--today", "2026-09-14", "--json"]
        reasons = stell(*words).result["rams"][0]["verdict"]["reasons"]
        found[name] = [r["rule"] for r in reasons if r["check"] == "circumference"]
    assert found["merck_older"] == []
    assert len(found["wrcc_type"]) == 1


def test_compare_on_a_sheet_names_the_rams_that_change(stell, tmp_path: Path) -> None:
    rows = [row("1"), row("2", **{"SC (cm)": "32.5; 32.5"})]
    sheet = write(tmp_path / "rams.csv", HEADER, *rows)
    words = ["protocol", "compare", "house", "wrcc_type", "--sheet", sheet, "--latitude", 54.9]
    printed = stell(*words, "--today", "2026-09-14", "--json", code=11).result
    assert printed["judged"] == 2
    table = one_line(stell(*words, "--today", "2026-09-14", code=11).out)
    assert f"Of 2 rams on the sheet, {len(printed['rams'])} would be given another" in table


def test_columns_that_stell_does_not_know_are_mapped(stell, tmp_path: Path) -> None:
    header = [{"SC (cm)": "Bag"}.get(h, h) for h in HEADER]
    sheet = write(tmp_path / "rams.csv", header, row())
    words = ["judge", sheet, "--today", "2026-09-14", "--json"]
    unknown = stell(*words)
    assert any("Bag" in n for n in unknown.json["notices"]), "an unused column is not reported"
    mapped = stell(*words, "--map", "Bag=circumference")
    assert mapped.result["rams"][0]["outcome"] == "satisfactory"


@pytest.mark.parametrize("given", ["Bag", "=circumference", "Bag:circumference"])
def test_a_map_that_is_none_is_refused(stell, tmp_path: Path, given: str) -> None:
    sheet = write(tmp_path / "rams.csv", HEADER, row())
    refused = stell("judge", sheet, "--map", given, code=2)
    assert "--map needs a header" in refused.err


def test_ambiguous_dates_need_an_order(stell, tmp_path: Path) -> None:
    sheet = write(tmp_path / "rams.csv", HEADER, row(Date="03/04/2026"))
    words = ["judge", sheet, "--today", "2026-09-14"]
    refused = stell(*words, code=10)
    assert "3 Apr 2026" in refused.err
    for order, day in (("day-first", "2026-04-03"), ("month-first", "2026-03-04")):
        printed = stell(*words, "--date-order", order, "--json").result
        assert printed["rams"][0]["examined_on"] == day
    assert "legal    day-first, month-first" in stell(*words, "--date-order", "d-m-y", code=2).err


def test_day_and_examiner_of_a_sheet_without_them(stell, tmp_path: Path) -> None:
    left_out = {"Date", "Vet"}
    header = [h for h in HEADER if h not in left_out]
    cells = [c for h, c in zip(HEADER, row(), strict=True) if h not in left_out]
    sheet = write(tmp_path / "rams.csv", header, cells)
    words = ["judge", sheet, "--today", "2026-09-14", "--examined-on", "25 Aug 2026", "--json"]
    exam = stell(*words, "--examiner", "D. Roake").result["rams"][0]
    assert exam["examined_on"] == "2026-08-25"
    assert exam["examiner"] == "D. Roake"


def test_every_mistake_of_a_sheet_is_listed_with_row_and_column(stell, sheets) -> None:
    refused = stell("judge", sheets / "with-errors.csv", "--today", "2026-09-14", code=10)
    for where in ("row 3, column I", "row 4, column F", "row 6, column B", "row 7, column J"):
        assert where in refused.err
    assert "8 rows of the sheet refused" in refused.err
    assert "HS 208" in refused.out, "the good rows are not judged"
    printed = stell("judge", sheets / "with-errors.csv", "--today", "2026-09-14", "--json", code=10)
    codes = [p["code"] for p in printed.json["problems"]]
    assert codes.count("row.duplicate") == 2
    assert printed.err == ""


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("none.csv", None, "none.csv"),
        ("empty.csv", b"", "empty.csv"),
        ("noise.xlsx", bytes(range(256)) * 8, "noise.xlsx"),
        ("noise.csv", b"\x00\x01\x02" * 100, "noise.csv"),
    ],
)
def test_what_is_no_sheet_is_refused_as_a_whole(stell, tmp_path, name, content, said) -> None:
    path = tmp_path / name
    if content is not None:
        path.write_bytes(content)
    refused = stell("judge", path, code=4)
    assert said in one_line(refused.err)
    assert refused.out == ""


def test_json_is_the_only_thing_on_stdout(program, sheets) -> None:
    ran = program("judge", sheets / "high-sallow-2026-08.xlsx", *HIGH_SALLOW, "--json")
    printed = json.loads(ran.out)
    assert printed["stell"] == 1
    assert printed["command"] == "judge"
    assert date.fromisoformat(printed["today"]) == date(2026, 9, 14)
    assert ran.err == ""


def test_quiet_prints_no_notices(stell, sheets) -> None:
    words = ["judge", sheets / "high-sallow-2026-08.xlsx", *HIGH_SALLOW]
    assert "note:" in stell(*words).err
    assert stell(*words, "--quiet").err == ""


def test_colour_is_never_alone(stell, sheets, monkeypatch) -> None:
    monkeypatch.delenv("NO_COLOR")
    monkeypatch.setenv("FORCE_COLOR", "1")
    words = ["judge", sheets / "high-sallow-2026-08.xlsx", *HIGH_SALLOW]
    coloured = stell(*words).out
    assert "\x1b[" in coloured
    assert "\x1b[" not in stell(*words, "--no-colour").out
    monkeypatch.setenv("NO_COLOR", "1")
    assert "\x1b[" not in stell(*words).out


def test_ascii_terminals_get_stand_ins(program, sheets) -> None:
    ran = program(
        "judge",
        sheets / "high-sallow-2026-08.xlsx",
        *HIGH_SALLOW,
        PYTHONIOENCODING="ascii",
    )
    assert ran.out.isascii()
    assert "x unsatisfactory" in ran.out
    assert "^ deferred" in ran.out
    assert "(+/-0.8 cm)" in ran.out, "the sign for plus or minus has no stand-in"


def test_json_is_ascii_where_the_terminal_is(program, sheets) -> None:
    words = ["judge", sheets / "high-sallow-2026-08.xlsx", *HIGH_SALLOW, "--json"]
    escaped = program(*words, PYTHONIOENCODING="ascii")
    assert escaped.out.isascii()
    assert escaped.json == program(*words, PYTHONIOENCODING="utf-8").json

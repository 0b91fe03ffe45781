"""Commands that print paper, keep copies, judge again, and start things."""

import json
import sqlite3
from pathlib import Path

import pytest

TODAY = ("--today", "2026-09-14")


def one_line(text: str) -> str:
    """Return printed text without line breaks, so that wrapping does not matter."""
    return " ".join(text.split())


def is_pdf(path: Path) -> bool:
    """Tell whether a file begins as a PDF does."""
    return path.read_bytes()[:5] == b"%PDF-"


# ---------------------------------------------------------------- paper


@pytest.mark.parametrize("command", ["report", "sheet"])
def test_paper_for_a_flock(demo, tmp_path: Path, monkeypatch, command: str) -> None:
    given = tmp_path / "paper.pdf"
    assert "written" in demo(command, "cold-ridding", *TODAY, "-o", given).out
    assert is_pdf(given)
    monkeypatch.chdir(tmp_path)
    named = demo(command, "cold ridding", *TODAY, "--json").result["file"]
    assert "cold-ridding" in named
    assert "2026-09-14" in named
    assert is_pdf(tmp_path / named)


def test_blank_form_needs_no_records(stell, tmp_path: Path) -> None:
    file = tmp_path / "form.pdf"
    printed = stell("sheet", "--blank", "-o", file, "--data", tmp_path / "none", "--json").result
    assert is_pdf(file)
    assert printed["bytes"] == file.stat().st_size
    assert not (tmp_path / "none").exists()


def test_a_sheet_for_nobody_is_refused(stell) -> None:
    assert "stell sheet --blank" in stell("sheet", code=2).err


# ---------------------------------------------------------------- export, backup, restore


def test_export_as_workbook_json_and_folder(demo, tmp_path: Path) -> None:
    for name in ("all.xlsx", "all.json", "all"):
        target = tmp_path / name
        printed = demo("export", target, "--json").result
        assert sum(printed["rows"].values()) > 177, "less than the examinations came out"
        assert printed["files"]
        assert all(Path(f).exists() for f in printed["files"])
    assert json.loads((tmp_path / "all.json").read_text(encoding="utf-8"))


def test_export_of_one_flock_is_smaller(demo, tmp_path: Path) -> None:
    whole = demo("export", tmp_path / "all.json", "--json").result["rows"]
    part = demo("export", tmp_path / "one.json", "--flock", "wether-holm", "--json").result["rows"]
    assert sum(part.values()) < sum(whole.values()) / 2


@pytest.mark.parametrize("name", ["all.csv", "all.pdf"])
def test_export_to_an_unknown_kind_is_refused(demo, tmp_path: Path, name: str) -> None:
    assert "records.xlsx" in demo("export", tmp_path / name, code=2).err


def test_backup_and_restore(demo, stell, tmp_path: Path) -> None:
    copy = tmp_path / "copy.backup"
    made = demo("backup", copy, "--json").result
    assert made["examinations"] == 177
    assert "never overwrites" in one_line(demo("backup", copy, code=5).err)
    elsewhere = tmp_path / "elsewhere"
    stell("--data", elsewhere, "restore", copy)
    before = demo("rams", "--json").result
    assert stell("--data", elsewhere, "rams", "--json").result == before


def test_restore_replaces_only_when_told(demo, tmp_path: Path) -> None:
    copy = tmp_path / "copy.backup"
    demo("backup", copy)
    demo("leave", "HS 140", "--why", "sold", *TODAY)
    refused = demo("restore", copy, code=5)
    assert "--replace" in refused.err
    demo("restore", copy, "--replace")
    assert "HS 140" in demo("rams").out


def test_restore_of_something_else_touches_nothing(demo, tmp_path: Path) -> None:
    noise = tmp_path / "noise.backup"
    noise.write_bytes(bytes(range(256)) * 64)
    demo("restore", noise, "--replace", code=6)
    assert "HS 140" in demo("rams").out


def test_a_foreign_file_is_not_taken_for_records(stell, tmp_path: Path) -> None:
    with sqlite3.connect(tmp_path / "stell.sqlite3") as other:
        other.execute("create table money (amount)")
    other.close()
    refused = stell("--data", tmp_path, "rams", code=6)
    assert "stell" in refused.err


# ---------------------------------------------------------------- protocols on record, rejudge


def test_register_and_rejudge_by_a_practices_own(demo, tmp_path: Path) -> None:
    file = tmp_path / "ours.toml"
    demo("protocol", "new", file)
    text = file.read_text(encoding="utf-8")
    # Footrot is looked at again after 28 days in the house protocol; here it bars the ram.
    old = '{ kind = "treat", within_days = 3 }, { kind = "defer", days = 28 }'
    start = text.index('id          = "footrot"')
    changed = text[:start] + text[start:].replace(old, '{ kind = "reject" }', 1)
    file.write_text(changed, encoding="utf-8")
    assert "ours 1 is on record" in one_line(demo("protocol", "register", file).out)
    summary = demo("rejudge", "--protocol", file, "--json").result
    assert summary["total"] >= 177
    rams = {c["ram_label"] for c in summary["changes"]}
    assert rams == {"HS 103 Bracken"}, "he alone had footrot, in 2024 and in 2026"
    assert summary["changed"] == 2
    printed = one_line(demo("rejudge", "--protocol", file, "--list").out)
    assert "would get another verdict" in printed
    listed = demo("protocol", "list", "--json").result["registered"]
    assert {r["id"] for r in listed} == {"house", "ours"}


def test_the_same_version_with_other_contents_is_refused(demo, tmp_path: Path) -> None:
    file = tmp_path / "ours.toml"
    demo("protocol", "new", file)
    demo("protocol", "register", file)
    file.write_text(file.read_text(encoding="utf-8") + "\n# changed\n", encoding="utf-8")
    assert "version" in demo("protocol", "register", file, code=3).err


# ---------------------------------------------------------------- stopping, starting


def test_ctrl_c_in_the_middle_of_an_import_stores_nothing(
    empty, tmp_path: Path, monkeypatch
) -> None:
    from contextlib import contextmanager

    from stell.cli import importing

    rows = [f"T {i},Texel,2022-03-10,2026-08-25,E. Q.,3.5,35,yes" for i in range(1200)]
    header = "Tag,Breed,Born,Date,Vet,BCS,SC (cm),Rest normal"
    sheet = tmp_path / "many.csv"
    sheet.write_text("\n".join([header, *rows]), encoding="utf-8")
    calls = []

    @contextmanager
    def pressed(*_: object):
        def step(done: int, total: int) -> None:
            calls.append((done, total))
            if len(calls) == 3:
                raise KeyboardInterrupt

        yield step

    empty("flock", "add", "Top End", "--latitude", "54.9")
    monkeypatch.setattr(importing, "progress_bar", pressed)
    stopped = empty("import", sheet, "--flock", "top-end", *TODAY, code=130)
    assert "Nothing was left half-done" in stopped.err
    assert len(calls) == 3, "the import was over before anybody could stop it"
    monkeypatch.undo()
    assert empty("rams", "--json").result == []


def test_no_progress_bar_where_nobody_looks_on(empty, sheets) -> None:
    empty("flock", "add", "High Sallow", "--latitude", "54.9")
    ran = empty("import", sheets / "high-sallow-2026-08.xlsx", "--flock", "high-sallow", *TODAY)
    assert "━" not in ran.err
    assert "Importing" not in ran.err


@pytest.mark.slow
def test_demo_writes_records_and_papers_and_can_be_made_again(program, tmp_path: Path) -> None:
    folder = tmp_path / "demo"
    printed = program("demo", "--no-serve", "--folder", folder, "--json").result
    assert printed["summary"]["flocks"] == 3
    assert len(printed["reports"]) == 6
    assert all(is_pdf(Path(p)) for p in printed["reports"])
    again = program("demo", "--no-serve", "--folder", folder)
    assert "3 flocks, 73 rams, 177 examinations, 3 overrides, 1 correction" in again.out
    assert f"--data {folder}" in again.out


def test_demo_leaves_the_folders_of_others_alone(stell, tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine")
    refused = stell("demo", "--no-serve", "--folder", tmp_path, code=5)
    assert "not the demo's" in refused.err
    assert (tmp_path / "mine.txt").read_text() == "mine"


def test_serve_to_other_computers_is_refused(demo) -> None:
    assert "127.0.0.1" in demo("serve", "--host", "0.0.0.0", code=1).err


def test_a_place_that_cannot_be_written_is_named(demo, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("a file, not a folder")
    refused = demo("report", "cold-ridding", "-o", tmp_path / "file" / "report.pdf", *TODAY, code=6)
    assert str(tmp_path / "file") in refused.err
    assert "did not expect" not in refused.err


def test_paths_are_printed_in_one_piece(demo, tmp_path: Path) -> None:
    target = tmp_path / ("long" * 30) / "report.pdf"
    assert f"{target} written" in demo("report", "cold-ridding", "-o", target, *TODAY).out


def test_an_export_writes_over_nothing_unless_told(demo, tmp_path) -> None:
    target = tmp_path / "rams.json"
    target.write_text("somebody's own", "utf-8")
    assert "something is there already" in demo("export", target, code=2).err
    assert target.read_text("utf-8") == "somebody's own"
    demo("export", target, "--replace")
    assert target.read_text("utf-8").startswith("{")

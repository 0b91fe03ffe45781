"""Everything out, and in again: what an export holds, and that it can be read back."""

from __future__ import annotations

import csv
import json
from datetime import date, timedelta
from pathlib import Path

import jsonschema
import openpyxl
import pytest
from tests.core.mini import mini
from tests.services.sheets import BY, DAY, NOW, import_rows, row

from stell.core.deeds import Medicine
from stell.core.errors import RecordError, ValueRefused
from stell.core.intake import ReadingRules
from stell.core.records import Born
from stell.exchange import open_json
from stell.services import deciding, deeds, flocks, rams
from stell.services.exporting import export
from stell.services.intake import import_sheet
from stell.services.opening import open_store
from stell.store import models

LATER = NOW + timedelta(days=1)
EXAMS = "examinations-mini-1"


@pytest.fixture
def records(store: Path) -> Path:
    """Two flocks; a correction, an own verdict, several answers, two readings, a remark."""
    flocks.add_flock("Hill End", latitude_deg=54.0, ram_type="hill", by=BY, now=NOW)
    flocks.add_flock("Far Side", latitude_deg=-38.5, by=BY, now=NOW)
    flocks.set_mating_start("Hill End", date(2026, 11, 5), by=BY, now=NOW)
    ids = import_rows(
        [
            row(2, tag="0017", eid="826000000000011", name="=Bob", circumference=(340, 345)),
            row(3, tag="2", feet=("scald", "rot"), remarks={"feet": "left fore"}, note="a\nb"),
            row(4, tag="3", born=Born.in_year(2024), override="deferred", override_reason="thin"),
        ],
        "Hill End",
    ).exam_ids
    import_rows([row(2, tag="9", ram_type="terminal")], "Far Side")
    treated(ids[1])
    deciding.correct(ids[0], {"note": "read twice"}, "note was left out", by=BY, now=LATER)
    return store


def treated(exam_id: str) -> None:
    """Treat a ram, and mark by mistake that he was put apart."""
    given = Medicine("=Invented A", "10 ml", "28 days", date(2026, 10, 4))
    deeds.put_done(exam_id, "treat", rule="feet.rot", done_on=DAY, medicine=given, by=BY, now=LATER)
    apart = deeds.put_done(exam_id, "isolate", done_on=DAY, by=BY, now=LATER)
    deeds.take_back(apart.deed_id, "another ram", by="A. Vet", now=LATER)


def table(path: Path) -> list[dict[str, str]]:
    """Read a CSV file with the standard library."""
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_every_table_is_written(records: Path, tmp_path: Path) -> None:
    summary = export(tmp_path / "out", format="csv")
    assert summary.rows == {
        "flocks": 2,
        "mating-starts": 1,
        "rams": 4,
        "marks": 6,  # four tags, a number and a name
        EXAMS: 4,
        f"replaced-{EXAMS}": 1,
        "judgements": 5,
        "own-verdicts": 1,
        "deeds": 2,
        "protocols": 1,
        "sheets": 2,
        "audit": models.AuditEntry.objects.count(),
    }
    assert {p.name for p in (tmp_path / "out").iterdir()} == {p.name for p in summary.files}
    assert (tmp_path / "out" / "protocol-mini-1.toml").read_text() == mini().text


def test_what_stands_in_the_table_of_examinations(records: Path, tmp_path: Path) -> None:
    export(tmp_path / "out", format="csv")
    bob = next(r for r in table(tmp_path / "out" / f"{EXAMS}.csv") if r["tag"] == "0017")
    wanted = {
        "flock": "Hill End",
        "eid": "826 000000000011",
        "name": "'=Bob",  # an apostrophe keeps a spreadsheet from running it
        "examined_on": "2026-09-01",
        "circumference_cm": "34.0",
        "circumference_cm_2": "34.5",
        "mating_began_on": "2026-11-05",
        "stell_protocol": "mini 1",
        "stell_proposal": "satisfactory",
        "correction_why": "note was left out",
    }
    assert {k: bob[k] for k in wanted} == wanted
    (old,) = table(tmp_path / "out" / f"replaced-{EXAMS}.csv")
    assert old["exam_id"] == bob["replaces_exam"]


def test_deeds_are_in_their_table_as_they_were_entered(records: Path, tmp_path: Path) -> None:
    export(tmp_path / "out", format="csv")
    treat, apart = sorted(table(tmp_path / "out" / "deeds.csv"), key=lambda r: r["product"] == "")
    wanted = {
        "kind": "treat",
        "rules": '["feet.rot"]',
        "done_on": "2026-09-01",
        "product": "'=Invented A",  # an apostrophe keeps a spreadsheet from running it
        "withdrawal": "28 days",
        "not_for_slaughter_before": "2026-10-04",
        "put_on_record_by": BY,
        "taken_back_on": "",
    }
    assert {k: treat[k] for k in wanted} == wanted
    back = (apart["taken_back_on"], apart["taken_back_by"], apart["taken_back_why"])
    assert back == ("2026-09-02", "A. Vet", "another ram")
    exams = {r["exam_id"]: r["ram_id"] for r in table(tmp_path / "out" / f"{EXAMS}.csv")}
    assert exams[treat["exam_id"]] == treat["ram_id"]


def test_the_description_names_every_column(records: Path, tmp_path: Path) -> None:
    export(tmp_path / "out", format="csv", now=LATER)
    package = json.loads((tmp_path / "out" / "datapackage.json").read_text())
    assert package["created"] == "2026-09-02T17:00:00+00:00"
    for resource in package["resources"]:
        with (tmp_path / "out" / resource["path"]).open(encoding="utf-8", newline="") as file:
            titles = next(csv.reader(file))
        assert [f["name"] for f in resource["schema"]["fields"]] == titles, resource["path"]


def test_the_same_records_give_the_same_bytes(records: Path, tmp_path: Path) -> None:
    export(tmp_path / "a", format="csv")
    export(tmp_path / "b", format="csv")
    for path in sorted((tmp_path / "a").iterdir()):
        assert path.read_bytes() == (tmp_path / "b" / path.name).read_bytes(), path.name


def test_the_examinations_come_in_again_as_they_were(records: Path, tmp_path: Path) -> None:
    export(tmp_path / "out", format="csv")
    sheet = tmp_path / "out" / f"{EXAMS}.csv"
    rules = ReadingRules(today=date(2026, 12, 1))
    known = import_sheet(sheet, flock=None, protocol=mini(), rules=rules, by=BY, now=LATER)
    assert (known.stored, known.unchanged, known.problems) == (0, 4, ())
    standing = models.Examination.objects.filter(replaced_by__isnull=True)
    before = {e.id: (e.content_hash, e.born_latest, e.ram_type) for e in standing}

    with pytest.MonkeyPatch.context() as patch:
        patch.delenv("STELL_DATABASE", raising=False)
        open_store(tmp_path / "other")
        flocks.add_flock("Hill End", latitude_deg=54.0, ram_type="hill", by=BY, now=NOW)
        flocks.add_flock("Far Side", latitude_deg=-38.5, by=BY, now=NOW)
        new = import_sheet(sheet, flock=None, protocol=mini(), rules=rules, by=BY, now=LATER)
        assert (new.stored, new.problems, new.new_rams) == (4, (), 4)
        stored = models.Examination.objects.all()
        after = {e.id: (e.content_hash, e.born_latest, e.ram_type) for e in stored}
        assert models.VetOverride.objects.get().reason == "thin"
    assert after == before, "something was lost on the way"


def test_a_workbook_holds_the_same_tables(records: Path, tmp_path: Path) -> None:
    summary = export(tmp_path / "all.xlsx", format="xlsx")
    book = openpyxl.load_workbook(tmp_path / "all.xlsx")
    rows = {sheet.title: sheet.max_row - 1 for sheet in book}
    assert rows == {name[:31]: number for name, number in summary.rows.items()}
    exams = book[EXAMS]
    titles = [cell.value for cell in exams[1]]
    values = {r[titles.index("tag")].value: r for r in exams.iter_rows(min_row=2)}
    bob = values["0017"]
    assert bob[titles.index("examined_on")].value.date() == DAY
    assert bob[titles.index("name")].data_type == "s", "a formula stands in the sheet"


def test_open_json_keeps_to_its_schema_and_loses_nothing(records: Path, tmp_path: Path) -> None:
    summary = export(tmp_path / "all.json", format="json")
    assert summary.rows == {"rams": 4, "examinations": 5}
    text = (tmp_path / "all.json").read_text(encoding="utf-8")
    jsonschema.validate(json.loads(text), open_json.schema())
    back = {r.exam.exam_id: r for r in open_json.load(text)}
    for exam in models.Examination.objects.select_related("ram"):
        from stell.store import mapping

        assert back[str(exam.id)].exam == mapping.examination_of(exam)
    overrides = [r.override for r in back.values() if r.override]
    assert [(o.outcome.value, o.reason) for o in overrides] == [("deferred", "thin")]
    done = [deed for r in back.values() for deed in r.deeds]
    known = [deed for e in rams.history("2").entries for deed in e.deeds]
    assert sorted(done, key=lambda d: d.deed_id) == sorted(known, key=lambda d: d.deed_id)
    assert len(done) == 2


def test_one_flocks_part(records: Path, tmp_path: Path) -> None:
    summary = export(tmp_path / "out", format="csv", flock="far side")
    assert summary.rows == {
        "flocks": 1,
        "mating-starts": 0,
        "rams": 1,
        "marks": 1,
        EXAMS: 1,
        "judgements": 1,
        "own-verdicts": 0,
        "deeds": 0,
        "protocols": 1,
    }
    (exam,) = table(tmp_path / "out" / f"{EXAMS}.csv")
    assert (exam["flock"], exam["tag"]) == ("Far Side", "9")


def test_an_empty_store_can_be_exported(sqlite_store: Path, tmp_path: Path) -> None:
    for name, kind in (("out", "csv"), ("out.xlsx", "xlsx"), ("out.json", "json")):
        summary = export(tmp_path / name, format=kind)  # type: ignore[arg-type]
        assert sum(summary.rows.values()) == 0, kind


def test_a_folder_with_other_things_is_left_alone(records: Path, tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "holiday.txt").write_text("photos")
    with pytest.raises(RecordError, match="the folder holds other things"):
        export(tmp_path / "out", format="csv")
    assert [p.name for p in (tmp_path / "out").iterdir()] == ["holiday.txt"]


def test_an_earlier_export_is_brought_up_to_date(records: Path, tmp_path: Path) -> None:
    export(tmp_path / "out", format="csv")
    rams.leave("2", date(2026, 10, 1), "sold", by=BY, now=LATER)
    export(tmp_path / "out", format="csv")
    left = {r["tag"]: r["left_why"] for r in table(tmp_path / "out" / "rams.csv")}
    assert left["2"] == "sold"


def test_an_unknown_kind_is_refused(sqlite_store: Path, tmp_path: Path) -> None:
    with pytest.raises(ValueRefused, match="no such kind of export"):
        export(tmp_path / "out", format="pdf")  # type: ignore[arg-type]

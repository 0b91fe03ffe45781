"""Tables written: nothing runs as a formula, nothing is rounded, everything comes back."""

import csv
import json
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import load_workbook

from stell.core.errors import SheetError
from stell.exchange import delimited, tables_out
from stell.exchange.data_package import DescribedTable, describe, describe_json
from stell.exchange.delimited import guarded, unguarded
from stell.exchange.sheets import read_table
from stell.exchange.tables_out import TableField, csv_text, write_csv, write_xlsx

FIELDS = [
    TableField("tag", "id"),
    TableField("note"),
    TableField("change_mm", "integer"),
    TableField("examined_on", "date"),
]
DANGEROUS = ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "＝1+1", "=cmd|' /C calc'!A0", " =1"]


def test_examples_in_docstrings() -> None:
    import doctest

    assert doctest.testmod(tables_out).failed == 0
    assert doctest.testmod(delimited).failed == 0


@pytest.mark.parametrize("text", DANGEROUS)
def test_csv_begins_no_cell_with_a_formula(tmp_path: Path, text: str) -> None:
    path = tmp_path / "out.csv"
    write_csv(path, FIELDS, [{"tag": text, "note": text}])
    with path.open(newline="", encoding="utf-8") as raw:
        _, row = list(csv.reader(raw))
    assert row[0] == row[1] == f"'{text}"
    assert unguarded(row[0]) == text


@pytest.mark.parametrize("text", DANGEROUS)
def test_xlsx_stores_no_formula(tmp_path: Path, text: str) -> None:
    path = tmp_path / "out.xlsx"
    write_xlsx(path, {"Rams": (FIELDS, [{"tag": text, "note": text}])})
    sheet = load_workbook(path)["Rams"]
    for cell in (sheet["A2"], sheet["B2"]):
        assert cell.data_type == "s", "a text, not a formula"
        assert cell.quotePrefix, "stays one when a person edits it"


def test_negative_numbers_stay_numbers(tmp_path: Path) -> None:
    row = {"tag": "-5", "note": "-5", "change_mm": -5}
    write_csv(tmp_path / "out.csv", FIELDS, [row])
    assert (tmp_path / "out.csv").read_text().splitlines()[1] == "'-5,'-5,-5,"
    write_xlsx(tmp_path / "out.xlsx", {"Rams": (FIELDS, [row])})
    sheet = load_workbook(tmp_path / "out.xlsx")["Rams"]
    assert (sheet["B2"].value, sheet["C2"].value) == ("-5", -5)


def test_ids_are_text_and_days_are_days(tmp_path: Path) -> None:
    row = {"tag": "036012345678901", "examined_on": date(2026, 10, 4)}
    write_csv(tmp_path / "out.csv", FIELDS, [row])
    assert (tmp_path / "out.csv").read_text().splitlines()[1] == "036012345678901,,,2026-10-04"
    write_xlsx(tmp_path / "out.xlsx", {"Rams": (FIELDS, [row])})
    sheet = load_workbook(tmp_path / "out.xlsx")["Rams"]
    assert (sheet["A2"].value, sheet["A2"].number_format) == ("036012345678901", "@")
    assert sheet["D2"].is_date
    assert sheet["D2"].number_format == "d mmm yyyy", "nobody mistakes day and month"
    table = read_table(tmp_path / "out.xlsx")
    assert table.rows == [["036012345678901", "", "", date(2026, 10, 4)]]


def test_times_are_written_as_utc(tmp_path: Path) -> None:
    fields = [TableField("made_at_utc", "datetime")]
    at = datetime.fromisoformat("2026-10-04T12:00:00+02:00")
    write_xlsx(tmp_path / "out.xlsx", {"Rams": (fields, [{"made_at_utc": at}])})
    value = load_workbook(tmp_path / "out.xlsx")["Rams"]["A2"].value
    assert value.replace(tzinfo=UTC) == at


def test_the_page_is_made_for_reading_and_printing(tmp_path: Path) -> None:
    rows = [{"tag": "R1", "note": "a long note about this ram"}]
    write_xlsx(tmp_path / "out.xlsx", {"Rams": (FIELDS, rows)})
    sheet = load_workbook(tmp_path / "out.xlsx")["Rams"]
    assert sheet.freeze_panes == "A2"
    assert sheet.print_title_rows == "$1:$1"
    assert sheet.page_setup.orientation == "landscape"
    assert sheet.sheet_properties.pageSetUpPr.fitToPage
    assert sheet.auto_filter.ref == "A1:D2"
    assert sheet["A1"].font.bold
    assert sheet.column_dimensions["B"].width > sheet.column_dimensions["A"].width


def test_titles_of_worksheets_are_made_legal_and_different(tmp_path: Path) -> None:
    path = tmp_path / "out.xlsx"
    sheets = {"Hill/End: 2026": (FIELDS, []), "Hill End  2026": (FIELDS, []), "": (FIELDS, [])}
    write_xlsx(path, sheets)
    assert load_workbook(path).sheetnames == ["Hill End  2026", "Hill End  2026 2", "Sheet"]
    write_xlsx(path, {"x" * 40: (FIELDS, []), "x" * 41: (FIELDS, [])})
    assert load_workbook(path).sheetnames == ["x" * 31, "x" * 29 + " 2"]


def test_texts_too_long_for_xlsx_are_refused_not_cut(tmp_path: Path) -> None:
    row = {"note": "x" * 32_768}
    with pytest.raises(SheetError) as caught:
        write_xlsx(tmp_path / "out.xlsx", {"Rams": (FIELDS, [row])})
    assert caught.value.where == "row 2, column note"
    assert not list(tmp_path.iterdir()), "nothing half done is left"
    assert write_csv(tmp_path / "out.csv", FIELDS, [row]) == 1


def test_a_failed_write_leaves_the_old_file(tmp_path: Path) -> None:
    path = tmp_path / "out.csv"
    path.write_text("old")

    def rows():
        yield {"tag": "R1"}
        raise RuntimeError("half way")

    with pytest.raises(RuntimeError):
        write_csv(path, FIELDS, rows())
    assert path.read_text() == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["out.csv"]


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(SheetError, match="the file cannot be written: No such file"):
        write_csv(tmp_path / "none" / "out.csv", FIELDS, [])


def test_the_mark_of_utf8_is_written_on_request(tmp_path: Path) -> None:
    path = tmp_path / "out.csv"
    write_csv(path, FIELDS, [{"tag": "Pépé"}], bom=True)
    assert path.read_bytes().startswith(b"\xef\xbb\xbf")
    assert read_table(path).rows[0][0] == "Pépé"


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (None, ""),
        (0, "0"),
        (34.5, "34.5"),
        (1e-7, "0.0000001"),
        (Decimal("34.50"), "34.50"),
        (True, "true"),
        (False, "false"),
        (datetime(2026, 10, 4, 9, tzinfo=UTC), "2026-10-04T09:00:00+00:00"),
    ],
)
def test_values_in_csv(value, text: str) -> None:
    assert csv_text(value) == text


@given(st.text())
def test_the_guard_comes_off_exactly(text: str) -> None:
    assert unguarded(guarded(text)) == text


# Letters that both formats can hold; a tab, a line end or a blank around a text is not kept, and
# neither is an empty row.
TEXTS = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cc", "Cs", "Zs", "Zl", "Zp"]), min_size=1
).filter(lambda t: "\ufffe" not in t and "\uffff" not in t)
ROWS = st.fixed_dictionaries(
    {"tag": TEXTS, "note": TEXTS | st.sampled_from(DANGEROUS[:4]) | st.just("_x0041_\nb")},
    optional={"change_mm": st.integers(-(2**50), 2**50), "examined_on": st.dates(date(1950, 1, 1))},
)


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(rows=st.lists(ROWS, min_size=1, max_size=5), ending=st.sampled_from(["csv", "xlsx"]))
def test_whatever_is_written_is_read_again(tmp_path: Path, rows, ending: str) -> None:
    path = tmp_path / f"out.{ending}"
    if ending == "csv":
        write_csv(path, FIELDS, rows)
    else:
        write_xlsx(path, {"Rams": (FIELDS, rows)})
    table = read_table(path, knows=lambda title: title in {f.name for f in FIELDS})
    kept = [r for r in rows if [r["tag"], r["note"]] != ["tag", "note"]]
    assert len(table.rows) == len(kept)
    for row, found in zip(kept, table.rows, strict=True):
        if ending == "csv":
            wanted = [csv_text(row.get(f.name)) for f in FIELDS]
            assert [unguarded(c) for c in found] == [unguarded(c) for c in wanted]
        else:
            assert found == [row.get(f.name, "") for f in FIELDS]


def test_the_description_of_the_files() -> None:
    tables = [
        DescribedTable("rams.csv", [TableField("ram_id", "id")], "Rams", ("ram_id",)),
        DescribedTable(
            "examinations.csv",
            [
                TableField("exam_id", "id", "UUID", {"required": True, "unique": True}),
                TableField("ram_id", "id"),
                TableField("circumference_mm", "integer", "[mm]", {"minimum": 100}),
                TableField("examined_on", "date"),
            ],
            primary_key=("exam_id",),
            foreign_keys={"ram_id": ("rams.csv", "ram_id")},
        ),
    ]
    created = datetime(2026, 11, 25, tzinfo=UTC)
    named = ("Hill End 2026", "Rams of Hill End", tables)
    package = describe(*named, created=created)
    assert package["profile"] == "tabular-data-package"
    assert package["name"] == "hill-end-2026"
    rams, exams = package["resources"]
    assert rams["schema"]["primaryKey"] == ["ram_id"]
    assert exams["schema"]["fields"][2] == {
        "name": "circumference_mm",
        "type": "integer",
        "description": "[mm]",
        "constraints": {"minimum": 100},
    }
    assert exams["schema"]["foreignKeys"] == [
        {"fields": "ram_id", "reference": {"resource": "rams", "fields": "ram_id"}}
    ]
    assert (
        json.loads(describe_json("Hill End 2026", "Rams of Hill End", tables, created=created))
        == package
    )

"""Files that are no sheet, or too much of one: each is refused in words, none runs wild."""

import io
import tracemalloc
import zipfile
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook
from tests.exchange.workbooks import (
    ods,
    ods_cell,
    ods_table,
    repacked,
    rewritten,
    saved,
    xlsx,
    zipped,
)

from stell.core.errors import SheetError
from stell.core.intake import ReadingRules, SheetReading
from stell.exchange import container, limits
from stell.exchange.reading import read_sheet
from stell.exchange.sheets import read_table

RULES = ReadingRules(today=date(2026, 11, 25))
HEADS = ["tag", "date", "SC (cm)"]
ROW = ["R1", date(2026, 10, 4), 34.5]


@pytest.fixture
def refused(tmp_path: Path, protocol):
    """Return the refusal of a file with these bytes."""

    def refusal(raw: bytes, name: str = "flock.xlsx", **rules) -> SheetError:
        path = tmp_path / name
        path.write_bytes(raw)
        with pytest.raises(SheetError) as caught:
            read_sheet(path, protocol, ReadingRules(**({"today": RULES.today} | rules)))
        assert caught.value.legal, "says what is legal"
        assert caught.value.example, "gives an example"
        assert name in caught.value.where or rules, "says which file"
        return caught.value

    return refusal


@pytest.mark.parametrize(
    ("raw", "code", "problem"),
    [
        (b"", "sheet.empty", "the file is empty"),
        (b"\n \r\n\t", "sheet.empty", "the file is empty"),
        (b"\xef\xbb\xbf\n", "sheet.empty", "the file holds no rows"),
        (b"tag,date,gait\n", "sheet.empty", "no row below the column titles"),
        (b"tag,date,gait\n,,\n", "sheet.empty", "no row below the column titles"),
        (b"%PDF-1.7 xxx", "sheet.unreadable", "this is a PDF"),
        (b"\x89PNG\r\n\x1a\n", "sheet.unreadable", "this is a picture"),
        (b"\x1f\x8b\x08", "sheet.unreadable", "this is a compressed file"),
        (b"SQLite format 3\0", "sheet.unreadable", "this is a database"),
        (
            b"tag,date\nR1,\x00\x01\x02\n",
            "sheet.unreadable",
            "it is not text (byte 0x00 in line 2)",
        ),
        (b"\x9f\x03\xd2\x00\x05" + b"a" * 50, "sheet.unreadable", "it is not text (byte 0x03"),
        (b'tag,date\n"R1,2026-10-04\n', "sheet.unreadable", "opened and never closed"),
        (b'tag,date\n"R1"x,2026-10-04\n', "sheet.unreadable", "stands where none can"),
        (b'tag,note\nR1,"' + b"x" * 140_000 + b'"\n', "sheet.unreadable", "131,072 characters"),
        # Two encodings in one file: "é" in UTF-8, then in Windows-1252.
        ("tag,é\n".encode() + "é".encode("cp1252"), "sheet.unreadable", "two encodings (line 2)"),
        # Windows-1252 has no letter for 0x81, and ¤ ¦ ¨ are no letters of a sheet.
        (b"tag,name\nR1,\x81\n", "sheet.unreadable", "the letters cannot be read (line 2)"),
        (b"tag,name\nR1,\xa4\xa6\n", "sheet.unreadable", "neither UTF-8 nor Western European"),
        (b"\xff\xfet\x00a\x00g", "sheet.unreadable", "the letters cannot be read"),
        (b"{\\rtf1 hello}", "sheet.unreadable", "this is a text document"),
        (b"\n<HTML><table><tr><td>tag</td>", "sheet.unreadable", "this is a web page or XML"),
        (b"\xef\xbb\xbf<?xml version='1.0'?>", "sheet.unreadable", "this is a web page or XML"),
        (b"just some words\nand more words\n", "sheet.columns", "no column says which ram"),
    ],
)
def test_text_that_is_no_sheet(refused, raw: bytes, code: str, problem: str) -> None:
    error = refused(raw, "flock.csv")
    assert error.code == code, str(error)
    assert problem in error.problem


@pytest.mark.parametrize(
    ("raw", "code", "problem"),
    [
        (b"PK\x03\x04 not much of a zip", "sheet.unreadable", "damaged or cut short"),
        (xlsx([HEADS, ROW])[:-200], "sheet.unreadable", "damaged or cut short"),
        (zipped({"hello.txt": b"hello"}), "sheet.unreadable", "a zip file, but not a workbook"),
        (zipped({"xl/worksheets/sheet1.bin": b""}), "sheet.unreadable", "binary workbook (.xlsb)"),
        (container.OLE_MARK + b"\0" * 600, "sheet.unreadable", "old kind (.xls)"),
        (
            container.OLE_MARK + b"\0" * 512 + "EncryptedPackage".encode("utf-16-le"),
            "sheet.unreadable",
            "protected by a password",
        ),
        (saved(Workbook()), "sheet.empty", "no worksheet holds any rows"),
        (xlsx([HEADS]), "sheet.empty", "no row below the column titles"),
        (ods("", manifest="<encryption-data/>"), "sheet.unreadable", "protected by a password"),
        (ods(ods_table("A", [])), "sheet.empty", "no worksheet holds any rows"),
        (
            zipped({"content.xml": b"<office:text/>", "mimetype": b"x"}),
            "sheet.unreadable",
            "a text document or drawing",
        ),
        (ods("<table:table>"), "sheet.unreadable", "the workbook is damaged"),
    ],
)
def test_workbooks_that_are_none(refused, raw: bytes, code: str, problem: str) -> None:
    error = refused(raw)
    assert error.code == code, str(error)
    assert problem in error.problem


def test_a_workbook_cut_short_anywhere_is_refused_or_read(tmp_path: Path) -> None:
    whole = xlsx([HEADS, ROW])
    path = tmp_path / "flock.xlsx"
    for cut in range(0, len(whole), 97):
        path.write_bytes(whole[:cut])
        with pytest.raises(SheetError):
            read_table(path)


def test_a_missing_file_and_a_folder(tmp_path: Path) -> None:
    for path, why in ((tmp_path / "none.csv", "No such file"), (tmp_path, "it is a folder")):
        with pytest.raises(SheetError, match=why) as caught:
            read_table(path)
        assert caught.value.code == "sheet.unreadable"


def test_a_worksheet_that_is_not_there_is_refused_with_those_that_are(refused) -> None:
    error = refused(xlsx([HEADS, ROW], title="Rams 2026"), sheet="Rams 2025")
    assert error.legal == "'Rams 2026'"
    assert error.example == "Rams 2026"
    error = refused(b"tag,date\nR1,2026-10-04\n", "flock.csv", sheet="Rams")
    assert "no worksheets to choose from" in error.problem


def test_a_file_too_large_is_refused_unread(refused, monkeypatch) -> None:
    monkeypatch.setattr("stell.exchange.sheets.MAX_FILE_BYTES", 1000)
    error = refused(b"tag,date\n" + b"R1,2026-10-04\n" * 100, "flock.csv")
    assert (error.code, error.got) == ("sheet.too_large", "0 MB")


@pytest.mark.parametrize("name", ["flock.csv", "flock.xlsx"])
def test_too_many_rows_are_refused(refused, monkeypatch, name: str) -> None:
    monkeypatch.setattr(limits, "MAX_ROWS", 50)
    monkeypatch.setattr("stell.exchange.delimited.MAX_ROWS", 50)
    rows = [[f"R{i}", "2026-10-04", 34] for i in range(200)]
    text = "tag,date,SC (cm)\n" + "".join(f"R{i},2026-10-04,34\n" for i in range(200))
    error = refused(text.encode() if name == "flock.csv" else xlsx([HEADS, *rows]), name)
    assert error.code == "sheet.too_large"
    assert "too many rows" in error.problem


@pytest.mark.parametrize("name", ["flock.csv", "flock.xlsx"])
def test_too_many_columns_are_refused(refused, name: str) -> None:
    heads = ["tag", "date", *(f"x{i}" for i in range(limits.MAX_COLUMNS))]
    raw = ",".join(heads).encode() + b"\nR1,2026-10-04\n" if name == "flock.csv" else xlsx([heads])
    error = refused(raw, name)
    assert error.code == "sheet.too_large"
    assert error.got == "4,098 columns"


def test_a_thousand_columns_are_read(tmp_path: Path, protocol) -> None:
    path = tmp_path / "wide.csv"
    heads = ["tag", "date", *(f"gene {i}" for i in range(1000)), "SC (cm)"]
    path.write_text(",".join(heads) + "\nR1,2026-10-04" + ",0" * 1000 + ",34.5\n")
    reading = read_sheet(path, protocol, RULES)
    assert reading.rows[0].exam.observations == {"scrotal_circumference": (345,)}
    assert len(reading.columns) == 1003


def test_a_stray_cell_in_the_last_corner_is_refused_before_it_fills_the_memory(refused) -> None:
    book = Workbook()
    book.active.append(HEADS)
    book.active.cell(1_048_576, 16_384).value = "x"
    tracemalloc.start()
    error = refused(saved(book))
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert error.code == "sheet.too_large"
    assert "1,048,576 rows" in str(error.got)
    assert peak < 50 * 2**20


def test_formats_far_below_the_table_do_no_harm(tmp_path: Path) -> None:
    raw = repacked(
        xlsx([HEADS, ROW]),
        "xl/worksheets/sheet1.xml",
        "</sheetData>",
        '<row r="1048576"><c r="XFD1048576" s="1"/></row></sheetData>',
    )
    path = tmp_path / "flock.xlsx"
    path.write_bytes(raw)
    assert read_table(path).row_numbers == [2]


def test_ods_repeats_beyond_the_limit_are_refused(refused) -> None:
    far = f'<table:table-row table:number-rows-repeated="1000000">{ods_cell("x")}</table:table-row>'
    table = ods_table("A", [[ods_cell("tag")]]).replace("</table:table>", far + "</table:table>")
    error = refused(ods(table), "flock.ods")
    assert error.code == "sheet.too_large"


def test_a_zip_bomb_is_refused_by_the_size_it_states(refused) -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("[Content_Types].xml", "<Types/>")
        with archive.open("xl/worksheets/sheet1.xml", "w", force_zip64=True) as part:
            for _ in range(600):
                part.write(b" " * 2**20)
    raw = out.getvalue()
    assert len(raw) < 2**20, "a small file"
    error = refused(raw)
    assert error.code == "sheet.too_large"
    assert error.got == "600 MB"


def test_a_zip_bomb_that_lies_about_its_size_is_refused(refused, monkeypatch) -> None:
    raw = bytearray(
        zipped({"[Content_Types].xml": b"<Types/>", "xl/worksheets/sheet1.xml": b" " * 2**22})
    )
    size = (2**22).to_bytes(4, "little")
    at = raw.rindex(size)  # in the central directory, which is what is believed
    raw[at : at + 4] = (100).to_bytes(4, "little")
    error = refused(bytes(raw))
    assert error.code == "sheet.too_large"
    assert error.got == "more than it states"


def test_entities_in_a_workbook_are_refused(refused) -> None:
    raw = repacked(
        xlsx([HEADS, ROW]),
        "xl/workbook.xml",
        "<workbook",
        "<!DOCTYPE x [<!ENTITY a 'b'>]><workbook",
    )
    assert "XML declarations that no spreadsheet writes" in refused(raw).problem


def test_a_worksheet_in_utf16_is_refused(refused) -> None:
    raw = rewritten(xlsx([HEADS, ROW]), lambda xml: xml.decode().encode("utf-16"))
    assert "UTF-16, which no spreadsheet does" in refused(raw).problem


def outcome(path: Path, raw: bytes, protocol) -> SheetReading | SheetError:
    path.write_bytes(raw)
    try:
        return read_sheet(path, protocol, RULES)
    except SheetError as error:
        return error


@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(raw=st.binary(max_size=400))
def test_any_bytes_are_a_reading_or_a_refusal(tmp_path: Path, protocol, raw: bytes) -> None:
    assert isinstance(outcome(tmp_path / "x", raw, protocol), SheetReading | SheetError)


WORDS = st.sampled_from(
    [
        "tag",
        "date",
        "SC",
        "gait",
        "eyes",
        "tone",
        "R1",
        "2026-10-04",
        "4/10/26",
        "34,5",
        "ok",
        "345",
    ]
)
CELLS = WORDS | st.text(max_size=12)


@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(rows=st.lists(st.lists(CELLS, max_size=6), max_size=8), mark=st.sampled_from(",;\t|"))
def test_any_text_in_rows_is_a_reading_or_a_refusal(tmp_path, protocol, rows, mark: str) -> None:
    text = "tag,date,SC,gait,eyes,tone\n".replace(",", mark)
    text += "\n".join(mark.join(row) for row in rows)
    raw = text.encode("utf-8", "replace")
    found = outcome(tmp_path / "x.csv", raw, protocol)
    if isinstance(found, SheetReading):
        assert not found.refused_rows & {r.row for r in found.rows}
        assert found.refused_rows == {p.row for p in found.problems}


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    at=st.integers(0, 10_000),
    change=st.binary(min_size=1, max_size=30),
)
def test_a_workbook_with_changed_bytes_is_a_reading_or_a_refusal(
    tmp_path: Path, protocol, at: int, change: bytes
) -> None:
    raw = bytearray(xlsx([HEADS, ROW]))
    at %= len(raw)
    raw[at : at + len(change)] = change
    found = outcome(tmp_path / "x.xlsx", bytes(raw), protocol)
    assert isinstance(found, SheetReading | SheetError)


@settings(max_examples=100, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(xml=st.text("<>/=\"' acrvtsf0123456789ABX", max_size=200))
def test_any_worksheet_inside_a_sound_workbook_is_a_reading_or_a_refusal(
    tmp_path: Path, protocol, xml: str
) -> None:
    raw = xlsx([HEADS, ROW])
    raw = repacked(raw, "xl/worksheets/sheet1.xml", "</sheetData>", f"{xml}</sheetData>")
    found = outcome(tmp_path / "x.xlsx", raw, protocol)
    assert isinstance(found, SheetReading | SheetError)


def test_a_device_without_end_and_a_name_without_end_are_refused() -> None:
    with pytest.raises(SheetError) as caught:
        read_table(Path("/dev/zero"))
    assert caught.value.code == "sheet.too_large", "it states a size of nothing"
    for name in ("x" * 5000, "rams\0.csv"):
        with pytest.raises(SheetError, match="the file cannot be read") as caught:
            read_table(Path(name))
        assert caught.value.example, "a system's word for it is no example"


def test_marks_without_a_shape_make_no_second_ram(tmp_path: Path, protocol) -> None:
    path = tmp_path / "flock.csv"
    # A mark of byte order in the middle, a joint of no width, a turned reading order; "ö" as one
    # letter and as two.
    path.write_text(
        "tag,name,date,SC\n\ufeffR1\u200b,\u202eBjo\u0308rn\u202c,2026-10-04,34.5\n"
        "\u200b,Bj\xf6rn,2026-10-04,34.5\n\u200b,\u2060,,\n",
        "utf-8",
    )
    reading = read_sheet(path, protocol, RULES)
    found = [(row.ram.tag, row.ram.name) for row in reading.rows]
    assert found == [("R1", "Bj\xf6rn"), ("", "Bj\xf6rn")]
    assert not reading.problems, "the last row holds nothing that can be seen"


def test_a_control_character_in_a_name_is_refused(tmp_path: Path, protocol) -> None:
    path = tmp_path / "flock.csv"
    path.write_text("tag,name,date,SC\nR1,\x9b31mRed,2026-10-04,34.5\n", "utf-8")
    (problem,) = read_sheet(path, protocol, RULES).problems
    assert problem.where == "row 2, column B (name)"
    assert problem.problem == "a control character stands in the name"
    assert problem.got == "\N{REPLACEMENT CHARACTER}31mRed", "it is not passed on"

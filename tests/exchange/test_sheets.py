"""Tables as they stand: encodings, delimiters, titles, merged cells, lost cells, worksheets."""

import re
from datetime import date, datetime
from pathlib import Path

import pytest
from openpyxl import Workbook
from openpyxl.utils.datetime import CALENDAR_MAC_1904
from tests.exchange.workbooks import ods, ods_cell, ods_table, repacked, rewritten, saved, xlsx

from stell.core.errors import SheetError
from stell.core.intake import ReadingRules
from stell.exchange.columns import Vocabulary
from stell.exchange.reading import read_sheet
from stell.exchange.sheets import read_table

HEADS = ["tag", "date", "SC (cm)", "gait"]
OCT_4 = date(2026, 10, 4)
AT_9 = datetime(2026, 10, 4, 9)  # noqa: DTZ001  a workbook knows no time zones


@pytest.fixture
def table(tmp_path: Path, protocol):
    """Read the table in these bytes."""

    def reading(raw: bytes | str, **how):
        path = tmp_path / "flock"
        path.write_bytes(raw.encode() if isinstance(raw, str) else raw)
        return read_table(path, knows=Vocabulary(protocol).knows, **how)

    return reading


@pytest.fixture
def sheet(tmp_path: Path, protocol):
    """Read these bytes as a sheet of examinations."""

    def reading(raw: bytes, **rules):
        path = tmp_path / "flock"
        path.write_bytes(raw)
        return read_sheet(path, protocol, ReadingRules(today=date(2026, 11, 25), **rules))

    return reading


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
def test_unicode_is_read_without_a_word(table, encoding: str) -> None:
    found = table("tag,name\nR1,Pépé ½\n".encode(encoding))
    assert (found.headers, found.rows) == (("tag", "name"), [["R1", "Pépé ½"]])
    assert not found.notices


def test_windows_letters_are_read_and_it_is_said(table) -> None:
    found = table("tag,name\nR1,Pépé ½\n".encode("cp1252"))
    assert found.rows == [["R1", "Pépé ½"]]
    (notice,) = found.notices
    assert "is not UTF-8; it was read as Windows-1252 (Western European)" in notice
    assert notice.endswith("See whether 'Pépé' looks right.")


@pytest.mark.parametrize("mark", [",", ";", "\t", "|"])
def test_delimiters(table, mark: str) -> None:
    text = "tag,date,note\nR1,2026-10-04,a b\nR2,2026-10-05,\n".replace(",", mark)
    assert table(text).rows == [["R1", "2026-10-04", "a b"], ["R2", "2026-10-05", ""]]


def test_decimal_commas_do_not_hide_the_semicolons(table) -> None:
    found = table("tag;date;SC\nR1;2026-10-04;34,5\nR2;2026-10-04;33,5\nR3;2026-10-04;33,0\n")
    assert found.headers == ("tag", "date", "SC")
    assert found.rows[0] == ["R1", "2026-10-04", "34,5"]


def test_the_line_that_names_the_delimiter_counts_for_nothing(table) -> None:
    found = table("sep=;\r\ntag;date\r\nR1;2026-10-04\r\n")
    assert (found.headers, found.row_numbers) == (("tag", "date"), [2])


def test_old_line_ends(table) -> None:
    assert table("tag,date\rR1,2026-10-04\r").rows == [["R1", "2026-10-04"]]


def test_a_row_wider_than_the_titles_is_refused_as_a_whole(sheet) -> None:
    reading = sheet(b"tag,date,SC\nR1,2026-10-04,34,5\nR2,2026-10-04,33\n")
    (error,) = reading.problems
    assert error.where == "row 2"
    assert "the row has 4 cells and the titles are 3" in error.problem
    assert [r.row for r in reading.rows] == [3]


def test_title_lines_above_the_titles_are_left_out(table) -> None:
    found = table("Hill End,,\nvisit of October,,\n\ntag,date,SC\nR1,2026-10-04,34\n")
    assert (found.header_row, found.row_numbers) == (4, [5])
    assert found.notices == ("The column titles stand in row 4; what is above was left.",)


def test_titles_that_stand_again_on_the_next_page_are_left_out(table) -> None:
    found = table("tag,date\nR1,2026-10-04\ntag,date\nR2,2026-10-04\n")
    assert found.row_numbers == [2, 4]
    assert "The titles stand again 1 times below; those rows were left out." in found.notices


def test_unknown_titles_are_taken_from_the_first_row_with_two_texts(table) -> None:
    found = table("a list\nfoo,bar\n1,2\n")
    assert (found.headers, found.rows) == (("foo", "bar"), [["1", "2"]])


def test_cells_of_a_workbook_keep_their_kinds(table) -> None:
    found = table(xlsx([HEADS, ["R1", OCT_4, 34.5, True], [12, AT_9, "", None]]))
    assert found.sheet == "Rams"
    assert found.rows == [
        ["R1", OCT_4, 34.5, True],
        [12.0, AT_9, "", ""],
    ]


def test_a_workbook_is_read_like_csv(sheet) -> None:
    reading = sheet(xlsx([HEADS, [12, OCT_4, 34.5, "ok"], ["R2", "4 Oct 2026", "33,5", "lame"]]))
    assert not reading.problems
    assert [r.ram.tag for r in reading.rows] == ["12", "R2"]
    assert reading.rows[0].exam.observations == {"scrotal_circumference": (345,), "gait": "sound"}


def test_days_counted_from_1904_are_the_same_days(sheet) -> None:
    book = Workbook()
    book.epoch = CALENDAR_MAC_1904
    book.active.append(HEADS)
    book.active.append(["R1", OCT_4, 34, "ok"])
    assert sheet(saved(book)).rows[0].exam.examined_on == OCT_4


def test_an_ods_is_read_like_csv(sheet) -> None:
    rows = [map(ods_cell, HEADS), map(ods_cell, ["R1", OCT_4, 34.5, "lame"])]
    reading = sheet(ods(ods_table("Rams", rows)))
    assert not reading.problems
    assert reading.rows[0].exam.observations == {"scrotal_circumference": (345,), "gait": "lame"}


def test_true_and_one_are_two_cells(sheet) -> None:
    reading = sheet(xlsx([HEADS, ["R1", OCT_4, 34, 1], ["R2", OCT_4, 34, True]]))
    assert reading.rows[0].exam.observations["gait"] == "lame", "1 is named by the protocol"
    assert reading.refused_rows == {3}


def test_the_first_visible_worksheet_with_rows_is_read_and_the_others_named(table) -> None:
    book = Workbook()
    book.active.title = "Empty"
    hidden = book.create_sheet("Hidden")
    hidden.append(["tag", "date"])
    hidden.sheet_state = "hidden"
    for title in ("October", "November"):
        book.create_sheet(title).append(["tag", "date"])
        book[title].append([title, OCT_4])
    found = table(saved(book))
    assert (found.sheet, found.rows[0][0]) == ("October", "October")
    assert found.notices == ("Worksheet 'October' was read; not read: 'November'.",)
    assert table(saved(book), sheet="november").rows[0][0] == "November"


def test_titles_merged_over_two_rows_are_put_together(table) -> None:
    found = table(
        xlsx(
            [
                ["Tag", "Date", "Testis tone", None, "SC (cm)"],
                [None, None, "left", "right", None],
                ["R1", OCT_4, "firm", "soft", 34],
            ],
            "A1:A2",
            "B1:B2",
            "C1:D1",
            "E1:E2",
        )
    )
    assert found.headers == ("Tag", "Date", "Testis tone left", "Testis tone right", "SC (cm)")
    assert found.row_numbers == [3]


def test_a_merged_line_above_known_titles_changes_nothing(table) -> None:
    found = table(xlsx([["Rams of October", None], ["tag", "date"], ["R1", OCT_4]], "A1:B1"))
    assert (found.headers, found.header_row) == (("tag", "date"), 2)


@pytest.mark.parametrize("kind", ["xlsx", "ods"])
def test_merged_cells_below_the_titles_are_refused_and_named(sheet, kind: str) -> None:
    rows = [HEADS, ["R1", OCT_4, 34, "ok"], ["R2", None, 33, "ok"], ["R3", OCT_4, 33, "ok"]]
    if kind == "xlsx":
        raw = xlsx(rows, "B2:B3")
    else:
        cells = [[ods_cell(c) for c in row] for row in rows]
        cells[1][1] = ods_cell(OCT_4, 'table:number-rows-spanned="2"')
        raw = ods(ods_table("Rams", cells))
    reading = sheet(raw)
    assert reading.refused_rows == {2, 3}
    assert [r.row for r in reading.rows] == [4]
    assert "part of the merged cells B2:B3" in str(reading.problems[0])


def test_empty_merged_cells_do_no_harm(sheet) -> None:
    assert not sheet(xlsx([HEADS, ["R1", OCT_4, 34, "ok"], [], []], "A3:D4")).problems


def test_error_cells_are_not_taken_for_empty(sheet) -> None:
    book = Workbook()
    book.active.append(HEADS)
    book.active.append(["R1", OCT_4, None, "ok"])
    book.active["C2"] = "#DIV/0!"
    book.active["C2"].data_type = "e"
    reading = sheet(saved(book))
    assert reading.refused_rows == {2}
    assert "the cell shows #DIV/0!" in str(reading.problems[0])
    assert reading.problems[0].where == "row 2, column C (SC (cm))"


def test_formulas_without_a_stored_result_are_not_taken_for_empty(sheet) -> None:
    reading = sheet(xlsx([HEADS, ["R1", OCT_4, "=17*2", "ok"], ["R2", OCT_4, 33, "ok"]]))
    assert "a formula whose result is not stored" in str(reading.problems[0])
    assert [r.row for r in reading.rows] == [3]


def test_a_formula_with_its_result_is_read(sheet) -> None:
    raw = repacked(
        xlsx([HEADS, ["R1", OCT_4, "=17*2", "ok"]]),
        "xl/worksheets/sheet1.xml",
        "<f>17*2</f><v />",
        "<f>17*2</f><v>34</v>",
    )
    assert sheet(raw).rows[0].exam.observations["scrotal_circumference"] == (340,)


def test_a_formula_whose_result_is_the_empty_text_is_empty(sheet) -> None:
    raw = repacked(
        xlsx([HEADS, ["R1", OCT_4, "=T(1)", "ok"]]),
        "xl/worksheets/sheet1.xml",
        '<c r="C2"><f>T(1)</f><v /></c>',
        '<c r="C2" t="str"><f>T(1)</f><v></v></c>',
    )
    assert sheet(raw).rows[0].exam.observations == {"gait": "sound"}


def test_ods_errors_and_formulas_without_result(sheet) -> None:
    error = ods_cell("#DIV/0!", 'calcext:value-type="error"')
    formula = ods_cell(None, 'table:formula="of:=1+1"')
    rows = [
        map(ods_cell, HEADS),
        [ods_cell("R1"), ods_cell(OCT_4), error, ods_cell("ok")],
        [ods_cell("R2"), ods_cell(OCT_4), formula, ods_cell("ok")],
    ]
    reading = sheet(ods(ods_table("Rams", rows)))
    assert reading.refused_rows == {2, 3}
    told = " ".join(map(str, reading.problems))
    assert "shows an error" in told
    assert "result is not stored" in told


@pytest.mark.parametrize("cell", ["#N/A", "#REF!", "#DIV/0!", "#VALUE!"])
def test_errors_written_out_in_csv_are_no_tags(sheet, cell: str) -> None:
    reading = sheet(f"tag,date,SC\n{cell},2026-10-04,34\n".encode())
    assert reading.refused_rows == {2}
    assert "an error of the spreadsheet" in str(reading.problems[0])


def test_electronic_numbers_in_number_cells(sheet) -> None:
    heads = ["eid", "date"]
    reading = sheet(xlsx([heads, [826012345600001, OCT_4], [36012345678901, OCT_4]]))
    assert [r.ram.eid for r in reading.rows] == ["826012345600001"]
    (error,) = reading.problems
    assert "a spreadsheet drops zeros in front (036 is Australia)" in error.problem
    assert error.example == "036 012345678901, if that is his number"


@pytest.mark.parametrize("cell", [1826012345600001, 8.26012345600001e15])
def test_longer_numbers_in_number_cells_are_damaged(sheet, cell) -> None:
    (error,) = sheet(xlsx([["eid", "date"], [cell, OCT_4]])).problems
    assert error.code == "identity.eid"
    assert "a spreadsheet keeps only 15 digits" in error.problem


def test_dates_in_the_tag_column_are_refused(sheet) -> None:
    (error,) = sheet(xlsx([["tag", "date"], [date(2026, 2, 1), OCT_4]])).problems
    assert "turned the tag into a date" in error.problem


def test_errors_of_a_csv_name_no_worksheet(table) -> None:
    with pytest.raises(SheetError):
        table("tag,date\nR1,2026-10-04\n", sheet="x")


ODD_SPELLINGS = {
    "a prefix before every name": (rb"<(/?)(\w)", rb"<\1x:\2"),
    "single quotation marks": (rb'"', rb"'"),
    "line breaks inside a tag": (rb"<c r", rb"<c\nr"),
    "blanks around the equals sign": (rb'<c r="', rb'<c  r = "'),
}


@pytest.mark.parametrize("spelling", ODD_SPELLINGS)
def test_lost_cells_are_found_however_a_writer_spells_its_xml(sheet, spelling: str) -> None:
    before, after = ODD_SPELLINGS[spelling]
    raw = rewritten(
        xlsx([HEADS, ["R1", OCT_4, "=17*2", "ok"], ["R2", OCT_4, 33, "ok"]]),
        lambda xml: (
            re.sub(before, after, xml).replace(b'xmlns="', b'xmlns:x="')
            if spelling.startswith("a prefix")
            else re.sub(before, after, xml)
        ),
    )
    reading = sheet(raw)
    assert reading.refused_rows == {2}
    assert [r.row for r in reading.rows] == [3]


def test_cells_that_do_not_say_their_place(sheet) -> None:
    def without(xml: bytes) -> bytes:
        return re.sub(rb'(<c) r="\w+"', rb"\1", xml)

    rows = [HEADS, ["R1", OCT_4, 34, "ok"]]
    (row,) = sheet(rewritten(xlsx(rows), without)).rows
    assert row.exam.observations == {"scrotal_circumference": (340,), "gait": "sound"}
    with pytest.raises(SheetError, match="the file does not say which cell it is"):
        sheet(rewritten(xlsx([*rows, ["R2", OCT_4, "=1+1", "ok"]]), without))

"""A sheet from end to end: rows, problems with their places, rows against each other."""

from datetime import date

import pytest

from stell.core.errors import SheetError
from stell.core.records import Born


def problem(reading, code: str, row: int) -> SheetError:
    """Return the one problem of that code in that row."""
    found = [p for p in reading.problems if p.code == code and p.row == row]
    assert len(found) == 1, [str(p) for p in reading.problems]
    assert row in reading.refused_rows
    assert row not in [r.row for r in reading.rows]
    return found[0]


def test_a_usual_sheet_is_read_whole(read) -> None:
    reading = read(
        "Tag;EID;Date;DOB;Gait;Teeth;Eyes;SC (cm);SC 2;tone L testicle;Tone right;BCS;teeth notes\n"
        "R1;826 012345600001;4 Oct 2026;Apr 2024;ok;broken mouth;pink eye, entropion;34,5;34;firm;"
        "soft;3½;had a knock\n"
    )
    assert not reading.problems
    (row,) = reading.rows
    assert (row.row, row.ram.tag, row.ram.eid) == (2, "R1", "826012345600001")
    assert row.ram.born == Born(date(2024, 4, 1), date(2024, 4, 30))
    assert row.exam.examined_on == date(2026, 10, 4)
    assert row.exam.observations == {
        "gait": "sound",
        "teeth": "broken",
        "eyes": ("inflamed", "lid_turned_in"),
        "scrotal_circumference": (345, 340),
        "tone_left": "firm",
        "tone_right": "soft",
        "condition": (350,),
    }
    assert row.exam.remarks == {"teeth": "had a knock"}


def test_an_empty_cell_is_not_examined_and_never_normal(read) -> None:
    reading = read("tag,date,gait,teeth\nR1,2026-10-04,,full\n")
    assert dict(reading.rows[0].exam.observations) == {"teeth": "full"}


def test_circumference_of_345_is_refused_with_what_may_be_meant(read) -> None:
    reading = read("tag,date,SC (cm)\nR1,2026-10-04,345\nR2,2026-10-04,34.5\n")
    error = problem(reading, "row.unit", 2)
    assert error.where == "row 2, column C (SC (cm))"
    assert "345 cm is not possible for Scrotal circumference" in str(error)
    assert "34.5 cm, if 345 was meant in mm" in error.example
    assert [r.row for r in reading.rows] == [3]


def test_days_in_the_future_are_refused(read) -> None:
    error = problem(read("tag,date\nR1,26 Nov 2026\n"), "row.date", 2)
    assert "the day lies in the future" in str(error)
    assert "up to 25 Nov 2026" in error.legal


def test_a_ram_born_after_his_examination_is_refused(read) -> None:
    error = problem(read("tag,date,born\nR1,2026-10-04,2026-10-05\n"), "row.date", 2)
    assert "born after he was examined" in str(error)
    assert "born 5 Oct 2026, examined 4 Oct 2026" in str(error)


def test_one_ram_twice_on_a_day_is_a_problem_of_both_rows(read) -> None:
    reading = read("tag,date,SC\nr 1,2026-10-04,34\nR2,2026-10-04,33\nR1,2026-10-04,35\n")
    for row in (2, 4):
        assert "rows 2, 4 speak of the same ram on the same day" in str(
            problem(reading, "row.duplicate", row)
        )
    assert [r.row for r in reading.rows] == [3]


def test_one_ram_on_two_days_and_one_tag_in_two_flocks_are_fine(read) -> None:
    reading = read("tag,date,flock\nR1,2026-10-04,Hill\nR1,2026-10-18,Hill\nR1,2026-10-04,Low\n")
    assert not reading.problems
    assert [r.flock for r in reading.rows] == ["Hill", "Hill", "Low"]


def test_one_tag_with_two_electronic_numbers_is_refused(read) -> None:
    reading = read("tag,eid,date\nR1,826012345600001,2026-10-04\nR1,826012345600002,2026-10-18\n")
    for row in (2, 3):
        assert "one tag stands with different electronic numbers" in str(
            problem(reading, "row.identity", row)
        )


def test_one_electronic_number_with_two_tags_is_refused(read) -> None:
    reading = read("tag,eid,date\nR1,826012345600001,2026-10-04\nR2,826012345600001,2026-10-18\n")
    assert "one electronic number stands with different tags" in str(
        problem(reading, "row.identity", 3)
    )


def test_one_ram_with_two_births_is_refused(read) -> None:
    reading = read("tag,date,born\nR1,2026-10-04,2024-03-01\nR1,2026-10-18,2023\n")
    assert "give the same ram different births" in str(problem(reading, "row.identity", 2))
    fine = read("tag,date,born\nR1,2026-10-04,2024-03-01\nR1,2026-10-18,Mar 2024\n")
    assert not fine.problems, "a day within the month does not contradict it"


def test_birth_and_age_are_held_against_each_other(read) -> None:
    text = "tag,date,born,age months\nR1,2026-10-04,2024-03-01,{}\n"
    assert not read(text.format(31)).problems
    assert not read(text.format(30)).problems, "ages are rounded by people"
    error = problem(read(text.format(18)), "row.date", 2)
    assert "birth and age contradict each other" in str(error)


def test_an_age_in_months_leaves_a_month_of_births(read) -> None:
    (row,) = read("tag,date,age (months)\nR1,2026-10-04,18\n").rows
    assert row.ram.born == Born(date(2025, 3, 5), date(2025, 4, 4))


def test_an_age_class_is_kept_with_its_day(read) -> None:
    (row,) = read("tag,date,age\nR1,2026-10-04,Two-tooth\n").rows
    assert (row.ram.age_class, row.ram.age_class_on) == ("shearling", date(2026, 10, 4))
    assert row.ram.born is None


def test_rest_normal_fills_choices_and_asks_measures_still(read) -> None:
    (row,) = read("tag,date,gait,rest normal\nR1,2026-10-04,lame,yes\n").rows
    assert row.exam.observations == {
        "gait": "lame",
        "teeth": "full",
        "eyes": ("clear",),
        "tone_left": "firm",
        "tone_right": "firm",
    }, "not the optional check without a column, not the one that nobody would ask, no measure"


def test_rest_normal_answers_what_is_asked_under_a_condition(read) -> None:
    (row,) = read("tag,date,lumps,rest normal\nR1,2026-10-04,closed lump,yes\n").rows
    assert row.exam.observations["lump_size"] == "small"
    (row,) = read("tag,date,lumps,rest normal\nR1,2026-10-04,,yes\n").rows
    assert row.exam.observations["lumps"] == "none", "optional, but it has a column"
    assert "lump_size" not in row.exam.observations


def test_what_was_not_examined_stays_so_under_rest_normal(read) -> None:
    (row,) = read("tag,date,teeth,rest normal\nR1,2026-10-04,not examined,yes\n").rows
    assert "teeth" not in row.exam.observations
    assert row.exam.observations["gait"] == "sound"


def test_a_stop_column_speaks_for_its_stop_alone(read) -> None:
    (row,) = read("tag,date,Head,eyes\nR1,2026-10-04,ok,pink eye\n").rows
    assert row.exam.observations == {"teeth": "full", "eyes": ("inflamed",)}


def test_a_stop_column_takes_no_finding(read) -> None:
    error = problem(read("tag,date,stop:head\nR1,2026-10-04,gummy\n"), "row.value", 2)
    assert "takes only 'ok'" in str(error)
    assert "a finding goes into its own column: Front teeth" in error.legal
    assert error.example == "a column 'Front teeth' with 'gummy'"


def test_what_ok_for_a_stop_counts_for_is_said(read) -> None:
    reading = read("tag,date,head\nR1,2026-10-04,ok\n")
    assert (
        "'ok' in column C (head) counts for what has no entry of its own: "
        "Front teeth, Eyes, Lumps, How large the lump is." in reading.notices
    )


def test_a_column_for_both_sides(read) -> None:
    reading = read(
        "tag,date,tone\nR1,2026-10-04,ok\nR2,2026-10-04,left soft\n"
        "R3,2026-10-04,both soft\nR4,2026-10-04,soft L; firm R\nR5,2026-10-04,soft\n"
    )
    assert [dict(r.exam.observations) for r in reading.rows] == [
        {"tone_left": "firm", "tone_right": "firm"},
        {"tone_left": "soft"},
        {"tone_left": "soft", "tone_right": "soft"},
        {"tone_left": "soft", "tone_right": "firm"},
    ]
    assert "does not say on which side (left, right)" in str(problem(reading, "row.value", 6))


def test_day_and_examiner_can_be_said_for_the_whole_sheet(read) -> None:
    (row,) = read("tag,gait\nR1,ok\n", examined_on=date(2026, 10, 4), examiner="A. Vet").rows
    assert (row.exam.examined_on, row.exam.examiner) == (date(2026, 10, 4), "A. Vet")


def test_the_day_of_the_sheet_counts_only_where_a_row_has_none(read) -> None:
    reading = read("tag,date\nR1,2026-10-01\nR2,\n", examined_on=date(2026, 10, 4))
    assert [r.exam.examined_on.day for r in reading.rows] == [1, 4]
    assert "Rows without a day of their own count as examined on 4 Oct 2026." in reading.notices


def test_a_row_that_says_of_no_ram_is_refused(read) -> None:
    reading = read("tag,date,gait\n,2026-10-04,ok\nR2,,ok\n")
    assert "does not say which ram it is" in str(problem(reading, "row.missing", 2))
    assert "does not say the day" in str(problem(reading, "row.missing", 3))


def test_a_refused_cell_is_told_once(read) -> None:
    reading = read("tag,date\nR1,31 Feb 2026\n")
    assert [p.code for p in reading.problems] == ["row.date"], "not that the day is missing too"


def test_the_vets_own_verdict_needs_a_reason(read) -> None:
    reading = read(
        "tag,date,override,override reason\nR1,2026-10-04,unsatisfactory,\n"
        "R2,2026-10-04,,kept apart\nR3,2026-10-04,sound,served twice today\n"
    )
    assert "needs a reason" in str(problem(reading, "row.missing", 2))
    assert "reason stands without" in str(problem(reading, "row.missing", 3))
    assert reading.rows[0].override is not None
    assert reading.rows[0].override.value == "satisfactory"


def test_every_problem_of_a_row_is_told_and_rows_are_in_order(read) -> None:
    reading = read("tag,date,SC,BCS,gait\nR1,2026-10-04,345,3+,flies\nR2,1.2.,34,3,ok\n")
    assert [(p.row, p.column) for p in reading.problems] == [(2, 2), (2, 3), (2, 4), (3, 1)]
    assert reading.refused_rows == {2, 3}
    assert not reading.rows


def test_row_numbers_are_those_a_spreadsheet_shows(read) -> None:
    reading = read('tag,date,note\n\nR1,2026-10-04,"two\nlines"\n,,\nR2,2026-10-04,x\n')
    assert [(r.row, r.ram.tag) for r in reading.rows] == [(3, "R1"), (5, "R2")]
    assert reading.rows[0].exam.note == "two\nlines"


def test_unusual_electronic_numbers_are_named_once_for_each_kind(read) -> None:
    reading = read(
        "eid,date\n900123456789012,2026-10-04\n900123456789013,2026-10-04\n"
        "826274877906944,2026-10-04\n"
    )
    assert len(reading.rows) == 3
    notices = [n for n in reading.notices if "electronic number" in n]
    assert len(notices) == 2
    assert notices[0].startswith("2 electronic numbers (row 2, 3): 900 is a maker's code")
    assert "(274877906943)" in notices[1]


def test_progress_rises_to_the_whole(read, protocol, tmp_path) -> None:
    from stell.core.intake import ReadingRules
    from stell.exchange.reading import read_sheet

    path = tmp_path / "long.csv"
    path.write_text("tag,date\n" + "".join(f"R{i},2026-10-04\n" for i in range(5000)))
    told: list[tuple[int, int]] = []
    rules = ReadingRules(today=date(2026, 11, 25))
    read_sheet(path, protocol, rules, progress=lambda done, total: told.append((done, total)))
    assert told[0] == (0, 5000)
    assert told[-1] == (5000, 5000)
    assert [d for d, _ in told] == sorted(d for d, _ in told)


@pytest.mark.parametrize("missing", ["date,gait\n2026-10-04,ok\n", "tag,gait\nR1,ok\n"])
def test_without_ram_or_day_the_sheet_is_refused(read, missing: str) -> None:
    with pytest.raises(SheetError) as caught:
        read(missing)
    assert caught.value.code == "sheet.columns"
    assert caught.value.got == missing.splitlines()[0].replace(",", ", ")
    assert caught.value.where == "flock.csv"


def test_beyond_a_number_problems_are_counted_and_every_row_is_refused(read, monkeypatch) -> None:
    monkeypatch.setattr("stell.exchange.reading.MOST_PROBLEMS", 3)
    reading = read("tag,date,SC\n" + "".join(f"R{i},2026-10-04,345\n" for i in range(10)))
    assert [p.row for p in reading.problems] == [2, 3, 4]
    assert reading.refused_rows == set(range(2, 12))
    assert "7 more problems are not listed; mend the first ones." in reading.notices

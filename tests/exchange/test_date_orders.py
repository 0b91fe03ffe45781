"""Day and month told apart by the whole sheet: the future, births, another column of days."""

from datetime import date

import pytest

TODAY = date(2026, 9, 14)


def days(sheet) -> list[date]:
    """Return the days of the examinations, in sheet order."""
    return [row.exam.examined_on for row in sheet.rows]


def test_a_reading_in_the_future_settles_the_column(read) -> None:
    # On 14 Sep 2026: 10/8/26 is 10 Aug, because 8 Oct is yet to come; so 8/7/26 is 8 Jul.
    sheet = read("tag,date\nR1,10/8/26\nR2,8/7/26\n", today=TODAY)
    assert days(sheet) == [date(2026, 8, 10), date(2026, 7, 8)]
    assert any("day-first, else '10/8/26' would lie in the future" in n for n in sheet.notices), (
        sheet.notices
    )


def test_cells_that_show_the_opposite_settle_nothing(read) -> None:
    sheet = read("tag,date\nR1,10/8/26\nR2,8/10/26\n", today=TODAY)
    assert not sheet.rows
    assert "both '10/8/26' and '8/10/26'" in sheet.problems[0].problem


def test_another_column_of_days_that_is_settled_settles_it(read) -> None:
    sheet = read("tag,born,date\nR1,25/3/2023,3/4/2026\nR2,1/4/2024,5/6/2026\n", today=TODAY)
    assert days(sheet) == [date(2026, 4, 3), date(2026, 6, 5)]
    assert sheet.rows[1].ram.born.earliest == date(2024, 4, 1)
    assert any(
        "column C (date) are read day-first, as in column B (born)" in n for n in sheet.notices
    )


@pytest.mark.parametrize("order", ["day-first", "month-first"])
def test_what_the_command_says_counts_before_everything(read, order: str) -> None:
    sheet = read("tag,born,date\nR1,25/3/2023,3/4/2026\n", today=TODAY, date_order=order)
    expected = {"day-first": [date(2026, 4, 3)], "month-first": []}[order]
    assert days(sheet) == expected, "25/3 is no day month-first, and is refused then"


def test_nobody_is_examined_before_his_birth(read) -> None:
    # Born 20 Mar 2026: 5/2/2026 can only be 2 May, month first; 5 Feb is before his birth.
    sheet = read("tag,born,date\nR1,2026-03-20,5/2/2026\nR2,2025-03-20,3/4/2026\n", today=TODAY)
    assert days(sheet) == [date(2026, 5, 2), date(2026, 3, 4)]
    assert any("month-first, else row 2 would be examined before" in n for n in sheet.notices), (
        sheet.notices
    )


def test_nobody_is_born_after_his_examination(read) -> None:
    # Examined 4 Jun 2026: born 5/7/2026 is 7 May, month first.
    sheet = read("tag,born,date\nR1,5/7/2026,2026-06-04\n", today=TODAY)
    assert sheet.rows[0].ram.born.earliest == date(2026, 5, 7)


def test_what_nothing_settles_stays_refused_and_says_what_to_type(read) -> None:
    sheet = read("tag,date\nR1,3/4/26\nR2,5/6/26\n", today=TODAY)
    assert [p.row for p in sheet.problems] == [2, 3]
    assert "--date-order day-first or --date-order month-first" in sheet.problems[0].legal
    assert {p.alike for p in sheet.problems} == {
        "could be day-month or month-day (no cell of the column tells day and month apart)"
    }

"""The work list: overdue first, and nothing hangs on the order of input."""

import doctest
from datetime import date

from stell.core import worklist
from stell.core.timetable import timetable
from stell.core.worklist import WorkItem, work_list, work_of_flock
from tests.core.mating import START, TIMING, ram


def test_examples_in_docstrings() -> None:
    assert doctest.testmod(worklist).failed == 0


TODAY = date(2026, 9, 10)


def test_overdue_first_oldest_first_and_what_has_no_day_last() -> None:
    items = [
        WorkItem("Low flock", "reexamine", date(2026, 9, 20), "e"),
        WorkItem("Low flock", "complete", None, "g"),
        WorkItem("Top flock", "treat", date(2026, 9, 8), "c"),
        WorkItem("Low flock", "reexamine", date(2026, 9, 1), "b"),
        WorkItem("Top flock", "report", date(2026, 9, 9), "a"),
        WorkItem("Top flock", "treat", TODAY, "d"),
        WorkItem("Top flock", "report", date(2026, 9, 21), "f"),
    ]
    for turn in range(len(items)):
        ordered = work_list(items[turn:] + items[:turn], today=TODAY)
        assert [i.what for i in ordered] == list("abcdefg"), "whatever order they come in"
    assert [i.due_text(TODAY) for i in work_list(items, today=TODAY)] == [
        "1 day overdue",
        "9 days overdue",
        "2 days overdue",
        "today",
        "in 10 days",
        "in 11 days",
        "no day",
    ]


def test_report_that_is_due_today_leads_over_what_is_overdue() -> None:
    items = [
        WorkItem("Top flock", "treat", date(2026, 9, 1), "overdue"),
        WorkItem("Top flock", "withdraw", TODAY, "third"),
        WorkItem("Top flock", "isolate", TODAY, "second"),
        WorkItem("Top flock", "report", TODAY, "first"),
    ]
    ordered = [i.what for i in work_list(items, today=TODAY)]
    assert ordered == ["first", "second", "third", "overdue"]


def test_work_of_a_flock_keeps_overdue_rams_and_days_ahead() -> None:
    bert = ram(7, name="Bert")  # due 6 Sep 2026
    table = timetable(START, TIMING, today=TODAY, deferred=[bert])
    work = work_list(work_of_flock("Top flock", table), today=TODAY)
    assert [(i.kind, i.ram, i.due_on) for i in work] == [
        ("reexamine", "Bert", date(2026, 9, 6)),
        ("rams_in", "", START),
    ], "purchase and quiet weeks have passed; whether they were kept is not known"

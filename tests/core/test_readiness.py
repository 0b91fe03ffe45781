"""Who will be ready: deferred rams, and rams that could still be bought."""

from datetime import date

import pytest

from stell.core.readiness import DeferredRam
from stell.core.timetable import timetable
from tests.core.mating import START, TIMING, ram


@pytest.mark.parametrize(
    ("reexamine_on", "ready", "spare", "after_purchase", "advice"),
    [
        (date(2026, 8, 22), True, 43, False, "wait"),
        (date(2026, 8, 23), True, 42, False, "wait"),  # the last purchase day itself
        (date(2026, 8, 24), True, 41, True, "cover_now"),
        (date(2026, 10, 3), True, 1, True, "cover_now"),
        (date(2026, 10, 4), True, 0, True, "cover_now"),  # the day the rams go in is in time
        (date(2026, 10, 5), False, -1, True, "too_late"),
    ],
)
def test_deferred_ram_against_start_and_purchase(
    reexamine_on: date, ready: bool, spare: int, after_purchase: bool, advice: str
) -> None:
    bert = DeferredRam("1", "Bert", date(2026, 8, 1), reexamine_on)
    (found,) = timetable(START, TIMING, today=date(2026, 8, 2), deferred=[bert]).deferred
    assert (found.ready_in_time, found.days_to_spare) == (ready, spare), found
    assert (found.after_last_purchase, found.advice) == (after_purchase, advice), found
    assert found.decide_by == date(2026, 8, 23)
    assert found.overdue_days == 0
    told = "do not wait" in found.sentence
    assert told == after_purchase, found.sentence


def test_overdue_ram_is_told_to_be_seen_now() -> None:
    bert = DeferredRam("1", "Bert", date(2026, 8, 1), date(2026, 8, 15), "foot abscess")
    (found,) = timetable(START, TIMING, today=date(2026, 8, 20), deferred=[bert]).deferred
    assert (found.overdue_days, found.seen_on) == (5, date(2026, 8, 20))
    assert found.sentence == (
        "Bert (foot abscess) was to be examined again on 15 Aug 2026, 5 days ago: do it now, "
        "45 days before the rams go in, and a replacement can be bought until 23 Aug 2026."
    )


@pytest.mark.parametrize(
    ("reexamine_on", "offered"), [(date(2026, 9, 6), True), (date(2026, 9, 7), False)]
)
def test_shortest_times_are_named_while_his_answer_comes_before_them(
    reexamine_on: date, offered: bool
) -> None:
    # The shortest quarantine and settling, 21 + 7 days before 4 Oct 2026: 6 Sep 2026.
    bert = DeferredRam("1", "Bert", date(2026, 8, 23), reexamine_on)
    (found,) = timetable(START, TIMING, today=date(2026, 8, 23), deferred=[bert]).deferred
    assert found.advice == "cover_now"
    assert "Buy or borrow cover now, by 23 Aug 2026 at the latest, do not wait" in found.sentence
    assert ("can come until 6 Sep 2026" in found.sentence) == offered, found.sentence


def test_overdue_ram_after_the_start_is_late() -> None:
    (found,) = timetable(START, TIMING, today=date(2026, 10, 6), deferred=[ram(28)]).deferred
    assert (found.ready_in_time, found.days_to_spare, found.overdue_days) == (False, -2, 9)


def test_rams_that_miss_the_start_stand_first() -> None:
    rams = [
        ram(7, name="a"),
        ram(60, name="c"),
        ram(14, name="b", examined_on=date(2026, 8, 2)),
    ]
    table = timetable(START, TIMING, today=date(2026, 8, 3), deferred=rams)
    assert [(d.ram.label, d.advice) for d in table.deferred] == [
        ("c", "too_late"),
        ("a", "cover_now"),
        ("b", "wait"),
    ]


def test_purchase_day_passed_says_how_late_and_what_is_left() -> None:
    purchase = timetable(START, TIMING, today=date(2026, 8, 30)).purchase
    assert purchase is not None
    assert (purchase.last_on, purchase.days_left) == (date(2026, 8, 23), -7)
    # GNU date: 2026-08-30 + 28 days, + 42 days
    assert purchase.out_of_quarantine_on == date(2026, 9, 27)
    assert purchase.ready_on == date(2026, 10, 11)
    assert purchase.days_into_mating == 7
    text = " ".join(purchase.sentences)
    assert "was 23 Aug 2026, 7 days ago" in text
    assert "settled by 11 Oct 2026, 7 days after mating starts" in text
    assert "in time if he comes by 6 Sep 2026" in text, "the shortest times of the range still fit"
    assert "Do not cut quarantine below 3 weeks." in text


def test_the_last_purchase_day_itself_still_serves() -> None:
    purchase = timetable(START, TIMING, today=date(2026, 8, 23)).purchase
    assert purchase is not None
    assert (purchase.days_left, purchase.days_into_mating) == (0, 0)
    (only,) = purchase.sentences
    assert only.startswith("Buy or borrow by 23 Aug 2026 (today)")


def test_shortest_times_are_not_offered_once_they_have_passed() -> None:
    purchase = timetable(START, TIMING, today=date(2026, 9, 7)).purchase
    assert purchase is not None
    assert "shortest" not in " ".join(purchase.sentences)


@pytest.mark.parametrize("today", [START, date(2026, 10, 20)])
def test_buying_once_mating_has_begun(today: date) -> None:
    purchase = timetable(START, TIMING, today=today).purchase
    assert purchase is not None
    text = " ".join(purchase.sentences)
    assert "if mating goes on beyond" in text, text
    assert "let mating start" not in text, "it has started"

"""The owner's report on a ram against his own past: faults not found again, and real changes."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from stell.core.change import compare
from stell.core.lasting import found_earlier
from stell.core.protocol.load import load_shipped, shipped
from stell.core.records import Examination, Ram
from stell.core.verdict import Outcome
from stell.reports.judged import JudgedRam
from stell.reports.owner import build
from tests.reports.pages import texts, words
from tests.reports.sample import house_protocol, judged, report

LAST_YEAR = date(2025, 8, 12)  # a year before the visit of the sample: the season is the same


def clean(count: int) -> list[JudgedRam]:
    """Return satisfactory rams of the house with nothing found, and a past of their own."""
    rams = [j for j in judged(80, house_protocol()) if j.outcome is Outcome.SATISFACTORY]
    found = [j for j in rams if not j.reasons and not j.decision.proposed.borderline]
    return [replace(j, before=past(j)) for j in found[:count]]


def past(ram: JudgedRam, **seen: Any) -> Examination:
    """Return last year's examination: as this year's, except what is told."""
    return replace(
        ram.exam,
        exam_id="past",
        examined_on=LAST_YEAR,
        observations=dict(ram.exam.observations) | seen,
    )


def with_past(ram: JudgedRam, **seen: Any) -> JudgedRam:
    """Return the ram set beside such a past, as services gather him."""
    house, before = house_protocol(), past(ram, **seen)
    return replace(
        ram,
        before=before,
        compared=compare(house, ram.ram, ram.exam, before, 54.4),
        found_earlier=found_earlier(house, ram.ram, ram.exam, [before]),
    )


def flat(made: Any) -> str:
    return " ".join(" ".join(texts(build(made))).split())


def test_an_undershot_jaw_of_last_year_is_put_to_the_vet() -> None:
    ram = with_past(clean(1)[0], lower_jaw="under_slight")
    made = report(protocol=house_protocol(), judged=[ram])
    tag = ram.ram.tag
    told = f"Found earlier, not this time: {tag} lower jaw a little long (Aug 2025): ask the vet"
    assert [w for w in made.warnings if w.startswith(told)] == [f"{told} which is right."]
    assert not made.rams[0].is_plain, "he would stand among those with nothing found"
    assert f"{told} which is right." in " ".join(texts(build(made))[0].split()), "not on page one"


def test_a_test_that_was_not_repeated_is_asked_for() -> None:
    ram = with_past(clean(1)[0], brucella_test="positive")
    (line,) = report(protocol=house_protocol(), judged=[ram]).rams
    (told,) = line.earlier
    assert told.startswith("Found earlier, not looked at this time: positive blood test (Aug 2025)")
    assert told.endswith(": ask the vet to look")


def test_of_many_rams_page_one_says_how_many() -> None:
    rams = [with_past(j, lower_jaw="under_slight") for j in clean(12)]
    (told,) = (
        w
        for w in report(protocol=house_protocol(), judged=rams).warnings
        if w.startswith("Found earlier")
    )
    assert "lasting faults of 12 rams, named under “Ram by ram”" in told


def test_a_real_change_stands_in_his_line_and_a_small_one_does_not() -> None:
    one, other = clean(2)
    house = house_protocol()
    low, high = one.exam.observations["circumference"]
    assert isinstance(low, int)
    assert isinstance(high, int)
    # By the protocol a reading errs by 0.4 cm; two of them at each visit make
    # 1.96 x sqrt(2) x 0.4 / sqrt(2) = 0.8 cm the least change.
    lost = with_past(one, circumference=(low + 26, high + 26))
    line = report(protocol=house, judged=[lost]).rams[0]
    assert line.changed == (
        "Circumference 2.6 cm less than Aug 2025, more than measuring and season explain",
    )
    assert not line.is_plain
    same = with_past(other)
    assert report(protocol=house, judged=[same]).rams[0].changed == ()
    assert report(protocol=house, judged=[same]).rams[0].is_plain


def test_the_visit_comes_first_but_for_what_brooks_no_delay() -> None:
    unseen = [Ram(f"u{i}", tag=f"U{i}") for i in (10, 9)]
    todos = report(30, not_examined=unseen).todos
    rest = [t.kind for t in todos if not t.pressing]
    assert rest[0] == "examine"
    assert all(t.pressing for t in todos[: todos.index(todos[len(todos) - len(rest)])])
    visit = todos[len(todos) - len(rest)]
    assert visit.rams == ("U9", "U10"), "in the order in which people count"
    assert "examine" not in {t.kind for t in report(30, not_examined=()).todos}


# By hand for rams going in on 25 Oct 2026 under tests/reports/sample.toml, whose best day lies
# 70 days before (16 Aug) and whose last sensible day 42 days before (13 Sep).
@pytest.mark.parametrize(
    ("today", "due", "how"),
    [
        ((2026, 8, 13), "Sun 16 Aug 2026", "best day 16 Aug 2026, last sensible day 13 Sep 2026"),
        (
            (2026, 8, 24),
            "Sun 13 Sep 2026",
            "best day was 16 Aug 2026, last sensible day 13 Sep 2026",
        ),
        ((2026, 9, 14), "now", "best day was 16 Aug 2026, last sensible day was 13 Sep 2026"),
    ],
)
def test_the_visit_is_due_by_the_best_day_then_by_the_last(
    today: tuple[int, int, int], due: str, how: str
) -> None:
    (visit,) = (t for t in report(3, today=date(*today)).todos if t.kind == "examine")
    assert (visit.due, visit.how) == (due, how)


def test_rams_on_one_line_are_said_to_be_alike() -> None:
    house = house_protocol()
    lame = [j for j in judged(80, house) if j.exam.observations["gait"] == "lame_bearing"][:2]
    assert len(lame) == 2
    said = flat(report(protocol=house, judged=lame))
    assert "Both alike: He is lame." in said
    assert "(both: lame, scald)" in said
    alone = flat(report(protocol=house, judged=lame[:1]))
    assert "alike" not in alone
    assert "both:" not in alone


def test_no_words_for_vet_or_owner_say_where_they_come_from() -> None:
    for name in shipped():
        for check, rule in load_shipped(name).rules():
            spoken = f"{rule.label} {rule.do} {rule.owner} {rule.brief}"
            assert "from memory" not in spoken, f"{name}: {check.id}: {rule.rule_id}"


@pytest.mark.parametrize("count", [10, 14, 18, 22, 26, 30])
def test_no_heading_stands_alone_at_the_foot_of_a_page(count: int, tmp_path: Path) -> None:
    house = house_protocol()
    rams = [
        with_past(j, circumference=(300,)) if i % 3 == 0 else j
        for i, j in enumerate(judged(count, house))
    ]
    sizes, found = words(build(report(protocol=house, judged=rams)), tmp_path)
    for page, (_, height) in enumerate(sizes, start=1):
        body = [w for w in found if w.page == page and w.bottom < height - 20 * 72 / 25.4 + 2]
        low = max(w.bottom for w in body)
        last = [w for w in body if w.bottom > low - 3]
        # headings are set in 13.5 pt, their boxes are higher than 14.5 pt; the rest in 10.5 at most
        tall = [w.text for w in last if w.bottom - w.top > 14.5]
        assert not tall, f"page {page} of {count} rams ends with the heading {' '.join(tall)}"

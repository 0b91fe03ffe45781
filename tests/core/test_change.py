"""This ram against his own past: measures, season, growth, findings, and the look back."""

import doctest
from datetime import date, timedelta
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stell.core import change
from stell.core.change import (
    LOOK_BACKS,
    Comparison,
    Course,
    Judgement,
    MeasureChange,
    compare,
    nearest_earlier,
    window_days,
    year_on_year,
)
from stell.core.errors import ProtocolError, RecordError, ValueRefused
from stell.core.protocol.load import load_text
from stell.core.protocol.ready import ReadyProtocol
from stell.core.records import Born, Examination, Observed, Ram

TEXT = (Path(__file__).parent / "change.toml").read_text("utf-8")
RAM = Ram("r1", tag="UK 0412", name="Bert", born=Born.on(date(2022, 3, 1)))
PEAK, YEAR_BEFORE, TROUGH = date(2026, 10, 1), date(2025, 10, 1), date(2026, 4, 1)
NORTH = 56.0


@cache
def protocol(old: str = "", new: str = "") -> ReadyProtocol:
    return load_text(TEXT.replace(old, new) if old else TEXT)


def exam(on: date, examiner: str = "A. Vet", **found: Observed) -> Examination:
    return Examination(f"e{on}", "r1", on, found, examiner=examiner)


def girth(on: date, *readings: int, examiner: str = "A. Vet") -> Examination:
    return exam(on, examiner, circumference=readings)


def one(now: Examination, then: Examination, ram: Ram = RAM, **kw: object) -> MeasureChange:
    known = {"protocol": protocol(), "latitude_deg": NORTH} | kw
    (only,) = compare(ram=ram, now=now, then=then, **known).measures  # type: ignore[arg-type]
    return only


def test_examples_in_docstrings() -> None:
    assert doctest.testmod(change).failed == 0


# --- measuring ----------------------------------------------------------------------------------


def test_smallest_difference_of_one_person_is_eleven_millimetres() -> None:
    # By hand: 1.96 x sqrt(2) x 4 mm = 11.09 mm. The season of the same day a year on adds nothing.
    found = one(girth(PEAK, 340), girth(YEAR_BEFORE, 340))
    assert found.detectable == pytest.approx(11.09, abs=0.01)


@pytest.mark.parametrize(
    ("now", "judgement"),
    [
        (340, Judgement.WITHIN),
        (329, Judgement.WITHIN),  # 11 mm, less than 11.09
        (351, Judgement.WITHIN),
        (328, Judgement.REAL),
        (352, Judgement.REAL),
    ],
)
def test_difference_is_real_from_the_smallest_detectable_on(now: int, judgement: Judgement) -> None:
    found = one(girth(PEAK, now), girth(YEAR_BEFORE, 340))
    assert found.judgement is judgement, f"{found.difference} mm against {found.detectable}"


def test_two_people_and_repeated_readings() -> None:
    # Two people, one reading each: 1.96 x sqrt(2) x 8 = 22.17 mm. One person, 4 readings a visit:
    # 1.96 x sqrt(2 x 16 / 4) = 5.54 mm. Two people, 4 each: variance 16 / 4 + (64 - 16) = 52 each,
    # 1.96 x sqrt(104) = 19.99 mm.
    four = (340, 341, 339, 340)
    two_people = one(girth(PEAK, 340), girth(YEAR_BEFORE, 340, examiner="B. Vet"))
    assert two_people.detectable == pytest.approx(22.17, abs=0.01)
    assert one(girth(PEAK, *four), girth(YEAR_BEFORE, *four)).detectable == pytest.approx(
        5.54, abs=0.01
    )
    both = one(girth(PEAK, *four), girth(YEAR_BEFORE, *four, examiner="B. Vet"))
    assert both.detectable == pytest.approx(19.99, abs=0.01)
    assert (both.readings_now, both.now) == (4, 340)


@pytest.mark.parametrize(
    ("names", "same"),
    [
        (("A. Vet", "a.  vet "), True),
        (("A. Vet", "B. Vet"), False),
        (("A. Vet", ""), None),
        (("", ""), None),
    ],
)
def test_who_measured(names: tuple[str, str], same: bool | None) -> None:
    now, then = girth(PEAK, 340, examiner=names[0]), girth(YEAR_BEFORE, 340, examiner=names[1])
    found = compare(protocol(), RAM, now, then, NORTH)
    assert found.same_person is same
    wide = found.measures[0].detectable == pytest.approx(22.17, abs=0.01)
    assert wide == (same is not True), "not knowing counts as two people"


def test_check_without_error_figures_is_not_judged() -> None:
    found = one(exam(PEAK, weight=(900,)), exam(YEAR_BEFORE, weight=(700,)))
    assert (found.judgement, found.detectable) == (Judgement.CANNOT_SAY, None)
    assert "does not say how well this can be repeated" in found.why


def test_error_of_one_person_is_not_taken_for_two() -> None:
    then = exam(YEAR_BEFORE, "B. Vet", condition=(350,))
    found = one(exam(PEAK, condition=(250,)), then)
    assert found.judgement is Judgement.CANNOT_SAY
    assert found.why.startswith("two people measured")
    unknown = one(exam(PEAK, "", condition=(250,)), then)
    assert unknown.why.startswith("who measured is not known")


def test_condition_score_knows_no_season() -> None:
    # By hand: 1.96 x sqrt(2) x 0.20 = 0.554 score units, so 0.50 is within and 0.75 is real.
    half = one(exam(PEAK, condition=(300,)), exam(TROUGH, condition=(350,)))
    more = one(exam(PEAK, condition=(275,)), exam(TROUGH, condition=(350,)))
    assert half.detectable == pytest.approx(55.4, abs=0.1)
    assert (half.expected, half.judgement) == (None, Judgement.WITHIN)
    assert more.judgement is Judgement.REAL


def test_reading_that_cannot_be_right_is_not_judged() -> None:
    found = one(girth(PEAK, 34), girth(YEAR_BEFORE, 340))  # 3.4 cm: centimetres taken for mm
    assert (found.judgement, found.why) == (Judgement.CANNOT_SAY, "a reading cannot be right")


# --- season -------------------------------------------------------------------------------------


def test_spring_ram_is_not_called_shrunken() -> None:
    # Mean 340: 360 at the peak, 320 at the trough. 40 mm less, all of it the season.
    found = one(girth(date(2027, 4, 1), 320), girth(PEAK, 360))
    assert found.difference == -40
    assert found.expected == pytest.approx(-40.8, abs=0.3)
    assert found.judgement is Judgement.WITHIN


def test_no_seasonal_loss_where_one_was_due_is_a_real_gain() -> None:
    # The season's own uncertainty is 7.85 mm, measuring 5.66: 1.96 x sqrt(7.85^2 + 5.66^2) = 18.97.
    found = one(girth(date(2027, 4, 1), 360), girth(PEAK, 360))
    assert found.detectable == pytest.approx(19.9, abs=1.0)
    assert found.adjusted > 35
    assert found.judgement is Judgement.REAL


def test_the_south_has_its_peak_in_april() -> None:
    april, october = date(2027, 4, 2), date(2026, 10, 2)
    same = compare(protocol(), RAM, girth(april, 360), girth(october, 320), -35.0).measures[0]
    assert same.expected == pytest.approx(40.8, abs=0.3)
    assert same.judgement is Judgement.WITHIN


def test_unknown_place_leaves_open_what_the_season_could_explain() -> None:
    april = date(2027, 4, 1)
    kw = {"latitude_deg": None}
    loss = one(girth(april, 320), girth(PEAK, 360), **kw)
    assert loss.judgement is Judgement.CANNOT_SAY
    assert "latitude is not known" in loss.why
    # Nothing seen, but a swing of up to 2 x 0.08 x 360 = 57.6 mm could hide a loss.
    assert one(girth(april, 360), girth(PEAK, 360), **kw).judgement is Judgement.CANNOT_SAY
    # 55 mm; the season can make 2 x 0.08 x 332.5 = 53.2 of it, and 1.8 is within error.
    assert one(girth(april, 305), girth(PEAK, 360), **kw).judgement is Judgement.CANNOT_SAY
    # More than any season makes.
    assert one(girth(april, 260), girth(PEAK, 360), **kw).judgement is Judgement.REAL
    # On the same day of the year no place matters.
    assert one(girth(PEAK, 320), girth(YEAR_BEFORE, 360), **kw).judgement is Judgement.REAL
    assert one(girth(PEAK, 355), girth(YEAR_BEFORE, 360), **kw).judgement is Judgement.WITHIN


def test_protocol_without_figures_for_the_season_says_so() -> None:
    bare = protocol("seasonal_peak", "another_figure")
    found = one(girth(date(2027, 4, 1), 320), girth(PEAK, 360), protocol=bare)
    assert (found.expected, found.judgement) == (None, Judgement.REAL)
    assert "no figures for the season" in found.why


def test_latitude_that_is_none_is_refused() -> None:
    with pytest.raises(ValueRefused) as refused:
        one(girth(PEAK, 320), girth(TROUGH, 360), latitude_deg=560.0)
    assert refused.value.code == "value.range"


# --- in a few words -----------------------------------------------------------------------------


def test_a_real_change_in_a_few_words() -> None:
    # A year apart the season makes nothing; 340 - 366 = -26 mm.
    less = one(girth(PEAK, 340), girth(YEAR_BEFORE, 366))
    assert less.in_brief(YEAR_BEFORE) == (
        "2.6 cm less than Oct 2025, more than measuring and season explain"
    )
    # By hand: the season takes 39 to 41 mm off a mean of 340, and he lost only 5.
    kept = one(girth(date(2027, 4, 1), 338), girth(PEAK, 343))
    said = kept.in_brief(PEAK)
    assert said.startswith("0.5 cm less than Oct 2026, 3."), said
    assert said.endswith(" cm more when the season is allowed for: more than measuring explains")
    fat = one(exam(PEAK, condition=(425,)), exam(YEAR_BEFORE, condition=(350,)))
    assert fat.in_brief(YEAR_BEFORE) == "0.75 more than Oct 2025, more than measuring explains"
    same = one(girth(date(2027, 4, 1), 360), girth(PEAK, 360))
    assert same.in_brief(PEAK).startswith("as in Oct 2026, 4."), "the loss due did not come"
    lamb = one(girth(PEAK, 290), girth(YEAR_BEFORE, 350), LAMB)
    assert lamb.in_brief(YEAR_BEFORE).endswith("explain; he lost although he was still growing")


def test_year_on_year_goes_before_the_examination_before() -> None:
    # By hand: 1 Oct 2025 lies 365 days back, 15 Nov 2025 320, 1 Apr 2026 183, 17 Sep 2026 14.
    def of(*days: date) -> date | None:
        pairs = [compare(protocol(), RAM, girth(PEAK, 340), girth(d, 340), NORTH) for d in days]
        found = year_on_year(pairs)
        return found.then_on if found else None

    near, before = date(2025, 11, 15), date(2026, 9, 17)
    assert of(before, near, YEAR_BEFORE) == YEAR_BEFORE
    assert of(before, near) == near
    assert of(TROUGH, before) == before
    assert of() is None
    # 355 and 375 days back: equally near, so the later.
    assert of(date(2025, 9, 21), date(2025, 10, 11)) == date(2025, 10, 11)


# --- growth -------------------------------------------------------------------------------------

LAMB = Ram("r1", born=Born.on(date(2025, 3, 1)))  # 7 months at the first examination


def test_lamb_that_became_an_adult_is_not_judged() -> None:
    found = one(girth(PEAK, 350), girth(YEAR_BEFORE, 290), LAMB)
    assert (found.judgement, found.why) == (Judgement.CANNOT_SAY, "he was still growing")


def test_lamb_that_lost_size_has_really_lost() -> None:
    found = one(girth(PEAK, 290), girth(YEAR_BEFORE, 350), LAMB)
    assert found.judgement is Judgement.REAL
    assert found.why == "he lost although he was still growing"


def test_lamb_that_stayed_as_he_was_is_not_called_unchanged() -> None:
    # 5 mm less is within error, but a growing ram should have gained; nothing is said of him.
    found = one(girth(PEAK, 345), girth(YEAR_BEFORE, 350), LAMB)
    assert (found.judgement, found.why) == (Judgement.CANNOT_SAY, "he was still growing")


def test_growth_is_no_matter_of_condition() -> None:
    found = one(exam(PEAK, condition=(350,)), exam(YEAR_BEFORE, condition=(250,)), LAMB)
    assert found.judgement is Judgement.REAL


@pytest.mark.parametrize(
    ("born", "why"),
    [
        (Born.on(date(2024, 8, 1)), ""),  # 14 months to the day: grown
        (Born.on(date(2024, 8, 2)), "he was still growing"),
        (Born.in_year(2024), "he may still have been growing"),
        (Born.in_year(2023), ""),
        (None, "his age is not known, and he may have been growing"),
    ],
)
def test_growth_ends_at_the_protocols_age(born: Born | None, why: str) -> None:
    found = one(girth(PEAK, 360), girth(YEAR_BEFORE, 340), Ram("r1", born=born))
    assert found.why == why
    assert found.judgement is (Judgement.CANNOT_SAY if why else Judgement.REAL)


def test_age_class_serves_where_no_birth_is_known() -> None:
    shearling = Ram("r1", age_class="shearling", age_class_on=YEAR_BEFORE)
    found = one(girth(PEAK, 360), girth(YEAR_BEFORE, 340), shearling)
    assert found.why == "he may still have been growing", "12 to 24 months on that day"


def test_growth_figure_in_another_unit_is_refused() -> None:
    weeks = protocol('value = 14, unit = "months"', 'value = 60, unit = "weeks"')
    with pytest.raises(ProtocolError) as refused:
        one(girth(PEAK, 360), girth(YEAR_BEFORE, 340), protocol=weeks)
    assert refused.value.code == "protocol.unit"


# --- exchanging the two -------------------------------------------------------------------------

days = st.dates(date(2020, 1, 1), date(2028, 12, 31))
sizes = st.lists(st.integers(150, 500), min_size=1, max_size=4)
places = st.one_of(st.none(), st.floats(-70, 70))
births = st.one_of(st.none(), st.just(Born.on(date(2019, 6, 1))), st.just(Born.in_year(2023)))
FLIPPED = {
    Course.NEW: Course.GONE,
    Course.GONE: Course.NEW,
    Course.NOT_EXAMINED_NOW: Course.NOT_EXAMINED_THEN,
    Course.NOT_EXAMINED_THEN: Course.NOT_EXAMINED_NOW,
}


@given(days, days, sizes, sizes, places, births)
def test_exchange_turns_signs_and_keeps_judgements(a, b, first, second, place, born) -> None:
    if a == b:
        return
    ram = Ram("r1", born=born)
    there = one(girth(a, *first), girth(b, *second), ram, latitude_deg=place)
    back = one(girth(b, *second), girth(a, *first), ram, latitude_deg=place)
    assert there.difference == -back.difference
    assert there.adjusted == pytest.approx(-back.adjusted, abs=1e-9)
    assert there.detectable == pytest.approx(back.detectable)
    assert (there.judgement, there.why) == (back.judgement, back.why)


answers = st.one_of(st.none(), st.sampled_from(["firm", "soft", "hard"]))
several = st.one_of(st.none(), st.lists(st.sampled_from(["sound", "scald", "rot"]), unique=True))


@given(answers, answers, several, several)
def test_exchange_turns_new_into_gone(tone, tone_before, feet, feet_before) -> None:
    def at(on: date, tone: str | None, feet: list[str] | None) -> Examination:
        found: dict[str, Observed] = {}
        if tone is not None:
            found["tone_left"] = tone
        if feet is not None:
            found["feet"] = tuple(feet)
        return exam(on, **found)

    now, then = at(PEAK, tone, feet), at(YEAR_BEFORE, tone_before, feet_before)
    there, back = (
        compare(protocol(), RAM, now, then, NORTH),
        compare(protocol(), RAM, then, now, NORTH),
    )
    flipped = {(FLIPPED.get(f.course, f.course), f.check_id, f.then, f.now) for f in back.findings}
    assert {(f.course, f.check_id, f.now, f.then) for f in there.findings} == flipped
    assert there.not_examined_now == back.not_examined_then
    if tone is None:
        gone = [f for f in there.findings if f.check_id == "tone_left" and f.course is Course.GONE]
        assert not gone, "what was not looked at is not gone"


# --- findings -----------------------------------------------------------------------------------


def courses(now: Examination, then: Examination) -> list[tuple[str, str, str, str]]:
    found = compare(protocol(), RAM, now, then, NORTH).findings
    return [(f.check_id, f.course.value, f.now, f.then) for f in found]


@pytest.mark.parametrize(
    ("now", "then", "expected"),
    [
        ("firm", "firm", []),
        ("soft", "firm", [("tone_left", "new", "soft", "")]),
        ("firm", "soft", [("tone_left", "gone", "", "soft")]),
        ("soft", "soft", [("tone_left", "still there", "soft", "soft")]),
        ("hard", "soft", [("tone_left", "changed", "hard", "soft")]),
    ],
)
def test_course_of_a_single_answer(now: str, then: str, expected: list[object]) -> None:
    assert courses(exam(PEAK, tone_left=now), exam(YEAR_BEFORE, tone_left=then)) == expected


def test_course_of_several_answers_at_once() -> None:
    now, then = exam(PEAK, feet=("rot",)), exam(YEAR_BEFORE, feet=("scald", "rot"))
    assert courses(now, then) == [
        ("feet", "still there", "footrot", "footrot"),
        ("feet", "gone", "", "scald"),
    ]


def test_what_was_not_examined_is_never_gone_and_never_new() -> None:
    now = exam(PEAK, tone_left="soft")
    then = exam(YEAR_BEFORE, tone_right="hard", feet=("sound",), weight=(900,))
    assert courses(now, then) == [
        ("tone_left", "not examined then", "soft", ""),
        ("tone_right", "not examined now", "", "hard"),
    ]
    found = compare(protocol(), RAM, now, then, NORTH)
    assert found.measures == (), "a weight taken once cannot be compared"
    assert found.not_examined_then == ("Tone (left)",)
    assert found.not_examined_now == ("Feet", "Live weight", "Tone (right)")
    text = "\n".join(found.sentences())
    assert "not examined on 1 Oct 2025, so it may have been there" in text
    assert "hard on 1 Oct 2025; not examined on 1 Oct 2026, so it may still be there" in text


def test_no_reading_is_not_an_examination() -> None:
    found = compare(protocol(), RAM, girth(PEAK), girth(YEAR_BEFORE, 340), NORTH)
    assert found.measures == ()
    assert found.not_examined_now == ("Scrotal circumference",)


def test_checks_and_answers_of_another_protocol_are_shown_as_they_stand() -> None:
    now = exam(PEAK, tone_left="spongy", horn="loose")
    found = compare(protocol(), RAM, now, exam(YEAR_BEFORE, tone_left="firm"), NORTH)
    assert [(f.now, f.course) for f in found.findings] == [("spongy", Course.NEW)]
    assert found.not_covered == ("horn",)
    assert "Not in protocol change 1: horn." in found.sentences()


def test_another_rams_examination_is_refused() -> None:
    other = Examination("e9", "r2", YEAR_BEFORE, {})
    with pytest.raises(RecordError) as refused:
        compare(protocol(), RAM, girth(PEAK, 340), other, NORTH)
    assert refused.value.code == "record.refused"
    assert "e9" in str(refused.value)


# --- wording ------------------------------------------------------------------------------------


def lines(now: Examination, then: Examination, ram: Ram = RAM) -> tuple[str, ...]:
    found: Comparison = compare(protocol(), ram, now, then, NORTH)
    return found.sentences()


def test_sentences_of_measures() -> None:
    (line,) = lines(girth(PEAK, 325), girth(YEAR_BEFORE, 345))
    assert line == (
        "Scrotal circumference: 34.5 cm on 1 Oct 2025, 32.5 cm on 1 Oct 2026; 2.0 cm less. "
        "Real change (it takes 1.1 cm to be sure)."
    )
    (line,) = lines(exam(PEAK, condition=(350,)), exam(TROUGH, condition=(350,)))
    assert line == (
        "Condition score: 3.5 on 1 Apr 2026, 3.5 on 1 Oct 2026; no difference. "
        "Within measurement error (it takes 0.55 to be sure)."
    )
    (line,) = lines(girth(PEAK, 350), girth(YEAR_BEFORE, 290), LAMB)
    assert line == (
        "Scrotal circumference: 29.0 cm on 1 Oct 2025, 35.0 cm on 1 Oct 2026; 6.0 cm more. "
        "Cannot say: he was still growing."
    )


def test_shown_difference_is_that_of_the_shown_values() -> None:
    # 33.5 and 34.0 have the mean 33.75, shown as 33.8 here and in the verdict; 33.8 - 32.5 = 1.3.
    (line,) = lines(girth(PEAK, 335, 340), girth(YEAR_BEFORE, 325))
    assert "32.5 cm on 1 Oct 2025, 33.8 cm on 1 Oct 2026; 1.3 cm more." in line


def test_sentence_with_the_season_taken_off() -> None:
    (line,) = lines(girth(date(2027, 4, 1), 300), girth(PEAK, 360))
    assert "6.0 cm less. The season alone would make it 4.0 cm less; allowing for that: " in line
    assert line.endswith("Real change (it takes 1.9 cm to be sure).")


def test_findings_stand_new_first() -> None:
    now = exam(PEAK, feet=("rot",), tone_left="hard", tone_right="soft")
    then = exam(YEAR_BEFORE, feet=("scald",), tone_left="soft", tone_right="soft")
    assert lines(now, then) == (
        "New: Feet: footrot.",
        "Changed: Tone (left): hard; it was soft.",
        "Still there: Tone (right): soft.",
        "Gone: Feet: scald.",
    )


def test_nothing_to_compare_is_said() -> None:
    (line,) = lines(exam(PEAK), exam(YEAR_BEFORE))
    assert line.startswith("Nothing was examined at both visits")


# --- looking back -------------------------------------------------------------------------------


def test_windows_of_the_look_backs_do_not_meet() -> None:
    spans = [(d - window_days(d), d + window_days(d)) for d in LOOK_BACKS.values()]
    assert spans == [(10, 18), (20, 40), (305, 425), (670, 790)]


def back(*ago: int, on: date = PEAK) -> list[Examination]:
    return [exam(on - timedelta(days)) for days in ago]


def test_nearest_earlier_takes_the_nearest_within_the_window() -> None:
    found = nearest_earlier(back(0, 3, 13, 17, 29, 60, 300, 366, 700, 1200), PEAK)
    ago = {name: e and (PEAK - e.examined_on).days for name, e in found.items()}
    assert ago == {"two weeks": 13, "a month": 29, "a year": 366, "two years": 700}


def test_nearest_earlier_has_nothing_outside_its_windows() -> None:
    found = nearest_earlier(back(0, 9, 19, 41, 304, 426, 669, 791), PEAK)
    assert found == dict.fromkeys(LOOK_BACKS)
    assert nearest_earlier([], PEAK) == dict.fromkeys(LOOK_BACKS)


def test_of_two_equally_near_the_later_is_taken_in_any_order() -> None:
    early, late = back(16, 12)
    for known in ([early, late], [late, early]):
        assert nearest_earlier(known, PEAK, {"two weeks": 14})["two weeks"] is late


def test_replaced_and_later_examinations_are_left_out() -> None:
    (wrong,) = back(14)
    right = Examination("right", "r1", PEAK - timedelta(12), {}, replaces=wrong.exam_id)
    later = exam(PEAK + timedelta(14))
    found = nearest_earlier([wrong, right, later], PEAK, {"two weeks": 14})
    assert found["two weeks"] is right


def test_the_same_day_is_not_earlier() -> None:
    assert nearest_earlier(back(0), PEAK, {"that day": 0}) == {"that day": None}

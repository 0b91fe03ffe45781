"""A lasting fault found once does not go out of sight when a later record says normal.

What is expected here is counted by hand from `mini.toml`, whose rules are invented: a short jaw
limits his use and is heritable; broken teeth only bar a ram below condition 2.0; one blind eye
limits him; a hard testis bars him; scald and footrot are treated and pass.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from stell.core.lasting import FoundEarlier, found_earlier
from stell.core.protocol.load import load_shipped
from stell.core.records import Born, Examination, Ram
from tests.core.mini import examination, mini, ram

NOW, YEAR_AGO, TWO_YEARS_AGO = date(2026, 9, 1), date(2025, 9, 2), date(2024, 9, 3)


def exam(on: date, **found: object) -> Examination:
    return replace(examination(on, **found), exam_id=f"e{on}")  # type: ignore[arg-type]


def asked(now: Examination, *earlier: Examination) -> list[tuple[str, str, date]]:
    """Return what the vet is asked: check, what was found, when."""
    found = found_earlier(mini(), ram(), now, earlier)
    return [(f.check_id, f.found, f.found_on) for f in found]


def test_a_heritable_fault_gone_by_magic_is_put_to_the_vet() -> None:
    (found,) = found_earlier(mini(), ram(), exam(NOW), [exam(YEAR_AGO, jaw="short")])
    assert found == FoundEarlier("jaw", "Lower jaw", "short", "short", YEAR_AGO, True, True)
    assert found.sentence == "Lower jaw: short on 2 Sep 2025, not found this time"


def test_what_is_still_there_hides_nothing() -> None:
    assert asked(exam(NOW, jaw="short"), exam(YEAR_AGO, jaw="short")) == []


def test_another_lasting_answer_of_the_same_check_is_a_finding_of_its_own() -> None:
    assert asked(exam(NOW, jaw="blind"), exam(YEAR_AGO, jaw="short")) == []
    # Broken teeth in a ram of condition 3.5 are only noted, so the short jaw is out of sight.
    told = [("jaw", "short", YEAR_AGO)]
    assert asked(exam(NOW, jaw="broken"), exam(YEAR_AGO, jaw="short")) == told
    thin = exam(NOW, jaw="broken", condition=(175,))
    assert asked(thin, exam(YEAR_AGO, jaw="short")) == [], "broken teeth bar a ram of 1.75"


@pytest.mark.parametrize(
    "passing", [{"feet": ("scald",)}, {"feet": ("rot",)}, {"tone_left": "soft"}, {"jaw": "broken"}]
)
def test_what_passes_is_not_asked_about(passing: dict[str, object]) -> None:
    assert asked(exam(NOW), exam(YEAR_AGO, **passing)) == []


def test_a_rule_that_held_only_then_counts_only_then() -> None:
    thin = exam(YEAR_AGO, jaw="broken", condition=(175,))
    assert asked(exam(NOW), thin) == [("jaw", "teeth broken", YEAR_AGO)]


def test_a_side_is_asked_about_by_itself() -> None:
    then = exam(YEAR_AGO, tone_left="hard")
    now = exam(NOW, tone_right="hard")
    (found,) = found_earlier(mini(), ram(), now, [then])
    assert (found.check_id, found.title) == ("tone_left", "Tone (left)")
    assert not found.is_heritable


def test_the_heritable_is_remembered_over_years_and_the_rest_until_looked_at_again() -> None:
    old = exam(TWO_YEARS_AGO, jaw="short", tone_left="hard")
    assert asked(exam(NOW), old) == [
        ("jaw", "short", TWO_YEARS_AGO),
        ("tone_left", "hard", TWO_YEARS_AGO),
    ]
    assert asked(exam(NOW), exam(YEAR_AGO), old) == [("jaw", "short", TWO_YEARS_AGO)]
    unseen = exam(YEAR_AGO, tone_left=None)
    assert ("tone_left", "hard", TWO_YEARS_AGO) in asked(exam(NOW), unseen, old)


def test_found_twice_it_is_said_once_with_the_last_day() -> None:
    both = [exam(TWO_YEARS_AGO, jaw="short"), exam(YEAR_AGO, jaw="short")]
    told = [("jaw", "short", YEAR_AGO)]
    assert asked(exam(NOW), *both) == asked(exam(NOW), *both[::-1]) == told


def test_what_was_not_looked_at_may_still_be_there() -> None:
    (found,) = found_earlier(mini(), ram(), exam(NOW, jaw=None), [exam(YEAR_AGO, jaw="short")])
    assert not found.looked_at
    assert found.sentence == "Lower jaw: short on 2 Sep 2025, not looked at this time"


def test_a_record_that_was_wrong_and_the_future_do_not_count() -> None:
    wrong = exam(YEAR_AGO, jaw="short")
    right = replace(exam(YEAR_AGO), exam_id="right", replaces=wrong.exam_id)
    assert asked(exam(NOW), wrong, right) == []
    assert asked(exam(NOW), replace(exam(date(2026, 9, 20), jaw="short"), exam_id="x")) == []
    assert asked(exam(NOW), replace(exam(NOW, jaw="short"), exam_id="same day")) == []


def test_unknown_checks_and_answers_are_passed_over() -> None:
    odd = exam(YEAR_AGO, jaw="purple", tail="docked")
    assert asked(exam(NOW), odd) == []
    assert asked(exam(NOW, jaw="purple"), exam(YEAR_AGO, jaw="short")) == [
        ("jaw", "short", YEAR_AGO)
    ], "an answer that nobody knows is no proof of a sound jaw"


def test_a_small_testis_that_is_to_be_felt_again_is_open_and_in_a_grown_ram_it_lasts() -> None:
    # House protocol: a shrunken testis puts a young ram off and bars one above 14 months. Born
    # 1 Mar 2025 he is 6 months old on 2 Sep 2025; born 1 Mar 2023 he is 30 months old.
    house = load_shipped("house")
    then = Examination("a", "r", YEAR_AGO, {"testis_left": ("shrunken",)})
    now = Examination("b", "r", NOW, {"testis_left": ("normal",)})

    def of(born: date) -> list[str]:
        found = found_earlier(house, Ram("r", born=Born.on(born)), now, [then])
        return [f.brief for f in found]

    assert of(date(2025, 3, 1)) == []
    assert of(date(2023, 3, 1)) == ["one testicle much too small"]

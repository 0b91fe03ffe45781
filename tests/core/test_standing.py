"""What of a verdict stands after the vet's own word, and what a deed settles of it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from stell.core.deeds import Deed, Medicine, TakenBack
from stell.core.judge import judge
from stell.core.standing import (
    awaits_clearance,
    day_is_open,
    open_actions,
    settles,
    standing_actions,
    without_done,
)
from stell.core.verdict import Action, Decision, Outcome, Override
from tests.core.mini import EXAMINED, SEASON, examination, mini, ram

PROTOCOL = mini()
LATER = date(2026, 9, 3)


def decision(own: str = "", **found) -> Decision:
    """Judge a ram with these findings, with the vet's own verdict if there is one."""
    verdict = judge(PROTOCOL, ram(), examination(**found), SEASON)
    word = Override(Outcome(own), "temper", "A. Vet", LATER) if own else None
    return Decision(verdict, word)


def kinds(actions: tuple[Action, ...]) -> list[str]:
    return [a.kind for a in actions]


def deed(kind: str, *rules: str, **changes) -> Deed:
    return Deed("d1", "e1", kind, rules, LATER, "Shepherd", "A. Vet", **changes)


# ---------------------------------------------------------------- the vet's own word


# By tests/core/mini.toml: footrot treats, keeps apart and puts off 28 days; a hard testis rejects;
# a short jaw restricts; 32.2 cm lies within 0.4 cm of the limit of 32 cm; no sheath is incomplete.
@pytest.mark.parametrize(
    ("found", "own", "stands"),
    [
        ({"feet": ("rot",)}, "", ["isolate", "treat", "reexamine"]),
        ({"feet": ("rot",)}, "deferred", ["isolate", "treat", "reexamine"]),
        ({"feet": ("rot",)}, "satisfactory", ["isolate", "treat"]),
        ({"feet": ("rot",)}, "unsatisfactory", ["withdraw", "isolate", "treat"]),
        ({"tone_left": "hard"}, "satisfactory", []),
        ({"tone_left": "hard"}, "unsatisfactory", ["withdraw"]),
        ({"jaw": "short"}, "satisfactory", ["restrict"]),
        ({"jaw": "short"}, "unsatisfactory", ["withdraw"]),
        ({"circumference": (322,)}, "satisfactory", ["measure_again"]),
        ({"circumference": (322,)}, "unsatisfactory", ["withdraw"]),
        ({"sheath": None}, "satisfactory", []),
        ({"sheath": None}, "incomplete", ["complete"]),
        ({"feet": ("blisters",)}, "satisfactory", ["report", "isolate"]),
    ],
)
def test_what_stands_after_the_vets_own_word(found: dict, own: str, stands: list[str]) -> None:
    assert kinds(standing_actions(decision(own, **found))) == stands


def test_not_to_be_used_by_the_vets_word_alone_says_so_from_that_day() -> None:
    (action,) = standing_actions(decision("unsatisfactory"))
    assert (action.kind, action.due_on, action.rules) == ("withdraw", LATER, ())
    assert action.sentence == "unsatisfactory by the vet's own verdict: temper"
    assert action.finding == "unsatisfactory by the vet's own verdict"


def test_a_finding_is_a_sentence_without_what_to_do() -> None:
    isolate, treat, again = standing_actions(decision(feet=("rot",)))
    assert {a.finding for a in (isolate, treat, again)} == {"Feet: footrot"}
    assert treat.sentence == "Feet: footrot: Treat and keep apart."
    assert isolate.as_dict()["finding"] == "Feet: footrot"


def test_a_day_is_open_where_only_the_vet_puts_him_off() -> None:
    assert day_is_open(decision("deferred"))
    assert not day_is_open(decision("deferred", tone_left="soft")), "60 days by the protocol"
    assert not day_is_open(decision("deferred", feet=("blisters",))), "that is the authority's"
    assert awaits_clearance(decision("satisfactory", feet=("blisters",)))
    assert not awaits_clearance(decision("unsatisfactory", feet=("blisters",)))


# ---------------------------------------------------------------- deeds


def test_an_action_is_open_until_a_deed_settles_it() -> None:
    asked = decision(feet=("rot",))
    assert kinds(open_actions(asked)) == ["isolate", "treat", "reexamine"]
    treated = deed("treat", "feet.rot")
    assert kinds(open_actions(asked, [treated])) == ["isolate", "reexamine"]
    apart = deed("isolate", "feet.rot")
    assert kinds(open_actions(asked, [treated, apart])) == ["reexamine"]


def test_what_was_taken_back_is_open_again() -> None:
    mistaken = replace(
        deed("treat", "feet.rot"), taken_back=TakenBack("another ram", "A. Vet", LATER)
    )
    asked = decision(feet=("rot",))
    assert open_actions(asked, [mistaken]) == standing_actions(asked)


def test_one_of_two_treatments_leaves_the_other_open() -> None:
    asked = decision(feet=("scald",), sheath="sore")
    one = deed("treat", "feet.scald")
    left = [a for a in open_actions(asked, [one]) if a.kind == "treat"]
    assert [a.rules for a in left] == [("sheath.sore",)]
    both = deed("treat", "feet.scald", "sheath.sore")
    assert [a for a in open_actions(asked, [both]) if a.kind == "treat"] == []


def test_a_deed_settles_its_own_kind_and_no_rule_that_came_later() -> None:
    day = EXAMINED
    assert settles(deed("treat", "a", "b"), Action("treat", day, "", ("a",)))
    assert not settles(deed("treat", "a"), Action("treat", day, "", ("a", "b")))
    assert not settles(deed("treat", "a"), Action("isolate", day, "", ("a",)))
    assert settles(deed("withdraw"), Action("withdraw", day, "", ())), "the vet's own verdict"
    assert settles(deed("withdraw", "a"), Action("withdraw", day, "", ())), "he is out of use"
    assert not settles(deed("withdraw"), Action("withdraw", day, "", ("a",)))


def test_a_deed_never_changes_outcome_or_reasons() -> None:
    asked = decision(feet=("rot",))
    done = [deed("treat", "feet.rot"), deed("isolate", "feet.rot")]
    left = without_done(asked, done)
    assert (left.outcome, left.proposed.reasons) == (asked.outcome, asked.proposed.reasons)
    assert left.proposed.reexamine_on == asked.proposed.reexamine_on
    # He is still to be kept apart; that he was treated is over and done with.
    assert kinds(left.proposed.actions) == ["isolate", "reexamine"]
    assert without_done(asked, []) is asked


def test_medicine_has_no_say_in_what_is_settled() -> None:
    given = deed("treat", "feet.rot", medicine=Medicine("Invented"))
    action = standing_actions(decision(feet=("rot",)))[1]
    assert settles(given, action)

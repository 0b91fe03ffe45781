"""A half-finished examination: a few checks by name, the others counted, the full list kept."""

from stell.core.judge import judge
from stell.core.unseen import missing_lines, missing_text
from stell.core.verdict import Missing
from tests.core.mini import SEASON, examination, mini, ram


def verdict_without(*checks: str):
    return judge(mini(), ram(), examination(**dict.fromkeys(checks)), SEASON)


def complete_sentence(verdict) -> str:
    (action,) = [a for a in verdict.actions if a.kind == "complete"]
    return action.sentence


def test_up_to_four_are_told_one_by_one() -> None:
    verdict = verdict_without("jaw", "tone_left", "tone_right", "circumference")
    told = complete_sentence(verdict)
    assert told.count("not examined") == 4, told
    assert missing_lines(verdict.missing, examination(), mini()) == told.split("; ")


def test_more_are_counted_measures_first() -> None:
    verdict = verdict_without("jaw", "tone_left", "tone_right", "circumference", "sheath")
    told = complete_sentence(verdict)
    # The walk of mini.toml begins with the jaw; the circumference is the measure it asks for.
    assert told == "not examined: Scrotal circumference, Lower jaw, Tone (left) and 2 more"
    assert len(verdict.as_dict()["missing"]) == 5, "JSON keeps every one"


def test_what_is_missing_otherwise_stays_whole() -> None:
    verdict = verdict_without("jaw", "tone_left", "tone_right", "circumference", "sheath")
    other = Missing("feet", "Feet", "unknown_answer", "blue")
    text = missing_text([*verdict.missing, other], mini())
    assert text.endswith("and 2 more; Feet: the answer 'blue' is not in this protocol")


def test_lines_count_against_all_that_were_asked() -> None:
    taken = dict.fromkeys(("jaw", "tone_left", "tone_right", "circumference", "sheath"))
    exam = examination(**taken)
    lines = missing_lines(judge(mini(), ram(), exam, SEASON).missing, exam, mini())
    # Seven checks of a whole examination (NORMAL), five taken away; feet and condition are left.
    assert lines == ["5 of 7 checks not examined, among them scrotal circumference and lower jaw"]

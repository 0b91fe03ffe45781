"""What the owner is told of single rams: once for what is common, and nothing against the vet."""

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from stell.core.judge import judge
from stell.core.verdict import Decision, Outcome, Override
from stell.reports.judged import JudgedRam
from tests.reports.sample import VISIT, house_protocol, judged, report, sample_protocol


@pytest.fixture(scope="module")
def flock() -> list[JudgedRam]:
    return judged(60)


def seen(flock: list[JudgedRam], check: str, answer: Any) -> list[JudgedRam]:
    return [j for j in flock if j.exam.observations.get(check) == answer]


def by_vet(one: JudgedRam, outcome: Outcome) -> JudgedRam:
    own = Override(outcome, "I know him", "M. Harrow", VISIT)
    return replace(one, decision=Decision(one.decision.proposed, own))


def test_same_findings_and_same_day_stand_together(flock: list[JudgedRam]) -> None:
    lame = seen(flock, "gait", "lame")
    assert len(lame) == 2
    (again,) = report(judged=lame).again
    assert [r.tag for r in again.rams] == [j.ram.tag for j in lame]
    # by hand: 12 Aug 2026 and 14 days is 26 Aug, a Wednesday; to 25 Oct it is 5 + 30 + 25 days
    assert (again.due, again.before, again.in_time) == ("Wed 26 Aug 2026", "60 days", "yes")


def test_words_already_said_are_not_said_again(flock: list[JudgedRam]) -> None:
    first, second = seen(flock, "gait", "lame")
    later = replace(first.decision.proposed, reexamine_on=date(2026, 9, 2))
    made = report(judged=[replace(first, decision=Decision(later)), second])
    told = [a.meanwhile for a in made.again]
    assert told[0] != told[1]
    assert told[1] == (f"As for {second.ram.tag}.",) or told[1] == (f"As for {first.ram.tag}.",)


def test_an_overdue_ram_is_looked_at_now(flock: list[JudgedRam]) -> None:
    lame = seen(flock, "gait", "lame")[:1]
    (again,) = report(judged=lame, today=date(2026, 10, 20)).again
    # by hand: 20 to 25 October
    assert (again.due, again.away, again.before) == ("now", "was due 26 Aug 2026", "5 days")
    (late,) = report(judged=lame, today=date(2026, 10, 28)).again
    assert (late.before, late.in_time) == ("3 days after", "no")


def test_what_holds_for_many_is_said_once(flock: list[JudgedRam]) -> None:
    # sample.toml: quarantine 28 and settling 14 days: 25 Oct less 42 days is 13 Sep 2026, a Sunday;
    # soft and thin rams come back 60 and 56 days after 12 Aug, after that
    made = report(judged=flock)
    last = [a for a in made.advice if "Sun 13 Sep 2026" in a]
    assert len(last) == 1
    assert "their answer comes after the last useful day to buy or borrow" in last[0]
    assert not any("13 Sep" in line for again in made.again for line in again.meanwhile)


def test_a_ram_alone_is_spoken_of_as_one(flock: list[JudgedRam]) -> None:
    soft = seen(flock, "testis_left", "soft")[:1]
    (said,) = report(judged=soft).advice
    assert said.startswith(f"{soft[0].ram.tag}: his answer comes after")
    assert "If you cannot do without him, find cover by then" in said


def test_once_it_is_too_late_to_buy_the_ways_left_are_told(flock: list[JudgedRam]) -> None:
    soft = seen(flock, "testis_left", "soft")[:1]
    said = " ".join(report(judged=soft, today=date(2026, 9, 20)).advice)
    assert "share out his ewes" in said
    assert "find cover by then" not in said
    assert "The last useful day to buy or borrow was 13 Sep 2026" in said
    assert "Do not cut quarantine below" in said


def test_without_a_start_nothing_is_promised(flock: list[JudgedRam]) -> None:
    lame = seen(judged(60, start=None), "gait", "lame")
    made = report(judged=lame, mating_start_on=None)
    assert [a.in_time for a in made.again] == ["not known"]
    assert made.again[0].before == ""
    assert made.advice == ("Whether that is in time cannot be said without a start of mating.",)


def test_every_ram_with_a_reason_is_told_of_once(flock: list[JudgedRam]) -> None:
    made = report(judged=flock)
    named = [r.tag for a in made.again for r in a.rams] + [r.tag for p in made.told for r in p.rams]
    assert len(set(named)) == len(named)
    wanted = {j.ram.tag for j in flock if j.reasons or j.outcome is not Outcome.SATISFACTORY}
    assert wanted == set(named)


def test_words_against_the_vets_own_verdict_are_left_out(flock: list[JudgedRam]) -> None:
    bad = seen(flock, "testis_right", "hard")[0]
    (said,) = report(judged=[by_vet(bad, Outcome.SATISFACTORY)]).told
    assert said.outcome == "satisfactory"
    assert "The vet's own verdict, satisfactory: I know him." in said.told[0]
    assert "Do not use him" not in " ".join(said.told)


def test_what_still_has_to_be_treated_is_told_whatever_the_verdict(
    flock: list[JudgedRam],
) -> None:
    scabs = seen(flock, "lips", ("scabs",))[0]
    (said,) = report(judged=[by_vet(scabs, Outcome.SATISFACTORY)]).told
    assert "Gloves on, keep him apart." in " ".join(said.told)


def test_a_limit_on_use_is_told_with_what_it_means(flock: list[JudgedRam]) -> None:
    short = seen(flock, "jaw", "short")
    told = " ".join(line for p in report(judged=short).told for line in p.told)
    assert "Use him only for lambs that go for meat" in told


def test_what_passes_to_people_is_said_up_front(flock: list[JudgedRam]) -> None:
    scabs = seen(flock, "lips", ("scabs",))
    made = report(judged=flock)
    (said,) = made.warnings
    assert said.startswith("Can pass to people: ")
    assert all(j.ram.tag in said for j in scabs)
    assert report(judged=[j for j in flock if j not in scabs]).warnings == ()


def test_what_the_law_may_ask_for_is_said_first() -> None:
    house = house_protocol()
    one = judged(1, house)[0]
    both = {"muzzle": "scabs", "feet": ("blisters",)}
    exam = replace(one.exam, observations=dict(one.exam.observations) | both)
    ram = JudgedRam(one.ram, exam, Decision(judge(house, one.ram, exam)))
    first, second = report(protocol=house, judged=[ram]).warnings
    assert first.startswith("May have to be reported by law: K101.")
    assert second.startswith("Can pass to people: K101.")


def test_long_lists_of_open_points_are_cut_and_kept_on_record() -> None:
    protocol = sample_protocol()
    one = judged(1, protocol)[0]
    exam = replace(one.exam, observations={"gait": "sound"})
    open_one = JudgedRam(one.ram, exam, Decision(judge(protocol, one.ram, exam)))
    made = report(judged=[open_one])
    (said,) = made.told
    points = len(open_one.decision.proposed.missing)
    assert points > 3
    assert said.found == f"{points} points not yet examined"
    assert said.told[-1] == f"{points - 3} more points are still open; they are named at the end."
    (still,) = [r for r in made.remarks if r.title == "Still open"]
    assert still.said[0][1].count("not examined") == points

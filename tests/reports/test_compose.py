"""From verdicts to the words and numbers of the report."""

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from stell.core.judge import judge
from stell.core.records import Ram, Season
from stell.core.verdict import Decision, Outcome, Override
from stell.reports.compose import JudgedRam
from stell.reports.figures import measured_columns
from stell.reports.todo import standing_actions
from tests.reports.sample import RAMS_IN, VISIT, house_protocol, judged, report, sample_protocol


def with_outcome(rams: list[JudgedRam], outcome: Outcome) -> JudgedRam:
    return next(j for j in rams if j.decision.proposed.outcome is outcome)


def decided(ram: JudgedRam, outcome: Outcome) -> Decision:
    return Decision(ram.decision.proposed, Override(outcome, "I know him.", "M. Harrow", VISIT))


def kinds(decision: Decision) -> set[str]:
    return {a.kind for a in standing_actions(decision)}


@pytest.fixture(scope="module")
def flock() -> list[JudgedRam]:
    return judged(60)


def test_tallies_count_what_stands_not_what_was_proposed(flock: list[JudgedRam]) -> None:
    made = report(judged=flock)
    proposed = sum(j.decision.proposed.outcome is Outcome.DEFERRED for j in flock)
    stands = sum(j.decision.outcome is Outcome.DEFERRED for j in flock)
    tally = {t.outcome: t.count for t in made.tallies}
    assert sum(tally.values()) == 60
    assert tally["deferred"] == stands
    assert sum(j.decision.override is not None for j in flock) == 1
    assert proposed in (stands, stands - 1)


def test_nothing_of_a_ram_is_lost(flock: list[JudgedRam]) -> None:
    made = report(judged=flock)
    assert {r.tag for r in made.rams} == {j.ram.tag for j in flock}
    found = sum(len(r.reasons) for r in made.rams)
    assert found == sum(len(j.decision.proposed.reasons) for j in flock)


def test_rams_with_something_to_do_stand_first(flock: list[JudgedRam]) -> None:
    order = [r.outcome for r in report(judged=flock).rams]
    assert order == sorted(
        order, key=["deferred", "incomplete", "unsatisfactory", "satisfactory"].index
    )


def test_every_action_reaches_the_list(flock: list[JudgedRam]) -> None:
    made = report(judged=flock)
    listed = {(t.kind, label) for t in made.todos for label in t.rams}
    wanted = {(a.kind, j.ram.tag) for j in flock for a in standing_actions(j.decision)}
    assert wanted <= listed, sorted(wanted - listed)[:5]


def test_overdue_things_are_due_now() -> None:
    made = report(18, today=date(2026, 10, 1))
    now = [t for t in made.todos if t.due == "now"]
    assert now
    assert all(t.due_on == date(2026, 10, 1) for t in now)
    assert all(t.due_on is None or t.due_on >= date(2026, 10, 1) for t in made.todos)
    # by hand: examined 12 Aug 2026; scabs are treated within 1 day, a foot within 2; the lame ram
    # is seen again after 14 days, the one with scabs after 28
    away = {t.kind: t.away for t in now}
    assert away["treat"] == "was due from 13 Aug 2026 on"
    assert away["reexamine"] == "was due from 26 Aug 2026 on"
    assert away["isolate"] == "", "what simply goes on is never overdue"


def test_one_line_for_each_kind_of_action_and_day(flock: list[JudgedRam]) -> None:
    made = report(judged=flock)
    lines = [(t.kind, t.due_on) for t in made.todos]
    assert len(set(lines)) == len(lines)
    for todo in made.todos:
        assert len(set(todo.rams)) == len(todo.rams), f"{todo.kind}: a ram stands twice"


def test_rams_with_the_same_words_stand_together(flock: list[JudgedRam]) -> None:
    lame = [j for j in flock if j.exam.observations.get("gait") == "lame"]
    made = report(judged=lame)
    treat = next(t for t in made.todos if t.kind == "treat")
    assert [(w.words, len(w.labels)) for w in treat.whom] == [("feet: sore between the claws", 2)]


def test_words_of_the_house_are_the_owners() -> None:
    house = house_protocol()
    lame = next(j for j in judged(60, house) if j.exam.observations["gait"] == "lame_bearing")
    treat = next(t for t in report(protocol=house, judged=[lame]).todos if t.kind == "treat")
    assert [w.words for w in treat.whom] == ["lame, scald"]


def test_what_is_not_examined_is_named_in_short() -> None:
    house = house_protocol()
    one = judged(1, house)[0]
    seen = dict(one.exam.observations)
    del seen["circumference"]
    exam = replace(one.exam, observations=seen)
    verdict = judge(house, one.ram, exam, Season(RAMS_IN, 54.4))
    made = report(protocol=house, judged=[JudgedRam(one.ram, exam, Decision(verdict))])
    todo = next(t for t in made.todos if t.kind == "complete")
    assert [w.words for w in todo.whom] == ["circumference not yet examined"]


def test_the_owner_is_told_each_thing_once_of_one_ram(flock: list[JudgedRam]) -> None:
    lame = next(j for j in flock if j.exam.observations.get("gait") == "lame")
    made = report(judged=[lame])
    told = " ".join(line for again in made.again for line in again.meanwhile)
    assert told.count("He is lame. Have the cause treated") == 1
    assert made.told == (), "a deferred ram is told of once"


@pytest.mark.parametrize(
    ("own", "gone", "stays"),
    [
        (Outcome.SATISFACTORY, {"reexamine"}, {"treat", "isolate"}),
        (Outcome.UNSATISFACTORY, {"reexamine"}, {"treat", "isolate", "withdraw"}),
        (Outcome.DEFERRED, set(), {"treat", "isolate", "reexamine"}),
    ],
)
def test_what_stands_after_the_vets_own_verdict(
    flock: list[JudgedRam], own: Outcome, gone: set[str], stays: set[str]
) -> None:
    scabs = next(j for j in flock if j.exam.observations.get("lips") == ("scabs",))
    left = kinds(decided(scabs, own))
    assert stays <= left
    assert not gone & left


def test_a_day_the_protocol_cannot_name_is_asked_for(flock: list[JudgedRam]) -> None:
    fit = with_outcome(flock, Outcome.SATISFACTORY)
    made = report(judged=[replace(fit, decision=decided(fit, Outcome.DEFERRED))])
    asked = [t for t in made.todos if t.kind == "reexamine"]
    assert [(t.due_on, t.due) for t in asked] == [(None, "ask the vet")]
    assert made.rams[0].next_step == "examine again: ask the vet for the day"
    assert made.rams[0].ready == "not known"


def test_own_satisfactory_means_ready(flock: list[JudgedRam]) -> None:
    bad = with_outcome(flock, Outcome.UNSATISFACTORY)
    line = report(judged=[replace(bad, decision=decided(bad, Outcome.SATISFACTORY))]).rams[0]
    assert (line.outcome, line.ready) == ("satisfactory", "yes")
    assert line.own_verdict is not None
    assert line.own_verdict.proposed == "unsatisfactory"


def test_a_shared_tag_is_told_apart_by_name(flock: list[JudgedRam]) -> None:
    lame = [j for j in flock if j.exam.observations.get("gait") == "lame"][:2]
    twins = [
        replace(j, ram=replace(j.ram, tag="K1", name=name))
        for j, name in zip(lame, ("Fell", "Moss"), strict=True)
    ]
    labels = {x for t in report(judged=twins, not_examined=()).todos for x in t.rams}
    assert labels == {"K1 Fell", "K1 Moss"}


def test_measured_figures_with_limit_and_past() -> None:
    protocol = sample_protocol()
    ram = judged(1, protocol)[0]
    now = replace(
        ram.exam, observations=dict(ram.exam.observations) | {"circumference": (337, 342)}
    )
    past = replace(ram.exam, examined_on=date(2025, 9, 3), observations={"circumference": (330,)})
    line = report(1, judged=[replace(ram, exam=now, before=past)]).rams[0]
    size = next(m for m in line.measured if m.check_id == "circumference")
    # by hand: (33.7 + 34.2) / 2 = 33.95 cm, halves up to 34.0 cm
    assert (size.shown, size.before) == ("34.0 cm", "Sep 2025: 33.0")


def test_columns_are_what_is_always_measured_in_walk_order() -> None:
    assert [c.id for c in measured_columns(house_protocol())] == ["condition", "circumference"]


def test_unexamined_rams_are_named_and_keep_the_last_day_to_buy() -> None:
    fine = [j for j in judged(9) if j.decision.outcome is Outcome.SATISFACTORY]
    settled: dict[str, Any] = {"judged": fine, "not_examined": ()}
    assert "last_purchase" not in {t.kind for t in report(**settled).todos}
    open_one = report(judged=fine, not_examined=[Ram("z", tag="K9")])
    assert open_one.not_examined == ("K9",)
    assert "last_purchase" in {t.kind for t in open_one.todos}


def test_rams_judged_by_an_older_version_keep_their_own_rules() -> None:
    protocol = sample_protocol()
    older = replace(
        protocol,
        spec=protocol.spec.model_copy(update={"version": "2"}),
        sources={k: v.model_copy(update={"year": 1999}) for k, v in protocol.sources.items()},
    )
    soft = next(j for j in judged(60) if j.exam.observations.get("testis_left") == "soft")
    hard = next(j for j in judged(60) if j.exam.observations.get("testis_right") == "hard")
    made = report(judged=[replace(soft, protocol=older), hard], protocol=protocol)
    assert made.protocol == "sample 3 and sample 2"
    assert sorted("1999" in s.text for s in made.sources) == [False, False, True]


def test_the_summary_counts_only_those_whose_day_is_known(flock: list[JudgedRam]) -> None:
    lame = next(j for j in flock if j.exam.observations.get("gait") == "lame")
    fit = with_outcome(flock, Outcome.SATISFACTORY)
    put_off = replace(fit, decision=decided(fit, Outcome.DEFERRED))
    said = report(judged=[lame, put_off]).summary
    # by hand: 12 Aug 2026 and 14 days is 26 Aug, before 25 Oct; for the other no day is named
    assert said == (
        "Of 2 rams examined: none satisfactory yet; 2 to be examined again, of whom 1 can still "
        "be ready in time."
    )
    assert report(judged=[put_off]).summary.endswith("1 to be examined again.")


def test_an_overdue_ram_is_ready_no_sooner_than_today(flock: list[JudgedRam]) -> None:
    lame = next(j for j in flock if j.exam.observations.get("gait") == "lame")
    late = report(judged=[lame], today=date(2026, 10, 20))
    assert late.rams[0].ready == "if sound on 20 Oct"
    too_late = report(judged=[lame], today=date(2026, 10, 26))
    assert too_late.rams[0].ready == "no, too late"
    assert "1 to be examined again, who cannot be ready in time" in too_late.summary


def test_a_limit_on_use_has_no_day_and_stands_after_what_has(flock: list[JudgedRam]) -> None:
    todos = report(judged=flock).todos
    limit = next(t for t in todos if t.kind == "restrict")
    assert (limit.due_on, limit.due) == (None, "this season")
    dated = [i for i, t in enumerate(todos) if t.due_on is not None]
    assert todos.index(limit) > max(dated)

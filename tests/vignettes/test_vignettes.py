"""Rams in a vet's words, each with the verdict that the trade and the sources ask for.

The cases and the ground of every expectation stand in ``house.toml`` and ``published.toml``.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

import pytest

from stell.core.protocol.load import load_shipped
from stell.core.protocol.schema import Severity
from stell.core.verdict import ACTION_KINDS, Verdict
from tests.vignettes.cases import Case, judged, read

HOUSE = read("house.toml")
PUBLISHED = read("published.toml")
EVERY = (*HOUSE, *PUBLISHED)
NAMED = {True: "yes", False: "no"}


def differences(case: Case, said: Verdict) -> Iterator[str]:
    """Yield a sentence for everything in which the program and the expectation differ."""
    if said.outcome.value != case.verdict:
        yield f"verdict: expected {case.verdict}, got {said.outcome.value}"
    yield from _reasons(case, said)
    if set(said.restrictions) != set(case.restrictions):
        yield f"restrictions: expected {case.restrictions}, got {said.restrictions}"
    missing = {m.check_id for m in said.missing}
    if missing != set(case.missing):
        yield f"missing: expected {case.missing}, got {[m.sentence for m in said.missing]}"
    in_time = NAMED.get(said.ready_in_time, "cannot be said")
    if case.in_time not in ("any", in_time):
        yield f"ready in time: expected {case.in_time}, got {in_time}"
    fits = NAMED.get(said.fits_intended_use, "unknown")
    if case.fits not in ("any", fits):
        yield f"fits what he is for: expected {case.fits}, got {fits}"
    if case.classed is not None and said.classed != case.classed:
        yield f"class: expected {case.classed}, got {said.classed}"
    yield from _days(case, said)
    yield from _actions(case, said)


def _reasons(case: Case, said: Verdict) -> Iterator[str]:
    spoke = {r.rule.rule_id: r.severity for r in said.reasons}
    if lacking := set(case.reasons) - set(spoke):
        yield f"reasons: {sorted(lacking)} did not speak, only {sorted(spoke)}"
    heavy = {rule for rule, severity in spoke.items() if severity >= Severity.defer}
    if unasked := heavy - set(case.reasons):
        yield f"reasons: {sorted(unasked)} defers or rejects unasked"
    if case.silent and (spoke or said.actions):
        yield f"not silent: {sorted(spoke)}, {[a.kind for a in said.actions]}"
    raised = {flag for r in said.reasons for flag in r.rule.flags}
    if unflagged := set(case.flags) - raised:
        yield f"flags: {sorted(unflagged)} not raised, only {sorted(raised)}"


def _days(case: Case, said: Verdict) -> Iterator[str]:
    if case.again != "any" and said.reexamine_on != case.again:
        yield f"examine again: expected {case.again}, got {said.reexamine_on}"
    if case.again_from and (said.reexamine_on is None or said.reexamine_on < case.again_from):
        yield f"examine again: not before {case.again_from}, got {said.reexamine_on}"
    looks = tuple(sorted(a.due_on for a in said.actions if a.kind == "reexamine"))
    if case.looks is not None and looks != case.looks:
        yield f"all re-examinations: expected {case.looks}, got {looks}"


def _actions(case: Case, said: Verdict) -> Iterator[str]:
    kinds = [a.kind for a in said.actions]
    if lacking := set(case.actions) - set(kinds):
        yield f"actions: no {sorted(lacking)} among {kinds}"
    if unwanted := set(case.unwanted) & set(kinds):
        yield f"actions: {sorted(unwanted)} not wanted"
    if case.first and kinds[:1] != [case.first]:
        yield f"first action: expected {case.first}, got {kinds[:1]}"
    for kind, day in case.due.items():
        first = min((a.due_on for a in said.actions if a.kind == kind), default=None)
        if first != day:
            yield f"{kind}: first due on {first}, expected {day}"


@pytest.mark.parametrize("case", EVERY, ids=lambda case: case.name)
def test_the_program_says_what_the_trade_says(case: Case) -> None:
    found = list(differences(case, judged(case)))
    assert not found, "\n".join([case.name, *found, f"because {case.because}"])


# ------------------------------------------------------------------ the cases themselves


def test_every_case_has_a_name_of_its_own_and_a_ground() -> None:
    repeated = [name for name, n in Counter(c.name for c in EVERY).items() if n > 1]
    assert not repeated
    bare = [c.name for c in EVERY if len(c.because) < len("common practice, no source")]
    assert not bare, "say on what ground this is expected"


def test_the_cases_walk_round_the_whole_ram() -> None:
    house = load_shipped("house")
    met = {house.checks[check].spec.stop for c in HOUSE for check in c.found if c.reasons}
    assert met == {stop.id for stop in house.spec.stop}
    verdicts = Counter(c.verdict for c in HOUSE)
    assert min(verdicts[v] for v in ("satisfactory", "deferred", "unsatisfactory")) >= 15, verdicts
    assert verdicts["incomplete"] >= 5, verdicts


def test_every_expected_word_exists() -> None:
    # A misspelt rule among `reasons` fails by itself; a misspelt kind in `unwanted` would not.
    for case in EVERY:
        ready = load_shipped(case.protocol)
        kinds = {*case.actions, *case.unwanted, *case.due} | ({case.first} if case.first else set())
        assert kinds <= set(ACTION_KINDS), f"{case.name}: {kinds - set(ACTION_KINDS)}"
        assert set(case.skipped) <= set(ready.checks), case.name


# What can hardly go wrong: one note, or one treatment, in whatever ram.
UNMET = {
    "lumps.elsewhere",
    "breech.dirty",
    "semen_method.after_mating",
    "serving.mounts_without_serving",
}


def test_every_finding_of_the_house_is_met_in_some_case() -> None:
    met = {without_side(rule) for case in HOUSE for rule in case.reasons}
    spoken = {without_side(r.rule_id) for _, r in load_shipped("house").rules() if r.effects}
    assert not spoken - met - UNMET, "a finding that nobody has thought through from outside"
    assert not UNMET & met, "met after all"


def without_side(rule_id: str) -> str:
    """Return the id as the file has it, whichever testis it was."""
    return rule_id.replace("_left.", ".").replace("_right.", ".")


@pytest.mark.parametrize(
    ("change", "noticed"),
    [
        ({"verdict": "unsatisfactory"}, "verdict"),
        ({"reasons": ("feet.scald",)}, "reasons"),
        ({"reasons": ()}, "defers or rejects unasked"),
        ({"silent": True}, "not silent"),
        ({"restrictions": ("not_alone",)}, "restrictions"),
        ({"missing": ("penis",)}, "missing"),
        ({"again": None}, "examine again"),
        ({"in_time": "no"}, "ready in time"),
        ({"fits": "no"}, "fits"),
        ({"actions": ("withdraw",)}, "actions"),
        ({"unwanted": ("treat",)}, "not wanted"),
        ({"first": "report"}, "first action"),
        ({"looks": ()}, "all re-examinations"),
        ({"flags": ("notifiable",)}, "flags"),
        ({"classed": "exceptional"}, "class"),
    ],
    ids=lambda value: str(value),
)
def test_a_wrong_expectation_is_noticed(change: dict, noticed: str) -> None:
    case = next(c for c in HOUSE if c.reasons == ("feet.footrot",) and c.verdict == "deferred")
    said = judged(case)
    assert not list(differences(case, said)), "this one is meant to be right before it is changed"
    wrong = case.model_copy(update=change)
    assert any(noticed in line for line in differences(wrong, said)), noticed

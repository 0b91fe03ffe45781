"""Conditions: the three-valued logic as written down, and refusal of what cannot be meant."""

from __future__ import annotations

import pytest

from stell.core.errors import ProtocolError
from stell.core.protocol.conditions import (
    Fact,
    Span,
    compile_condition,
    context_facts,
    evaluate,
    facts_in,
)
from stell.core.units import UNITS

FACTS = {
    "age": Fact("age", "number", UNITS["months"]),
    "breed": Fact("breed", "word"),
    "feet": Fact("feet", "words", legal=("sound", "scald")),
    "wet": Fact("wet", "flag"),
}


def holds(raw: dict, **facts: object) -> bool | None:
    return evaluate(compile_condition(raw, FACTS, where="when"), facts)


# The table of the docstring, row by row (Kleene's strong logic: Kleene 1952, §64; from memory).
T = {"wet": True}
F = {"wet": False}
U = {"age": {"lt": 5}}  # age is not given below, so this is unknown


@pytest.mark.parametrize(
    ("raw", "expected"),
    [
        ({"all": [T, T]}, True),
        ({"all": [T, F]}, False),
        ({"all": [T, U]}, None),
        ({"all": [F, U]}, False),
        ({"all": [U, U]}, None),
        ({"any": [F, F]}, False),
        ({"any": [T, U]}, True),
        ({"any": [F, U]}, None),
        ({"any": [U, U]}, None),
        ({"not": U}, None),
        ({"not": T}, False),
        ({"not": F}, True),
        ({}, True),
    ],
)
def test_truth_table(raw: dict, expected: bool | None) -> None:
    assert holds(raw, wet=True) is expected


@pytest.mark.parametrize(
    ("op", "low", "high", "expected"),
    [
        ("lt", 20, 27, True),
        ("lt", 20, 28, None),
        ("lt", 28, 40, False),
        ("le", 20, 28, True),
        ("le", 28, 29, None),
        ("le", 29, 30, False),
        ("gt", 29, 30, True),
        ("gt", 28, 29, None),
        ("gt", 20, 28, False),
        ("ge", 28, 30, True),
        ("ge", 27, 28, None),
        ("ge", 20, 27, False),
        ("eq", 28, 28, True),
        ("eq", 20, 27, False),
        ("eq", 27, 29, None),
    ],
)
def test_a_span_is_true_or_false_only_when_all_of_it_agrees(
    op: str, low: int, high: int, expected: bool | None
) -> None:
    assert holds({"age": {op: 14}}, age=Span(low, high)) is expected


def test_between_has_both_ends_in() -> None:
    raw = {"age": {"between": [8, 14]}}
    assert [holds(raw, age=v) for v in (15, 16, 28, 29)] == [False, True, True, False]


def test_known_is_never_unknown() -> None:
    assert holds({"age": {"known": True}}) is False
    assert holds({"age": {"known": False}}) is True
    assert holds({"age": {"known": True}}, age=3) is True


def test_a_fact_with_several_values_is_what_any_of_them_is() -> None:
    assert holds({"feet": {"eq": "scald"}}, feet=("sound", "scald")) is True
    assert holds({"feet": {"in": ["scald"]}}, feet=("sound",)) is False
    assert holds({"feet": {"eq": "scald"}}, feet=()) is False


@pytest.mark.parametrize(
    ("raw", "text"),
    [
        ({"colour": {"eq": "x"}}, "legal: age, breed, feet, wet"),
        ({"age": {"under": 3}}, "legal: lt, le, gt, ge, eq, in, between, known"),
        ({"age": {"lt": "three"}}, "age is a number"),
        ({"age": {"between": [9, 3]}}, "the wrong way round"),
        ({"breed": {"lt": 3}}, "compares numbers, and breed is not one"),
        ({"feet": {"eq": "rotten"}}, "legal: sound, scald"),
        ({"all": []}, "takes a list of conditions"),
        ({"age": 3}, "needs a comparison"),
        ({"wet": {"eq": "yes"}}, "wet is true or false"),
    ],
)
def test_what_cannot_be_meant_is_refused_with_what_is_legal(raw: dict, text: str) -> None:
    with pytest.raises(ProtocolError) as refused:
        compile_condition(raw, FACTS, where="check[0].when")
    assert text in str(refused.value)
    assert "check[0].when" in str(refused.value)


def test_facts_of_a_condition_are_listed() -> None:
    raw = {"any": [{"age": {"lt": 3}}, {"not": {"wet": True}}], "breed": {"known": True}}
    assert facts_in(compile_condition(raw, FACTS, where="w")) == {"age", "wet", "breed"}


def test_context_facts_have_units_when_they_are_numbers() -> None:
    facts = context_facts()
    assert {f.name for f in facts.values() if f.kind == "number" and f.unit is None} == set()
    assert "age_months" in facts

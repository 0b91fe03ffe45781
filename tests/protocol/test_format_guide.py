"""The guide to protocol files keeps its word: its examples load, and it leaves no key out."""

from __future__ import annotations

import re
from pathlib import Path
from typing import get_args

import pytest
from pydantic import BaseModel

from stell.core.errors import ProtocolError
from stell.core.protocol import schema
from stell.core.protocol.conditions import COMPARISONS, context_facts
from stell.core.protocol.load import load_text, shipped_text
from stell.core.records import CIRCUMSTANCES, INTENDED_USES, RAM_TYPES
from stell.core.units import UNITS
from tests.protocol.rams import normal_findings

GUIDE = (Path(__file__).parents[2] / "docs" / "protocol-format.md").read_text(encoding="utf-8")
BLOCK = re.compile(r"```toml( row)?\n(.*?)```", re.DOTALL)


def example() -> str:
    """Return the guide's running example: its blocks, one under another."""
    return "\n".join(text for row, text in BLOCK.findall(GUIDE) if not row)


def house_with_the_row() -> str:
    """Return the house protocol with the guide's own standard before the general rows."""
    row = next(text for row, text in BLOCK.findall(GUIDE) if row)
    general = '  [[check.standard]]\n  id      = "lowland_shearling"'
    house = shipped_text("house")
    assert house.count(general) == 1
    return house.replace(general, f"{row}\n{general}")


def test_the_running_example_loads() -> None:
    ready = load_text(example(), where="protocol-format.md")
    checks = ["jaw", "tone_left", "tone_right", "condition", "circumference", "temperature"]
    assert list(ready.checks) == checks


def test_the_running_example_uses_every_key() -> None:
    ready = load_text(example())
    unused = [
        f"{type(part).__name__}.{key}"
        for part in (ready.spec, *ready.spec.check, *ready.spec.stop)
        for key in type(part).model_fields
        if not any(
            key in other.model_fields_set
            for other in (ready.spec, *ready.spec.check, *ready.spec.stop)
            if type(other) is type(part)
        )
    ]
    assert not unused, f"shown nowhere: {sorted(set(unused))}"


def models() -> list[type[BaseModel]]:
    found = [
        thing
        for thing in vars(schema).values()
        if isinstance(thing, type) and issubclass(thing, BaseModel) and thing.model_fields
    ]
    assert len(found) > 10
    return found


@pytest.mark.parametrize("model", models(), ids=lambda m: m.__name__)
def test_every_key_is_explained(model: type[BaseModel]) -> None:
    for key in model.model_fields:
        told = f"`{key}`" in GUIDE or re.search(rf"^\s*{key}\s*=|\[{key}\b|\.{key}\]", GUIDE, re.M)
        assert told, f"{model.__name__}.{key} is nowhere in the guide"


@pytest.mark.parametrize(
    "words",
    [
        get_args(schema.Basis),
        get_args(schema.EffectKind),
        get_args(schema.Flag),
        get_args(schema.Quantity),
        tuple(UNITS),
        tuple(context_facts()),
        COMPARISONS,
        RAM_TYPES,
        INTENDED_USES,
        CIRCUMSTANCES,
    ],
    ids=lambda w: w[0],
)
def test_every_word_of_a_closed_list_is_named(words: tuple[str, ...]) -> None:
    lacking = [w for w in words if not re.search(rf"`{w}\b", GUIDE)]
    assert not lacking, f"the guide does not name {lacking}"


def test_a_practices_own_row_stands_before_the_general_ones() -> None:
    from datetime import date

    from stell.core.judge import judge
    from stell.core.records import Born, Examination, Ram, Season

    ready = load_text(house_with_the_row())
    exam = Examination(
        "e1", "r1", date(2026, 9, 15), normal_findings() | {"circumference": (285, 285)}
    )
    season = Season(latitude_deg=60.2)
    outcomes = {
        breed: judge(
            ready, Ram("r1", breed=breed, born=Born.on(date(2024, 4, 1))), exam, season
        ).outcome.value
        for breed in ("shetland", "cheviot", "")
    }
    assert outcomes == {
        "shetland": "satisfactory",
        "cheviot": "unsatisfactory",
        "": "unsatisfactory",
    }


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('title = "Back and scrotum"', 'title = "Back and scrotum"\ncolour = "red"', "no key"),
        ("    ge      = 30", "    ge      = 31", "leave a hole"),
        ("    gt      = 38", "    gt      = 37", "overlap"),
        ('stop          = "back"', 'stop          = "tail"', "a stop that does not exist"),
        ('restriction = "not_replacements"', 'restriction = "never"', "restriction is not defined"),
        ("condition = { lt = 2 }", "mood = { lt = 2 }", "fact that does not exist"),
        ('unit                      = "cm"', 'unit                      = "inch"', "unit"),
    ],
)  # fmt: skip
def test_what_the_guide_says_is_refused_is_refused(old: str, new: str, told: str) -> None:
    text = example()
    assert text.count(old) >= 1, old
    with pytest.raises(ProtocolError) as info:
        load_text(text.replace(old, new, 1), where="ours.toml")
    assert told in str(info.value), str(info.value)
    assert "ours.toml, line " in str(info.value), "an error names its line"

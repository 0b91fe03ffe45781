"""The house protocol's answer to each finding lies within what is usual in the trade.

``findings.csv`` was typed from notes on the literature, not from the protocol;
each row names its source or says that there is none.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from tests.protocol.rams import verdict

from stell.core.protocol.load import load_shipped
from stell.core.protocol.schema import Severity

LETTERS = {
    Severity.reject: "R",
    Severity.defer: "D",
    Severity.restrict: "B",
    Severity.treat: "T",
    Severity.note: "N",
}


def usual_rows() -> list[dict[str, str]]:
    text = (Path(__file__).parent / "findings.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))


@pytest.mark.parametrize("row", usual_rows(), ids=lambda r: f"{r['check']}.{r['option']}")
def test_a_grown_ram_in_good_condition(row: dict[str, str]) -> None:
    house = load_shipped("house")
    check_id = row["check"] if row["check"] in house.checks else f"{row['check']}_left"
    several = house.checks[check_id].spec.several
    found = {check_id: (row["option"],) if several else row["option"]}
    result = verdict(**found)
    worst = max(r.severity for r in result.reasons if r.check.id == check_id)
    assert LETTERS[Severity(worst)] in row["usual"].split(), (
        f"usual: {row['usual']}, {row['source']}"
    )


def test_a_thin_ram_with_a_broken_mouth_is_not_used() -> None:
    # common practice, no source: by condition
    reasons = verdict(incisors="broken", condition=1.5).reasons
    assert max(r.severity for r in reasons if r.check.id == "incisors") == Severity.reject


@pytest.mark.parametrize(
    ("check", "option"),
    [
        # inherited, by common practice or (hernia) Smith 2006
        ("lower_jaw", "over_slight"),
        ("lower_jaw", "under_severe"),
        ("eyes", "lid_turned_in"),
        ("cords", "hernia"),
        ("testis_left", "undescended"),
        ("testis_left", "shrunken"),
        ("leg_shape", "marked_fault"),
    ],
)
def test_inherited_faults_are_marked(check: str, option: str) -> None:
    assert "heritable" in load_shipped("house").checks[check].rules[option].flags

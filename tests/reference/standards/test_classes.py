"""The shipped standards give what their sources print, edge by edge, and combine as these say.

Sources of the expected classes in ``classes.csv``:
- merck_older: Bedford-Guaus, Breeding soundness examination of rams, Merck Veterinary Manual,
  older edition (merckvetmanual.com), read whole.
- wrcc_type: Olurode, lecture on breeding soundness of ram and buck (slideplayer.com/amp/16532309),
  read in part; the cell "satisfactory above 14 months" is blank in that copy.
- smith_2006: The visual guide to ovine reproduction (visgar.vetmed.ufl.edu), pages on scrotum and
  semen, read whole.
"""

from __future__ import annotations

import csv
from datetime import date, timedelta
from pathlib import Path

import pytest

from stell.core.judge import judge
from stell.core.protocol.load import load_shipped
from stell.core.protocol.schema import Severity
from stell.core.records import Born, Examination, Ram
from stell.core.units import to_fixed
from stell.core.verdict import Outcome, Verdict

EXAMINED = date(2026, 9, 15)
PUBLISHED = ("merck_older", "smith_2006", "wrcc_type")


def published_rows() -> list[dict[str, str]]:
    text = (Path(__file__).parent / "classes.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))


ROWS = published_rows()


def born(age: str) -> Born:
    """Return the birth of a ram of that many months; "+" a day older, "-" a day younger."""
    months = int(age.rstrip("+-"))
    year, month = divmod(EXAMINED.year * 12 + EXAMINED.month - 1 - months, 12)
    day = date(year, month + 1, EXAMINED.day)
    return Born.on(day + timedelta(days={"+": -1, "-": 1}.get(age[-1], 0)))


def verdict(protocol: str, age: str, **measured: float) -> Verdict:
    ready = load_shipped(protocol)
    found = {
        check: (to_fixed(value, ready.checks[check].unit),) for check, value in measured.items()
    }
    ram = Ram("r1", born=born(age))
    return judge(ready, ram, Examination("e1", "r1", EXAMINED, found))


@pytest.mark.parametrize(
    "row", ROWS, ids=lambda r: f"{r['protocol']}-{r['age']}mo-{r['check']}-{r['value']}"
)
def test_published_class(row: dict[str, str]) -> None:
    result = verdict(row["protocol"], row["age"], **{row["check"]: float(row["value"])})
    met = [r for r in (*result.reasons, *result.findings) if r.check.id == row["check"]]
    why = f"the source says: {row['says']}; {row['taken']}"
    if row["class"] == "-":
        assert not met, why
        silent = [m.why for m in result.missing if m.check_id == row["check"]]
        assert silent == ["no_standard"], why
        return
    assert [r.rule.classed for r in met] == [row["class"]], why
    effect = Severity(met[0].severity).name if met[0].severity else "none"
    assert effect == row["effect"], why


def test_the_table_covers_every_class_of_every_shipped_standard() -> None:
    covered = {(r["protocol"], r["check"], r["class"]) for r in ROWS}
    lacking = [
        (name, check.id, band.rule.classed)
        for name in PUBLISHED
        for check in load_shipped(name).checks.values()
        for standard in check.standards
        for band in standard.bands
        if (name, check.id, band.rule.classed) not in covered
    ]
    assert not lacking, f"no outside value for {lacking}"


# Merck, older edition: one unsatisfactory part makes the ram unsatisfactory, one questionable part
# makes him questionable; exceptional needs circumference, motility and shape all exceptional.
@pytest.mark.parametrize(
    ("cm", "motile", "normal", "combined"),
    [
        (41, 75, 85, "exceptional"),
        (40, 75, 85, "satisfactory"),
        (41, 70, 85, "satisfactory"),
        (41, 75, 80, "satisfactory"),
        (41, 75, 45, "questionable"),
        (31, 75, 85, "questionable"),
        (41, 0, 85, "unsatisfactory"),
        (31, 75, 25, "unsatisfactory"),
    ],
)
def test_the_worst_part_decides(cm: float, motile: float, normal: float, combined: str) -> None:
    result = verdict(
        "merck_older",
        "24",
        circumference=cm,
        motility=motile,
        normal_sperm=normal,
        condition=3,
        white_cells=2,
    )
    assert result.classed == combined, "good condition and few white cells hold nobody back"


def test_the_two_families_disagree_on_60_percent_normal() -> None:
    # knowledge of the trade, from the two tables: 60 % is satisfactory in one, questionable in the
    # other. Both verdicts must be kept apart, never blended.
    assert verdict("merck_older", "24", normal_sperm=60).classed == "satisfactory"
    assert verdict("wrcc_type", "24", normal_sperm=60).classed == "questionable"


@pytest.mark.parametrize("protocol", PUBLISHED)
def test_a_sheet_without_semen_is_incomplete_under_the_published_standards(protocol: str) -> None:
    result = verdict(protocol, "24", circumference=38)
    assert result.outcome is Outcome.INCOMPLETE, result.headline
    assert "motility" in {m.check_id for m in result.missing}, "semen belongs to these standards"


@pytest.mark.parametrize(
    ("finding", "outcome"),
    [
        # a lump of testis or epididymis, or a major fault of the genitalia: unsatisfactory
        ({"testis_left": ("lump",)}, Outcome.UNSATISFACTORY),
        ({"epididymis_right": ("tail_enlarged",)}, Outcome.UNSATISFACTORY),
        ({"external_genitalia": "major_abnormality"}, Outcome.UNSATISFACTORY),
        ({"brucella_test": "positive"}, Outcome.UNSATISFACTORY),
        # a suspect test is repeated; alone it condemns nobody
        ({"brucella_test": "suspect"}, Outcome.INCOMPLETE),
    ],
    ids=str,
)
def test_physical_findings_of_the_older_manual(finding: dict, outcome: Outcome) -> None:
    ram = Ram("r1", born=born("24"))
    result = judge(load_shipped("merck_older"), ram, Examination("e1", "r1", EXAMINED, finding))
    assert result.outcome is outcome, [r.sentence for r in result.reasons]


@pytest.mark.parametrize(("age", "wanted"), [("9", False), ("9+", True), ("24", True)])
def test_the_blood_test_is_asked_for_above_9_months(age: str, wanted: bool) -> None:
    # Merck, older edition: ELISA for rams above 9 months
    missing = {m.check_id for m in verdict("merck_older", age, circumference=35).missing}
    assert ("brucella_test" in missing) is wanted, missing

"""Real sheets on disk: judged without a store, brought in, read the way they were read before."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from tests.core.mini import mini
from tests.services.sheets import BY, NOW, row, timed
from tests.services.sheets import reading as sheet_of

from stell.core.errors import SheetError
from stell.core.intake import ReadingRules
from stell.core.records import Season
from stell.core.verdict import Outcome
from stell.services import flocks
from stell.services.comparing import compare_on
from stell.services.intake import ImportResult, import_sheet, judge_sheet
from stell.store import models

ROOT = Path(__file__).parents[2]
RULES = ReadingRules(today=date(2026, 9, 2))
SEASON = Season(date(2026, 11, 5), 54.0)
HEADER = "tag,born_on,examined_on,jaw,feet,tone_left,tone_right,circumference_cm,sheath"
WELL = "1,2023-03-10,2026-09-01,meets,sound,firm,firm,34.5,clean"
SOFT = "2,2023-03-10,2026-09-01,meets,sound,soft,firm,34.5,clean"


def write(path: Path, *lines: str) -> Path:
    """Write a CSV file."""
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


@pytest.fixture
def flock(store: Path) -> None:
    """Hill End, without rams."""
    flocks.add_flock("Hill End", latitude_deg=54.0, by=BY, now=NOW)


def bring_in(path: Path, rules: ReadingRules = RULES, **terms: object) -> ImportResult:
    """Import a file."""
    given = {"flock": "Hill End", "protocol": mini(), "by": BY, "now": NOW} | terms
    return import_sheet(path, rules=rules, **given)  # type: ignore[arg-type]


def test_a_sheet_is_judged_without_a_store(tmp_path: Path) -> None:
    told: list[tuple[int, int]] = []
    path = write(tmp_path / "flock.csv", HEADER, WELL, SOFT)
    found = judge_sheet(path, mini(), RULES, SEASON, progress=lambda d, t: told.append((d, t)))
    outcomes = [(r.row.ram.tag, r.decision.outcome) for r in found.rows]
    assert outcomes == [("1", Outcome.SATISFACTORY), ("2", Outcome.DEFERRED)]
    assert found.counts == {Outcome.SATISFACTORY: 1, Outcome.DEFERRED: 1}
    assert told == [(2, 2)]


def test_the_vets_own_verdict_counts_there_too(tmp_path: Path) -> None:
    path = write(
        tmp_path / "flock.csv",
        HEADER + ",examiner,override,override_reason",
        WELL + ",A. Vet,unsatisfactory,temper",
    )
    (only,) = judge_sheet(path, mini(), RULES, SEASON).rows
    assert only.decision.outcome is Outcome.UNSATISFACTORY
    assert only.decision.proposed.outcome is Outcome.SATISFACTORY
    assert only.decision.override is not None
    assert (only.decision.override.by, only.decision.override.reason) == ("A. Vet", "temper")


def test_judging_a_sheet_loads_no_database(tmp_path: Path) -> None:
    code = "import sys; from stell.services.intake import judge_sheet; "
    code += "assert not {'django', 'sqlite3'} & sys.modules.keys(), sorted(sys.modules)"
    environment = os.environ | {"PYTHONPATH": str(ROOT / "src")}
    done = subprocess.run(
        [sys.executable, "-c", code], env=environment, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr


@pytest.mark.usefixtures("flock")
def test_a_file_is_brought_in_and_named(tmp_path: Path) -> None:
    path = write(tmp_path / "flock.csv", HEADER, WELL, SOFT)
    result = bring_in(path)
    assert (result.stored, result.problems) == (2, ())
    sheet = models.SheetImport.objects.get()
    import hashlib

    assert (sheet.name, sheet.sha256) == (
        "flock.csv",
        hashlib.sha256(path.read_bytes()).hexdigest(),
    )
    assert [c["meaning"] for c in sheet.columns][:3] == ["tag", "born_on", "examined_on"]
    assert bring_in(path).unchanged == 2


@pytest.mark.usefixtures("flock")
def test_a_bad_cell_holds_everything_back_until_told_otherwise(tmp_path: Path) -> None:
    bad = SOFT.replace("soft", "squishy")
    path = write(tmp_path / "flock.csv", HEADER, WELL, bad)
    held = bring_in(path)
    assert (held.stored, held.refused) == (0, 1)
    assert "row 3" in held.problems[0].where, held.problems[0].text()
    assert models.Ram.objects.count() == 0
    kept = bring_in(path, accept_good_rows=True)
    assert (kept.stored, kept.refused, len(kept.problems)) == (1, 1, 1)


@pytest.mark.usefixtures("flock")
def test_a_sheet_that_cannot_be_read_stores_nothing(tmp_path: Path) -> None:
    with pytest.raises(SheetError):
        bring_in(write(tmp_path / "flock.csv", "a,b", "1,2"))
    assert models.SheetImport.objects.count() == 0


@pytest.mark.usefixtures("flock")
def test_columns_are_read_as_a_person_matched_them_before(tmp_path: Path) -> None:
    header = HEADER.replace("circumference_cm", "wideness").replace("tag", "lug")
    given = replace(RULES, given={"wideness": "circumference", "lug": "tag"})
    first = write(tmp_path / "first.csv", header, WELL)
    second = write(tmp_path / "second.csv", header.upper(), SOFT)
    assert bring_in(first, given).stored == 1
    deed = models.AuditEntry.objects.get(action="match")
    assert deed.after == {"wideness": "circumference", "lug": "tag"}
    saved = models.ColumnMapping.objects.get()
    models.ColumnMapping.objects.update(columns={k.upper(): v for k, v in saved.columns.items()})
    result = bring_in(second)
    assert (result.stored, result.problems) == (1, ())
    soft = models.Examination.objects.get(ram__tag="2")
    assert soft.observations["circumference"] == [345]
    columns = {c["header"]: c["why"] for c in soft.sheet_import.columns}
    assert columns["WIDENESS"] == "saved"


@pytest.mark.usefixtures("flock")
def test_a_remembered_unit_counts_the_next_time_too(tmp_path: Path) -> None:
    header = HEADER.replace("circumference_cm", "wideness")
    given = replace(RULES, given={"wideness": "circumference (mm)"})
    assert (
        bring_in(write(tmp_path / "1.csv", header, WELL.replace("34.5", "345")), given).stored == 1
    )
    assert bring_in(write(tmp_path / "2.csv", header, SOFT.replace("34.5", "345"))).stored == 1
    soft = models.Examination.objects.get(ram__tag="2")
    assert soft.observations["circumference"] == [345]


@pytest.mark.usefixtures("flock")
def test_a_refused_sheet_teaches_nothing(tmp_path: Path) -> None:
    header = HEADER.replace("circumference_cm", "wideness")
    given = replace(RULES, given={"wideness": "circumference"})
    path = write(tmp_path / "flock.csv", header, SOFT.replace("soft", "squishy"))
    assert bring_in(path, given).problems
    assert models.ColumnMapping.objects.count() == 0


@pytest.mark.usefixtures("flock")
def test_a_remembered_meaning_that_a_protocol_lacks_is_left_out(tmp_path: Path) -> None:
    given = replace(RULES, given={"wideness": "circumference"})
    header = HEADER.replace("circumference_cm", "wideness")
    bring_in(write(tmp_path / "first.csv", header, WELL), given)
    models.ColumnMapping.objects.update(columns={"wideness": "belly_girth"})
    result = bring_in(write(tmp_path / "second.csv", header, SOFT))
    assert result.problems == (), [p.text() for p in result.problems]


def test_whose_verdict_differs_between_two_protocols() -> None:
    stricter = timed(
        "2",
        soft='label = "soft"\neffects = [{ kind = "defer", days = 60 }] -> '
        'label = "soft"\neffects = [{ kind = "reject" }]',
    )
    sheet = sheet_of([row(2, tag="1"), row(3, tag="2", tone_left="soft"), row(4, tag="3")])
    found = compare_on(sheet, timed(), stricter, SEASON)
    (only,) = found.rows
    assert (only.row.ram.tag, only.a.outcome, only.b.outcome) == (
        "2",
        Outcome.DEFERRED,
        Outcome.UNSATISFACTORY,
    )
    assert found.judged == 3
    assert compare_on(sheet, timed(), timed(), SEASON).rows == ()


def test_a_deferral_of_another_length_is_a_difference() -> None:
    longer = timed(
        "3",
        soft='label = "soft"\neffects = [{ kind = "defer", days = 60 }] -> '
        'label = "soft"\neffects = [{ kind = "defer", days = 61 }]',
    )
    found = compare_on(sheet_of([row(2, tag="1", tone_left="soft")]), timed(), longer, SEASON)
    (only,) = found.rows
    assert (only.b.reexamine_on, only.a.reexamine_on) == (date(2026, 11, 1), date(2026, 10, 31))
    assert only.b.reexamine_on - only.a.reexamine_on == timedelta(days=1)

"""What docs/sheets.md and docs/open-json.md show is read by the program as they say."""

import json
import re
from datetime import date
from pathlib import Path

from jsonschema import Draft202012Validator

from stell.core.intake import INTAKE_FIELDS, ReadingRules
from stell.core.protocol.load import load_shipped
from stell.core.units import UNITS
from stell.exchange import limits
from stell.exchange.open_json import load, shipped_schema
from stell.exchange.reading import read_sheet

DOCS = Path(__file__).parents[2] / "docs"
SHEETS = (DOCS / "sheets.md").read_text(encoding="utf-8")
OPEN_JSON = (DOCS / "open-json.md").read_text(encoding="utf-8")


def block(text: str, kind: str) -> str:
    """Return the one example of that kind."""
    (found,) = re.findall(rf"```{kind}\n(.*?)```", text, re.DOTALL)
    return found


def test_the_sheet_shown_is_read(tmp_path: Path) -> None:
    path = tmp_path / "flock.csv"
    path.write_text(block(SHEETS, "csv"), encoding="utf-8")
    reading = read_sheet(path, load_shipped("house"), ReadingRules(today=date(2026, 11, 25)))
    assert not reading.problems, [str(p) for p in reading.problems]
    assert all(c.meaning for c in reading.columns)
    first, second = reading.rows
    assert first.exam.observations["circumference"] == (345, 340)
    assert first.exam.observations["condition"] == (350,)
    assert second.exam.remarks == {"gait": "left fore, nothing seen in the foot"}
    assert second.exam.observations["testis_tone_right"] == "soft"


def test_the_document_shown_fits_the_schema_and_is_read() -> None:
    text = block(OPEN_JSON, "json")
    Draft202012Validator(shipped_schema()).validate(json.loads(text))
    (record,) = load(text)
    assert record.exam.observations["circumference"] == (345, 340)
    assert record.override is not None


def test_every_field_and_every_unit_is_explained() -> None:
    assert not [name for name in INTAKE_FIELDS if f"`{name}`" not in SHEETS]
    assert not [u.fixed for u in UNITS.values() if f"`{u.fixed}`" not in OPEN_JSON]


def test_the_limits_are_those_of_the_program() -> None:
    assert f"{limits.MAX_FILE_BYTES // 2**20} MB, {limits.MAX_UNPACKED_BYTES // 2**20} MB" in SHEETS
    assert f"{limits.MAX_ROWS:,}, {limits.MAX_COLUMNS:,}, 12 million" in SHEETS
    assert limits.MAX_CELLS == 12_000_000

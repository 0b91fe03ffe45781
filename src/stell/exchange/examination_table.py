"""Examinations as a table: the columns of a protocol, and rows that `reading` understands again."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from stell.core.intake import INTAKE_FIELDS, IntakeRow
from stell.core.protocol.ready import ReadyCheck, ReadyProtocol
from stell.core.records import Born, Observed
from stell.core.units import from_fixed
from stell.exchange.electronic_id import parse
from stell.exchange.tables_out import TableField

_KINDS = {"tag": "id", "eid": "id", "exam_id": "id", "examined_on": "date"}
_BEFORE = (
    "flock", "tag", "eid", "name", "breed", "ram_type", "born_on", "age_class", "intended_use",
    "circumstances", "examined_on", "examiner",
)  # fmt: skip
_AFTER = ("note", "override", "override_reason", "exam_id")
_UNITLESS = frozenset({"count", "ratio"})


def column_name(check: ReadyCheck, reading: int = 1) -> str:
    """Return the column title of a check: its id, its unit and the number of the reading.

    Examples
    --------
    >>> from stell.core.protocol.load import load_shipped
    >>> column_name(load_shipped("house").checks["circumference"], 2)
    'circumference_cm_2'
    """
    name = check.id
    if check.unit and check.unit.name not in _UNITLESS and not name.endswith(check.unit.name):
        name = f"{name}_{check.unit.name}"
    return name if reading == 1 else f"{name}_{reading}"


def most_readings(rows: Iterable[IntakeRow]) -> dict[str, int]:
    """Return for each measured check how many readings a row has at most."""
    most: dict[str, int] = {}
    for row in rows:
        for check_id, observed in row.exam.observations.items():
            if isinstance(observed, tuple) and observed and isinstance(observed[0], int):
                most[check_id] = max(most.get(check_id, 1), len(observed))
    return most


def fields_for(
    protocol: ReadyProtocol,
    *,
    readings: Mapping[str, int] | None = None,
    remarks: Iterable[str] = (),
) -> list[TableField]:
    """Return the columns of a table of examinations under a protocol.

    Parameters
    ----------
    protocol : ReadyProtocol
    readings : mapping of check id to int, optional
        How many columns a measured check gets; 1 where it is not named.
    remarks : iterable of str
        Checks that get a column for remarks.
    """
    fields = [_intake_field(name) for name in _BEFORE]
    for check in protocol.checks.values():
        for reading in range(1, (readings or {}).get(check.id, 1) + 1):
            fields.append(_check_field(check, reading))
    for check_id in remarks:
        about = f"Remark on: {protocol.checks[check_id].title}"
        fields.append(TableField(f"remark:{check_id}", about=about))
    return [*fields, *(_intake_field(name) for name in _AFTER)]


def _intake_field(name: str) -> TableField:
    constraints = {"required": True} if name == "examined_on" else {}
    about = INTAKE_FIELDS[name]
    if name == "born_on":
        about = "birth: ISO 8601 day, month or year, or two days parted by a slash"
    return TableField(name, _KINDS.get(name, "text"), about, constraints)


def _check_field(check: ReadyCheck, reading: int) -> TableField:
    name = column_name(check, reading)
    if check.unit is not None:
        low, high = (from_fixed(v, check.unit) for v in check.plausible)
        about = f"{check.title} [{check.unit.symbol or check.unit.name}]"
        about += f", reading {reading}" if reading > 1 else ""
        return TableField(name, "number", about, {"minimum": low, "maximum": high})
    if check.spec.several:
        about = f"{check.title}; one or several of: {', '.join(check.rules)}, parted by semicolons"
        return TableField(name, "text", about)
    return TableField(name, "text", check.title, {"enum": list(check.rules)})


def values_of(row: IntakeRow, protocol: ReadyProtocol) -> dict[str, Any]:
    """Return one examination as values for `fields_for`'s columns.

    What the protocol does not cover is left out; the open JSON form keeps everything.
    """
    ram, exam = row.ram, row.exam
    values: dict[str, Any] = {
        "flock": row.flock,
        "tag": ram.tag,
        "eid": parse(ram.eid).display if ram.eid else "",
        "name": ram.name,
        "breed": ram.breed,
        "ram_type": ram.ram_type,
        "born_on": written_birth(ram.born),
        "age_class": ram.age_class if ram.age_class_on == exam.examined_on else "",
        "intended_use": ram.intended_use,
        "circumstances": "; ".join(exam.circumstances),
        "examined_on": exam.examined_on,
        "examiner": exam.examiner,
        "note": exam.note,
        "override": row.override.value if row.override else "",
        "override_reason": row.override_reason,
        "exam_id": exam.exam_id,
    }
    for check_id, observed in exam.observations.items():
        check = protocol.checks.get(check_id)
        if check is not None:
            values.update(_observed(check, observed))
    for check_id, remark in exam.remarks.items():
        values[f"remark:{check_id}"] = remark
    return values


def _observed(check: ReadyCheck, observed: Observed) -> dict[str, Any]:
    if check.unit is not None:
        readings = [v for v in observed if isinstance(v, int)]
        values = [_number(from_fixed(v, check.unit), check.unit.name) for v in readings]
        return {column_name(check, i): value for i, value in enumerate(values, 1)}
    answers = (observed,) if isinstance(observed, str) else observed
    return {check.id: "; ".join(map(str, answers))}


def _number(value: float, unit: str) -> float | str:
    """Return a value as a number; one percent and less as text, which means what it says.

    A number cell of 0.7 is also what a spreadsheet makes of 70 %, so reading refuses it.
    """
    return f"{value:g}" if unit == "percent" and 0 < value <= 1 else value


def written_birth(born: Born | None) -> date | str:
    """Return a birth as a day, or as text: a month, a year, or an interval of days (ISO 8601).

    Examples
    --------
    >>> written_birth(Born.in_month(2024, 4)), written_birth(Born.in_year(2024))
    ('2024-04', '2024')
    >>> written_birth(Born(date(2025, 3, 5), date(2025, 4, 4)))
    '2025-03-05/2025-04-04'
    """
    if born is None:
        return ""
    if born.is_exact:
        return born.earliest
    year, month = born.earliest.year, born.earliest.month
    if born == Born.in_year(year):
        return str(year)
    if born == Born.in_month(year, month):
        return f"{year}-{month:02d}"
    return f"{born.earliest.isoformat()}/{born.latest.isoformat()}"

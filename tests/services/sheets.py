"""Sheets for tests, as reading hands them over: rows under the small protocol of `tests.core`."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime
from functools import cache
from typing import Any

from tests.core.mini import MINI, NORMAL, mini

from stell.core.intake import ColumnMatch, IntakeRow, SheetReading
from stell.core.protocol.load import load_text
from stell.core.protocol.ready import ReadyProtocol
from stell.core.records import Born, Examination, Observed, Ram
from stell.core.verdict import Outcome
from stell.services.intake import ImportResult
from stell.services.storing import Terms, store_reading

NOW = datetime(2026, 9, 1, 17, 0, tzinfo=UTC)
DAY = date(2026, 9, 1)
BY = "E. Quill"
_RAM = {"tag", "eid", "name", "breed", "ram_type", "born", "age_class", "intended_use"}


def row(number: int, *, on: date = DAY, **said: Any) -> IntakeRow:
    """Return a row: a normal, mature ram unless told otherwise.

    Facts of the ram go by their names, findings by their check ids (None takes one away), and
    ``note``, ``remarks``, ``examiner``, ``circumstances``, ``flock``, ``exam_id``, ``override``
    and ``override_reason`` mean what they say.
    """
    facts: dict[str, Any] = {"born": Born.on(date(2023, 3, 10)), "intended_use": "terminal"}
    facts |= {k: said.pop(k) for k in _RAM & said.keys()}
    exam = {k: said.pop(k) for k in {"note", "remarks", "examiner", "circumstances"} & said.keys()}
    whole = {k: said.pop(k) for k in {"flock", "override", "override_reason"} & said.keys()}
    if "override" in whole:
        whole["override"] = Outcome(whole["override"])
    exam_id = said.pop("exam_id", "")
    found: dict[str, Observed] = {k: v for k, v in (NORMAL | said).items() if v is not None}
    return IntakeRow(number, Ram("", **facts), Examination(exam_id, "", on, found, **exam), **whole)


def reading(rows: Sequence[IntakeRow], **changes: Any) -> SheetReading:
    """Return a sheet of these rows."""
    digest = hashlib.sha256(repr(rows).encode()).hexdigest()
    columns = (ColumnMatch(0, "Tag", "tag", why="exact"),)
    return replace(SheetReading("flock.csv", digest, columns, tuple(rows)), **changes)


def import_rows(
    rows: Sequence[IntakeRow],
    flock: str | None,
    protocol: ReadyProtocol | None = None,
    **terms: Any,
) -> ImportResult:
    """Store these rows as one sheet."""
    given = {"by": BY, "now": NOW} | terms
    return store_reading(reading(rows), flock, protocol or mini(), Terms(**given))


_DAYS = {
    "ideal_examination": 70,
    "last_sensible_examination": 42,
    "sperm_cycle": 60,
    "early_reexamination": 28,
    "quarantine": 28,
    "settling": 14,
    "shearing_lead": 42,
    "stress_free": 30,
    "condition_lead": 56,
}


@cache
def timed(version: str = "1", **swaps: str) -> ReadyProtocol:
    """Return the small protocol with figures of a timetable, invented like its other numbers.

    `swaps` are not words but whole lines: ``old=new`` pairs by any name, parted by `` -> ``.
    """
    text = MINI.replace('id = "mini"\nversion = "1"', f'id = "timed"\nversion = "{version}"')
    for swap in swaps.values():
        old, new = swap.split(" -> ")
        assert old in text, f"{old!r} is not in the protocol"
        text = text.replace(old, new)
    text += "\n[timing]\n"
    for name, days in _DAYS.items():
        text += (
            f'[timing.{name}]\nvalue = {days}\nunit = "days"\nbasis = "memory"\n'
            "checked_on = 2026-11-25\n"
        )
    return load_text(text, where="timed.toml")

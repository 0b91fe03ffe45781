"""The cells of a measured column: one reading or several, with their unit, or a refusal.

Nothing is ever scaled in silence: a value is converted only where its unit is written.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal

from stell.core.protocol.compiled import MAX_READINGS
from stell.core.protocol.ready import ReadyCheck
from stell.core.records import written_date
from stell.core.units import Unit
from stell.core.units import shown as with_unit
from stell.exchange.cells import NOT_EXAMINED, Cell, NotExamined, shown
from stell.exchange.refusal import Refused, refused
from stell.exchange.written_numbers import (
    FACTORS,
    SYMBOLS,
    in_fixed,
    number,
    unit_fits,
    unit_written,
    units_legal,
)

_ALONE = re.compile(r"(?=[0-9.,]{2,}$)([0-9]{1,3})(?:[.,][0-9]{1,2})?")
_QUARTERS = {"¼": Decimal("0.25"), "½": Decimal("0.5"), "¾": Decimal("0.75")}
_NUMBER = r"[0-9]+(?:[.,'’][0-9]+)*"
_DECIMAL = re.compile(rf"([+-]?)\s*({_NUMBER}|[.,][0-9]+)\s*(.*)", re.DOTALL)
_VULGAR = re.compile(r"([0-9]*)\s*([¼½¾])\s*(.*)", re.DOTALL)
_MIXED = re.compile(r"([0-9]+)\s+(1/4|1/2|3/4)\s*(.*)", re.DOTALL)
_RANGE = re.compile(rf"({_NUMBER})\s*(?:-|–|—|to|bis|or)\s*({_NUMBER})\b.*", re.IGNORECASE)
_FRACTION = re.compile(r"([0-9]+(?:[.,][0-9]+)?)\s*/\s*([0-9]+)")
_ABOUT = re.compile(r"(?:[<>≤≥~≈?]|ca?\.?\s|about|approx).*|.*[+?~-]", re.IGNORECASE | re.DOTALL)
_LONGEST = 40
_NOT_MEASURED = frozenset(
    {"not examined", "not measured", "not done", "not taken", "n/a", "na", "n/e", "n/d"}
)


@dataclass(frozen=True, slots=True)
class MeasureReader:
    """Reads the cells of one measured column.

    Attributes
    ----------
    check : ReadyCheck
    unit : Unit
        The check's.
    written_unit : str
        Unit read from the title, or empty for the check's own.
    decimal_comma : bool or None
    of_fractions : bool
        Whether all numbers of a percent column lie between 0 and 1, as in cells shown with %.
    """

    check: ReadyCheck
    unit: Unit
    written_unit: str = ""
    decimal_comma: bool | None = None
    of_fractions: bool = False

    def __call__(self, cell: Cell) -> tuple[int, ...] | NotExamined | None:
        """Return the readings in a cell [fixed units of the check], or None when it is empty."""
        if isinstance(cell, float | int) and not isinstance(cell, bool):
            return (self._of_number(float(cell)),)
        if not isinstance(cell, str):
            raise _changed_by_spreadsheet(cell)
        text = " ".join(cell.replace("−", "-").split())
        if not text:
            return None
        if text.casefold() in _NOT_MEASURED:
            return NOT_EXAMINED
        parts = readings_in(text)
        if not 1 <= len(parts) <= MAX_READINGS:
            raise self._no_number(text)
        return tuple(map(self._reading, parts))

    def _of_number(self, value: float) -> int:
        if not math.isfinite(value):
            raise self._no_number(str(value))
        shown_as_percent = value < 1 or self.of_fractions
        if self.unit.name == "percent" and 0 < value <= 1 and shown_as_percent:
            raise refused(
                f"a cell that a spreadsheet shows as {value * 100:g} % holds {value:g}",
                shown(value),
                "plain numbers of percent, in cells that are not formatted with %",
                f"{value * 100:g}",
                "row.unit",
            )
        return self._fixed(Decimal(repr(value)), "", shown(value))

    def _reading(self, text: str) -> int:
        value, behind = self._value(text) if len(text) <= _LONGEST else (None, "")
        unit = self._unit_of(behind) if value is not None else None
        if value is None or unit is None:
            raise self._no_number(text)
        return self._fixed(value, unit, text)

    def _value(self, text: str) -> tuple[Decimal | None, str]:
        """Return the number at the beginning of a text and what stands behind it."""
        if found := _VULGAR.fullmatch(text):
            return Decimal(found[1] or 0) + _QUARTERS[found[2]], found[3]
        if found := _MIXED.fullmatch(text):
            over, under = found[2].split("/")
            return Decimal(found[1]) + Decimal(over) / Decimal(under), found[3]
        found = _DECIMAL.fullmatch(text)
        if found is None or (found[3] and not self._unit_like(found[3])):
            return None, ""
        digits = f"0{found[2]}" if found[2][0] in ".," else found[2]
        value = number(digits, self.decimal_comma)
        return (-value if found[1] == "-" else value), found[3]

    def _unit_like(self, behind: str) -> bool:
        return bool(unit_written(behind)) or not re.search(r"[0-9+?~/-]", behind)

    def _unit_of(self, behind: str) -> str | None:
        """Return the unit written behind a number; empty for none, None for no unit at all."""
        if not behind.strip():
            return ""
        written = unit_written(behind)
        if not written:
            return None
        if not unit_fits(written, self.unit):
            raise refused(
                f"{self.check.title} is not measured in {behind.strip()}",
                behind,
                units_legal(self.unit) or "a number without a unit",
                with_unit(self._middle, self.unit),
                "row.unit",
            )
        return written

    @property
    def _middle(self) -> int:
        low, high = self.check.plausible
        return (low + high) // 2

    @property
    def _span(self) -> str:
        low, high = self.check.plausible
        return f"{with_unit(low, self.unit)} to {with_unit(high, self.unit)}"

    def _fixed(self, value: Decimal, written: str, text: str) -> int:
        stated = written or self.written_unit or self.unit.name
        fixed = in_fixed(value, stated, self.unit)
        low, high = self.check.plausible
        if not low <= fixed <= high:
            raise self._implausible(value, stated, text)
        return fixed

    def _implausible(self, value: Decimal, stated: str, text: str) -> Refused:
        """Say what the number would be in other units; which of them is meant, a person says."""
        low, high = self.check.plausible
        hints = [
            f"{with_unit(fixed, self.unit)}, if {value.normalize():f} was meant in "
            f"{SYMBOLS.get(other, other)}"
            for other in FACTORS.get(self.unit.name, {})
            if other != stated and low <= (fixed := in_fixed(value, other, self.unit)) <= high
        ]
        tenth = in_fixed(value / 10, stated, self.unit)
        if not hints and value >= 10 and low <= tenth <= high:
            hints.append(f"{with_unit(tenth, self.unit)}, if the decimal point was lost")
        units = units_legal(self.unit)
        return refused(
            f"{value.normalize():f} {SYMBOLS.get(stated, stated)}".strip()
            + f" is not possible for {self.check.title}",
            text,
            self._span + (f"; another unit ({units}) is written in cell or title" if units else ""),
            " or ".join(hints) or with_unit(self._middle, self.unit),
            "row.unit",
        )

    def _no_number(self, text: str) -> Refused:
        example = with_unit(self._middle, self.unit)
        ranged = _RANGE.fullmatch(text)
        if ranged:
            problem = "a range is not a reading"
            example = f"{ranged[1]}, or as two readings: {ranged[1]}; {ranged[2]}"
        elif _FRACTION.fullmatch(text):
            problem = "this can be a fraction, a part of a whole, a range or a date"
        elif _ABOUT.fullmatch(text):
            problem = "a sign beside the number leaves its value open"
            bare = re.search(_NUMBER, text)
            example = bare[0] if bare else example
        else:
            problem = f"{self.check.title} is a number"
        return refused(
            problem, text, f"{self._span}, or several readings parted by a semicolon", example
        )


def readings_in(text: str) -> list[str]:
    """Return the parts of a text that are readings of their own.

    A semicolon or a bar parts always. A slash between blanks, and a blank alone, part only numbers
    that can be nothing else: each of two digits or more, as many before the decimal mark in each,
    so that ``3 / 4``, ``3 1/2``, ``34 5`` and ``3 5`` are never taken for two readings.

    Examples
    --------
    >>> readings_in("30.5; 31"), readings_in("30.5 / 31"), readings_in("30,5 31")
    (['30.5', '31'], ['30.5', '31'], ['30,5', '31'])
    >>> readings_in("3 / 4"), readings_in("34 5"), readings_in("34.5 cm")
    (['3 / 4'], ['34 5'], ['34.5 cm'])
    """
    parts = [part.strip() for part in re.split(r"[;|]", text) if part.strip()]
    if len(parts) != 1:
        return parts
    for apart in (r" +/ +", r"\s+"):
        found = re.split(apart, parts[0])
        whole = [_ALONE.fullmatch(part) for part in found]
        if len(found) > 1 and all(whole) and len({len(m[1]) for m in whole if m}) == 1:
            return found
    return parts


def _changed_by_spreadsheet(cell: date | datetime | time | timedelta | bool) -> Refused:
    if isinstance(cell, date):
        what = f"a date ({written_date(cell)})"
    else:
        what = "true or false" if isinstance(cell, bool) else "a time"
    return refused(
        f"the spreadsheet has turned the cell into {what}",
        shown(cell),
        "a number; format the column as text or number before typing",
        "3.5",
    )


def looks_like_fractions(cells: Iterable[Cell]) -> bool:
    """Tell whether all numbers of a percent column lie between 0 and 1."""
    numbers = [c for c in cells if isinstance(c, float | int) and not isinstance(c, bool)]
    return bool(numbers) and all(0 <= n <= 1 for n in numbers)

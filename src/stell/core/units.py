"""Fixed integer units: numbers cross every border as whole numbers, so no float ever differs.

A protocol file speaks in the trade's units (cm, score, months); inside, every measured value is a
whole number of the fixed unit given in `UNITS`. Ages are counted in half steps: an even number is
exactly so many calendar months, the odd number after it is "more than that, less than the next",
so that "14 months to the day" and "14 months and a day" can fall on different sides of a limit.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from stell.core.errors import ProtocolError


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit a protocol may use.

    Attributes
    ----------
    name : str
        As written in a protocol file.
    fixed : str
        The whole-number unit used inside. Stands at the end of JSON keys.
    per_unit : int
        How many fixed units make one of this. [1]
    decimals : int
        Decimals shown to people. [1]
    symbol : str
        As printed behind a number.
    """

    name: str
    fixed: str
    per_unit: int
    decimals: int
    symbol: str


UNITS: dict[str, Unit] = {
    u.name: u
    for u in (
        Unit("cm", "mm", 10, 1, "cm"),
        Unit("score", "hundredths", 100, 2, ""),
        Unit("percent", "tenths_percent", 10, 0, "%"),
        Unit("celsius", "tenths_celsius", 10, 1, "°C"),
        Unit("kg", "hg", 10, 1, "kg"),
        Unit("months", "half_steps", 2, 0, "months"),
        Unit("hours", "minutes", 60, 1, "h"),
        Unit("days", "days", 1, 0, "days"),
        Unit("weeks", "weeks", 1, 0, "weeks"),
        Unit("count", "count", 1, 0, ""),
        Unit("ml", "hundredths_ml", 100, 2, "ml"),
        Unit("billion_per_ml", "hundredths_billion_per_ml", 100, 2, "×10⁹/ml"),
        Unit("million", "million", 1, 0, "×10⁶"),
        Unit("ratio", "thousandths", 1000, 2, ""),
        Unit("year", "year", 1, 0, ""),
    )
}


def unit_named(name: str, *, where: str = "") -> Unit:
    """Return the unit of that name.

    Raises
    ------
    ProtocolError
        `protocol.unit`, naming every legal unit.

    Examples
    --------
    >>> unit_named("cm").fixed
    'mm'
    """
    try:
        return UNITS[name]
    except KeyError:
        raise ProtocolError(
            "protocol.unit",
            "the unit is not known",
            got=name,
            legal=", ".join(UNITS),
            example='unit = "cm"',
            where=where,
        ) from None


def to_fixed(value: float | int | str | Decimal, unit: Unit) -> int:
    """Return `value` [unit] as whole fixed units, halves rounded away from zero.

    Examples
    --------
    >>> to_fixed(32.5, UNITS["cm"])
    325
    >>> to_fixed("3.25", UNITS["score"])
    325
    """
    scaled = Decimal(str(value)) * unit.per_unit
    return int(scaled.quantize(Decimal(1), rounding=ROUND_HALF_UP))


def from_fixed(value: int | float, unit: Unit) -> float:
    """Return fixed units as a number of the trade's unit.

    Examples
    --------
    >>> from_fixed(325, UNITS["cm"])
    32.5
    """
    return value / unit.per_unit


def shown(value: int | float, unit: Unit) -> str:
    """Return a fixed-unit value as people read it, with its unit.

    Examples
    --------
    >>> shown(320, UNITS["cm"])
    '32.0 cm'
    >>> shown(350, UNITS["score"])
    '3.5'
    >>> shown(700, UNITS["percent"])
    '70 %'
    """
    number = f"{value / unit.per_unit:.{unit.decimals}f}"
    if unit.name == "score" and number.endswith("0"):
        number = number[:-1]
    return f"{number} {unit.symbol}" if unit.symbol else number

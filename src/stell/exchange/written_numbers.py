"""Numbers and units as people write them: ``34,5``, ``1,234.5``, ``inches``, ``°C``."""

from __future__ import annotations

from decimal import Decimal

from stell.core.units import Unit, to_fixed
from stell.exchange.refusal import Refused, refused

# How many of a check's unit one written unit makes. Inch and pound are exact by the
# international yard and pound agreement of 1959: 25.4 mm and 0.45359237 kg.
FACTORS: dict[str, dict[str, Decimal]] = {
    "cm": {
        "cm": Decimal(1),
        "mm": Decimal("0.1"),
        "inch": Decimal("2.54"),
        "m": Decimal(100),
    },
    "kg": {"kg": Decimal(1), "lb": Decimal("0.45359237"), "g": Decimal("0.001")},
    "ml": {"ml": Decimal(1), "l": Decimal(1000)},
    "celsius": {"celsius": Decimal(1), "fahrenheit": Decimal(0)},
    "hours": {"hours": Decimal(1)},
    "billion_per_ml": {"billion_per_ml": Decimal(1), "million_per_ml": Decimal("0.001")},
    "million": {"million": Decimal(1), "billion": Decimal(1000)},
}
_WRITTEN = {
    "cm": "cm",
    "cms": "cm",
    "centimetre": "cm",
    "centimetres": "cm",
    "centimeter": "cm",
    "centimeters": "cm",
    "mm": "mm",
    "mms": "mm",
    "millimetre": "mm",
    "millimetres": "mm",
    "millimeter": "mm",
    "millimeters": "mm",
    "m": "m",
    "in": "inch",
    "ins": "inch",
    "inch": "inch",
    "inches": "inch",
    '"': "inch",
    "''": "inch",
    "”": "inch",
    "″": "inch",
    "kg": "kg",
    "kgs": "kg",
    "kilo": "kg",
    "kilos": "kg",
    "lb": "lb",
    "lbs": "lb",
    "pounds": "lb",
    "g": "g",
    "ml": "ml",
    "cc": "ml",
    "l": "l",
    "%": "percent",
    "percent": "percent",
    "pct": "percent",
    "c": "celsius",
    "°c": "celsius",
    "° c": "celsius",
    "deg c": "celsius",
    "celsius": "celsius",
    "f": "fahrenheit",
    "°f": "fahrenheit",
    "° f": "fahrenheit",
    "deg f": "fahrenheit",
    "fahrenheit": "fahrenheit",
    "score": "score",
    "0-5": "score",
    "/5": "score",
    "hours": "hours",
    "h": "hours",
    "days": "days",
    "weeks": "weeks",
    "months": "months",
    "month": "months",
    "mths": "months",
    "mo": "months",
    "years": "years",
    "year": "years",
    "yrs": "years",
    "count": "count",
    "million": "million",
    "billion": "billion",
    "x10^9/ml": "billion_per_ml",
    "×10⁹/ml": "billion_per_ml",
    "10^9/ml": "billion_per_ml",
    "billion/ml": "billion_per_ml",
    "billion per ml": "billion_per_ml",
    "x10^6/ml": "million_per_ml",
    "million/ml": "million_per_ml",
    "million per ml": "million_per_ml",
}
SYMBOLS = {"inch": "in", "fahrenheit": "°F", "celsius": "°C", "percent": "%", "score": "",
           "million_per_ml": "million/ml", "billion_per_ml": "billion/ml"}  # fmt: skip
_MOST = Decimal(10) ** 12  # far beyond any measurement; keeps the arithmetic exact


def unit_written(text: str) -> str:
    """Return the name of a written unit, or the empty text.

    Examples
    --------
    >>> unit_written("Inches"), unit_written("cm."), unit_written("hands")
    ('inch', 'cm', '')
    """
    return _WRITTEN.get(text.strip().strip(".").casefold().strip(), "")


def unit_fits(written: str, unit: Unit) -> bool:
    """Tell whether a written unit can be turned into the unit of a check."""
    return written == unit.name or written in FACTORS.get(unit.name, ())


def number(text: str, decimal_comma: bool | None) -> Decimal:
    """Return a written number without sign or unit.

    Parameters
    ----------
    text : str
    decimal_comma : bool or None
        None: the sign that must be the decimal one is; ``1,234`` could be either and is refused.

    Raises
    ------
    Refused
        `row.value`.

    Examples
    --------
    >>> number("34,5", None), number("1,234.5", None)
    (Decimal('34.5'), Decimal('1234.5'))
    """
    bare = text.replace("'", "").replace("’", "")
    points, commas = bare.count("."), bare.count(",")
    if not points and not commas:
        return Decimal(bare)
    last = "," if bare.rfind(",") > bare.rfind(".") else "."
    if points and commas:
        thousands = "." if last == "," else ","
        if bare.count(last) == 1 and _grouped(bare.split(last)[0], thousands):
            return Decimal(bare.replace(thousands, "").replace(",", "."))
        raise _mixed_marks(text)
    grouped = _grouped(bare, last)
    if max(points, commas) > 1:
        if not grouped:
            raise _mixed_marks(text)
        return Decimal(bare.replace(last, ""))
    decimal = "," if decimal_comma else "."
    if decimal_comma is None:
        if last == "," and grouped:
            raise _either(text)
        return Decimal(bare.replace(",", "."))
    if last == decimal:
        return Decimal(bare.replace(",", "."))
    if not grouped:
        raise _mixed_marks(text)
    return Decimal(bare.replace(last, ""))


def _grouped(text: str, mark: str) -> bool:
    first, *rest = text.split(mark)
    return 1 <= len(first) <= 3 and first[0] != "0" and all(len(r) == 3 for r in rest)


def _either(text: str) -> Refused:
    whole = text.replace(",", "")
    return refused(
        "the comma can part decimals or thousands",
        text,
        f"{text.replace(',', '.')} or {whole}",
        f"{text.replace(',', '.')}; or say that the sheet has decimal commas",
    )


def _mixed_marks(text: str) -> Refused:
    return refused("point and comma do not fit together", text, "one decimal mark", "34.5")


def in_fixed(value: Decimal, stated: str, unit: Unit) -> int:
    """Return a value of the `stated` unit as whole fixed units of `unit`, halves away from zero.

    Examples
    --------
    >>> from stell.core.units import UNITS
    >>> in_fixed(Decimal("13.5"), "inch", UNITS["cm"])  # 342.9 mm
    343
    """
    value = max(-_MOST, min(_MOST, value))
    if stated == "fahrenheit":
        return to_fixed((value - 32) * 5 / 9, unit)
    return to_fixed(value * FACTORS.get(unit.name, {}).get(stated, Decimal(1)), unit)


def units_legal(unit: Unit) -> str:
    """Return the units that may be written for a check in `unit`, for a message."""
    names = FACTORS.get(unit.name, {unit.name: Decimal(1)})
    return " or ".join(symbol for name in names if (symbol := SYMBOLS.get(name, name)))

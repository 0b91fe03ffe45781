"""Electronic numbers in the cells of a sheet, where spreadsheets damage them."""

from __future__ import annotations

import re

from stell.core.errors import ValueRefused
from stell.exchange.cells import Cell, shown
from stell.exchange.electronic_id import parse
from stell.exchange.refusal import Refused

_SCIENTIFIC = re.compile(r"[0-9][.,]?[0-9]*E\+?[0-9]+", re.IGNORECASE)
_LEGAL = "15 digits in a cell formatted as text"
_EXAMPLE = "826 012345600001"


def read_eid(cell: Cell) -> str | None:
    """Return the 15 digits in a cell, or None when it is empty.

    A number cell of 15 digits is whole, as it lies below 2^53; of a longer one the spreadsheet
    has already lost digits.

    Raises
    ------
    Refused
        `identity.eid`.
    """
    if isinstance(cell, float | int) and not isinstance(cell, bool):
        if abs(cell) >= 1e15:
            raise _damaged(f"{cell:.15g}", "the number has more than 15 digits")
        if isinstance(cell, float) and not cell.is_integer():
            raise _damaged(repr(cell), "the number has decimals")
    text = shown(cell)
    if not text:
        return None
    if _SCIENTIFIC.fullmatch(text):
        raise _damaged(text, "the spreadsheet has shortened the number to powers of ten")
    digits = re.sub(r"[\s.-]", "", text)
    if digits.isascii() and digits.isdigit() and len(digits) >= 16:
        raise _too_long(text, digits)
    try:
        return parse(text).text
    except ValueRefused as error:
        raise Refused(
            error.code, error.problem, got=error.got, legal=error.legal, example=error.example
        ) from None


def _damaged(got: str, why: str) -> Refused:
    return Refused(
        "identity.eid",
        f"{why}; a spreadsheet keeps only 15 digits, so it has to be read from the tag again",
        got=got,
        legal=_LEGAL,
        example=_EXAMPLE,
    )


def _too_long(text: str, digits: str) -> Refused:
    without_flag = digits[1:] if len(digits) == 16 and digits[0] in "01" else ""
    return Refused(
        "identity.eid",
        f"{len(digits)} digits instead of 15; a spreadsheet may have damaged the last ones",
        got=text,
        legal=_LEGAL,
        example=(
            f"{without_flag[:3]} {without_flag[3:]}, if the first digit is a reader's animal flag"
            if without_flag
            else _EXAMPLE
        ),
    )

"""Letters for terminals that know fewer of them: what cannot be shown gets the nearest stand-in."""

from __future__ import annotations

import codecs
import io
import sys
import unicodedata

NAME = "stell.stand_ins"
STAND_INS = {
    "±": "+/-",
    "×": "x",
    "°": " deg ",
    "–": "-",
    "—": "-",
    "…": "...",
    "“": '"',
    "”": '"',
    "‘": "'",
    "’": "'",
    "→": ">",
    "≥": ">=",
    "≤": "<=",
}


def stand_in(letter: str) -> str:
    """Return ASCII that can stand for a letter.

    Examples
    --------
    >>> [stand_in(c) for c in "±²é漢"]
    ['+/-', '2', 'e', '?']
    """
    if letter in STAND_INS:
        return STAND_INS[letter]
    bare = unicodedata.normalize("NFKD", letter).encode("ascii", "ignore").decode()
    return bare or "?"


def _handle(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    bad = error.object[error.start : error.end]
    return "".join(map(stand_in, bad)), error.end


def never_fail_on_letters() -> None:
    """Let standard output and error show stand-ins instead of failing on a letter."""
    codecs.register_error(NAME, _handle)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors=NAME)

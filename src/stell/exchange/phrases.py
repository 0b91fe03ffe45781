"""Written words brought into one form, so that ``Scrotal circ. (CM)`` and its kin can be compared.

Nothing here knows what a word means; `columns` and `answers` decide that.
"""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Iterable
from functools import lru_cache

# One word for words that the trade uses for the same thing. Common practice, no source.
_SAME = {
    "circ": "circumference",
    "circumf": "circumference",
    "scrot": "scrotal",
    "scrotum": "scrotal",
    "testicle": "testis",
    "teste": "testis",
    "testicular": "testis",
    "temp": "temperature",
    "cond": "condition",
    "wt": "weight",
    "feet": "foot",
    "teeth": "tooth",
    "electronic": "electronic",
    "nr": "number",
    "no": "number",
    "num": "number",
    "rhs": "right",
    "lhs": "left",
    "l": "left",
    "lt": "left",
    "r": "right",
    "rt": "right",
    "links": "left",
    "linker": "left",
    "gauche": "left",
    "izquierdo": "left",
    "izq": "left",
    "rechts": "right",
    "rechter": "right",
    "droit": "right",
    "droite": "right",
    "derecho": "right",
    "fore": "front",
    "rear": "hind",
    "comment": "remark",
    "comments": "remark",
    "note": "remark",
    "exam": "examined",
    "examination": "examined",
}
# What a column of lengths can be called without naming a circumference: whatever is measured in a
# length around the testes is one. Common practice, no source. A title counts only with a unit.
MEASURED_TITLES = {
    "scrotal circumference": (
        "test", "tests", "testes", "testis", "testicle", "testicles", "teste", "testicle size",
        "testes size", "testis size", "scrotum", "scrotal size",
    )
}  # fmt: skip
_FILLING = frozenset(
    {"of", "the", "at", "a", "an", "and", "on", "for", "de", "der", "des", "la", "le", "his"}
)
_MARKS = re.compile(r"[^\w]+|_+", re.UNICODE)


@lru_cache(maxsize=50_000)
def plain(text: str) -> str:
    """Return a phrase in lower case without accents or marks, its words apart by one blank.

    Examples
    --------
    >>> plain("  Scrotal_Circ. (CM)")
    'scrotal circ cm'
    >>> plain("Âge")
    'age'
    """
    split = unicodedata.normalize("NFKD", text)
    bare = "".join(c for c in split if not unicodedata.combining(c))
    return _MARKS.sub(" ", bare.casefold()).strip()


def bag(phrase: str) -> frozenset[str]:
    """Return the words of a phrase without order, number, filling words or trade short forms.

    Examples
    --------
    >>> bag("tone L testicle") == bag("Tone of the left testis")
    True
    """
    return frozenset(_one(word) for word in plain(phrase).split()) - _FILLING


@lru_cache(maxsize=10_000)
def _one(word: str) -> str:
    if word in _SAME:
        return _SAME[word]
    if len(word) > 3 and word.endswith("s") and not word.endswith("is"):
        word = word[:-1] if not word.endswith("testes") else "testis"
    return _SAME.get(word, word)


def slug(text: str) -> str:
    """Return a phrase as an id: lower case, words apart by ``_``.

    Examples
    --------
    >>> slug("Bluefaced Leicester")
    'bluefaced_leicester'
    """
    return plain(text).replace(" ", "_")


def near(text: str, among: Iterable[str], *, most: int = 3, cutoff: float = 0.6) -> list[str]:
    """Return the phrases that look most like `text`, best first."""
    by_plain: dict[str, str] = {}
    for phrase in among:
        by_plain.setdefault(plain(phrase), phrase)
    found = difflib.get_close_matches(plain(text), by_plain, n=most, cutoff=cutoff)
    return [by_plain[p] for p in found]


def alike(text: str, among: Iterable[str], *, most: int = 3) -> list[str]:
    """Return the phrases that share most words with `text`, else those that look alike.

    Best first. Where two share as many, both are there: nobody is led to one of them.
    """
    phrases = list(dict.fromkeys(among))
    return sharing(text, phrases, most=most) or near(text, phrases, most=most)


def sharing(text: str, among: Iterable[str], *, most: int = 3) -> list[str]:
    """Return the phrases that share words with `text`, those that share most first."""
    words = bag(text)
    shared = {phrase: _shared(words, bag(phrase)) for phrase in dict.fromkeys(among)}
    return [p for p, n in sorted(shared.items(), key=lambda item: -item[1]) if n][:most]


def _shared(words: frozenset[str], others: frozenset[str]) -> int:
    """Return how many words are the same, or nearly: a slip of the pen counts."""
    return sum(
        word in others or bool(len(word) > 4 and difflib.get_close_matches(word, others, 1, 0.75))
        for word in words
    )


def column_letter(column: int) -> str:
    """Return the letters a spreadsheet shows above a column, counted from 0.

    Examples
    --------
    >>> column_letter(0), column_letter(25), column_letter(26), column_letter(702)
    ('A', 'Z', 'AA', 'AAA')
    """
    letters = ""
    number = column + 1
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters

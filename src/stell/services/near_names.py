"""A ram that is new on the books, and one on the books whose mark looks the same to a person."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable
from typing import TYPE_CHECKING

from stell.core.records import Ram

if TYPE_CHECKING:
    from stell.services.identifying import Known

_LOOKS_LIKE = str.maketrans({"o": "0", "i": "1", "l": "1"})
_SAME_NAME = 0.8  # how much of two names has to be the same: one slip in a name of five letters
_MOST_NAMES = 500  # of so many rams names are compared one by one; that takes time


class NearNames:
    """The rams on the books by what their marks look like."""

    def __init__(self, known: Iterable[Known]) -> None:
        rams = [k for k in known if not k.is_new and k.left_on is None]
        self._alike: dict[tuple[object, str], Known] = {}
        self._by_digits: dict[tuple[object, str], list[Known]] = {}
        self._named: dict[object, dict[str, Known]] = {}
        for k in rams:
            if k.ram.tag:
                self._alike.setdefault((k.flock_id, _looks(k.ram.tag)), k)
                self._by_digits.setdefault((k.flock_id, _digits(k.ram.tag)), []).append(k)
            if k.ram.name:
                self._named.setdefault(k.flock_id, {})[k.ram.name.casefold()] = k

    def of(self, ram: Ram, flock_id: object) -> Known | None:
        """Return the one on the books who may be meant by a ram's tag, else by his name.

        Tags look the same but for zeros in front, signs, O for 0 or l for 1, letters left out or
        changed about before the same number.
        """
        if ram.tag:
            found = self._alike.get((flock_id, _looks(ram.tag)))
            if found is not None:
                return found
            fits = [
                k
                for k in self._by_digits.get((flock_id, _digits(ram.tag)), ())
                if _digits(ram.tag) and _letters_fit(ram.tag, k.ram.tag)
            ]
            return fits[0] if len(fits) == 1 else None
        names = self._named.get(flock_id, {})
        if ram.eid or not ram.name or len(names) > _MOST_NAMES:
            return None
        close = difflib.get_close_matches(ram.name.casefold(), names, 1, _SAME_NAME)
        return names[close[0]] if close else None


def differ_in_zeros(one: str, other: str) -> bool:
    """Tell whether two tags are the same but for zeros in front of a number.

    Examples
    --------
    >>> differ_in_zeros("bf9", "BF 09"), differ_in_zeros("BF 9", "BF 90")
    (True, False)
    """
    return _bare(one) == _bare(other)


def _bare(tag: str) -> str:
    """Return a tag without signs, case and zeros in front of its numbers."""
    alone = re.sub(r"[\W_]+", "", tag.casefold())
    return re.sub(r"(?<!\d)0+(?=\d)", "", alone)


def _looks(tag: str) -> str:
    return re.sub(
        r"(?<!\d)0+(?=\d)", "", re.sub(r"[\W_]+", "", tag.casefold()).translate(_LOOKS_LIKE)
    )


def _digits(tag: str) -> str:
    return " ".join(number.lstrip("0") for number in re.findall(r"\d+", tag))


def _letters_fit(one: str, other: str) -> bool:
    a, b = (re.sub(r"[\W\d_]+", "", tag.casefold()) for tag in (one, other))
    return not a or not b or sorted(a) == sorted(b)

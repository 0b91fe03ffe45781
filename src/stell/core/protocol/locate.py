"""Find the line of a key in TOML text, so that an error can point at it.

The standard parser gives no positions. This follows table headers and keys line by line, which is
enough to name the line; keys inside a one-line table point at that line.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache

_HEADER = re.compile(r"^\s*(\[\[?)\s*([^\]]+?)\s*\]\]?\s*(#.*)?$")
_KEY = re.compile(r"""^\s*((?:[A-Za-z0-9_-]+|"[^"]*")(?:\.(?:[A-Za-z0-9_-]+|"[^"]*"))*)\s*=""")
_TRIPLE = re.compile(r'"""|\'\'\'')

Path = tuple[str | int, ...]


def line_of(text: str, path: Iterable[str | int]) -> int | None:
    """Return the 1-based line of the deepest part of `path` that stands in the text.

    Parameters
    ----------
    text : str
        TOML.
    path : iterable of str or int
        Keys and list positions, for example ``("check", 3, "option", 0, "owner")``.

    Examples
    --------
    >>> line_of('a = 1\\n[[b]]\\nc = 2\\n[[b]]\\nc = 3\\n', ("b", 1, "c"))
    5
    """
    lines = _positions(text)
    wanted = tuple(path)
    while wanted:
        if wanted in lines:
            return lines[wanted]
        wanted = wanted[:-1]
    return None


@lru_cache(maxsize=2)  # one file may have hundreds of faults, and each asks for its line
def _positions(text: str) -> dict[Path, int]:
    found: dict[Path, int] = {}
    counts: dict[Path, int] = {}
    here: Path = ()
    inside_text = False
    for number, line in enumerate(text.splitlines(), start=1):
        if len(_TRIPLE.findall(line)) % 2:
            inside_text = not inside_text
            if not inside_text:
                continue
        elif inside_text:
            continue
        header = _HEADER.match(line)
        if header and "=" not in header.group(2):
            here = _enter(header.group(2), header.group(1) == "[[", counts)
            found.setdefault(here, number)
            continue
        key = _KEY.match(line)
        if key:
            found.setdefault(here + _split(key.group(1)), number)
    return found


def _enter(name: str, is_list: bool, counts: dict[Path, int]) -> Path:
    path: Path = ()
    parts = _split(name)
    for depth, part in enumerate(parts):
        path += (part,)
        last = depth == len(parts) - 1
        if last and is_list:
            counts[path] = counts.get(path, -1) + 1
        if path in counts:
            path += (counts[path],)
    return path


def _split(name: str) -> tuple[str, ...]:
    return tuple(p.strip().strip('"') for p in re.findall(r'"[^"]*"|[^.]+', name))

"""Turn what services answer into values that JSON knows."""

from __future__ import annotations

import dataclasses
import json
import re
from datetime import date, datetime
from enum import Enum
from pathlib import PurePath
from typing import Any
from uuid import UUID

# Legal inside JSON, and yet able to steer a terminal or to turn its reading order round.
_STEERING = re.compile("[\x7f-\x9f\u2028-\u202e\u2066-\u2069]")


def written(value: Any, *, ascii_only: bool) -> str:
    r"""Return JSON text that may be shown on any terminal.

    Examples
    --------
    >>> print(written("caf\xe9 \x9b31m", ascii_only=False))
    "café \u009b31m"
    """
    text = json.dumps(value, ensure_ascii=ascii_only, indent=2)
    return _STEERING.sub(lambda found: f"\\u{ord(found.group()):04x}", text)


def plain(value: Any) -> Any:
    """Return `value` as dicts, lists, strings, numbers, booleans and None.

    Dates become ISO 8601, enums their values, dataclasses dicts; whatever has an ``as_dict``
    speaks for itself.

    Raises
    ------
    TypeError
        For anything else: printing its ``repr`` would make a shape nobody promised.

    Examples
    --------
    >>> plain({"on": date(2026, 10, 4), "marks": ("red", "blue")})
    {'on': '2026-10-04', 'marks': ['red', 'blue']}
    """
    if value is None or (
        isinstance(value, str | int | float | bool) and not isinstance(value, Enum)
    ):
        return value
    if isinstance(value, Enum):
        return plain(value.value)
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, UUID | PurePath):
        return str(value)
    if hasattr(value, "as_dict"):
        return plain(value.as_dict())
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name)) for f in dataclasses.fields(value)}
    if hasattr(value, "items"):
        return {str(k): plain(v) for k, v in value.items()}
    if isinstance(value, list | tuple | set | frozenset):
        parts = sorted(value) if isinstance(value, set | frozenset) else value
        return [plain(v) for v in parts]
    raise TypeError(f"{type(value).__name__} has no JSON shape")

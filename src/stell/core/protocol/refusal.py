"""Say why a protocol file is refused: file, line, key by name, what was got, what is legal."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from stell.core.errors import ProtocolError
from stell.core.protocol.locate import line_of

_INDEX = re.compile(r"([A-Za-z0-9_]+)|\[(\d+)\]")
_WORD = "a lower-case word of letters, digits and _, beginning with a letter"
_DATE = "a date without quotes, year first"
# What the schema's library calls a fault, in our words: what is legal, and an example.
_LEGAL: dict[str, tuple[str, str]] = {
    "extra_forbidden": ("no key of that name; docs/protocol-format.md lists the keys", ""),
    "missing": ("this key must be given", ""),
    "string_pattern_mismatch": (_WORD, 'id = "tail_wound"'),
    "string_type": ("text in quotes", 'title = "Tail"'),
    "string_too_short": ("a few words", ""),
    "tuple_type": ("a list in square brackets", 'also_called = ["ok", "fine"]'),
    "list_type": ("a list in square brackets", 'also_called = ["ok", "fine"]'),
    "int_type": ("a whole number", "days = 28"),
    "int_parsing": ("a whole number", "days = 28"),
    "int_from_float": ("a whole number", "days = 28"),
    "float_type": ("a number with a decimal point", "value = 3.5"),
    "bool_type": ("true or false", "required = true"),
    "bool_parsing": ("true or false", "required = true"),
    "dict_type": ("a table in braces", "{ gt = 14 }"),
    "model_type": ("a table in braces", "{ min = 10, max = 60 }"),
    "model_attributes_type": ("a table in braces", "{ min = 10, max = 60 }"),
    "date_type": (_DATE, "checked_on = 2026-11-25"),
    "date_parsing": (_DATE, "checked_on = 2026-11-25"),
    "date_from_datetime_parsing": (_DATE, "checked_on = 2026-11-25"),
}

# What the schema's library calls the bound that was passed.
_BOUNDS = {
    "ge": "a number of at least",
    "gt": "a number above",
    "le": "a number of at most",
    "lt": "a number below",
    "min_length": "at least",
    "max_length": "at most",
}


def from_validation(raw: Any, text: str, where: str, data: Any) -> ProtocolError:
    """Return one fault found by the schema as an error of ours.

    Parameters
    ----------
    raw : mapping
        One of pydantic's error details.
    text, where : str
        The file's text and name.
    data : object
        The file as read, to tell the ids met on the way.
    """
    path = [p for p in raw["loc"] if not (isinstance(p, str) and p.startswith("function-"))]
    legal, example = _LEGAL.get(raw["type"], (_message(raw), ""))
    got = raw["input"] if raw["type"] != "missing" else "nothing"
    return ProtocolError(
        "protocol.invalid",
        f"key '{_dotted(path)}'{_named(path, data)} cannot be used",
        got=str(got) if isinstance(got, str | int | float | bool) else _brief(got),
        legal=legal,
        example=example,
        where=_line(where, text, path),
    )


def placed(error: ProtocolError, text: str, where: str, data: Any) -> ProtocolError:
    """Return an error found across the file with its line, and its place by name."""
    path: list[str | int] = [
        int(digits) if digits else word for word, digits in _INDEX.findall(error.where)
    ]
    return ProtocolError(
        error.code,
        f"{error.where}{_named(path, data)}: {error.problem}",
        got=error.got,
        legal=error.legal,
        example=error.example,
        where=_line(where, text, path),
    )


def _message(raw: Any) -> str:
    context = raw.get("ctx", {})
    if raw["type"] == "literal_error":
        return str(context["expected"])
    if raw["type"] in ("too_short", "too_long"):
        least, most = context.get("min_length"), context.get("max_length")
        return f"at least {least} entries" if least is not None else f"at most {most} entries"
    for key, words in _BOUNDS.items():
        if key in context and raw["type"] not in ("too_short", "too_long"):
            return f"{words} {context[key]}{' letters' if 'length' in key else ''}"
    return str(raw["msg"]).removeprefix("Value error, ")


def _brief(value: Any) -> str:
    if isinstance(value, dict):
        return f"a table with the id {value['id']!r}" if "id" in value else "a table"
    if isinstance(value, list | tuple):
        return f"a list of {len(value)}"
    return repr(value)


def _named(path: Sequence[Any], data: Any) -> str:
    """Return the ids met on the way, so that ``check[12]`` can be recognised."""
    ids = []
    here = data
    for part in path:
        try:
            here = here[part]
        except (KeyError, IndexError, TypeError):
            break
        if isinstance(here, dict) and isinstance(here.get("id"), str):
            ids.append(here["id"])
    return f" ({' > '.join(ids)})" if ids else ""


def _dotted(path: Sequence[Any]) -> str:
    text = ""
    for part in path:
        text += f"[{part}]" if isinstance(part, int) else f".{part}" if text else str(part)
    return text


def _line(where: str, text: str, path: Sequence[Any]) -> str:
    line = line_of(text, path)
    return f"{where}, line {line}" if line else where

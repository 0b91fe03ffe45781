"""The keys that a protocol file may hold, read from the schema itself."""

from __future__ import annotations

import types
import typing
from typing import Any


def key_tables() -> dict[str, list[dict[str, Any]]]:
    """Return every key a protocol file may hold, by table, read from the schema itself."""
    from stell.core.protocol import schema

    tables: dict[str, Any] = {
        "the file": schema.Protocol,
        "[[check]]": schema.Check,
        "[[check.option]]": schema.Option,
        "effects": schema.Effect,
        "[[check.standard]]": schema.Standard,
        "bands": schema.Band,
        "a figure": schema.Figure,
        "[[stop]]": schema.Stop,
        "[[restriction]]": schema.Restriction,
        "[[age_class]]": schema.AgeClass,
        "[season]": schema.SeasonRule,
        "[timing]": schema.Timing,
        "[sources.KEY]": schema.Source,
    }
    return {
        title: [_key(name, f) for name, f in m.model_fields.items()] for title, m in tables.items()
    }


def _key(name: str, field: Any) -> dict[str, Any]:
    return {"key": name, "required": field.is_required(), "holds": _holds(field.annotation)}


def _holds(kind: Any) -> str:
    origin, inside = typing.get_origin(kind), typing.get_args(kind)
    if origin is typing.Literal:
        return " | ".join(f'"{v}"' if isinstance(v, str) else str(v) for v in inside)
    if origin in (typing.Union, types.UnionType):
        parts = [_holds(k) for k in inside if k is not type(None)]
        return " or ".join(dict.fromkeys(parts))
    if origin is typing.Annotated:
        return _holds(inside[0])
    if origin is tuple:
        return f"list of {_holds(inside[0])}"
    if origin is dict:
        return "a table"
    words = {str: "text", int: "number", float: "number", bool: "true or false"}
    return words.get(
        kind, "a date" if kind.__name__ == "date" else f"a table: {kind.__name__.lower()}"
    )

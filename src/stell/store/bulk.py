"""Many rows in at once: one prepared statement per table instead of objects."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Sequence
from typing import Any

from django.db import connection, models

_CHUNK = 2000  # rows handed to the driver at a time


def insert(model: type[models.Model], names: Sequence[str], rows: Iterable[Sequence[Any]]) -> int:
    """Insert rows; return how many.

    Parameters
    ----------
    model : type
        Which table.
    names : sequence of str, length k
        Attribute names, foreign keys with ``_id``.
    rows : iterable of sequences of length k
        Python values; JSON columns take lists and dicts, or text that is JSON already.
    """
    fields = [_field(model, name) for name in names]
    quote = connection.ops.quote_name
    statement = (
        f"INSERT INTO {quote(model._meta.db_table)} "  # noqa: S608  (names of our own tables)
        f"({', '.join(quote(f.column) for f in fields)}) "
        f"VALUES ({', '.join(['%s'] * len(fields))})"
    )
    return _run(statement, fields, rows)


def update(model: type[models.Model], names: Sequence[str], rows: Iterable[Sequence[Any]]) -> int:
    """Change rows; return how many were given.

    Parameters
    ----------
    model : type
        Which table.
    names : sequence of str, length k
        Attribute names of what changes.
    rows : iterable of sequences of length k + 1
        Values, and the primary key last.
    """
    fields = [*(_field(model, name) for name in names), model._meta.pk]
    quote = connection.ops.quote_name
    statement = (
        f"UPDATE {quote(model._meta.db_table)} SET "  # noqa: S608  (names of our own tables)
        f"{', '.join(f'{quote(f.column)} = %s' for f in fields[:-1])} "
        f"WHERE {quote(fields[-1].column)} = %s"
    )
    return _run(statement, fields, rows)


def _run(statement: str, fields: Sequence[Any], rows: Iterable[Sequence[Any]]) -> int:
    adapters = [_adapter(field) for field in fields]
    count = 0
    chunk: list[list[Any]] = []
    with connection.cursor() as cursor:
        for row in rows:
            chunk.append([v if f is None else f(v) for f, v in zip(adapters, row, strict=True)])
            if len(chunk) == _CHUNK:
                cursor.executemany(statement, chunk)
                count += len(chunk)
                chunk.clear()
        if chunk:
            cursor.executemany(statement, chunk)
    return count + len(chunk)


def _field(model: type[models.Model], name: str) -> Any:
    for field in model._meta.concrete_fields:
        if field.attname == name:
            return field
    raise LookupError(f"{model.__name__} has no column {name!r}")


def _adapter(field: Any) -> Callable[[Any], Any] | None:
    """Return what turns a Python value into what the driver takes; None where nothing is to do."""
    while field.is_relation:
        field = field.target_field
    kind = field.get_internal_type()
    if kind == "JSONField":
        return json_text
    if connection.vendor == "postgresql":
        return None
    operations = connection.ops
    return {
        "UUIDField": _uuid_text,
        "DateField": _date_text,
        "DateTimeField": operations.adapt_datetimefield_value,
    }.get(kind)


def json_text(value: Any) -> str:
    """Return JSON without needless spaces; text is taken to be JSON already."""
    if isinstance(value, str):
        return value
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))


def _uuid_text(value: Any) -> str | None:
    return None if value is None else value.hex


def _date_text(value: Any) -> str | None:
    return None if value is None else value.isoformat()

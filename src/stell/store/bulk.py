"""Many rows in at once: one prepared statement per table instead of objects."""

from __future__ import annotations

import gc
import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
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


@contextmanager
def unswept() -> Iterator[None]:
    """Keep Python from sweeping memory meanwhile: with many live values that takes a fifth."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


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
    return {
        "UUIDField": _uuid_text,
        "DateField": _date_text,
        "DateTimeField": _remembering(connection.ops.adapt_datetimefield_value),
    }.get(kind)


def _remembering(adapt: Callable[[Any], Any]) -> Callable[[Any], Any]:
    """Return `adapt` for a column in which neighbours are mostly the same."""
    last: list[Any] = [None, adapt(None)]

    def adapted(value: Any) -> Any:
        if value is not last[0]:
            last[:] = value, adapt(value)
        return last[1]

    return adapted


def json_text(value: Any) -> str:
    """Return JSON without needless spaces; text is taken to be JSON already."""
    if isinstance(value, str):
        return value
    return _compact(value)


# One encoder for all rows: making one for each value takes longer than encoding it.
_compact = json.JSONEncoder(ensure_ascii=False, separators=(",", ":")).encode


def _uuid_text(value: Any) -> str | None:
    return value if value is None or isinstance(value, str) else value.hex


def _date_text(value: Any) -> str | None:
    return None if value is None else value.isoformat()

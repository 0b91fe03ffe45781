"""A description of exported CSV files as a Data Package (version 1, tabular profile).

One JSON file says of every column its type, unit and limits, so that another program can check
and read the files without knowing stell.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from stell.exchange.phrases import plain
from stell.exchange.tables_out import TableField

_TYPES = {
    "text": "string",
    "id": "string",
    "integer": "integer",
    "number": "number",
    "date": "date",
    "datetime": "datetime",
    "yes_no": "boolean",
}


@dataclass(frozen=True, slots=True)
class DescribedTable:
    """One CSV file of a data package.

    Attributes
    ----------
    path : str
        File name beside the description.
    fields : sequence of TableField
        As they were written.
    title : str
    primary_key : tuple of str
        Columns that together name a row.
    foreign_keys : mapping of column to (path, column)
        Columns that name a row of another of the files.
    """

    path: str
    fields: Sequence[TableField]
    title: str = ""
    primary_key: tuple[str, ...] = ()
    foreign_keys: Mapping[str, tuple[str, str]] | None = None


def describe(
    name: str, title: str, tables: Sequence[DescribedTable], *, created: datetime
) -> dict[str, Any]:
    """Return the contents of ``datapackage.json``.

    Parameters
    ----------
    name : str
        Short name of the package; brought into lower case with hyphens.
    title : str
    tables : sequence of DescribedTable
    created : datetime
        When the files were written, with its time zone.
    """
    return {
        "profile": "tabular-data-package",
        "name": _name(name),
        "title": title,
        "created": created.isoformat(timespec="seconds"),
        "resources": [_resource(table) for table in tables],
    }


def describe_json(
    name: str, title: str, tables: Sequence[DescribedTable], *, created: datetime
) -> str:
    """Return ``datapackage.json`` as text."""
    package = describe(name, title, tables, created=created)
    return json.dumps(package, ensure_ascii=False, indent=1) + "\n"


def _resource(table: DescribedTable) -> dict[str, Any]:
    schema: dict[str, Any] = {
        "fields": [_field(f) for f in table.fields],
        "missingValues": [""],
    }
    if table.primary_key:
        schema["primaryKey"] = list(table.primary_key)
    if table.foreign_keys:
        schema["foreignKeys"] = [
            {"fields": column, "reference": {"resource": _name(_stem(path)), "fields": other}}
            for column, (path, other) in table.foreign_keys.items()
        ]
    return {
        "profile": "tabular-data-resource",
        "name": _name(_stem(table.path)),
        "path": table.path,
        "title": table.title or _stem(table.path),
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "dialect": {"delimiter": ",", "lineTerminator": "\r\n", "doubleQuote": True},
        "schema": schema,
    }


def _field(f: TableField) -> dict[str, Any]:
    described: dict[str, Any] = {"name": f.name, "type": _TYPES[f.kind]}
    if f.about:
        described["description"] = f.about
    if f.constraints:
        described["constraints"] = dict(f.constraints)
    return described


def _stem(path: str) -> str:
    return path.rpartition("/")[2].removesuffix(".csv")


def _name(text: str) -> str:
    return plain(text).replace(" ", "-") or "export"

"""Stores on both engines, for use cases."""

from tests.store.engines import (
    empty_store,
    folder,
    postgres_server,
    postgres_store,
    postgres_template,
    sqlite_store,
    store,
)

__all__ = [
    "empty_store",
    "folder",
    "postgres_server",
    "postgres_store",
    "postgres_template",
    "sqlite_store",
    "store",
]

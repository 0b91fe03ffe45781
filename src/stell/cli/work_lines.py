"""Things to do as short lines for a table: one per ram and day, what was found said once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from stell.core.verdict import ACTION_KINDS

if TYPE_CHECKING:
    from stell.services.seasons import ToDo


@dataclass(frozen=True, slots=True)
class WorkLine:
    """One line of the list.

    Attributes
    ----------
    flock : str
        Empty where the list is of one flock.
    ram : str
        Empty for what concerns the flock.
    due_on : date
    text : str
    """

    flock: str
    ram: str
    due_on: date
    text: str


def work_lines(items: Iterable[tuple[str, ToDo]], *, full: bool = False) -> list[WorkLine]:
    """Return lines in the order of the items, the first of a ram and day taking in the others.

    Parameters
    ----------
    items : iterable of (flock name, ToDo)
    full : bool, default False
        Whole sentences, each thing on a line of its own.
    """
    if full:
        return [
            WorkLine(
                flock,
                _ram(todo),
                todo.due_on,
                _noticed(_titled([todo.kind], todo.sentence), [todo]),
            )
            for flock, todo in items
        ]
    groups: dict[tuple[str, str, date], list[ToDo]] = {}
    for flock, todo in items:
        key = (flock, todo.ram.id if todo.ram else todo.sentence, todo.due_on)
        groups.setdefault(key, []).append(todo)
    return [WorkLine(key[0], _ram(g[0]), key[2], _merged(g)) for key, g in groups.items()]


def _ram(todo: ToDo) -> str:
    return todo.ram.label if todo.ram else ""


def _merged(todos: list[ToDo]) -> str:
    """Return one text: the same finding is said once, the same kinds of action stand together."""
    kinds_of: dict[str, list[str]] = {}
    for todo in todos:
        kinds_of.setdefault(todo.finding or todo.sentence, []).append(todo.kind)
    texts_of: dict[tuple[str, ...], list[str]] = {}
    for text, kinds in kinds_of.items():
        texts_of.setdefault(tuple(dict.fromkeys(kinds)), []).append(text)
    whole = "; ".join(_titled(kinds, "; ".join(texts)) for kinds, texts in texts_of.items())
    return _noticed(whole, todos)


def _noticed(text: str, todos: Iterable[ToDo]) -> str:
    """Return a text with what else has to be known when it is done."""
    notices = dict.fromkeys(todo.notice for todo in todos if todo.notice)
    return "; ".join([text, *notices])


def _titled(kinds: Iterable[str], text: str) -> str:
    titles = [ACTION_KINDS[k] for k in kinds if k in ACTION_KINDS]
    return f"{', '.join(titles)}: {text}" if titles else text

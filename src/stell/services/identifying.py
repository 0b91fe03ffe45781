"""Whose row is it: marks of a row against marks on the books.

The electronic number decides first, then the tag within the flock, then the name. Where marks of
one row point to different rams, nobody is guessed: the row is refused.
"""

from __future__ import annotations

import uuid
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from django.db.models import Q

from stell.core.errors import SheetError
from stell.core.records import Ram, written_date
from stell.services.facts import born_both
from stell.store import mapping, models

_CHUNK = 500


@dataclass(slots=True)
class Known:
    """A ram on the books, and what a sheet adds to him."""

    id: uuid.UUID
    flock_id: uuid.UUID
    ram: Ram
    left_on: date | None = None
    is_new: bool = False
    before: Ram | None = None
    came_back: bool = False
    new_marks: list[tuple[str, str, date]] = field(default_factory=list)
    ended_marks: list[tuple[str, str, date]] = field(default_factory=list)

    def becomes(self, ram: Ram) -> None:
        """Take over what was learned; keep what was known before."""
        if ram != self.ram:
            self.before = self.before or self.ram
            self.ram = ram


@dataclass(frozen=True, slots=True)
class _Mark:
    known: Known
    until_on: date | None

    def holds(self, day: date) -> bool:
        """Whether he bore it that day, as one of the flock."""
        ends = [d for d in (self.until_on, self.known.left_on) if d is not None]
        return all(day <= end for end in ends)


class Books:
    """The rams of some flocks, and whoever bears one of some electronic numbers, by their marks."""

    def __init__(self, flock_ids: Iterable[uuid.UUID], eids: Iterable[str]) -> None:
        self.by_id: dict[uuid.UUID, Known] = {}
        self._marks: dict[tuple[object, ...], list[_Mark]] = defaultdict(list)
        self._load(Q(ram__flock_id__in=list(flock_ids)), Q(flock_id__in=list(flock_ids)))
        missing = sorted({e for e in eids if e and ("eid", e) not in self._marks})
        for start in range(0, len(missing), _CHUNK):
            self._load_bearers(missing[start : start + _CHUNK])

    def _load(self, marks: Q, rams: Q) -> None:
        for row in models.Ram.objects.filter(rams):
            self.by_id[row.id] = Known(row.id, row.flock_id, mapping.ram_of(row), row.left_on)
        columns = ("ram_id", "scheme", "key", "until_on")
        for ram_id, scheme, key, until_on in models.Identifier.objects.filter(marks).values_list(
            *columns
        ):
            self._index(self.by_id[ram_id], scheme, key, until_on)

    def _load_bearers(self, eids: list[str]) -> None:
        bearers = models.Identifier.objects.filter(scheme="eid", key__in=eids)
        ids = set(bearers.values_list("ram_id", flat=True)) - self.by_id.keys()
        if ids:
            self._load(Q(ram_id__in=ids), Q(id__in=ids))

    def _index(self, known: Known, scheme: str, key: str, until_on: date | None = None) -> None:
        place = (scheme, key) if scheme == "eid" else (scheme, known.flock_id, key)
        self._marks[place].append(_Mark(known, until_on))

    def _bearers(self, scheme: str, value: str, flock_id: uuid.UUID, day: date) -> list[Known]:
        """Return who bears a mark that day; else who bore it once."""
        if not value:
            return []
        key = mapping.key_of(scheme, value)
        marks = self._marks.get((scheme, key) if scheme == "eid" else (scheme, flock_id, key), [])
        held = (
            [m for m in marks if m.holds(day)] or [m for m in marks if m.until_on is None] or marks
        )
        return list({m.known.id: m.known for m in held}.values())

    def add(self, ram: Ram, ram_id: uuid.UUID, flock_id: uuid.UUID, day: date) -> Known:
        """Put a ram on the books who was not there."""
        known = Known(ram_id, flock_id, replace(ram, ram_id=str(ram_id)), is_new=True)
        self.by_id[ram_id] = known
        for scheme, value in mapping.marks_of(ram):
            known.new_marks.append((scheme, value, day))
            self._index(known, scheme, mapping.key_of(scheme, value))
        return known

    def mark(self, known: Known, scheme: str, value: str, day: date) -> None:
        """Give a ram a mark from a day on; an older one of the scheme ends."""
        older = getattr(known.ram, scheme)
        if older:
            known.ended_marks.append((scheme, older, day))
        known.new_marks.append((scheme, value, day))
        marks: dict[str, Any] = {scheme: value}
        known.becomes(replace(known.ram, **marks))
        self._index(known, scheme, mapping.key_of(scheme, value))

    def whose(self, ram: Ram, flock_id: uuid.UUID, day: date, where: str) -> Known | None:
        """Return the ram that a row's marks point to; None when he is not on the books.

        Raises
        ------
        SheetError
            `row.identity` when the marks contradict each other or point to several rams.
        """
        if not (ram.eid or ram.tag or ram.name):
            raise _refused("the row names no ram", "no mark", "a tag, a number or a name", where)
        by_eid = _only(self._bearers("eid", ram.eid, flock_id, day), ram.eid, where)
        by_tag = _only(self._bearers("tag", ram.tag, flock_id, day), ram.tag, where)
        if by_eid is not None:
            found: Known | None = by_eid
            _same_flock(by_eid, flock_id, ram, where)
        else:
            found = by_tag
            _same_number(by_tag, ram, where)
        if by_eid and by_tag and by_eid is not by_tag:
            raise _two_rams("the electronic number", by_eid, f"tag {ram.tag}", by_tag, where)
        _same_birth(found, ram, day, where)
        named = self._bearers("name", ram.name, flock_id, day)
        if found is None:
            return self._by_name(ram, named, where)
        if named and found not in named:
            other = f"the name {ram.name}"
            raise _two_rams("the tag or number", found, other, named[0], where)
        return found

    def _by_name(self, ram: Ram, named: list[Known], where: str) -> Known | None:
        """Return the bearer of the name, unless the row has a mark that his own denies."""
        fits = [k for k in named if not (ram.tag and k.ram.tag) and not (ram.eid and k.ram.eid)]
        return _only(fits, ram.name, where)


def _only(found: list[Known], mark: str, where: str) -> Known | None:
    if len(found) > 1:
        raise _refused(
            f"{len(found)} rams answer to this mark",
            mark,
            "a mark that only one ram of the flock has, best his electronic number",
            where,
        )
    return found[0] if found else None


def _same_flock(known: Known, flock_id: uuid.UUID, ram: Ram, where: str) -> None:
    if known.flock_id != flock_id:
        flock = models.Flock.objects.get(id=known.flock_id)
        raise _refused(
            f"the ram with this electronic number is on the books of the flock '{flock.name}'",
            ram.eid,
            "a ram of this flock, or one who has been moved into it",
            where,
            f'stell move {ram.eid} "name of this flock"',
        )


def _same_number(by_tag: Known | None, ram: Ram, where: str) -> None:
    if by_tag is not None and ram.eid and by_tag.ram.eid:
        raise _refused(
            f"the ram with tag {ram.tag} has another electronic number on the books",
            ram.eid,
            f"{by_tag.ram.eid}, or the new number put on record first",
            where,
            f"stell retag {ram.tag} --eid {ram.eid}",
        )


def _same_birth(found: Known | None, ram: Ram, day: date, where: str) -> None:
    """Refuse a mark of one who has left, on a row of one who was born otherwise."""
    if found is None or found.left_on is None or day <= found.left_on:
        return
    if not born_both(found.ram.born, ram.born)[1]:
        raise _refused(
            f"the ram with that mark left on {written_date(found.left_on)} and was born otherwise",
            found.ram.label,
            "a mark of his own for a new ram",
            where,
        )


def _two_rams(one: str, a: Known, other: str, b: Known, where: str) -> SheetError:
    return _refused(
        "the row's marks belong to two different rams",
        f"{one} of {a.ram.label}, {other} of {b.ram.label}",
        "marks of one ram",
        where,
    )


def _refused(problem: str, got: str, legal: str, where: str, example: str = "") -> SheetError:
    example = example or "correct the mark in the sheet, or leave out the one that is not sure"
    return SheetError("row.identity", problem, got=got, legal=legal, example=example, where=where)


def left_text(known: Known) -> str:
    """Return when a ram left, for people."""
    return written_date(known.left_on) if known.left_on else ""

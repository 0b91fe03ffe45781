"""Rams on the books: lists, look-up, and a ram's whole history."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import F, Q

from stell.core.comparison import Comparison
from stell.core.deeds import Deed, not_for_slaughter, slaughter_notice
from stell.core.errors import RecordError, ValueRefused
from stell.core.records import INTENDED_USES, RAM_TYPES, Born
from stell.core.verdict import Decision, Outcome
from stell.exchange.electronic_id import parse as parse_eid
from stell.services import lookup
from stell.services.gathering import Examined, comparisons
from stell.services.protocols import ready_version
from stell.services.records import ExaminationRecord, FlockRecord, OverrideRecord, RamRecord
from stell.store import audit, mapping, models
from stell.store.transactions import reading, take_turn, writing

_LONGEST_MARK = {"tag": 60, "name": 120}  # characters, as in a sheet


@dataclass(frozen=True, slots=True)
class HistoryEntry:
    """One examination in a ram's history.

    Attributes
    ----------
    decision : Decision
        The verdict as its protocol version gives it, and the last override.
    overrides : tuple of OverrideRecord
        All of them, newest first.
    corrected_by : str
        Examination that replaced this one, or empty.
    protocol : str
        ``id version``.
    told : Outcome
        The outcome that was put on record at the time. It differs from the proposal's in
        `decision` only when a later version of this program judges otherwise by the same text.
    deeds : tuple of Deed
        What was done about it, oldest first, and what of that was taken back.
    """

    examination: ExaminationRecord
    decision: Decision
    overrides: tuple[OverrideRecord, ...]
    corrected_by: str
    protocol: str
    told: Outcome
    deeds: tuple[Deed, ...] = ()


@dataclass(frozen=True, slots=True)
class RamHistory:
    """Everything on record for a ram. `entries` newest first; `comparisons` of standing ones."""

    ram: RamRecord
    entries: tuple[HistoryEntry, ...]
    comparisons: tuple[Comparison, ...]

    def slaughter_notice(self, today: date) -> str:
        """Return until when he is not for slaughter, as entered; empty when no day lies ahead."""
        deeds = (deed for entry in self.entries for deed in entry.deeds)
        return slaughter_notice(not_for_slaughter(deeds, today))


def list_rams(
    flock: FlockRecord | str | None = None,
    *,
    include_left: bool = False,
    limit: int | None = None,
    offset: int = 0,
) -> tuple[RamRecord, ...]:
    """Return rams by flock and tag."""
    with reading():
        rows = lookup.ram_rows().order_by("flock__name_key", "tag", "name", "id")
        if flock is not None:
            rows = rows.filter(flock_id=lookup.flock_row(flock).id)
        if not include_left:
            rows = rows.filter(left_on__isnull=True)
        end = None if limit is None else offset + limit
        return tuple(lookup.ram_record(row) for row in rows[offset:end])


def find_ram(query: str, flock: FlockRecord | str | None = None) -> RamRecord:
    """Return the ram with that id, electronic number, tag or name.

    Marks that he bears now count before marks that somebody bore once.

    Raises
    ------
    RecordError
        `record.not_found`, naming what comes near; `record.ambiguous`, naming the flocks.
    """
    with reading():
        flock_id = lookup.flock_row(flock).id if flock is not None else None
        return lookup.ram_record(ram_row(query, flock_id))


def ram_row(query: str, flock_id: uuid.UUID | None = None) -> models.Ram:
    """Return the row of the ram that `find_ram` finds."""
    rows = lookup.ram_rows()
    if flock_id is not None:
        rows = rows.filter(flock_id=flock_id)
    by_id = lookup.uuid_or_none(query)
    if by_id is not None and (found := rows.filter(id=by_id).first()) is not None:
        return found
    for scheme in ("eid", "tag", "name"):
        key = mapping.key_of(scheme, query)
        marked = rows.filter(identifiers__scheme=scheme, identifiers__key=key).distinct()
        now = marked.filter(identifiers__until_on__isnull=True, left_on__isnull=True)
        for candidates in (list(now[:9]), list(marked[:9])):
            if len(candidates) == 1:
                return candidates[0]
            if candidates:
                raise _several(query, candidates)
    raise _no_ram(query, flock_id)


def _several(query: str, rows: Sequence[models.Ram]) -> RecordError:
    names = ", ".join(f"{row} in {row.flock.name} (id {row.id})" for row in rows)
    return RecordError(
        "record.ambiguous",
        f"{len(rows)} rams answer to that mark",
        got=query,
        legal=f"one of: {names}",
        example=f'--flock "{rows[0].flock.name}", or the id {rows[0].id}',
    )


def _no_ram(query: str, flock_id: uuid.UUID | None) -> RecordError:
    marks = models.Identifier.objects.all()
    if flock_id is not None:
        marks = marks.filter(ram__flock_id=flock_id)
    values = list(marks.order_by("-id").values_list("value", flat=True)[:5000])
    near = lookup.nearest(query, values)
    return RecordError(
        "record.not_found",
        "no ram with that mark is on the books" + (" of this flock" if flock_id else ""),
        got=query,
        legal=", ".join(near) or "a tag, an electronic number, a name or an id",
        example=near[0] if near else "stell rams",
    )


def history(ram: RamRecord | str) -> RamHistory:
    """Return every examination of a ram, corrections and overrides included, newest first.

    Newest is by the day of the examination; of one day, what was recorded last.
    """
    with reading():
        row = _row(ram)
        first = lookup.examination_rows().filter(
            ram_id=row.id, judgements__protocol_version_id=F("protocol_version_id")
        )
        rows = sorted(first.annotate(told=F("judgements__outcome")), key=_place, reverse=True)
        overrides = lookup.overrides_of(r.id for r in rows)
        deeds = lookup.deeds_found(Q(examination__ram_id=row.id))
        versions = {
            v.id: ready_version(v)
            for v in models.ProtocolVersion.objects.filter(
                id__in={r.protocol_version_id for r in rows}
            )
        }
        examined = [
            Examined(
                lookup.examination_record(r, mapping.ram_of(row)),
                versions[r.protocol_version_id],
                tuple(overrides.get(r.id, ())),
                deeds.of(r.id),
            )
            for r in rows
        ]
        return RamHistory(
            ram=lookup.ram_record(row),
            entries=tuple(_entry(e, Outcome(r.told)) for e, r in zip(examined, rows, strict=True)),
            comparisons=_comparisons(examined),
        )


def _place(row: Any) -> tuple[Any, ...]:
    """Return what the history is in order of: of one day, what stands comes first."""
    return (row.examined_on, row.newer_id is None, row.recorded_at, row.id)


def _entry(examined: Examined, told: Outcome) -> HistoryEntry:
    return HistoryEntry(
        examination=examined.record,
        decision=examined.decision(),
        overrides=examined.overrides,
        corrected_by=examined.record.replaced_by,
        protocol=examined.record.protocol,
        told=told,
        deeds=examined.deeds,
    )


def _comparisons(examined: Sequence[Examined]) -> tuple[Comparison, ...]:
    standing = [e for e in examined if e.record.stands]
    if not standing:
        return ()
    newest, *older = standing
    return comparisons(newest.record, newest.protocol, [e.record for e in older])


def _row(ram: RamRecord | str) -> models.Ram:
    return ram_row(ram.id if isinstance(ram, RamRecord) else ram)


def leave(ram: RamRecord | str, on: date, why: str, *, by: str, now: datetime) -> RamRecord:
    """Put on record that a ram has left his flock (sold, died …).

    Raises
    ------
    RecordError
        `record.refused` without a reason.
    """
    if not why.strip():
        raise RecordError(
            "record.refused",
            "it does not say why he left",
            got="nothing",
            legal="a few words",
            example='--why "sold: aged"',
        )
    with writing():
        take_turn()
        row = _row(ram)
        before = {"left_on": _day(row.left_on), "left_why": row.left_why}
        row.left_on, row.left_why = on, why.strip()
        row.save(update_fields=["left_on", "left_why"])
        after = {"left_on": _day(on), "left_why": row.left_why}
        audit.note("leave", "ram", row.id, by=by, at=now, before=before, after=after)
        return lookup.ram_record(row)


def describe(
    ram: RamRecord | str,
    *,
    breed: str | None = None,
    ram_type: str | None = None,
    born: Born | None = None,
    intended_use: str | None = None,
    by: str,
    now: datetime,
) -> RamRecord:
    """Put on record what is known of a ram; examinations keep what was known on their day.

    What is left out stays as it is.

    Raises
    ------
    ValueRefused
        `value.choice` for a type or use that is none.
    """
    given = {"breed": breed, "ram_type": ram_type, "intended_use": intended_use}
    changes: dict[str, Any] = {k: v.strip() for k, v in given.items() if v is not None}
    _refuse_unknown("ram_type", changes, RAM_TYPES)
    _refuse_unknown("intended_use", changes, INTENDED_USES)
    if born is not None:
        changes |= {"born_earliest": born.earliest, "born_latest": born.latest}
    with writing():
        take_turn()
        row = _row(ram)
        changes = {k: v for k, v in changes.items() if getattr(row, k) != v}
        if changes:
            before = {k: _plain(getattr(row, k)) for k in changes}
            for name, value in changes.items():
                setattr(row, name, value)
            row.save(update_fields=list(changes))
            after = {k: _plain(v) for k, v in changes.items()}
            audit.note("describe", "ram", row.id, by=by, at=now, before=before, after=after)
        return lookup.ram_record(row)


def _refuse_unknown(name: str, changes: dict[str, Any], legal: tuple[str, ...]) -> None:
    if changes.get(name) and changes[name] not in legal:
        raise ValueRefused(
            "value.choice",
            f"the word is not legal for {name}",
            got=changes[name],
            legal=", ".join(legal),
            example=legal[0],
        )


def _plain(value: Any) -> Any:
    return value.isoformat() if isinstance(value, date) else value


def move(
    ram: RamRecord | str, to: FlockRecord | str, on: date, *, by: str, now: datetime
) -> RamRecord:
    """Put on record that a ram now belongs to another flock on the books.

    Raises
    ------
    RecordError
        `record.refused` when a ram of that flock has his tag.
    """
    with writing():
        take_turn()
        row = _row(ram)
        target = lookup.flock_row(to)
        if target.id == row.flock_id:
            return lookup.ram_record(row)
        if row.tag:
            _refuse_taken("tag", row.tag, target.id, row.id)
        before = {"flock": row.flock.slug, "left_on": _day(row.left_on)}
        row.flock_id = target.id
        row.left_on, row.left_why = None, ""
        row.save(update_fields=["flock_id", "left_on", "left_why"])
        after = {"flock": target.slug, "left_on": None, "on": _day(on)}
        audit.note("move", "ram", row.id, by=by, at=now, before=before, after=after)
        return lookup.ram_record(ram_row(str(row.id)))


def identify(
    ram: RamRecord | str, scheme: str, value: str, *, on: date, by: str, now: datetime
) -> RamRecord:
    """Give a ram a tag, electronic number or name from a day on; the old one stays on record.

    Raises
    ------
    RecordError
        `record.refused` when another ram bears the mark.
    ValueRefused
        `value.choice` for a scheme that is none; `identity.eid` for a number that is none.
    """
    value = _proper_mark(scheme, value)
    with writing():
        take_turn()
        row = _row(ram)
        _refuse_taken(scheme, value, row.flock_id, row.id)
        before = getattr(row, scheme)
        key = mapping.key_of(scheme, value)
        if mapping.key_of(scheme, before) != key:
            models.Identifier.objects.filter(
                ram_id=row.id, scheme=scheme, until_on__isnull=True
            ).update(until_on=on)
            models.Identifier.objects.create(
                ram_id=row.id, scheme=scheme, value=value, key=key, from_on=on, source=by
            )
        setattr(row, scheme, value)
        row.save(update_fields=[scheme])
        audit.note(
            "identify", "ram", row.id, by=by, at=now, before={scheme: before}, after={scheme: value}
        )
        return lookup.ram_record(ram_row(str(row.id)))


def _proper_mark(scheme: str, value: str) -> str:
    if scheme == "eid":
        return parse_eid(value).text
    value = " ".join(value.split())
    if scheme not in ("tag", "name") or not value:
        raise ValueRefused(
            "value.choice",
            "that is no mark of a ram",
            got=f"{scheme} {value!r}",
            legal="tag, eid or name, with a value",
            example="tag 4711",
        )
    if len(value) > _LONGEST_MARK[scheme] or not value.isprintable():
        raise ValueRefused(
            "value.choice",
            f"the {scheme} is longer than {_LONGEST_MARK[scheme]} characters, or not all of it "
            "can be seen",
            got=value,
            legal=f"up to {_LONGEST_MARK[scheme]} letters, digits and signs",
            example=f"{scheme} 4711",
        )
    return value


def _refuse_taken(scheme: str, value: str, flock_id: uuid.UUID, ram_id: uuid.UUID) -> None:
    """Refuse a mark that another ram bears: an electronic number anywhere, others in the flock."""
    bearers = models.Identifier.objects.filter(
        scheme=scheme,
        key=mapping.key_of(scheme, value),
        until_on__isnull=True,
        ram__left_on__isnull=True,
    ).exclude(ram_id=ram_id)
    if scheme != "eid":
        bearers = bearers.filter(ram__flock_id=flock_id)
    taken = bearers.select_related("ram__flock").first()
    if taken is not None:
        raise RecordError(
            "record.refused",
            f"another ram bears that {'number' if scheme == 'eid' else scheme}",
            got=f"{value}, borne by {taken.ram} in {taken.ram.flock.name}",
            legal="a mark that no other ram bears",
            example="put on record first that the other ram has left or has another mark",
        )


def _day(day: date | None) -> str | None:
    return day.isoformat() if day else None

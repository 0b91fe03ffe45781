"""Flocks on the books, and when their rams go in."""

from __future__ import annotations

import re
import unicodedata
import uuid
from datetime import date, datetime
from typing import Any

from stell.core.errors import RecordError, ValueRefused
from stell.core.records import RAM_TYPES
from stell.services import lookup
from stell.services.mating import SAME_SEASON_DAYS, refuse_start
from stell.services.records import FlockRecord
from stell.store import audit, identity, models
from stell.store.transactions import reading, take_turn, writing


def add_flock(
    name: str,
    *,
    owner: str = "",
    latitude_deg: float,
    ram_type: str = "",
    mating_start_on: date | None = None,
    by: str,
    now: datetime,
) -> FlockRecord:
    """Put a flock on the books.

    Raises
    ------
    RecordError
        `record.refused` when a flock answers to that name already.
    ValueRefused
        `value.range` for a latitude outside -90 … 90, `value.choice` for an unknown type.
    """
    name = " ".join(name.split())
    _check(name, latitude_deg, ram_type)
    if mating_start_on is not None:
        refuse_start(mating_start_on)
    with writing():
        take_turn()
        _refuse_taken(name)
        row = models.Flock.objects.create(
            id=identity.new_id(now),
            slug=_free_slug(name),
            name=name,
            name_key=lookup.folded(name),
            owner=owner.strip(),
            latitude_deg=latitude_deg,
            ram_type=ram_type,
            created_at=now,
        )
        if mating_start_on is not None:
            models.MatingSeason.objects.create(flock=row, start_on=mating_start_on)
        audit.note("add", "flock", row.id, by=by, at=now, after=_said(row, mating_start_on))
        return lookup.flock_record(lookup.flock_row(str(row.id)))


def change_flock(
    flock: FlockRecord | str,
    *,
    name: str | None = None,
    owner: str | None = None,
    latitude_deg: float | None = None,
    ram_type: str | None = None,
    by: str,
    now: datetime,
) -> FlockRecord:
    """Change what is known of a flock; its short name stays, and so do past examinations.

    What is left out stays as it is.

    Raises
    ------
    RecordError
        `record.not_found`; `record.refused` when another flock has the name.
    ValueRefused
        As `add_flock`.
    """
    with writing():
        take_turn()
        row = lookup.flock_row(flock)
        before = _said(row, None)
        row.name = row.name if name is None else " ".join(name.split())
        row.owner = row.owner if owner is None else owner.strip()
        row.latitude_deg = row.latitude_deg if latitude_deg is None else latitude_deg
        row.ram_type = row.ram_type if ram_type is None else ram_type
        _check(row.name, row.latitude_deg, row.ram_type)
        _refuse_taken(row.name, row.id)
        row.name_key = lookup.folded(row.name)
        row.save()
        after = _said(row, None)
        changed = [k for k in after if after[k] != before[k]]
        if changed:
            was, now_is = ({k: said[k] for k in changed} for said in (before, after))
            audit.note("change", "flock", row.id, by=by, at=now, before=was, after=now_is)
        return lookup.flock_record(lookup.flock_row(str(row.id)))


def _refuse_taken(name: str, own_id: uuid.UUID | None = None) -> None:
    if models.Flock.objects.filter(name_key=lookup.folded(name)).exclude(id=own_id).exists():
        raise RecordError(
            "record.refused",
            "a flock of that name is on the books already",
            got=name,
            legal="a name that no other flock has",
            example=f'"{name} (hill)"',
        )


def _check(name: str, latitude_deg: float, ram_type: str) -> None:
    if not name:
        raise ValueRefused(
            "value.choice",
            "a flock needs a name",
            got="nothing",
            legal="any words",
            example='"Hill End"',
        )
    if not -90 <= latitude_deg <= 90:
        raise ValueRefused(
            "value.range",
            "the latitude cannot be right",
            got=latitude_deg,
            legal="-90 to 90 degrees, south of the equator negative",
            example="55.1",
        )
    if ram_type and ram_type not in RAM_TYPES:
        raise ValueRefused(
            "value.choice",
            "the type of ram is not known",
            got=ram_type,
            legal=", ".join(RAM_TYPES),
            example="hill",
        )


def _free_slug(name: str) -> str:
    """Return a short name of plain letters, digits and hyphens that no flock has."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    wanted = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:60] or "flock"
    taken = set(models.Flock.objects.filter(slug__startswith=wanted).values_list("slug", flat=True))
    number = 1
    slug = wanted
    while slug in taken:
        number += 1
        slug = f"{wanted}-{number}"
    return slug


def _said(row: models.Flock, mating_start_on: date | None) -> dict[str, Any]:
    return {
        "name": row.name,
        "owner": row.owner,
        "latitude_deg": row.latitude_deg,
        "ram_type": row.ram_type,
        "mating_start_on": mating_start_on.isoformat() if mating_start_on else None,
    }


def set_mating_start(
    flock: FlockRecord | str, start_on: date, *, by: str, now: datetime
) -> FlockRecord:
    """Say when the rams go in.

    A start within 60 days of one on record moves that one; else it is a further season.

    Raises
    ------
    ValueRefused
        `value.date` for a year that cannot be meant.
    """
    refuse_start(start_on)
    with writing():
        take_turn()
        row = lookup.flock_row(flock)
        near = [
            s for s in row.seasons.all() if abs((s.start_on - start_on).days) <= SAME_SEASON_DAYS
        ]
        moved = min(near, key=lambda s: abs((s.start_on - start_on).days), default=None)
        before = moved.start_on.isoformat() if moved else None
        if moved is None:
            models.MatingSeason.objects.create(flock_id=row.id, start_on=start_on)
        elif moved.start_on != start_on:
            moved.start_on = start_on
            moved.save(update_fields=["start_on"])
        if before != start_on.isoformat():
            audit.note(
                "set_mating_start",
                "flock",
                row.id,
                by=by,
                at=now,
                before={"mating_start_on": before},
                after={"mating_start_on": start_on.isoformat()},
            )
        return lookup.flock_record(lookup.flock_row(str(row.id)))


def all_flocks() -> tuple[FlockRecord, ...]:
    """Return every flock, by name."""
    with reading():
        return tuple(lookup.flock_record(row) for row in lookup.flock_rows())


def find_flock(name: str) -> FlockRecord:
    """Return the flock of that name, slug or id; upper and lower case are the same.

    Raises
    ------
    RecordError
        `record.not_found`, naming what comes near.
    """
    with reading():
        return lookup.flock_record(lookup.flock_row(name))

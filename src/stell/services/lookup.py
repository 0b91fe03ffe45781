"""From names to rows, and from rows to what services hand out."""

from __future__ import annotations

import difflib
import uuid
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Count, F, Prefetch, Q, QuerySet, Value
from django.db.models.functions import Concat

from stell.core.deeds import STAYS_WITH_RECORD, Deed
from stell.core.errors import RecordError
from stell.core.records import Ram
from stell.services.records import (
    ExaminationRecord,
    FlockRecord,
    IdentifierRecord,
    OverrideRecord,
    RamRecord,
)
from stell.store import mapping, models

_AT_ONCE = 500  # ids asked for in one query


def uuid_or_none(text: str) -> uuid.UUID | None:
    """Return the UUID that a text spells, or None."""
    try:
        return uuid.UUID(text)
    except ValueError:
        return None


def folded(name: str) -> str:
    """Return a name as it is compared: one blank between words, no case."""
    return " ".join(name.split()).casefold()


# --- Flocks ----------------------------------------------------------------------------------


def flock_rows() -> QuerySet[models.Flock]:
    """Return all flocks, by name, with what `flock_record` needs."""
    active = Count("rams", filter=Q(rams__left_on__isnull=True))
    rows = models.Flock.objects.annotate(active_rams=active).prefetch_related("seasons")
    return rows.order_by("name_key")


def flock_record(row: Any) -> FlockRecord:
    """Return a flock from a row of `flock_rows`."""
    return FlockRecord(
        id=str(row.id),
        slug=row.slug,
        name=row.name,
        owner=row.owner,
        latitude_deg=row.latitude_deg,
        ram_type=row.ram_type,
        mating_starts=tuple(sorted(s.start_on for s in row.seasons.all())),
        rams=row.active_rams,
    )


def flock_row(flock: FlockRecord | str) -> Any:
    """Return the row of a flock, given as a record or by name, slug or id.

    Raises
    ------
    RecordError
        `record.not_found`, naming what comes near.
    """
    if isinstance(flock, FlockRecord):
        condition = Q(id=uuid.UUID(flock.id))
    else:
        condition = Q(name_key=folded(flock)) | Q(slug=flock.strip().lower())
        if (by_id := uuid_or_none(flock)) is not None:
            condition |= Q(id=by_id)
    found = list(flock_rows().filter(condition))
    if len(found) == 1:
        return found[0]
    if found:  # one flock's slug may be another's name; the name counts
        return next(f for f in found if f.name_key == folded(str(flock)))
    raise _no_flock(flock if isinstance(flock, str) else flock.name)


def _no_flock(name: str) -> RecordError:
    names = list(models.Flock.objects.values_list("name", flat=True))
    near = nearest(name, names)
    legal = ", ".join(near or names[:8]) or "none are on the books yet"
    return RecordError(
        "record.not_found",
        "no flock of that name is on the books",
        got=name,
        legal=legal,
        example=f'"{near[0]}"' if near else 'stell flock add "Hill End" --latitude 55',
    )


def nearest(name: str, names: Sequence[str], most: int = 3) -> list[str]:
    """Return the names that look most like one."""
    by_key = {folded(n): n for n in names}
    return [by_key[k] for k in difflib.get_close_matches(folded(name), by_key, n=most, cutoff=0.6)]


# --- Rams ------------------------------------------------------------------------------------


def ram_rows(*, with_marks: bool = True) -> QuerySet[models.Ram]:
    """Return all rams with what `ram_record` needs; past marks too, if wanted."""
    rows = models.Ram.objects.select_related("flock")
    if not with_marks:
        return rows
    marks = models.Identifier.objects.order_by("id")
    return rows.prefetch_related(Prefetch("identifiers", queryset=marks))


def ram_record(row: models.Ram, *, with_marks: bool = True) -> RamRecord:
    """Return a ram from a row of `ram_rows`."""
    marks = row.identifiers.all() if with_marks else ()
    return RamRecord(
        ram=mapping.ram_of(row),
        flock_id=str(row.flock_id),
        flock_slug=row.flock.slug,
        flock_name=row.flock.name,
        left_on=row.left_on,
        left_why=row.left_why,
        identifiers=tuple(
            IdentifierRecord(i.scheme, i.value, i.from_on, i.until_on, i.source) for i in marks
        ),
    )


# --- Examinations ----------------------------------------------------------------------------


def examination_rows() -> QuerySet[models.Examination]:
    """Return all examinations with what `examination_record` needs, but for the ram's marks."""
    return models.Examination.objects.annotate(
        newer_id=F("replaced_by__id"),
        import_name=F("sheet_import__name"),
        protocol_named=Concat(
            "protocol_version__protocol_id", Value(" "), "protocol_version__version"
        ),
    )


def examination_row(exam_id: str) -> Any:
    """Return the row of an examination.

    Raises
    ------
    RecordError
        `record.not_found`.
    """
    by_id = uuid_or_none(exam_id)
    rows = examination_rows().select_related("ram")
    row = rows.filter(id=by_id).first() if by_id else None
    if row is None:
        raise RecordError(
            "record.not_found",
            "no examination of that id is on record",
            got=exam_id,
            legal="the id of a stored examination, as `stell history RAM --json` shows it",
            example="0199f3a2-5c00-7000-8000-000000000000",
        )
    return row


def examination_record(row: Any, marks: Ram | None = None) -> ExaminationRecord:
    """Return an examination from a row of `examination_rows`.

    `marks` is the ram as he is known now; without it the row's own ram is asked.
    """
    return ExaminationRecord(
        exam=mapping.examination_of(row),
        ram=mapping.ram_then(row, marks or mapping.ram_of(row.ram)),
        season=mapping.season_of(row),
        protocol=row.protocol_named,
        flock_id=str(row.flock_id),
        recorded_at=row.recorded_at,
        received_at=row.received_at,
        replaced_by=str(row.newer_id) if row.newer_id else "",
        correction_reason=row.correction_reason,
        device=row.device,
        import_name=row.import_name or "",
    )


def override_record(row: models.VetOverride) -> OverrideRecord:
    """Return one word of a vet's own verdict from its row."""
    own = mapping.override_of(row)
    return OverrideRecord(
        id=str(row.id),
        exam_id=str(row.examination_id),
        outcome=own.outcome,
        reason=own.reason,
        by=own.by,
        on=own.on,
        at=row.at,
    )


def overrides_of(exam_ids: Iterable[uuid.UUID]) -> dict[uuid.UUID, list[OverrideRecord]]:
    """Return the overrides of examinations, newest first."""
    found: dict[uuid.UUID, list[OverrideRecord]] = {}
    ids = list(exam_ids)
    for start in range(0, len(ids), _AT_ONCE):
        rows = models.VetOverride.objects.filter(examination_id__in=ids[start : start + _AT_ONCE])
        for row in rows.order_by("-at", "-id"):
            found.setdefault(row.examination_id, []).append(override_record(row))
    return found


# --- Deeds -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class DeedsFound:
    """Deeds by the examination they are of, and by the ram, in the order in which they were done.

    A deed about a record that was corrected counts for the correction too, of the same ram.
    """

    by_exam: Mapping[uuid.UUID, tuple[Deed, ...]]
    by_ram: Mapping[str, tuple[Deed, ...]]

    def of(self, exam_id: uuid.UUID) -> tuple[Deed, ...]:
        """Return those of an examination."""
        return self.by_exam.get(exam_id, ())


def deeds_found(condition: Q) -> DeedsFound:
    """Return the deeds that fit a condition on `models.Deed`, those taken back among them."""
    rows = list(
        models.Deed.objects.filter(condition)
        .select_related("taken_back")
        .annotate(ram_id=F("examination__ram_id"))
    )
    newer = _corrections({row.examination_id for row in rows})
    by_exam: dict[uuid.UUID, list[Deed]] = {}
    by_ram: dict[str, list[Deed]] = {}
    for row in rows:
        deed = mapping.deed_of(row)
        by_ram.setdefault(str(row.ram_id), []).append(deed)
        exam_id = row.examination_id
        by_exam.setdefault(exam_id, []).append(deed)
        while deed.kind not in STAYS_WITH_RECORD and exam_id in newer:
            exam_id = newer[exam_id]
            by_exam.setdefault(exam_id, []).append(deed)
    return DeedsFound(
        {key: tuple(deeds) for key, deeds in by_exam.items()},
        {key: tuple(deeds) for key, deeds in by_ram.items()},
    )


def _corrections(exam_ids: set[uuid.UUID]) -> dict[uuid.UUID, uuid.UUID]:
    """Return which record replaced which, from these on, as long as the ram is the same."""
    newer: dict[uuid.UUID, uuid.UUID] = {}
    asked = list(exam_ids)
    while asked:
        some, asked = asked[:_AT_ONCE], asked[_AT_ONCE:]
        rows = models.Examination.objects.filter(
            replaces_id__in=some, ram_id=F("replaces__ram_id")
        ).values_list("replaces_id", "id")
        for old, new in rows:
            newer[old] = new
            if new not in exam_ids:
                asked.append(new)
    return newer

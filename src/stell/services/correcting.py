"""Corrections: what was really found, as a new record that replaces the old; both stay."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime
from typing import Any

from stell.core.errors import RecordError, ValueRefused
from stell.core.judge import judge
from stell.core.protocol.ready import ReadyCheck, ReadyProtocol
from stell.core.records import (
    CIRCUMSTANCES,
    INTENDED_USES,
    RAM_TYPES,
    Born,
    Examination,
    Observed,
    Ram,
    Season,
    written_date,
)
from stell.core.units import shown
from stell.services import lookup
from stell.services.protocols import ready_version
from stell.services.rams import ram_row
from stell.services.records import ExaminationRecord
from stell.store import audit, bulk, identity, mapping, models
from stell.store.transactions import take_turn, writing

# What `correct` may change, beside ``ram`` (id of the ram it really was).
CORRECTABLE = (
    "observations",
    "remarks",
    "note",
    "examined_on",
    "examiner",
    "circumstances",
    "breed",
    "ram_type",
    "born",
    "age_class",
    "intended_use",
)


LONGEST_WORDS = 4000  # as in a sheet: what is longer cannot be read, and fits no cell of an export


def refuse_endless(text: str, what: str) -> None:
    """Refuse words that are too long to be read again."""
    if len(text) > LONGEST_WORDS:
        raise RecordError(
            "record.refused",
            f"{what} is longer than {LONGEST_WORDS:,} characters",
            got=f"{len(text):,} characters",
            legal=f"up to {LONGEST_WORDS:,} characters",
            example=f"{text[:20]}…",
        )


def require(text: str, what: str, needs: str, example: str) -> None:
    """Refuse empty words, and endless ones."""
    refuse_endless(text, f"{needs} of {what}")
    if not text.strip():
        raise RecordError(
            "record.refused",
            f"{what} needs {needs}",
            got="nothing",
            legal="a few words",
            example=example,
        )


def refuse_replaced(row: Any) -> None:
    """Refuse to go on from an examination that a correction has replaced."""
    if row.newer_id is not None:
        raise RecordError(
            "record.refused",
            "a correction has replaced this examination",
            got=str(row.id),
            legal=f"the record that stands: {row.newer_id}",
            example=str(row.newer_id),
        )


def correct(
    exam_id: str, changes: Mapping[str, Any], reason: str, *, by: str, now: datetime
) -> ExaminationRecord:
    """Record what was really found, as a new examination that replaces the old; both stay.

    The vet's own verdict on the old record, when there is one, goes over to the new one.

    Parameters
    ----------
    changes : mapping
        Keys of `CORRECTABLE`, and ``ram``. ``observations`` and ``remarks`` are merged check by
        check; None takes a check away. Dates as `date` or ISO 8601; ``born`` as `Born`, a date, or
        a pair of dates.

    Raises
    ------
    RecordError
        `record.not_found`; `record.refused` without a reason, without a difference, or when it
        is corrected already (then correct the newer one).
    ValueRefused
        `value.choice` or `value.date` for what cannot be meant, for days in the future and for
        days before he was born.
    """
    require(reason, "a correction", "a reason", '--reason "left and right were swapped"')
    with writing():
        take_turn()
        old = lookup.examination_row(exam_id)
        refuse_replaced(old)
        exam_before = mapping.examination_of(old)
        ram_before = mapping.ram_then(old, mapping.ram_of(old.ram))
        protocol = ready_version(models.ProtocolVersion.objects.get(id=old.protocol_version_id))
        exam, ram = corrected(exam_before, ram_before, changes, protocol)
        if "ram" in changes:
            ram = replace(ram, ram_id=str(ram_row(str(changes["ram"])).id))
        if (exam, ram) == (exam_before, ram_before):
            raise RecordError(
                "record.refused",
                "the correction changes nothing",
                got=", ".join(changes) or "no changes",
                legal=", ".join((*CORRECTABLE, "ram")),
                example='{"observations": {"scrotal_circumference": [345]}}',
            )
        for words in (exam.note, exam.examiner, *exam.remarks.values()):
            refuse_endless(words, "a note, a remark or a name")
        _refuse_impossible_days(exam, ram, now.date())
        _refuse_same_day(old, exam, ram)
        new_id = _store(old, exam, ram, reason.strip(), protocol, by=by, now=now)
        _learn(ram, changes)
        before, after = _differences(exam_before, exam, ram_before, ram)
        audit.note(
            "correct",
            "examination",
            new_id,
            by=by,
            at=now,
            before={"examination": str(old.id), **before},
            after={"reason": reason.strip(), **after},
        )
        return lookup.examination_record(lookup.examination_row(str(new_id)))


def corrected(
    exam: Examination, ram: Ram, changes: Mapping[str, Any], protocol: ReadyProtocol
) -> tuple[Examination, Ram]:
    """Return examination and ram with the changes made. Nothing is stored.

    Raises
    ------
    ValueRefused
        As `correct`.
    """
    unknown = [key for key in changes if key not in (*CORRECTABLE, "ram")]
    if unknown:
        raise _no_choice("that cannot be corrected", unknown[0], (*CORRECTABLE, "ram"))
    for check_id, value in changes.get("observations", {}).items():
        _refuse_impossible(protocol, check_id, value)
    exam = replace(
        exam,
        observations=_merged(exam.observations, changes.get("observations", {})),
        remarks=_merged(exam.remarks, changes.get("remarks", {})),
        note=changes.get("note", exam.note),
        examiner=changes.get("examiner", exam.examiner),
        examined_on=_day(changes["examined_on"]) if "examined_on" in changes else exam.examined_on,
        circumstances=_several("circumstances", changes, exam.circumstances, CIRCUMSTANCES),
    )
    age_class = changes.get("age_class", ram.age_class)
    ram = replace(
        ram,
        breed=changes.get("breed", ram.breed),
        ram_type=_one("ram_type", changes, ram.ram_type, RAM_TYPES),
        born=_born(changes["born"]) if "born" in changes else ram.born,
        age_class=age_class,
        age_class_on=exam.examined_on if "age_class" in changes and age_class else ram.age_class_on,
        intended_use=_one("intended_use", changes, ram.intended_use, INTENDED_USES),
    )
    return exam, ram


def _merged(had: Mapping[str, Any], changes: Mapping[str, Any]) -> dict[str, Any]:
    merged = {**had, **{k: _tuples(v) for k, v in changes.items()}}
    return {k: v for k, v in merged.items() if v is not None}


def _refuse_impossible(protocol: ReadyProtocol, check_id: str, value: Any) -> None:
    if value is None:
        return
    check = protocol.checks.get(check_id)
    if check is None:
        raise _no_choice(f"no such check in {protocol.named}", check_id, tuple(protocol.checks))
    if check.unit is not None:
        _refuse_number(check, value)
        return
    answers = tuple(value) if check.spec.several and not isinstance(value, str) else (value,)
    for answer in answers:
        if answer not in check.rules:
            raise _no_choice(f"no such answer to {check_id}", answer, tuple(check.rules))


def _refuse_number(check: ReadyCheck, value: Any) -> None:
    assert check.unit is not None
    low, high = check.plausible
    readings = value if isinstance(value, list | tuple) else ()
    whole = all(isinstance(v, int) and not isinstance(v, bool) for v in readings)
    if not readings or not whole or not low <= min(readings) <= max(readings) <= high:
        raise ValueRefused(
            "value.range",
            f"{check.title} cannot be that",
            got=str(value),
            legal=f"a list of whole numbers of {check.unit.fixed}, {low} to {high} "
            f"({shown(low, check.unit)} to {shown(high, check.unit)})",
            example=f'"{check.id}": [{(low + high) // 2}]',
        )


def _tuples(value: Any) -> Observed | None:
    return tuple(value) if isinstance(value, list) else value


def _day(value: Any) -> date:
    if isinstance(value, date):
        return value
    try:
        return date.fromisoformat(str(value))
    except ValueError:
        raise ValueRefused(
            "value.date",
            "the day could not be understood",
            got=str(value),
            legal="year-month-day",
            example="2026-10-04",
        ) from None


def _born(value: Any) -> Born | None:
    if value is None or isinstance(value, Born):
        return value
    if isinstance(value, list | tuple) and len(value) == 2:
        return Born(_day(value[0]), _day(value[1]))
    return Born.on(_day(value))


def _one(key: str, changes: Mapping[str, Any], had: str, legal: tuple[str, ...]) -> str:
    value = changes.get(key, had)
    if value and value not in legal:
        raise _no_choice(f"the word is not legal for {key}", value, legal)
    return value or ""


def _several(
    key: str, changes: Mapping[str, Any], had: tuple[str, ...], legal: tuple[str, ...]
) -> tuple[str, ...]:
    values = tuple(changes.get(key, had))
    for value in values:
        if value not in legal:
            raise _no_choice(f"the word is not legal for {key}", value, legal)
    return values


def _no_choice(problem: str, got: object, legal: tuple[str, ...]) -> ValueRefused:
    return ValueRefused(
        "value.choice", problem, got=str(got), legal=", ".join(legal), example=legal[0]
    )


def _refuse_impossible_days(exam: Examination, ram: Ram, today: date) -> None:
    """Refuse days that a sheet would be refused for: in the future, or before he was born."""
    if exam.examined_on > today:
        raise ValueRefused(
            "value.date",
            "the day of the examination lies in the future",
            got=written_date(exam.examined_on),
            legal=f"{written_date(today)} or a day before it",
            example=today.isoformat(),
        )
    if ram.born is not None and exam.examined_on < ram.born.earliest:
        raise ValueRefused(
            "value.date",
            "he would have been examined before he was born",
            got=f"examined on {written_date(exam.examined_on)}, born on "
            f"{written_date(ram.born.earliest)}",
            legal="an examination after his birth",
            example=f"born={ram.born.earliest.year - 1}-03-15, if the birth is what was wrong",
        )


def _refuse_same_day(old: Any, exam: Examination, ram: Ram) -> None:
    """Refuse to move a record onto a day on which that ram has another one that stands."""
    others = models.Examination.objects.filter(
        ram_id=uuid.UUID(ram.ram_id), examined_on=exam.examined_on, replaced_by__isnull=True
    ).exclude(id=old.id)
    other = others.first()
    if other is not None:
        raise RecordError(
            "record.refused",
            "that ram has an examination on record on that day",
            got=f"{ram.label} on {exam.examined_on.isoformat()}",
            legal="a ram and a day without a record, or a correction of the record that is there",
            example=str(other.id),
        )


def _store(
    old: Any,
    exam: Examination,
    ram: Ram,
    reason: str,
    protocol: ReadyProtocol,
    *,
    by: str,
    now: datetime,
) -> uuid.UUID:
    """Write the new record, its judgement, and the vet's own verdict that goes over to it."""
    ids = identity.new_ids(now)
    new_id = next(ids)
    owner = models.Ram.objects.get(id=uuid.UUID(ram.ram_id))
    bulk.insert(
        models.Examination,
        mapping.EXAMINATION_COLUMNS,
        [
            (
                new_id,
                owner.id,
                owner.flock_id if owner.id != old.ram_id else old.flock_id,
                exam.examined_on,
                exam.examiner,
                mapping.observations_text(exam.observations),
                dict(exam.remarks),
                exam.note,
                list(exam.circumstances),
                *mapping.facts_of(ram),
                old.mating_start_on,
                old.latitude_deg,
                now,
                now,
                by,
                "",
                None,
                old.id,
                reason,
                mapping.content_hash(exam),
                old.protocol_version_id,
            )
        ],
    )
    verdict = judge(protocol, ram, exam, Season(old.mating_start_on, old.latitude_deg))
    bulk.insert(
        models.Judgement,
        mapping.JUDGEMENT_COLUMNS,
        [mapping.judgement_row(new_id, old.protocol_version_id, verdict, now, None)],
    )
    last = models.VetOverride.objects.filter(examination_id=old.id).last()
    if last is not None:
        models.VetOverride(
            id=next(ids),
            examination_id=new_id,
            outcome=last.outcome,
            reason=last.reason,
            by=last.by,
            on=last.on,
            at=now,
        ).save()
    return new_id


def _learn(ram: Ram, changes: Mapping[str, Any]) -> None:
    """Correct on the books what was corrected of the ram himself."""
    columns = {"born": ("born_earliest", "born_latest"), "age_class": ("age_class", "age_class_on")}
    facts = dict(zip(mapping.RAM_FACTS, mapping.facts_of(ram), strict=True))
    changed = [
        column
        for key in ("breed", "ram_type", "born", "age_class", "intended_use")
        if key in changes
        for column in columns.get(key, (key,))
    ]
    if changed:
        models.Ram.objects.filter(id=uuid.UUID(ram.ram_id)).update(**{c: facts[c] for c in changed})


def _differences(
    exam_before: Examination, exam: Examination, ram_before: Ram, ram: Ram
) -> tuple[dict[str, Any], dict[str, Any]]:
    """Return what differs, before and after, JSON-ready."""
    a, b = _said(exam_before, ram_before), _said(exam, ram)
    changed = [k for k in sorted({*a, *b}) if a.get(k) != b.get(k)]
    return {k: a.get(k) for k in changed}, {k: b.get(k) for k in changed}


def _said(exam: Examination, ram: Ram) -> dict[str, Any]:
    found = mapping.findings(exam)
    seen = found.pop("observations", {})
    born = ram.born
    return {
        **found,
        **seen,
        "examined_on": exam.examined_on.isoformat(),
        "ram": ram.ram_id,
        "breed": ram.breed,
        "ram_type": ram.ram_type,
        "born": [born.earliest.isoformat(), born.latest.isoformat()] if born else None,
        "age_class": ram.age_class,
        "intended_use": ram.intended_use,
    }

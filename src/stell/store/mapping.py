"""The only bridge between rows and core values."""

from __future__ import annotations

import hashlib
import json
import uuid
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from stell.core.deeds import Deed, Medicine, TakenBack
from stell.core.records import Born, Examination, Observed, Ram, Season, observations_from_json
from stell.core.verdict import Outcome, Override, Verdict
from stell.store import models

# Columns that say what was known of the ram on that day, in this order everywhere.
RAM_FACTS = (
    "breed",
    "ram_type",
    "born_earliest",
    "born_latest",
    "age_class",
    "age_class_on",
    "intended_use",
)
# Columns from which the judge's three arguments are made.
JUDGED = (
    "id",
    "ram_id",
    "examined_on",
    "observations",
    "circumstances",
    *RAM_FACTS,
    "mating_start_on",
    "latitude_deg",
)

# Columns of a new examination, and of a new judgement.
EXAMINATION_COLUMNS = (
    "id",
    "ram_id",
    "flock_id",
    "examined_on",
    "examiner",
    "observations",
    "remarks",
    "note",
    "circumstances",
    *RAM_FACTS,
    "mating_start_on",
    "latitude_deg",
    "recorded_at",
    "received_at",
    "recorded_by",
    "device",
    "sheet_import_id",
    "replaces_id",
    "correction_reason",
    "content_hash",
    "protocol_version_id",
)
JUDGEMENT_COLUMNS = (
    "examination_id",
    "protocol_version_id",
    "outcome",
    "classed",
    "reexamine_on",
    "is_ready_in_time",
    "rules",
    "missing",
    "judged_at",
    "run_id",
)


def born_of(earliest: date | None, latest: date | None) -> Born | None:
    """Return a birth from two columns."""
    return None if earliest is None or latest is None else Born(earliest, latest)


def ram_of(row: models.Ram) -> Ram:
    """Return a ram as he is known today."""
    return Ram(
        ram_id=str(row.id),
        tag=row.tag,
        name=row.name,
        eid=row.eid,
        breed=row.breed,
        ram_type=row.ram_type,
        born=born_of(row.born_earliest, row.born_latest),
        age_class=row.age_class,
        age_class_on=row.age_class_on,
        intended_use=row.intended_use,
    )


def ram_from_facts(ram_id: str, facts: Sequence[Any]) -> Ram:
    """Return a ram without marks from the columns `RAM_FACTS`."""
    breed, ram_type, earliest, latest, age_class, age_class_on, intended_use = facts
    return Ram(
        ram_id=ram_id,
        breed=breed,
        ram_type=ram_type,
        born=born_of(earliest, latest),
        age_class=age_class,
        age_class_on=age_class_on,
        intended_use=intended_use,
    )


def facts_of(ram: Ram) -> tuple[Any, ...]:
    """Return the columns `RAM_FACTS` of a ram."""
    born = ram.born
    return (
        ram.breed,
        ram.ram_type,
        born.earliest if born else None,
        born.latest if born else None,
        ram.age_class,
        ram.age_class_on,
        ram.intended_use,
    )


def ram_then(row: models.Examination, marks: Ram) -> Ram:
    """Return the ram as he was known at an examination, under the marks he carries now."""
    known = ram_from_facts(str(row.ram_id), [getattr(row, name) for name in RAM_FACTS])
    return replace(known, tag=marks.tag, name=marks.name, eid=marks.eid)


def examination_of(row: models.Examination) -> Examination:
    """Return an examination from its row."""
    return Examination(
        exam_id=str(row.id),
        ram_id=str(row.ram_id),
        examined_on=row.examined_on,
        observations=observations_from_json(row.observations),
        examiner=row.examiner,
        note=row.note,
        remarks=dict(row.remarks),
        circumstances=tuple(row.circumstances),
        replaces=str(row.replaces_id) if row.replaces_id else "",
    )


def season_of(row: models.Examination) -> Season:
    """Return the season as it was known at an examination."""
    return Season(row.mating_start_on, row.latitude_deg)


def override_of(row: models.VetOverride) -> Override:
    """Return a vet's own verdict from its row."""
    return Override(Outcome(row.outcome), row.reason, row.by, row.on)


def deed_of(row: models.Deed) -> Deed:
    """Return a deed from its row, with `taken_back` at hand."""
    back = getattr(row, "taken_back", None)
    medicine = Medicine(row.product, row.dose, row.withdrawal, row.withdrawal_until)
    return Deed(
        deed_id=str(row.id),
        exam_id=str(row.examination_id),
        kind=row.kind,
        rules=tuple(row.rules),
        done_on=row.done_on,
        done_by=row.done_by,
        entered_by=row.recorded_by,
        note=row.note,
        medicine=medicine if row.product else None,
        taken_back=TakenBack(back.reason, back.by, back.on) if back else None,
    )


@dataclass(frozen=True, slots=True)
class ShortVerdict:
    """What of a verdict is stored; the judge gives the rest again."""

    outcome: str
    classed: str
    reexamine_on: date | None
    is_ready_in_time: bool | None
    rules: list[list[Any]]
    missing: list[list[str]]


def short(verdict: Verdict) -> ShortVerdict:
    """Return what of a verdict is stored."""
    return ShortVerdict(
        outcome=verdict.outcome.value,
        classed=verdict.classed,
        reexamine_on=verdict.reexamine_on,
        is_ready_in_time=verdict.ready_in_time,
        rules=[
            [r.rule.rule_id, int(r.severity), max((e.days for e in r.effects), default=0)]
            for r in verdict.reasons
        ],
        missing=[[m.check_id, m.why] for m in verdict.missing],
    )


def judgement_row(
    exam_id: uuid.UUID, version_id: int, verdict: Verdict, at: datetime, run_id: int | None
) -> tuple[Any, ...]:
    """Return the values of `JUDGEMENT_COLUMNS`."""
    said = short(verdict)
    return (
        exam_id,
        version_id,
        said.outcome,
        said.classed,
        said.reexamine_on,
        said.is_ready_in_time,
        said.rules,
        said.missing,
        at,
        run_id,
    )


def findings(exam: Examination) -> dict[str, Any]:
    """Return what an examination found, in one canonical shape: same findings, same shape.

    Ids, the day, facts of the ram and the way it came here are no part of it.
    """
    found = _without_observations(exam)
    if exam.observations:
        found["observations"] = {k: _canonical(v) for k, v in exam.observations.items()}
    return found


def _without_observations(exam: Examination) -> dict[str, Any]:
    said: dict[str, Any] = {
        "remarks": dict(exam.remarks),
        "note": exam.note,
        "examiner": exam.examiner,
        "circumstances": sorted(exam.circumstances),
    }
    return {k: v for k, v in said.items() if v}


def _canonical(value: Observed) -> Any:
    """Return one observation; the order of several answers means nothing, that of readings does."""
    if isinstance(value, tuple):
        return sorted(value) if value and isinstance(value[0], str) else list(value)
    return value


def observations_text(observations: Mapping[str, Observed]) -> str:
    """Return observations as canonical JSON: the text that is stored and hashed."""
    return _canonical_text(
        {k: v if type(v) is str else _canonical(v) for k, v in observations.items()}
    )


def content_hash(exam: Examination, observations: str = "") -> str:
    """Return the SHA-256 of what an examination found, as hex.

    `observations` is its `observations_text`, where that has been made already.
    """
    found = observations or observations_text(exam.observations)
    text = found + _canonical_text(_without_observations(exam))
    return hashlib.sha256(text.encode()).hexdigest()


# One encoder for all: making one for each value takes longer than encoding it.
_canonical_text = json.JSONEncoder(sort_keys=True, ensure_ascii=False, separators=(",", ":")).encode


def differing(a: Mapping[str, Any], b: Mapping[str, Any]) -> list[str]:
    """Return the names of what differs between two `findings`, checks by their id."""
    names = [k for k in sorted({*a, *b} - {"observations"}) if a.get(k) != b.get(k)]
    seen_a, seen_b = a.get("observations", {}), b.get("observations", {})
    return names + [k for k in sorted({*seen_a, *seen_b}) if seen_a.get(k) != seen_b.get(k)]


def key_of(scheme: str, value: str) -> str:
    """Return the form by which a mark is looked up: no spaces, no case."""
    folded = "".join(value.split()).casefold()
    return folded.replace("-", "") if scheme == "tag" else folded


def marks_of(ram: Ram) -> Iterable[tuple[str, str]]:
    """Yield the marks a ram carries as (scheme, value)."""
    for scheme, value in (("eid", ram.eid), ("tag", ram.tag), ("name", ram.name)):
        if value:
            yield scheme, value

"""The JSON shapes of stored things, as ``--json`` prints them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from stell.core.comparison import Comparison
    from stell.core.verdict import Decision
    from stell.services.due import DueItem
    from stell.services.rams import HistoryEntry
    from stell.services.records import ExaminationRecord, FlockRecord, RamRecord
    from stell.services.seasons import FlockSeason, RamSeason, ToDo


def flock_shape(flock: FlockRecord) -> dict[str, Any]:
    """Return a flock on the books."""
    return {
        "id": flock.id,
        "slug": flock.slug,
        "name": flock.name,
        "owner": flock.owner,
        "latitude_deg": flock.latitude_deg,
        "ram_type": flock.ram_type,
        "mating_starts": flock.mating_starts,
        "rams": flock.rams,
    }


def ram_shape(record: RamRecord) -> dict[str, Any]:
    """Return a stored ram."""
    ram = record.ram
    return {
        "id": record.id,
        "flock": record.flock_slug,
        "tag": ram.tag,
        "eid": ram.eid,
        "name": ram.name,
        "breed": ram.breed,
        "ram_type": ram.ram_type,
        "born": {"earliest": ram.born.earliest, "latest": ram.born.latest} if ram.born else None,
        "age_class": ram.age_class,
        "intended_use": ram.intended_use,
        "left_on": record.left_on,
        "left_why": record.left_why,
    }


def examination_shape(record: ExaminationRecord) -> dict[str, Any]:
    """Return a stored examination; measured values are lists of whole fixed units."""
    exam = record.exam
    return {
        "id": record.id,
        "examined_on": exam.examined_on,
        "examiner": exam.examiner,
        "observations": exam.observations,
        "remarks": exam.remarks,
        "note": exam.note,
        "circumstances": exam.circumstances,
        "mating_start_on": record.season.mating_start_on,
        "protocol": record.protocol,
        "replaces": exam.replaces,
        "replaced_by": record.replaced_by,
        "correction_reason": record.correction_reason,
    }


def decision_shape(decision: Decision | None) -> dict[str, Any] | None:
    """Return what stands for a ram: the outcome that counts, the proposal, the override."""
    if decision is None:
        return None
    return {
        "outcome": decision.outcome,
        "proposed": decision.proposed,
        "override": decision.override,
    }


def entry_shape(entry: HistoryEntry) -> dict[str, Any]:
    """Return one line of a ram's history."""
    return {
        **examination_shape(entry.examination),
        "decision": decision_shape(entry.decision),
        "overrides": entry.overrides,
        "deeds": entry.deeds,
    }


def comparison_shape(comparison: Comparison) -> dict[str, Any]:
    """Return two examinations of one ram side by side."""
    return {
        "now_on": comparison.now_on,
        "then_on": comparison.then_on,
        "same_person": comparison.same_person,
        "measures": [
            {
                "check": m.check_id,
                "unit": m.unit.fixed,
                "now": m.now,
                "then": m.then,
                "difference": m.difference,
                "by_season": m.expected,
                "detectable": m.detectable,
                "judgement": m.judgement,
            }
            for m in comparison.measures
        ],
        "findings": [
            {"check": f.check_id, "course": f.course, "now": f.now, "then": f.then}
            for f in comparison.findings
        ],
        "sentences": comparison.sentences(),
    }


def to_do_shape(todo: ToDo) -> dict[str, Any]:
    """Return one thing to do."""
    return {
        "kind": todo.kind,
        "due_on": todo.due_on,
        "ram": todo.ram.label if todo.ram else None,
        "ram_id": todo.ram.id if todo.ram else None,
        "finding": todo.finding,
        "sentence": todo.sentence,
        "owner": todo.owner,
        "exam_id": todo.exam_id,
        "rules": todo.rules,
        "notice": todo.notice,
    }


def due_shape(item: DueItem) -> dict[str, Any]:
    """Return one line of the work list."""
    return {
        "flock": item.flock.slug,
        "days_left": item.days_left,
        "overdue": item.is_overdue,
        **to_do_shape(item.todo),
    }


def ram_season_shape(ram: RamSeason) -> dict[str, Any]:
    """Return one ram in one season."""
    return {
        "ram": ram_shape(ram.ram),
        "examination": examination_shape(ram.examination) if ram.examination else None,
        "decision": decision_shape(ram.decision),
        "ready": ram.is_ready,
        "readiness": ram.readiness,
        "caught_late": ram.is_caught_late,
        "deeds": ram.deeds,
        "slaughter_notice": ram.slaughter_notice,
    }


def season_shape(season: FlockSeason) -> dict[str, Any]:
    """Return one flock's season."""
    milestones = season.timetable.milestones if season.timetable else ()
    return {
        "flock": flock_shape(season.flock),
        "mating_start_on": season.mating_start_on,
        "protocol": season.protocol.named,
        "counts": {outcome.value: n for outcome, n in season.counts.items()},
        "not_examined": season.not_examined,
        "ready": season.ready,
        "not_ready": season.not_ready,
        "readiness_open": season.readiness_open,
        "timetable": [
            {"code": m.code, "title": m.title, "on": m.on, "sentence": m.sentence}
            for m in milestones
        ],
        "to_do": [to_do_shape(t) for t in season.to_do],
        "rams": [ram_season_shape(r) for r in season.rams],
    }

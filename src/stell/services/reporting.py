"""Papers out: the owner's report, a ram's history, the run sheet for the yard, the blank form."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from uuid import UUID

from stell.core.change import nearest_earlier
from stell.core.protocol.ready import ReadyProtocol
from stell.core.records import Examination, Ram
from stell.core.standing import without_done
from stell.core.verdict import Outcome
from stell.paper import draw
from stell.paper.run import run_sheet_values
from stell.reports import owner
from stell.reports.compose import JudgedRam, owner_report_values
from stell.services import lookup
from stell.services.gathering import Examined
from stell.services.protocols import load_registered
from stell.services.records import ExaminationRecord, FlockRecord, OverrideRecord
from stell.services.season_values import RamSeason
from stell.services.seasons import flock_season
from stell.store import copying
from stell.store.transactions import raise_explained, reading


def owner_report(
    flock: FlockRecord | str,
    *,
    today: date,
    path: Path,
    practice: str = "",
    mating_start_on: date | None = None,
) -> Path:
    """Write the owner's report on a season as PDF; return its path.

    Rams that have left the flock are not in it.

    Parameters
    ----------
    practice : str
        Name printed on it; may be empty.
    mating_start_on : date, optional
        Which season; without it the one that is on or comes next.

    Raises
    ------
    StoreError
        `store.full` or `store.unreadable` when the file cannot be written.
    """
    season = flock_season(flock, mating_start_on, today=today)
    here = [r for r in season.rams if r.ram.is_active]
    values = owner_report_values(
        flock=season.flock.name,
        owner=season.flock.owner,
        practice=practice,
        protocol=season.protocol,
        judged=[j for r in here if (j := _judged(r)) is not None],
        mating_start_on=season.mating_start_on,
        not_examined=[r.ram.ram for r in here if r.examination is None],
        today=today,
    )
    return _write(path, owner.build(values))


def _judged(ram: RamSeason) -> JudgedRam | None:
    if ram.examination is None or ram.decision is None:
        return None
    before = _to_set_beside(ram.examination.exam.examined_on, [*ram.earlier, *ram.past])
    decision = without_done(ram.decision, ram.deeds)
    on = before.examined_on if before else None
    return JudgedRam(
        ram.examination.ram,
        ram.examination.exam,
        decision,
        before,
        compared=next((c for c in ram.comparisons if c.then_on == on), None),
        found_earlier=ram.found_earlier,
    )


def _to_set_beside(on: date, earlier: Sequence[ExaminationRecord]) -> Examination | None:
    """Return the examination of about a year ago; else the one before."""
    exams = [r.exam for r in earlier if r.exam.examined_on < on]
    about_a_year = nearest_earlier(exams, on)["a year"]
    return about_a_year or max(exams, key=lambda e: (e.examined_on, e.exam_id), default=None)


def run_sheet(
    flock: FlockRecord | str,
    *,
    today: date,
    path: Path,
    practice: str = "",
    protocol: ReadyProtocol | None = None,
) -> Path:
    """Write the run sheet (the flock's rams listed, ready to be filled in) as PDF; return its path.

    `protocol` sets the order of the walk; without it the one that last judged the flock does.

    Beside each ram stand the figures of today, if he has been examined today; else of about a year
    ago, or of his last examination. The verdict is the one that counts, the vet's own before the
    proposal.
    """
    season = flock_season(flock, today=today)
    with reading():
        rams = _on_the_sheet([r for r in season.rams if r.ram.is_active], today)
    values = run_sheet_values(
        flock=season.flock.name,
        protocol=protocol or season.protocol,
        rams=rams,
        today=today,
        practice=practice,
    )
    return _write(path, draw.run_sheet(values))


def _on_the_sheet(
    rams: Sequence[RamSeason], today: date
) -> list[tuple[Ram, Examination | None, Outcome | None]]:
    """Return each ram with the examination to set beside him and the outcome that counts."""
    beside = [_last_time(r, today) for r in rams]
    own = lookup.overrides_of(UUID(r.id) for r in beside if r is not None)
    return [
        (ram.ram.ram, record.exam, _outcome(ram, record, own.get(UUID(record.id), ())))
        if record
        else (ram.ram.ram, None, None)
        for ram, record in zip(rams, beside, strict=True)
    ]


def _last_time(ram: RamSeason, today: date) -> ExaminationRecord | None:
    known = [*((ram.examination,) if ram.examination else ()), *ram.earlier, *ram.past]
    on_the_day = next((r for r in known if r.exam.examined_on == today), None)
    before = _to_set_beside(today, known)
    return on_the_day or next((r for r in known if r.exam is before), None)


def _outcome(ram: RamSeason, record: ExaminationRecord, own: Sequence[OverrideRecord]) -> Outcome:
    if record is ram.examination and ram.decision is not None:
        return ram.decision.outcome
    return Examined(record, load_registered(record.protocol), tuple(own)).decision().outcome


def blank_form(protocol: ReadyProtocol, path: Path) -> Path:
    """Write a blank form of the protocol as PDF; return its path.

    The form is dated by the last check of the protocol's figures: equal protocols, equal forms.
    """
    checked = [r.origin.checked_on for _, r in protocol.rules() if r.origin is not None]
    return _write(path, draw.blank_form(protocol, made_on=max(checked, default=date(2000, 1, 1))))


def _write(path: Path, content: bytes) -> Path:
    """Write a file so that it is there as a whole or not at all."""
    if path.exists() and not path.is_file():  # a pipe or a device is written to, not replaced
        path.write_bytes(content)
        return path
    part = path.with_name(f"{path.name}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        part.write_bytes(content)
        copying.to_disk(part)
        part.replace(path)
    except BaseException as error:
        part.unlink(missing_ok=True)
        raise_explained(error)
    return path

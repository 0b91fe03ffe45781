"""Judge everything on record again, by another version of a protocol."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from itertools import islice

from stell.core.errors import RecordError
from stell.core.judge import judge
from stell.core.protocol.ready import ReadyProtocol
from stell.core.verdict import Outcome
from stell.services.protocols import version_row
from stell.services.records import Progress
from stell.store import audit, bulk, mapping, models, streaming
from stell.store.streaming import to_judge
from stell.store.transactions import reading, take_turn, writing


@dataclass(frozen=True, slots=True)
class VerdictChange:
    """An examination whose proposal differs between two versions."""

    exam_id: str
    ram_id: str
    ram_label: str
    flock_name: str
    examined_on: date
    before: Outcome
    after: Outcome


@dataclass(frozen=True, slots=True)
class RejudgeSummary:
    """What a run did.

    Attributes
    ----------
    judged : int
        Examinations that this run (with the parts before an interruption) judged.
    already : int
        Examinations that this version had judged before the run began.
    changed : int
        Standing examinations whose outcome differs from the one they were first given.
    moves : mapping of (before, after) to int
        How many standing examinations went from which outcome to which, unchanged ones included.
    """

    protocol: str
    total: int
    judged: int
    already: int
    changed: int
    moves: Mapping[tuple[Outcome, Outcome], int]
    was_resumed: bool


def rejudge(
    protocol: ReadyProtocol,
    *,
    by: str,
    now: datetime,
    resume: bool = True,
    progress: Progress | None = None,
    batch: int = 5000,
) -> RejudgeSummary:
    """Judge every stored examination by `protocol`; verdicts given before stay as they are.

    It may be stopped at any point, also by force; the next call goes on where it stopped. Each
    batch is stored as a whole, and what has been judged is not judged again.

    Parameters
    ----------
    resume : bool, default True
        False refuses when a run by this version was stopped half-way.
    batch : int, default 5000
        Examinations judged and stored at a time. [1]

    Raises
    ------
    RecordError
        `record.refused` for an unfinished run when `resume` is off.
    StoreError
        `store.busy`, `store.full`; batches stored before stay.
    """
    with writing():
        take_turn()
        version = version_row(protocol, by=by, now=now)
        run, was_resumed = _run_row(version, resume=resume, by=by, now=now)
    while _next_batch(run, protocol, batch, now):
        if progress is not None:
            progress(run.done, run.total)
    with writing():
        take_turn()
        run.finished_at = now
        run.save(update_fields=["finished_at"])
        moves = {
            (Outcome(before), Outcome(after)): n for before, after, n in streaming.moves(version.id)
        }
        summary = RejudgeSummary(
            protocol=protocol.named,
            total=streaming.count(version.id)[0],
            judged=run.done,
            already=run.already,
            changed=sum(n for (before, after), n in moves.items() if before is not after),
            moves=moves,
            was_resumed=was_resumed,
        )
        after = {"protocol": summary.protocol, "judged": run.done, "changed": summary.changed}
        audit.note("rejudge", "protocol", version.id, by=by, at=now, after=after)
    return summary


def _run_row(
    version: models.ProtocolVersion, *, resume: bool, by: str, now: datetime
) -> tuple[models.RejudgeRun, bool]:
    """Return the unfinished run of a version, or a new one."""
    run = models.RejudgeRun.objects.filter(
        protocol_version=version, finished_at__isnull=True
    ).first()
    if run is not None and not resume:
        raise RecordError(
            "record.refused",
            f"a run by {version} that was begun on {run.started_at:%Y-%m-%d} is not finished",
            got=f"{run.done} of {run.total} examinations judged",
            legal="going on with it",
            example=f"stell rejudge --protocol {version.protocol_id}",
        )
    if run is not None:
        return run, True
    total, already = streaming.count(version.id)
    created = models.RejudgeRun.objects.create(
        protocol_version=version,
        started_at=now,
        started_by=by,
        already=already,
        total=total - already,
    )
    return created, False


def _next_batch(run: models.RejudgeRun, protocol: ReadyProtocol, batch: int, now: datetime) -> bool:
    """Judge and store the next batch; return whether there was one.

    When the walk has come to the end it starts once more, for what was stored behind its back.
    """
    version_id = run.protocol_version_id
    with bulk.unswept(), writing():
        take_turn()
        rows = streaming.not_judged(version_id, run.cursor, batch)
        if not rows and run.cursor is not None:
            rows = streaming.not_judged(version_id, None, batch)
        if not rows:
            return False
        judged = (
            mapping.judgement_row(row[0], version_id, judge(protocol, *to_judge(row)), now, run.id)
            for row in rows
        )
        bulk.insert(models.Judgement, mapping.JUDGEMENT_COLUMNS, judged)
        run.cursor = streaming.as_uuid(rows[-1][0])
        run.done += len(rows)
        run.total = max(run.total, run.done)
        run.save(update_fields=["cursor", "done", "total"])
    return True


def changes(protocol: ReadyProtocol, *, limit: int | None = None) -> Iterator[VerdictChange]:
    """Yield the examinations to which `protocol` gives another outcome than they first had.

    Newest first; records that a correction has replaced are left out.
    """
    with reading():
        version = models.ProtocolVersion.objects.filter(
            protocol_id=protocol.id, version=protocol.version
        ).first()
        if version is None:
            return
        rows = streaming.changed(version.id, limit)
        while some := list(islice(rows, 500)):
            ids = {streaming.as_uuid(row[1]) for row in some}
            rams = models.Ram.objects.select_related("flock").in_bulk(ids)
            for exam_id, ram_id, examined_on, before, after in some:
                ram = rams[streaming.as_uuid(ram_id)]
                yield VerdictChange(
                    exam_id=str(streaming.as_uuid(exam_id)),
                    ram_id=str(ram.id),
                    ram_label=str(ram),
                    flock_name=ram.flock.name,
                    examined_on=examined_on,
                    before=Outcome(before),
                    after=Outcome(after),
                )

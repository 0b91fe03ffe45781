"""One flock, one mating season: who is ready, what is to be done, by when."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from stell.core.deeds import not_for_slaughter, slaughter_notice
from stell.core.lasting import found_earlier
from stell.core.protocol.load import DEFAULT, load_shipped
from stell.core.protocol.ready import ReadyProtocol
from stell.core.readiness import DeferredRam
from stell.core.records import Season, written_date
from stell.core.standing import awaits_clearance
from stell.core.timetable import Timetable, timetable
from stell.core.verdict import Decision, Outcome, Verdict
from stell.core.visit import rams_caught_by
from stell.services import lookup, todos
from stell.services.gathering import Gathered, comparisons, gather
from stell.services.mating import SeasonDays, season_days, season_to_show
from stell.services.records import FlockRecord
from stell.services.season_values import FlockSeason, RamSeason, ToDo
from stell.store import models
from stell.store.bulk import unswept
from stell.store.transactions import reading

__all__ = ["FlockSeason", "RamSeason", "ToDo", "all_seasons", "flock_season", "seasons_of"]

_WHICH = "say which is right, and correct the wrong record"


def flock_season(
    flock: FlockRecord | str, mating_start_on: date | None = None, *, today: date
) -> FlockSeason:
    """Return one flock's season.

    Parameters
    ----------
    mating_start_on : date, optional
        Which season. Without it: the one that is on or comes next, else the last one.

    Raises
    ------
    RecordError
        `record.not_found` for a flock that is not on the books.
    """
    with reading():
        row = lookup.flock_row(flock)
        starts = tuple(s.start_on for s in row.seasons.all())
        days = (
            season_to_show(today, starts)
            if mating_start_on is None
            else season_days(mating_start_on, starts)
        )
        found = gather([(row, days)], today, with_past=True).get(row.id, [])
        return _season(row, days, found, today)


def all_seasons(today: date) -> list[FlockSeason]:
    """Return the present season of every flock, by name, without the past (see `seasons_of`)."""
    with reading():
        return seasons_of(lookup.flock_rows(), today)


def seasons_of(rows: Iterable[Any], today: date) -> list[FlockSeason]:
    """Return the present season of many flocks (rows of `lookup.flock_rows`), without the past."""
    flocks = [(row, season_to_show(today, (s.start_on for s in row.seasons.all()))) for row in rows]
    with unswept():
        found = gather(flocks, today)
        return [_season(row, days, found.get(row.id, []), today) for row, days in flocks]


def _season(row: Any, days: SeasonDays, found: Sequence[Gathered], today: date) -> FlockSeason:
    flock = lookup.flock_record(row)
    protocol = _protocol_of(found)
    start = days.mating_start_on
    decisions = {g.ram.id: g.season[0].decision(start) for g in found if g.season}
    waiting = {i: d for g in found if (d := _deferred(g, decisions)) for i in (g.ram.id,)}
    here = [d for g in found if g.ram.is_active and (d := waiting.get(g.ram.id))]
    table = timetable(start, protocol.spec.timing, today=today, deferred=here)
    rams = tuple(
        replace(
            _ram_season(g, decisions, waiting, table, start),
            slaughter_notice=slaughter_notice(not_for_slaughter(g.deeds, today)),
        )
        for g in found
    )
    shown = table if start is not None else None
    counts = Counter(r.outcome for r in rams if r.outcome is not None)
    present = [r for r in rams if r.ram.is_active]
    return FlockSeason(
        flock=flock,
        mating_start_on=start,
        today=today,
        from_on=days.from_on,
        until_on=days.until_on,
        protocol=protocol,
        season=Season(start, flock.latitude_deg),
        rams=rams,
        counts=dict(counts),
        not_examined=sum(r.examination is None for r in present),
        ready=sum(r.is_ready is True for r in present),
        not_ready=sum(r.is_ready is False for r in present),
        readiness_open=sum(r.is_ready is None for r in present),
        timetable=shown,
        to_do=todos.to_do(flock, rams, shown, today),
        notices=_notices(rams, start),
    )


def _protocol_of(found: Sequence[Gathered]) -> ReadyProtocol:
    """Return the protocol that judged last here; else the newest on record; else the house's."""
    judged = [g.season[0] for g in found if g.season]
    if judged:
        return max(judged, key=lambda e: (e.record.exam.examined_on, e.record.received_at)).protocol
    newest = models.ProtocolVersion.objects.last()
    if newest is not None:
        from stell.services.protocols import ready_version

        return ready_version(newest)
    return load_shipped(DEFAULT)


def _deferred(gathered: Gathered, decisions: dict[str, Decision]) -> DeferredRam | None:
    """Return how a ram is put off, when he is and the day is known."""
    decision = decisions.get(gathered.ram.id)
    if decision is None or decision.outcome is not Outcome.DEFERRED:
        return None
    verdict = decision.proposed
    if verdict.reexamine_on is None:
        return None
    why = "; ".join(r.sentence for r in verdict.reasons if any(e.days for e in r.effects))
    return DeferredRam(
        ram_id=gathered.ram.id,
        label=gathered.ram.label,
        examined_on=verdict.examined_on,
        reexamine_on=verdict.reexamine_on,
        why=why,
    )


def _ram_season(
    gathered: Gathered,
    decisions: dict[str, Decision],
    waiting: dict[str, DeferredRam],
    table: Timetable,
    start: date | None,
) -> RamSeason:
    ram = gathered.ram
    if not gathered.season:
        ready, why = (None, "not examined this season") if ram.is_active else _left(ram)
        past = tuple(gathered.past)
        return RamSeason(ram, None, None, None, None, ready, why, False, past=past)
    newest, *older = gathered.season
    decision = decisions[ram.id]
    put_off = waiting.get(ram.id)
    ready, why = _readiness(decision, put_off, table) if ram.is_active else _left(ram)
    caught = bool(put_off and rams_caught_by(put_off.examined_on, start, [put_off]))
    records = tuple(e.record for e in older)
    before = [r.exam for r in (*records, *gathered.past)]
    return RamSeason(
        ram=ram,
        examination=newest.record,
        decision=decision,
        protocol=newest.protocol,
        override=newest.overrides[0] if newest.overrides else None,
        is_ready=ready,
        readiness=why,
        is_caught_late=caught,
        earlier=records,
        comparisons=comparisons(newest.record, newest.protocol, [*records, *gathered.past]),
        past=tuple(gathered.past),
        deeds=newest.deeds,
        found_earlier=found_earlier(
            newest.protocol, newest.record.ram, newest.record.exam, before, newest.record.season
        ),
    )


def _left(ram: Any) -> tuple[bool, str]:
    why = f" ({ram.left_why})" if ram.left_why else ""
    return False, f"left the flock on {written_date(ram.left_on)}{why}"


def _readiness(
    decision: Decision, put_off: DeferredRam | None, table: Timetable
) -> tuple[bool | None, str]:
    """Return whether he can go in on the first day, and why, in one sentence."""
    verdict = decision.proposed
    own = f", by the vet's own verdict ({decision.override.reason})" if decision.override else ""
    if decision.outcome is Outcome.UNSATISFACTORY:
        return False, f"not to be used: unsatisfactory{own}"
    if awaits_clearance(decision):
        return None, f"not before the suspicion is cleared under local rules{own}"
    if decision.outcome is Outcome.INCOMPLETE:
        return _unfinished(verdict, own)
    if decision.outcome is Outcome.SATISFACTORY:
        if verdict.fits_intended_use is False:
            return True, f"ready, but not for what he is meant to sire{own}"
        limits = ", within limits" if verdict.restrictions else ""
        return True, f"ready{limits}{own}"
    if put_off is None:
        return None, f"put off without a day{own}: set the day to examine him again"
    outlook = next(d for d in table.deferred if d.ram.ram_id == put_off.ram_id)
    return outlook.ready_in_time, outlook.sentence.rstrip(".")


def _unfinished(verdict: Verdict, own: str) -> tuple[bool | None, str]:
    """Return the same of a ram whose examination lacks something."""
    days = [m.possible_on for m in verdict.missing if m.possible_on is not None]
    ready = verdict.ready_in_time
    if not days:
        return ready, f"the examination has to be finished first{own}"
    return ready, f"the examination can be finished from {written_date(max(days))} on{own}"


def _notices(rams: Sequence[RamSeason], start: date | None) -> tuple[str, ...]:
    """Return what a reader ought to know of how this was put together."""
    told = []
    versions = sorted({r.protocol.named for r in rams if r.protocol})
    if len(versions) > 1:
        told.append(f"The rams were judged by {len(versions)} protocols: {', '.join(versions)}.")
    other = [
        r.ram.label
        for r in rams
        if r.examination and start and r.examination.season.mating_start_on not in (None, start)
    ]
    if other:
        told.append(
            f"Examined for another start of mating and judged here for {written_date(start)}: "
            f"{', '.join(other)}."
            if start
            else ""
        )
    told += [
        f"{r.ram.label}: {f.sentence}; {_WHICH if f.looked_at else 'look at it again'}."
        for r in rams
        if r.ram.is_active
        for f in r.found_earlier
    ]
    return tuple(told)

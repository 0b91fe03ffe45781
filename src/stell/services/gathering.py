"""Fetch what is on record for the seasons of one or many flocks, in a handful of queries."""

from __future__ import annotations

import uuid
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.db.models import Min, Q

from stell.core.change import LOOK_BACKS, Comparison, compare, nearest_earlier
from stell.core.deeds import Deed
from stell.core.judge import judge
from stell.core.protocol.ready import ReadyProtocol
from stell.core.records import Season
from stell.core.verdict import Decision, Override
from stell.services import lookup
from stell.services.mating import SeasonDays
from stell.services.protocols import ready_version
from stell.services.records import ExaminationRecord, OverrideRecord, RamRecord
from stell.store import models


@dataclass(frozen=True, slots=True)
class Examined:
    """An examination with the protocol that judged it first, the vet's own words, and deeds."""

    record: ExaminationRecord
    protocol: ReadyProtocol
    overrides: tuple[OverrideRecord, ...] = ()
    deeds: tuple[Deed, ...] = ()

    def decision(self, mating_start_on: date | None = None) -> Decision:
        """Return what stands: judged again (the verdict is never stored in full)."""
        known = self.record.season
        season = Season(mating_start_on or known.mating_start_on, known.latitude_deg)
        verdict = judge(self.protocol, self.record.ram, self.record.exam, season)
        if not self.overrides:
            return Decision(verdict)
        last = self.overrides[0]
        return Decision(verdict, Override(last.outcome, last.reason, last.by, last.on))


@dataclass(slots=True)
class Gathered:
    """One ram with his standing examinations, newest first: this season's, and older ones.

    `deeds` are those of the season, and older ones whose withdrawal still runs.
    """

    ram: RamRecord
    season: list[Examined] = field(default_factory=list)
    past: list[ExaminationRecord] = field(default_factory=list)
    deeds: tuple[Deed, ...] = ()


def gather(
    flocks: Sequence[tuple[Any, SeasonDays]], today: date, *, with_past: bool = False
) -> dict[uuid.UUID, list[Gathered]]:
    """Return the rams of flocks in a season of each, by flock.

    Parameters
    ----------
    flocks : sequence of (row of `lookup.flock_rows`, SeasonDays)
    today : date
        Withdrawals that end later are wanted, however old.
    with_past : bool, default False
        Whether to fetch older examinations and marks too.
    """
    days = {row.id: season for row, season in flocks}
    if not days:
        return {}
    found = _rams(days, with_marks=with_past)
    by_ram = {g.ram.id: g for rams in found.values() for g in rams}
    exams = lookup.examination_rows().filter(ram__flock_id__in=list(days), newer_id__isnull=True)
    exams = exams.filter(examined_on__lte=max(d.until_on for d in days.values()))
    if not with_past:
        exams = exams.filter(examined_on__gte=min(d.from_on for d in days.values()))
    rows = [
        (row, found_for)
        for row in exams.order_by("-examined_on", "-recorded_at", "-id")
        if (found_for := by_ram.get(str(row.ram_id))) is not None
    ]
    inside = {row.id for row, g in rows if days[uuid.UUID(g.ram.flock_id)].holds(row.examined_on)}
    overrides = lookup.overrides_of(inside)
    deeds = _deeds(days, today)
    versions = _versions({row.protocol_version_id for row, _ in rows})
    for row, gathered in rows:
        record = lookup.examination_record(row, gathered.ram.ram)
        if row.id in inside:
            own = tuple(overrides.get(row.id, ()))
            protocol = versions[row.protocol_version_id]
            gathered.season.append(Examined(record, protocol, own, deeds.of(row.id)))
        elif row.examined_on < days[uuid.UUID(gathered.ram.flock_id)].from_on:
            gathered.past.append(record)
    for ram_id, gathered in by_ram.items():
        gathered.deeds = deeds.by_ram.get(ram_id, ())
    return found


def _deeds(days: dict[uuid.UUID, SeasonDays], today: date) -> lookup.DeedsFound:
    """Return what was done in these seasons, and treatments whose withdrawal still runs."""
    first = min(d.from_on for d in days.values())
    wanted = Q(done_on__gte=first) | Q(withdrawal_until__gt=today)
    return lookup.deeds_found(Q(examination__ram__flock_id__in=list(days)) & wanted)


def _rams(
    days: dict[uuid.UUID, SeasonDays], *, with_marks: bool
) -> dict[uuid.UUID, list[Gathered]]:
    """Return the rams that were in these flocks within the season."""
    rows = (
        lookup.ram_rows(with_marks=with_marks)
        .filter(flock_id__in=list(days))
        .annotate(known_from=Min("identifiers__from_on"))
        .order_by("flock_id", "tag", "name", "id")
    )
    found: dict[uuid.UUID, list[Gathered]] = defaultdict(list)
    for row in rows:
        season = days[row.flock_id]
        has_left = row.left_on is not None and row.left_on < season.from_on
        comes_later = row.known_from is not None and row.known_from > season.until_on
        if not has_left and not comes_later:
            found[row.flock_id].append(Gathered(lookup.ram_record(row, with_marks=with_marks)))
    return found


def _versions(ids: Iterable[int]) -> dict[int, ReadyProtocol]:
    return {
        row.id: ready_version(row)
        for row in models.ProtocolVersion.objects.filter(id__in=list(ids))
    }


def comparisons(
    now: ExaminationRecord, protocol: ReadyProtocol, earlier: Sequence[ExaminationRecord]
) -> tuple[Comparison, ...]:
    """Return an examination beside the one before it and those of two weeks to two years ago."""
    older = [r.exam for r in earlier if r.exam.examined_on < now.exam.examined_on]
    if not older:
        return ()
    previous = max(older, key=lambda e: (e.examined_on, e.exam_id))
    wanted = {previous.exam_id: previous}
    for exam in nearest_earlier(older, now.exam.examined_on, LOOK_BACKS).values():
        if exam is not None:
            wanted[exam.exam_id] = exam
    latitude = now.season.latitude_deg
    newest_first = sorted(wanted.values(), key=lambda e: (e.examined_on, e.exam_id), reverse=True)
    return tuple(compare(protocol, now.ram, now.exam, then, latitude) for then in newest_first)

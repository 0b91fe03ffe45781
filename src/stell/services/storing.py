"""Store what a sheet says: judged, in one transaction, all of it or nothing."""

from __future__ import annotations

import uuid
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import Any

from django.db import transaction

from stell.core.intake import SheetReading
from stell.core.judge import judge
from stell.core.protocol.ready import ReadyProtocol
from stell.core.records import Ram, written_date
from stell.core.verdict import Decision, Outcome, Override
from stell.services import columns, lookup
from stell.services.identifying import Known
from stell.services.intake_notices import BlankChecks, season_notices
from stell.services.intake_values import REPORT_EVERY, ImportResult, JudgedRow
from stell.services.mating import SAME_SEASON_DAYS, refuse_start
from stell.services.placing import CORRECTED, NEW, UNCHANGED, Placed, Placing
from stell.services.protocols import version_row
from stell.services.records import FlockRecord, OverrideRecord, Progress
from stell.store import audit, bulk, identity, mapping, models
from stell.store.audit import Entry
from stell.store.transactions import take_turn, writing


@dataclass(frozen=True, slots=True)
class Terms:
    """On what terms a sheet is stored (see `services.intake.import_sheet`)."""

    by: str
    now: datetime
    mating_start_on: date | None = None
    accept_good_rows: bool = False
    corrections: str = ""
    device: str = ""
    given_columns: Mapping[str, str] = field(default_factory=dict)
    trial: bool = False  # do everything, judge every good row, and take it all back at the end


@dataclass(frozen=True, slots=True)
class OwnWord:
    """A vet's own verdict, about to be stored."""

    exam_id: uuid.UUID
    outcome: Outcome
    reason: str
    by: str
    on: date


def store_reading(
    reading: SheetReading,
    flock: FlockRecord | str | None,
    protocol: ReadyProtocol,
    terms: Terms,
    progress: Progress | None = None,
) -> ImportResult:
    """Store a sheet that has been read.

    Raises
    ------
    StoreError
        `store.busy` or `store.full`; nothing was stored.
    """
    with bulk.unswept(), writing():
        take_turn()
        row = None if flock is None else lookup.flock_row(flock)
        ids = identity.new_ids(terms.now)
        placing = Placing(
            reading,
            row,
            mating_start_on=terms.mating_start_on,
            corrections=terms.corrections,
            ids=ids,
        )
        placed = placing.place_all()
        problems = (*reading.problems, *placing.problems)
        refused = len(reading.refused_rows | placing.refused_rows)
        result = ImportResult(
            refused=refused,
            problems=problems,
            notices=(*reading.notices, *placing.notices.texts()),
            unmatched=reading.unmatched,
            columns=reading.columns,
            refused_rows=tuple(sorted(reading.refused_rows | placing.refused_rows)),
        )
        if problems and not terms.accept_good_rows and not terms.trial:
            return result
        counts = Counter(p.state for p in placed)
        result = replace(
            result, stored=counts[NEW], unchanged=counts[UNCHANGED], corrected=counts[CORRECTED]
        )
        result = _Storing(reading, placed, protocol, terms, ids).run(result, progress)
        if terms.trial:
            transaction.set_rollback(True)
        return result


class _Storing:
    """Writes what has been placed."""

    def __init__(
        self,
        reading: SheetReading,
        placed: Sequence[Placed],
        protocol: ReadyProtocol,
        terms: Terms,
        ids: Iterator[uuid.UUID],
    ) -> None:
        self.reading = reading
        self.placed = placed
        self.fresh = [p for p in placed if p.state != UNCHANGED]
        self.protocol = protocol
        self.terms = terms
        self.ids = ids
        self.noted: list[Entry] = []
        self.outcomes: Counter[Outcome] = Counter()
        self.blanks = BlankChecks(protocol)
        self.judged: list[JudgedRow] = []

    def run(self, result: ImportResult, progress: Progress | None) -> ImportResult:
        columns.remember(
            self.reading.columns, self.terms.given_columns, by=self.terms.by, now=self.terms.now
        )
        words = self._own_words()
        if not self.fresh and not words:
            return result
        notices = [*self._write_mating_starts(), *season_notices(self.fresh)]
        version = version_row(self.protocol, by=self.terms.by, now=self.terms.now)
        sheet = self._sheet(result)
        rams = list({p.known.id: p.known for p in self.fresh}.values())
        self._write_rams(rams)
        self._write_examinations(version.id, sheet.id)
        self._write_judgements(version.id, {w.exam_id: w for w in words}, progress)
        self._write_own_words(words)
        new_rams = sum(k.is_new for k in rams)
        after = {"sheet": sheet.name, "new_rams": new_rams, **_counts(result)}
        self.noted.append(Entry("import", "sheet", str(sheet.id), {}, after))
        audit.note_all(self.noted, by=self.terms.by, at=self.terms.now)
        return replace(
            result,
            exam_ids=tuple(str(p.exam_id) for p in self.fresh),
            outcomes=dict(self.outcomes),
            new_rams=new_rams,
            new=tuple(k.ram.label for k in rams if k.is_new),
            notices=(*result.notices, *notices, *self.blanks.notices(self.reading.columns)),
            judged=tuple(self.judged),
        )

    def _write_mating_starts(self) -> list[str]:
        """Put the start that was given on record for flocks that have none near it."""
        start = self.terms.mating_start_on
        if start is None:
            return []
        told = []
        for flock in {p.flock.id: p.flock for p in self.fresh}.values():
            known = [s.start_on for s in flock.seasons.all()]
            if any(abs((start - s).days) <= SAME_SEASON_DAYS for s in known):
                continue
            refuse_start(start)
            models.MatingSeason.objects.create(flock_id=flock.id, start_on=start)
            after = {"mating_start_on": start.isoformat()}
            before = {"mating_start_on": None}
            self.noted.append(Entry("set_mating_start", "flock", str(flock.id), before, after))
            told.append(
                f"{written_date(start)} is now on record as start of mating of {flock.name}"
            )
        return told

    def _sheet(self, result: ImportResult) -> models.SheetImport:
        return models.SheetImport.objects.create(
            name=self.reading.name[:255],
            sha256=self.reading.digest,
            columns=[
                {"header": c.header, "meaning": c.meaning, "unit": c.unit, "why": c.why}
                for c in self.reading.columns
            ],
            **_counts(result),
            imported_at=self.terms.now,
            imported_by=self.terms.by,
        )

    # --- Rams --------------------------------------------------------------------------------

    def _write_rams(self, rams: Sequence[Known]) -> None:
        now = self.terms.now
        names = ("tag", "eid", "name", *mapping.RAM_FACTS)
        bulk.insert(
            models.Ram,
            ("id", "flock_id", *names, "left_on", "left_why", "created_at"),
            ((k.id, k.flock_id, *_columns(k.ram), None, "", now) for k in rams if k.is_new),
        )
        changed = [k for k in rams if not k.is_new and (k.before or k.came_back)]
        bulk.update(models.Ram, names, ((*_columns(k.ram), k.id) for k in changed))
        back = [k.id for k in changed if k.came_back]
        bulk.update(models.Ram, ("left_on", "left_why"), ((None, "", i) for i in back))
        self._write_marks(rams)
        for known in changed:
            before, after = _changes(known)
            self.noted.append(Entry("learn", "ram", str(known.id), before, after))

    def _write_marks(self, rams: Sequence[Known]) -> None:
        bulk.insert(
            models.Identifier,
            ("ram_id", "scheme", "value", "key", "from_on", "until_on", "source"),
            (
                (k.id, scheme, value, mapping.key_of(scheme, value), day, None, self.reading.name)
                for k in rams
                for scheme, value, day in k.new_marks
            ),
        )
        for known in rams:
            for scheme, value, day in known.ended_marks:
                models.Identifier.objects.filter(
                    ram_id=known.id,
                    scheme=scheme,
                    key=mapping.key_of(scheme, value),
                    until_on__isnull=True,
                ).update(until_on=day)

    # --- Examinations ------------------------------------------------------------------------

    def _write_examinations(self, version_id: int, sheet_id: int) -> None:
        bulk.insert(
            models.Examination, mapping.EXAMINATION_COLUMNS, self._rows(version_id, sheet_id)
        )
        for placed in self.fresh:
            if placed.replaces is not None:
                before = {"examination": str(placed.replaces.id)}
                after = {"reason": self.terms.corrections}
                self.noted.append(
                    Entry("correct", "examination", str(placed.exam_id), before, after)
                )

    def _rows(self, version_id: int, sheet_id: int) -> Iterator[tuple[Any, ...]]:
        terms = self.terms
        for p in self.fresh:
            exam = p.row.exam
            yield (
                p.exam_id,
                p.known.id,
                p.flock.id,
                exam.examined_on,
                exam.examiner,
                p.observations,
                dict(exam.remarks),
                exam.note,
                list(exam.circumstances),
                *mapping.facts_of(p.ram),
                p.season.mating_start_on,
                p.season.latitude_deg,
                terms.now,
                terms.now,
                terms.by,
                terms.device,
                sheet_id,
                p.replaces.id if p.replaces else None,
                terms.corrections if p.replaces else "",
                p.content_hash,
                version_id,
            )

    # --- Verdicts ----------------------------------------------------------------------------

    def _write_judgements(
        self, version_id: int, own: dict[uuid.UUID, OwnWord], progress: Progress | None
    ) -> None:
        rows = self._judged(version_id, own, progress)
        bulk.insert(models.Judgement, mapping.JUDGEMENT_COLUMNS, rows)

    def _judged(
        self, version_id: int, own: dict[uuid.UUID, OwnWord], progress: Progress | None
    ) -> Iterator[tuple[Any, ...]]:
        total = len(self.fresh)
        for done, p in enumerate(self.fresh, 1):
            verdict = judge(self.protocol, p.ram, p.row.exam, p.season)
            decision = Decision(verdict, _override(own.get(p.exam_id)))
            self.outcomes[decision.outcome] += 1
            self.blanks.see(verdict)
            if self.terms.trial:
                self.judged.append(JudgedRow(replace(p.row, ram=p.ram), decision))
            yield mapping.judgement_row(p.exam_id, version_id, verdict, self.terms.now, None)
            if progress is not None and (done % REPORT_EVERY == 0 or done == total):
                progress(done, total)

    # --- The vet's own -----------------------------------------------------------------------

    def _own_words(self) -> list[OwnWord]:
        """Return the vet's own verdicts to store: the sheet's, and those a correction keeps."""
        asked = [
            p.replaces.id if p.replaces else p.exam_id
            for p in self.placed
            if p.replaces or (p.row.override and p.state == UNCHANGED)
        ]
        last = {k: v[0] for k, v in lookup.overrides_of(asked).items()}
        words = (
            self._own_word(p, last.get(p.replaces.id if p.replaces else p.exam_id))
            for p in self.placed
        )
        return [word for word in words if word is not None]

    def _own_word(self, p: Placed, had: OverrideRecord | None) -> OwnWord | None:
        outcome, reason = p.row.override, p.row.override_reason
        if outcome is None:
            if had is None or p.state == UNCHANGED:
                return None
            return OwnWord(p.exam_id, had.outcome, had.reason, had.by, had.on)
        if had and p.state == UNCHANGED and (had.outcome, had.reason) == (outcome, reason):
            return None
        by = p.row.exam.examiner or self.terms.by
        return OwnWord(p.exam_id, outcome, reason, by, p.row.exam.examined_on)

    def _write_own_words(self, words: Sequence[OwnWord]) -> None:
        rows = []
        for w in words:
            word_id = next(self.ids)
            rows.append((word_id, w.exam_id, w.outcome.value, w.reason, w.by, w.on, self.terms.now))
            after = {"examination": str(w.exam_id), "outcome": w.outcome.value, "reason": w.reason}
            self.noted.append(Entry("override", "override", str(word_id), {}, after))
        names = ("id", "examination_id", "outcome", "reason", "by", "on", "at")
        bulk.insert(models.VetOverride, names, rows)


def _override(word: OwnWord | None) -> Override | None:
    return Override(word.outcome, word.reason, word.by, word.on) if word else None


def _columns(ram: Ram) -> tuple[Any, ...]:
    return (ram.tag, ram.eid, ram.name, *mapping.facts_of(ram))


def _counts(result: ImportResult) -> dict[str, int]:
    return {
        "stored": result.stored,
        "unchanged": result.unchanged,
        "corrected": result.corrected,
        "refused": result.refused,
    }


def _changes(known: Known) -> tuple[dict[str, Any], dict[str, Any]]:
    """Return what changed of a ram, before and after, JSON-ready."""
    names = ("tag", "eid", "name", *mapping.RAM_FACTS)
    before = dict(zip(names, _columns(known.before or known.ram), strict=True))
    after = dict(zip(names, _columns(known.ram), strict=True))
    changed = [n for n in names if before[n] != after[n]]
    left = {"left_on": known.left_on.isoformat()} if known.came_back and known.left_on else {}
    return (
        {n: _plain(before[n]) for n in changed} | left,
        {n: _plain(after[n]) for n in changed} | ({"left_on": None} if left else {}),
    )


def _plain(value: Any) -> Any:
    return value.isoformat() if isinstance(value, date) else value

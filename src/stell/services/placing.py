"""Where each row of a sheet belongs: whose it is, and whether it is new, stored or a correction.

Nothing is written here.
"""

from __future__ import annotations

import uuid
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from stell.core.errors import SheetError, StellError
from stell.core.intake import IntakeRow, SheetReading
from stell.core.records import Ram, Season, written_date
from stell.services import facts
from stell.services.identifying import Books, Known, left_text
from stell.services.lookup import folded, nearest, uuid_or_none
from stell.services.mating import season_of_day
from stell.services.near_names import NearNames, differ_in_zeros
from stell.store import mapping, models

NEW, UNCHANGED, CORRECTED = "new", "unchanged", "corrected"
_MOST_ALIKE = 20  # notices of one kind that are spelled out
_MOST_EXPLAINED = 200  # conflicts of which each difference is named


@dataclass(frozen=True, slots=True)
class Stored:
    """What is on record for a ram and a day."""

    id: uuid.UUID
    content_hash: str
    ram: Ram
    replaced_by: uuid.UUID | None


@dataclass(slots=True)
class Placed:
    """One row that can be stored.

    `ram` is as known that day; `observations` is their canonical text; `exam_id` is the record's
    own (of the stored one when unchanged).
    """

    row: IntakeRow
    known: Known
    ram: Ram
    flock: Any
    season: Season
    observations: str
    content_hash: str
    state: str
    exam_id: uuid.UUID
    replaces: Stored | None = None


class Notices:
    """What was assumed, each kind spelled out for a few rows and then counted."""

    def __init__(self) -> None:
        self._by_kind: dict[str, list[str]] = defaultdict(list)

    def add(self, kind: str, text: str) -> None:
        """Take down one thing that was assumed."""
        self._by_kind[kind].append(text)

    def texts(self) -> tuple[str, ...]:
        """Return all of them, in the order of their kinds' first appearance."""
        found: list[str] = []
        for kind, texts in self._by_kind.items():
            found.extend(texts[:_MOST_ALIKE])
            if len(texts) > _MOST_ALIKE:
                found.append(f"{kind}: {len(texts) - _MOST_ALIKE} more rows alike")
        return tuple(found)


class Placing:
    """Places the rows of one sheet. Call it inside the transaction that stores them."""

    def __init__(
        self,
        reading: SheetReading,
        flock: Any,
        *,
        mating_start_on: date | None,
        corrections: str,
        ids: Iterator[uuid.UUID],
    ) -> None:
        self.reading = reading
        self.flock = flock
        self.mating_start_on = mating_start_on
        self.may_correct = bool(corrections.strip())
        self.ids = ids
        self.problems: list[StellError] = []
        self.refused_rows: set[int] = set()
        self.notices = Notices()
        self.flocks = self._flocks()
        self.starts = {
            f.id: tuple(s.start_on for s in f.seasons.all()) for f in self.flocks.values()
        }
        flock_ids = {f.id for f in self.flocks.values()}
        self.books = Books(flock_ids, (r.ram.eid for r in reading.rows))
        self.stored = _stored_examinations(flock_ids, reading.rows)
        self.by_exam_id = _stored_by_id(reading.rows)
        self._seen: dict[tuple[uuid.UUID, date], int] = {}
        self._seasons: dict[tuple[uuid.UUID, date], Season] = {}

    def place_all(self) -> list[Placed]:
        """Return the rows that can be stored; those that cannot are in `problems`."""
        placed = []
        for row in self.reading.rows:
            try:
                placed.append(self._place(row))
            except StellError as error:
                self.problems.append(error)
                self.refused_rows.add(row.row)
        self._point_out_alike(placed)
        return placed

    def _point_out_alike(self, placed: Iterable[Placed]) -> None:
        """Name whoever on the books looks like a new ram and has no row of his own."""
        new = list({p.known.id: p for p in placed if p.known.is_new}.values())
        if not new:
            return
        with_row = {ram_id for ram_id, _ in self._seen}
        near = NearNames(k for k in self.books.by_id.values() if k.id not in with_row)
        for p in new:
            known = near.of(p.known.ram, p.flock.id)
            if known is not None:
                zeros = differ_in_zeros(p.known.ram.tag, known.ram.tag)
                mind = " If so, mind the leading zeros" if zeros else ""
                self.notices.add(
                    "rams alike",
                    f"{self.reading.name}, row {p.row.row}: {p.known.ram.label} — did you mean "
                    f"{known.ram.label}, who is on the books?{mind}",
                )

    # --- Flock -------------------------------------------------------------------------------

    def _flocks(self) -> dict[str, Any]:
        """Return the flocks by the folded name under which rows speak of them."""
        from stell.services import lookup

        rows = [self.flock] if self.flock is not None else list(lookup.flock_rows())
        named = {f.name_key: f for f in rows} | {f.slug: f for f in rows}
        if self.flock is None:
            spoken = {folded(r.flock) for r in self.reading.rows}
            named = {key: f for key, f in named.items() if key in spoken}
        return named

    def _flock_of(self, row: IntakeRow, where: str) -> Any:
        if not row.flock:
            if self.flock is not None:
                return self.flock
            problem, got = "the row names no flock, and none was given", "nothing"
        else:
            found = self.flocks.get(folded(row.flock))
            if found is not None:
                return found
            problem, got = "the row is of another flock", row.flock
            if self.flock is None:
                problem = "no flock of that name is on the books"
        names = list(models.Flock.objects.values_list("name", flat=True))
        legal = self.flock.name if self.flock else ", ".join(nearest(got, names) or names[:8])
        raise SheetError(
            "row.value",
            problem,
            got=got,
            legal=legal or "none is on the books yet",
            example='stell flock add "Hill End" --latitude 55',
            where=where,
        )

    # --- One row -----------------------------------------------------------------------------

    def _place(self, row: IntakeRow) -> Placed:
        where = f"{self.reading.name}, row {row.row}"
        day = row.exam.examined_on
        flock = self._flock_of(row, where)
        found = self.books.whose(row.ram, flock.id, day, where)
        self._refuse_twice(found, row, where)
        observations = mapping.observations_text(row.exam.observations)
        content_hash = mapping.content_hash(row.exam, observations)
        state, exam_id, old = self._compare(row, found, content_hash, where)
        known = found or self._new_ram(row, flock)
        self._seen[known.id, day] = row.row
        if state != UNCHANGED:
            self._learn(row, known, where)
        ram = facts.as_known(row.ram, known.ram, flock.ram_type, day)
        season = self._season(flock, day)
        return Placed(
            row, known, ram, flock, season, observations, content_hash, state, exam_id, old
        )

    def _season(self, flock: Any, day: date) -> Season:
        season = self._seasons.get((flock.id, day))
        if season is None:
            own = season_of_day(day, self.starts[flock.id]).mating_start_on
            season = Season(self.mating_start_on or own, flock.latitude_deg)
            self._seasons[flock.id, day] = season
        return season

    def _refuse_twice(self, found: Known | None, row: IntakeRow, where: str) -> None:
        if found is None:
            return
        earlier = self._seen.get((found.id, row.exam.examined_on))
        if earlier is not None:
            raise SheetError(
                "row.duplicate",
                f"row {earlier} speaks of the same ram on the same day",
                got=f"{found.ram.label} on {written_date(row.exam.examined_on)}",
                legal="one row for each ram and day",
                example="join the two rows into one, or correct the mark or the day",
                where=where,
            )

    def _new_ram(self, row: IntakeRow, flock: Any) -> Known:
        stated = replace(row.ram, age_class_on=row.exam.examined_on if row.ram.age_class else None)
        return self.books.add(stated, next(self.ids), flock.id, row.exam.examined_on)

    def _learn(self, row: IntakeRow, known: Known, where: str) -> None:
        day = row.exam.examined_on
        for told in facts.contradictions(row.ram, known.ram):
            self.notices.add("the books stay as they are", f"{where}: {told}; the books stay")
        for scheme, value in mapping.marks_of(row.ram):
            had = getattr(known.ram, scheme)
            is_name = scheme == "name" and had
            if is_name or mapping.key_of(scheme, value) == mapping.key_of(scheme, had):
                continue
            self.books.mark(known, scheme, value, day)
            if had:
                self.notices.add(
                    "new tags", f"{where}: known by his number; tag {had} is now {value}"
                )
        if known.left_on is not None and known.left_on < day and not known.came_back:
            known.came_back = True
            self.notices.add(
                "came back",
                f"{where}: {known.ram.label} had left on {left_text(known)}; he is back",
            )
        known.becomes(facts.learned(row.ram, known.ram, day))

    # --- Against what is stored --------------------------------------------------------------

    def _compare(
        self, row: IntakeRow, found: Known | None, content_hash: str, where: str
    ) -> tuple[str, uuid.UUID, Stored | None]:
        own_id = self._own_id(row, found, where)
        there = self.stored.get((found.id, row.exam.examined_on), []) if found else []
        for old in there:
            if old.content_hash == content_hash and not facts.states_otherwise(row.ram, old.ram):
                if old.replaced_by:
                    text = f"{where}: was corrected since; the correction stands"
                    self.notices.add("corrected since", text)
                return UNCHANGED, old.id, None
        standing = [old for old in there if old.replaced_by is None]
        if not standing:
            return NEW, own_id or next(self.ids), None
        if not self.may_correct:
            raise self._conflict(row, standing[-1], where)
        fresh = own_id if own_id not in self.by_exam_id else None
        return CORRECTED, fresh or next(self.ids), standing[-1]

    def _conflict(self, row: IntakeRow, old: Stored, where: str) -> SheetError:
        got = "other contents"
        if len(self.problems) < _MOST_EXPLAINED:
            stored = models.Examination.objects.get(id=old.id)
            found = mapping.findings(mapping.examination_of(stored))
            names = mapping.differing(mapping.findings(row.exam), found)
            names += facts.states_otherwise(row.ram, old.ram)
            got = "other " + ", ".join(names[:6]) + (" …" if len(names) > 6 else "")
        on = written_date(row.exam.examined_on)
        return SheetError(
            "row.conflict",
            f"an examination of {row.ram.label} on {on} is on record with other contents",
            got=got,
            legal="the same contents, or a correction with a reason",
            example='--corrections "circumference was read wrongly"',
            where=where,
        )

    def _own_id(self, row: IntakeRow, found: Known | None, where: str) -> uuid.UUID | None:
        """Return the id that the row brings along, when it may have it."""
        if not row.exam.exam_id:
            return None
        own = uuid_or_none(row.exam.exam_id)
        if own is None:
            raise SheetError(
                "row.value",
                "the id of the examination is not a UUID",
                got=row.exam.exam_id,
                legal="a UUID, or an empty cell",
                example="0199f3a2-5c00-7000-8000-000000000000",
                where=where,
            )
        holder = self.by_exam_id.get(own)
        mine = (found.id if found else None, row.exam.examined_on)
        if holder is not None and holder != mine:
            raise SheetError(
                "row.conflict",
                "the id of the examination is on record for another ram or another day",
                got=str(own),
                legal="the id it had when it was stored, or an empty cell",
                example="empty the cell: stell gives the record an id",
                where=where,
            )
        return own


_COLUMNS = ("id", "ram_id", "examined_on", "content_hash", "newer", *mapping.RAM_FACTS)


def _stored_examinations(
    flock_ids: Iterable[uuid.UUID], rows: Iterable[IntakeRow]
) -> Mapping[tuple[uuid.UUID, date], list[Stored]]:
    """Return what is on record of these flocks on the days that the rows speak of."""
    from django.db.models import F

    days = Counter(row.exam.examined_on for row in rows)
    found: dict[tuple[uuid.UUID, date], list[Stored]] = defaultdict(list)
    for day in days:
        query = models.Examination.objects.filter(
            flock_id__in=list(flock_ids), examined_on=day
        ).annotate(newer=F("replaced_by__id"))
        for exam_id, ram_id, on, content_hash, newer, *known in query.order_by("id").values_list(
            *_COLUMNS
        ):
            ram = mapping.ram_from_facts(str(ram_id), known)
            found[ram_id, on].append(Stored(exam_id, content_hash, ram, newer))
    return found


def _stored_by_id(rows: Iterable[IntakeRow]) -> dict[uuid.UUID, tuple[uuid.UUID, date]]:
    """Return ram and day of the examinations on record whose ids the rows bring along."""
    ids = [i for row in rows if (i := uuid_or_none(row.exam.exam_id)) is not None]
    found = {}
    for start in range(0, len(ids), 500):
        query = models.Examination.objects.filter(id__in=ids[start : start + 500])
        for exam_id, ram_id, on in query.values_list("id", "ram_id", "examined_on"):
            found[exam_id] = (ram_id, on)
    return found

"""One flock's rams as lines of a table: what he is, where he stands, what comes next."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from stell.core.change import LOOK_BACKS, Comparison, MeasureChange, window_days
from stell.core.facts import mean_reading
from stell.core.protocol import schema
from stell.core.protocol.ready import ReadyProtocol
from stell.core.records import Examination
from stell.core.units import shown
from stell.core.verdict import Outcome
from stell.services.records import RamRecord
from stell.services.seasons import FlockSeason, RamSeason, ToDo

# The quantities that have a column of their own; a protocol says which of its checks measures them.
CONDITION: schema.Quantity = "condition_score"
SIZE: schema.Quantity = "scrotal_circumference"
NOT_EXAMINED = "not_examined"
# The order of the rams when those who need something come first; those who have left stand last.
_NEED: Mapping[Outcome | None, int] = {
    Outcome.UNSATISFACTORY: 0,
    Outcome.INCOMPLETE: 1,
    Outcome.DEFERRED: 2,
    None: 3,
    Outcome.SATISFACTORY: 4,
}
ORDERS = ("need", "tag", "day")
# Verdicts that say by themselves why a ram can or cannot go in.
_SAID_BY_VERDICT = (Outcome.SATISFACTORY, Outcome.UNSATISFACTORY)


@dataclass(frozen=True, slots=True)
class Past:
    """A figure of about a year ago."""

    shown: str
    on: date
    change: str
    is_real: bool


@dataclass(frozen=True, slots=True)
class RamLine:
    """One ram on the flock's page.

    Attributes
    ----------
    outcome : str
        The outcome that counts, or ``not_examined``.
    by_vet : bool
        The vet's own verdict stands in place of the proposal.
    restricted : bool
        Satisfactory within limits.
    condition, size : str
        With unit; empty when not measured.
    last_year : Past or None
        Circumference of about a year ago.
    first_day : str
        How he stands for the first day of mating: ``yes``, ``if_sound`` (deferred, and his answer
        comes in time), ``no``, ``open`` or ``left``.
    readiness : str
        Why, in a sentence; empty where the rest of the line says it.
    cover_now : bool
        Deferred, and his answer comes when it is too late to buy.
    next : ToDo or None
        What comes first of what is open for him.
    more : int
        How many open things come after that.
    """

    ram: RamRecord
    outcome: str
    by_vet: bool
    restricted: bool
    examined_on: date | None
    condition: str
    size: str
    last_year: Past | None
    first_day: str
    readiness: str
    cover_now: bool
    is_caught_late: bool
    next: ToDo | None
    more: int


@dataclass(frozen=True, slots=True)
class Count:
    """How many rams have a verdict; `marks` is the number again, for drawing one mark each."""

    outcome: str
    number: int

    @property
    def marks(self) -> range:
        """One entry a ram."""
        return range(self.number)


def ram_lines(season: FlockSeason, order: str = "need") -> list[RamLine]:
    """Return the flock's rams in the order asked for (one of `ORDERS`)."""
    open_things = _by_ram(season.to_do)
    advice = {d.ram.ram_id: d.advice for d in season.timetable.deferred} if season.timetable else {}
    lines = [
        ram_line(ram, open_things.get(ram.ram.id, []), advice.get(ram.ram.id, ""))
        for ram in season.rams
    ]
    if order == "tag":
        return lines
    if order == "day":
        return sorted(lines, key=lambda line: line.next.due_on if line.next else date.max)
    ranks = [_need(ram) for ram in season.rams]
    return [line for _, line in sorted(zip(ranks, lines, strict=True), key=lambda pair: pair[0])]


def _need(ram: RamSeason) -> int:
    return _NEED[ram.outcome] if ram.ram.is_active else len(_NEED)


def _by_ram(to_do: Iterable[ToDo]) -> dict[str, list[ToDo]]:
    found: dict[str, list[ToDo]] = {}
    for thing in to_do:
        if thing.ram is not None:
            found.setdefault(thing.ram.id, []).append(thing)
    return found


def ram_line(season: RamSeason, open_things: list[ToDo], advice: str = "") -> RamLine:
    """Return one ram's line; `advice` is that of `core.readiness` for a deferred ram."""
    exam = season.examination.exam if season.examination else None
    decision = season.decision
    return RamLine(
        ram=season.ram,
        outcome=season.outcome.value if season.outcome else NOT_EXAMINED,
        by_vet=season.override is not None,
        restricted=bool(
            decision and decision.proposed.restrictions and decision.outcome is Outcome.SATISFACTORY
        ),
        examined_on=exam.examined_on if exam else None,
        condition=figure(season.protocol, exam, CONDITION),
        size=figure(season.protocol, exam, SIZE),
        last_year=last_year(season.protocol, season.comparisons),
        first_day=first_day(season),
        readiness="" if advice or season.outcome in _SAID_BY_VERDICT else season.readiness,
        cover_now=advice == "cover_now",
        is_caught_late=season.is_caught_late,
        next=open_things[0] if open_things else None,
        more=max(0, len(open_things) - 1),
    )


def first_day(season: RamSeason) -> str:
    """Return how a ram stands for the first day of mating, see `RamLine.first_day`."""
    if not season.ram.is_active:
        return "left"
    if season.is_ready is None:
        return "open"
    if not season.is_ready:
        return "no"
    return "if_sound" if season.outcome is Outcome.DEFERRED else "yes"


def first_day_counts(lines: Iterable[RamLine]) -> dict[str, int]:
    """Return how many rams stand how for the first day; those who left are not counted."""
    found = Counter(line.first_day for line in lines)
    return {word: found[word] for word in ("yes", "if_sound", "open", "no")}


def figure(
    protocol: ReadyProtocol | None, exam: Examination | None, quantity: schema.Quantity
) -> str:
    """Return a measured quantity with its unit, or nothing."""
    check = protocol.measuring(quantity) if protocol is not None else None
    if exam is None or check is None or check.unit is None:
        return ""
    observed = exam.observations.get(check.id)
    if not isinstance(observed, tuple):
        return ""
    readings = tuple(v for v in observed if isinstance(v, int))
    return shown(mean_reading(readings), check.unit) if readings else ""


def last_year(protocol: ReadyProtocol | None, comparisons: Iterable[Any]) -> Past | None:
    """Return the circumference of about a year ago and what may be said of the difference."""
    check = protocol.measuring(SIZE) if protocol is not None else None
    if check is None:
        return None
    for comparison in comparisons:
        if isinstance(comparison, Comparison) and _about_a_year(comparison):
            for change in comparison.measures:
                if change.check_id == check.id:
                    return _past(change, comparison.then_on)
    return None


def _about_a_year(comparison: Comparison) -> bool:
    year = LOOK_BACKS["a year"]
    days = (comparison.now_on - comparison.then_on).days
    return abs(days - year) <= window_days(year)


def _past(change: MeasureChange, then_on: date) -> Past:
    difference = round(change.difference)
    size = shown(abs(difference), change.unit)
    said = f"{size} {'more' if difference > 0 else 'less'}" if difference else "the same"
    return Past(
        shown=shown(change.then, change.unit),
        on=then_on,
        change=said,
        is_real=change.judgement.value == "real change",
    )


def counts(season: FlockSeason) -> list[Count]:
    """Return the rams by verdict, from good to bad; verdicts that nobody has are left out."""
    found: Mapping[Outcome, int] = season.counts
    all_counts = [Count(o.value, found.get(o, 0)) for o in sorted(Outcome, key=lambda o: o.rank)]
    all_counts.append(Count(NOT_EXAMINED, season.not_examined))
    return [c for c in all_counts if c.number]

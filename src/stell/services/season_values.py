"""What services say of a season: each ram, what is to be done, the whole."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from stell.core.change import year_on_year
from stell.core.comparison import Comparison, MeasureChange
from stell.core.deeds import Deed
from stell.core.lasting import FoundEarlier
from stell.core.protocol.ready import ReadyProtocol
from stell.core.records import Season
from stell.core.timetable import Timetable
from stell.core.verdict import Decision, Outcome
from stell.services.records import ExaminationRecord, FlockRecord, OverrideRecord, RamRecord


@dataclass(frozen=True, slots=True)
class ToDo:
    """One thing to do by a day.

    Attributes
    ----------
    kind : str
        One of `core.verdict.ACTION_KINDS`, or ``examine`` (a ram not yet seen), ``examine_by``,
        ``buy_by`` and other steps of the timetable.
    due_on : date
    sentence : str
        For the vet.
    owner : str
        For the flock owner; may be empty.
    ram : RamRecord or None
        None for what concerns the flock.
    exam_id : str
        The examination it follows from, or empty.
    finding : str
        Why, in a few words: what was found, or the title of the step.
    rules : tuple of str
        The rules that ask for it.
    notice : str
        What else has to be known when it is done; may be empty.
    """

    kind: str
    due_on: date
    sentence: str
    owner: str = ""
    ram: RamRecord | None = None
    exam_id: str = ""
    finding: str = ""
    rules: tuple[str, ...] = ()
    notice: str = ""


@dataclass(frozen=True, slots=True)
class RamSeason:
    """One ram in one season.

    Attributes
    ----------
    examination : ExaminationRecord or None
        The latest one that stands; None when he was not examined this season.
    decision : Decision or None
        Judged with the season's start of mating, and the last override.
    override : OverrideRecord or None
    is_ready : bool or None
        Whether he can go in on the first day; None when it cannot be said.
    readiness : str
        Why, in one plain sentence without a full stop.
    is_caught_late : bool
        Put off or unready because the visit was too late for what he needs.
    earlier : tuple of ExaminationRecord
        Older examinations of this season, newest first, corrected ones left out.
    comparisons : tuple of Comparison
        With his own past, see `core.change`.
    past : tuple of ExaminationRecord
        Standing examinations of earlier seasons, newest first.
    deeds : tuple of Deed
        What was done about `examination`, and what of that was taken back.
    slaughter_notice : str
        Until when he is not for slaughter, as entered; empty when no such day lies ahead.
    found_earlier : tuple of FoundEarlier
        Lasting faults on record that `examination` does not have: the vet says which is right.
        Complete where `past` is fetched (`flock_season`); else of this season's records alone.
    """

    ram: RamRecord
    examination: ExaminationRecord | None
    decision: Decision | None
    protocol: ReadyProtocol | None
    override: OverrideRecord | None
    is_ready: bool | None
    readiness: str
    is_caught_late: bool
    earlier: tuple[ExaminationRecord, ...] = ()
    comparisons: tuple[Comparison, ...] = ()
    past: tuple[ExaminationRecord, ...] = ()
    deeds: tuple[Deed, ...] = ()
    slaughter_notice: str = ""
    found_earlier: tuple[FoundEarlier, ...] = ()

    @property
    def beside(self) -> Comparison | None:
        """`examination` beside that of about a year ago, else beside the one before."""
        return year_on_year(self.comparisons)

    @property
    def real_changes(self) -> tuple[MeasureChange, ...]:
        """Measures that differ from `beside` by more than measuring and season can make."""
        return self.beside.real_changes if self.beside else ()

    @property
    def outcome(self) -> Outcome | None:
        """The outcome that counts; None when he was not examined."""
        return self.decision.outcome if self.decision else None


@dataclass(frozen=True, slots=True)
class FlockSeason:
    """Everything there is to say of one flock's season.

    Attributes
    ----------
    mating_start_on : date or None
        None when the flock has no mating start on record.
    from_on, until_on : date
        Examinations within these days, both ends in, belong to the season.
    protocol : ReadyProtocol
        The one whose timing figures make the timetable: the latest that judged here.
    rams : tuple of RamSeason
        By tag. Rams that left before the season are not here.
    counts : mapping of Outcome to int
        By the outcome that counts; rams not examined are in `not_examined`.
    timetable : core.timetable.Timetable or None
        None without a mating start.
    to_do : tuple of ToDo
        Open things, by day.
    """

    flock: FlockRecord
    mating_start_on: date | None
    today: date
    from_on: date
    until_on: date
    protocol: ReadyProtocol
    season: Season
    rams: tuple[RamSeason, ...]
    counts: Mapping[Outcome, int]
    not_examined: int
    ready: int
    not_ready: int
    readiness_open: int
    timetable: Timetable | None
    to_do: tuple[ToDo, ...]
    notices: tuple[str, ...] = ()

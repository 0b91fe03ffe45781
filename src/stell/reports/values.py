"""What an owner's report says, as plain frozen values: made by `compose`, printed by `owner`.

Dates that somebody acts on are kept as dates and as the words printed; everything else is text as
it stands on the page. Numbers that charts draw are in the unit of their name.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Tally:
    """How many rams have a verdict. `outcome` is the word of `core.verdict.Outcome`."""

    outcome: str
    count: int


@dataclass(frozen=True, slots=True)
class Todo:
    """One thing the owner sees to.

    Attributes
    ----------
    kind : str
        A kind of action, or the code of a milestone.
    due_on : date or None
        None for a limit on use, and when the vet has still to name the day.
    due, away : str
        As printed: ``Sun 4 Oct 2026``, ``in 5 days``.
    what : str
        The thing to do, a few words.
    why : str
        Plain sentences; may be empty.
    who : str
    rams : tuple of str
        Labels in order; empty for the whole flock.
    whom : str
        The same for a narrow column, a long list cut short.
    pressing : bool
        To be done at once.
    """

    kind: str
    due_on: date | None
    due: str
    away: str
    what: str
    why: str
    who: str
    rams: tuple[str, ...]
    whom: str
    pressing: bool = False


@dataclass(frozen=True, slots=True)
class Day:
    """One milestone of the timetable. `acts` is whether somebody has to do something by then."""

    code: str
    on: date
    due: str
    away: str
    title: str
    sentence: str
    past: bool
    acts: bool


@dataclass(frozen=True, slots=True)
class Return:
    """When a deferred ram is looked at again, and whether that is in time."""

    label: str
    on: date
    ready_in_time: bool | None
    sentence: str


@dataclass(frozen=True, slots=True)
class Measured:
    """One measured check of one ram.

    Attributes
    ----------
    title, shown : str
        For example ``Scrotal circumference`` and ``33.5 cm``.
    limit : str
        The limit nearest to him, in words; empty where none applies.
    before : str
        His previous figure with its date; empty when there is none.
    close : bool
        Within measurement error of a limit.
    """

    check_id: str
    title: str
    shown: str
    limit: str
    before: str
    close: bool


@dataclass(frozen=True, slots=True)
class Why:
    """One reason: what was found, what follows, and where the rule comes from.

    `owner` speaks to the owner, `do` to the vet; `source` is the number in the bibliography,
    0 for none.
    """

    found: str
    follows: str
    owner: str
    do: str
    flags: tuple[str, ...]
    source: int
    where: str
    basis: str


@dataclass(frozen=True, slots=True)
class OwnVerdict:
    """The vet's verdict in place of the proposal."""

    proposed: str
    stands: str
    reason: str
    by: str
    on: str


@dataclass(frozen=True, slots=True)
class RamLine:
    """One ram, his line in the table and what stands behind it."""

    label: str
    tag: str
    name: str
    kind: str
    age: str
    outcome: str
    headline: str
    measured: tuple[Measured, ...]
    findings: tuple[str, ...]
    next_step: str
    ready: str
    reasons: tuple[Why, ...] = ()
    missing: tuple[str, ...] = ()
    borderline: tuple[str, ...] = ()
    restrictions: tuple[str, ...] = ()
    fits_use: str = ""
    own_verdict: OwnVerdict | None = None
    note: str = ""
    examined_on: str = ""
    examiner: str = ""
    not_covered: tuple[str, ...] = ()

    @property
    def has_story(self) -> bool:
        """Whether there is more to say of him than his line holds."""
        return bool(
            self.reasons
            or self.missing
            or self.borderline
            or self.own_verdict
            or self.note
            or self.not_covered
        )


@dataclass(frozen=True, slots=True)
class SizeAtAge:
    """One point of the chart of circumference by age.

    Attributes
    ----------
    months : float
        Middle of what is known of his age. [months]
    value, limit, error : float or None
        Circumference, the limit that applies to him, half-width of the band in which nineteen of
        twenty readings of the same ram fall. [cm]
    """

    label: str
    outcome: str
    months: float
    value: float
    limit: float | None
    error: float | None


@dataclass(frozen=True, slots=True)
class Caution:
    """A standing caution."""

    title: str
    text: str


@dataclass(frozen=True, slots=True)
class Cited:
    """One entry of the bibliography."""

    number: int
    text: str


@dataclass(frozen=True, slots=True)
class OwnerReport:
    """Everything the owner's report says.

    Attributes
    ----------
    flock, owner, practice : str
        Empty where unknown.
    examiners, examined_on : str
        Joined, as printed.
    visit_on : date or None
        The last day of examination.
    mating_start_on : date or None
    today : date
    protocol, protocol_title, protocol_digest : str
        Name and version, title, and the first signs of the file's SHA-256.
    opening : str
        The season in one sentence; `summary` the rams in one or two.
    tallies : tuple of Tally
        In the order of the verdicts, zeros left in.
    todos : tuple of Todo
        In the order in which to do them.
    days, returns : tuples
        The timetable, and the deferred rams on it.
    rams : tuple of RamLine
        Those who need something first, then by tag.
    sizes : tuple of SizeAtAge
    size_title : str
        Title of the check that `sizes` shows.
    without_size : int
        Rams whose age or circumference is unknown. [1]
    not_examined : tuple of str
        Labels of rams of the flock without an examination this season.
    cautions, sources : tuples
    """

    flock: str
    owner: str
    practice: str
    examiners: str
    examined_on: str
    visit_on: date | None
    mating_start_on: date | None
    mating_start: str
    today: date
    made: str
    protocol: str
    protocol_title: str
    protocol_digest: str
    opening: str
    summary: str
    tallies: tuple[Tally, ...]
    todos: tuple[Todo, ...]
    days: tuple[Day, ...]
    returns: tuple[Return, ...]
    rams: tuple[RamLine, ...]
    sizes: tuple[SizeAtAge, ...]
    size_title: str
    without_size: int
    not_examined: tuple[str, ...]
    cautions: tuple[Caution, ...]
    sources: tuple[Cited, ...]


@dataclass(frozen=True, slots=True)
class SizeOnDay:
    """One point of a ram's own line; numbers as in `SizeAtAge`. [cm]"""

    on: date
    outcome: str
    value: float
    limit: float | None
    error: float | None


@dataclass(frozen=True, slots=True)
class Past:
    """One examination in a ram's history.

    Attributes
    ----------
    line : RamLine
    protocol : str
        Name and version that judged it.
    corrected : bool
        A later record took its place; it is shown, and no longer counts.
    """

    line: RamLine
    protocol: str
    corrected: bool


@dataclass(frozen=True, slots=True)
class Compared:
    """Two examinations side by side, in sentences."""

    title: str
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class HistoryReport:
    """Everything on record for one ram, newest first.

    Attributes
    ----------
    label, tag, name, eid, kind, born : str
        Who he is; empty where unknown.
    flock, practice : str
    today : date
    made : str
        The same, as printed.
    entries : tuple of Past
    compared : tuple of Compared
    sizes : tuple of SizeOnDay
        In order of days.
    size_title : str
    cautions, sources : tuples
    """

    label: str
    tag: str
    name: str
    eid: str
    kind: str
    born: str
    flock: str
    practice: str
    today: date
    made: str
    entries: tuple[Past, ...]
    compared: tuple[Compared, ...]
    sizes: tuple[SizeOnDay, ...]
    size_title: str
    cautions: tuple[Caution, ...]
    sources: tuple[Cited, ...]

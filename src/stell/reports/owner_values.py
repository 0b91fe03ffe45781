"""What an owner's report says, as plain frozen values: made by `compose`, printed by `owner`.

Dates that somebody acts on are kept as dates and as the words printed; everything else is text as
it stands on the page.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from stell.reports.values import Caution, Cited, RamLine, SizeAtAge


@dataclass(frozen=True, slots=True)
class Tally:
    """How many rams have a verdict. `outcome` is the word of `core.verdict.Outcome`."""

    outcome: str
    count: int


@dataclass(frozen=True, slots=True)
class Whom:
    """Rams of whom the same few words are said; `words` may be empty."""

    labels: tuple[str, ...]
    words: str


@dataclass(frozen=True, slots=True)
class Todo:
    """One thing the owner sees to: one kind of action on one day, for all rams it concerns.

    Attributes
    ----------
    kind : str
        A kind of action, or the code of a milestone.
    due_on : date or None
        Today for what is overdue. None for a limit on use, and when the vet has still to name the
        day.
    due, away : str
        As printed: ``Sun 4 Oct 2026`` and ``in 5 days``, or ``now`` and ``was due 28 Aug 2026``.
    what, how : str
        The thing to do, a few words; and whom to call, or which rams are meant. `how` may be empty.
    whom : tuple of Whom
        Empty for the whole flock.
    shortly : str
        The rams' labels in one line, a long list cut.
    pressing : bool
        To be done at once.
    """

    kind: str
    due_on: date | None
    due: str
    away: str
    what: str
    how: str
    whom: tuple[Whom, ...]
    shortly: str
    pressing: bool = False

    @property
    def rams(self) -> tuple[str, ...]:
        """The labels of all rams it concerns."""
        return tuple(label for some in self.whom for label in some.labels)


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


@dataclass(frozen=True, slots=True)
class Named:
    """A ram as the owner knows him; `name` may be empty."""

    tag: str
    name: str


@dataclass(frozen=True, slots=True)
class LookAgain:
    """Deferred rams with the same findings and the same day.

    Attributes
    ----------
    rams : tuple of Named
    why : str
        A few plain words.
    due, away : str
        As in `Todo`.
    before : str
        How long before the rams go in, for example ``41 days``; empty without a start of mating.
    in_time : str
        ``yes``, ``no`` or ``not known``, with what the owner has to know about it.
    meanwhile : tuple of str
        Sentences to the owner.
    """

    rams: tuple[Named, ...]
    why: str
    due: str
    away: str
    before: str
    in_time: str
    meanwhile: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PlainWords:
    """Other rams of whom the owner is told the same: what was found, and what it means."""

    outcome: str
    rams: tuple[Named, ...]
    found: str
    told: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Column:
    """A measured check that has a column, and its target in words; empty where there is none."""

    title: str
    target: str


@dataclass(frozen=True, slots=True)
class Ground:
    """A rule that spoke, once for all rams: what it found, what follows, where it comes from.

    Attributes
    ----------
    found, follows, do : str
        `do` speaks to the vet.
    rams : tuple of str
        Labels, with the figure or the side.
    flags : tuple of str
    source : int
        Number in the bibliography, 0 for none.
    where, basis : str
    """

    found: str
    rams: tuple[str, ...]
    follows: str
    do: str
    flags: tuple[str, ...]
    source: int
    where: str
    basis: str


@dataclass(frozen=True, slots=True)
class Remark:
    """What else is on record under a heading of few words: labels, each with what is said."""

    title: str
    said: tuple[tuple[str, str], ...]


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
    warnings : tuple of str
        What nobody may overlook: what passes to people, what the law may ask for.
    days, returns : tuples
        The timetable, and the deferred rams on it.
    advice : tuple of str
        What holds for several of the rams to be looked at again.
    again, told : tuples
        Deferred rams, and the others of whom there is something to say, in plain words.
    columns : tuple of Column
    rams : tuple of RamLine
        Those who need something first, then by tag.
    sizes : tuple of SizeAtAge
    size_title : str
        Title of the check that `sizes` shows.
    without_size : int
        Rams whose age or circumference is unknown. [1]
    not_examined : tuple of str
        Labels of rams of the flock without an examination this season.
    grounds : tuple of Ground
        Worst first, then in the order of the walk.
    remarks : tuple of Remark
    visits : tuple of str
        Who was examined on which day by whom, a line each.
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
    warnings: tuple[str, ...]
    days: tuple[Day, ...]
    returns: tuple[Return, ...]
    advice: tuple[str, ...]
    again: tuple[LookAgain, ...]
    told: tuple[PlainWords, ...]
    columns: tuple[Column, ...]
    rams: tuple[RamLine, ...]
    sizes: tuple[SizeAtAge, ...]
    size_title: str
    without_size: int
    not_examined: tuple[str, ...]
    grounds: tuple[Ground, ...]
    remarks: tuple[Remark, ...]
    visits: tuple[str, ...]
    cautions: tuple[Caution, ...]
    sources: tuple[Cited, ...]

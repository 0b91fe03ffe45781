"""What reports say of a ram, as plain frozen values, and a ram's history as a whole.

What stands on a page is text as it is printed. Numbers that charts draw are in the unit of their
name. The owner's report as a whole is in `owner_values`.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Measured:
    """One measured check of one ram.

    Attributes
    ----------
    title, shown : str
        For example ``Scrotal circumference`` and ``33.5 cm``.
    limit : str
        What he had to reach or not to pass, in words; empty where nothing is known of it, and
        where the check has a target instead.
    off_target : str
        ``below target`` or ``above target``; else empty.
    before : str
        His previous figure with its date; empty when there is none.
    close : bool
        Within measurement error of a limit.
    """

    check_id: str
    title: str
    shown: str
    limit: str
    off_target: str
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
    """One ram, his line in the table and what stands behind it.

    `reasons` are for a ram's history; the owner's report gives each rule once for all rams.
    `changed` are measures that have really changed, `earlier` lasting faults not found this time.
    """

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
    changed: tuple[str, ...] = ()
    earlier: tuple[str, ...] = ()

    @property
    def is_plain(self) -> bool:
        """Whether he is satisfactory and there is nothing more to say of him than his figures."""
        more = (self.reasons, self.missing, self.borderline, self.restrictions, self.own_verdict)
        past = (self.changed, self.earlier)
        return self.outcome == "satisfactory" and not any((*more, *past))


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

"""What a comparison of two examinations says, as values and in plain words. Made by `change`."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from stell.core.records import written_date
from stell.core.units import Unit, shown


class Judgement(StrEnum):
    """What may be said of a difference."""

    REAL = "real change"
    WITHIN = "within measurement error"
    CANNOT_SAY = "cannot say"


@dataclass(frozen=True, slots=True)
class MeasureChange:
    """One measured check at both examinations.

    Attributes
    ----------
    check_id, title : str
    unit : Unit
    now, then : int
        Mean readings, halves up. [fixed units]
    readings_now, readings_then : int
        How many each mean is of. [1]
    expected : float or None
        Difference that the season alone makes; None when it is not allowed for. [fixed units]
    detectable : float or None
        Smallest difference that is more than measuring and season; None when the protocol does not
        say how well the check can be repeated. [fixed units]
    judgement : Judgement
    why : str
        The reason when it cannot be said, and what to bear in mind otherwise; may be empty.
    """

    check_id: str
    title: str
    unit: Unit
    now: int
    then: int
    readings_now: int
    readings_then: int
    expected: float | None
    detectable: float | None
    judgement: Judgement
    why: str = ""

    @property
    def difference(self) -> int:
        """Now less then, as measured. [fixed units]"""
        return self.now - self.then

    @property
    def adjusted(self) -> float:
        """The difference less what the season makes of it. [fixed units]"""
        return self.difference - (self.expected or 0.0)

    def sentence(self, now_on: date, then_on: date) -> str:
        """Return the whole in plain words."""
        then = f"{shown(self.then, self.unit)} on {written_date(then_on)}"
        now = f"{shown(self.now, self.unit)} on {written_date(now_on)}"
        parts = [f"{self.title}: {then}, {now}; {self._more_or_less(self.difference)}."]
        if self.expected is not None and not self._is_nothing(self.expected):
            parts.append(
                f"The season alone would make it {self._more_or_less(self.expected)}; "
                f"allowing for that: {self._more_or_less(self.adjusted)}."
            )
        said = self.judgement.value.capitalize()
        if self.detectable is not None and self.judgement is not Judgement.CANNOT_SAY:
            said += f" (it takes {shown(self.detectable, self.unit)} to be sure)"
        parts.append(f"{said}: {self.why}." if self.why else f"{said}.")
        return " ".join(parts)

    def in_brief(self, then_on: date) -> str:
        """Return a real change in a few words: how much, since when, and what cannot explain it.

        Where the season moved the figure too, what is left without it is said beside it. For
        example ``2.6 cm less than Aug 2025, more than measuring and season explain``.
        """
        since = written_date(then_on).partition(" ")[2]
        said = f"{self._more_or_less(self.difference)} than {since}"
        if self._is_nothing(self.difference):
            said = f"as in {since}"
        if self.expected is None:
            said += ", more than measuring explains"
        elif self._is_nothing(self.expected):
            said += ", more than measuring and season explain"
        else:
            left = self._more_or_less(self.adjusted)
            said += f", {left} when the season is allowed for: more than measuring explains"
        return f"{said}; {self.why}" if self.why else said

    def _is_nothing(self, value: float) -> bool:
        return shown(abs(value), self.unit) == shown(0, self.unit)

    def _more_or_less(self, value: float) -> str:
        if self._is_nothing(value):
            return "no difference"
        return f"{shown(abs(value), self.unit)} {'more' if value > 0 else 'less'}"


class Course(StrEnum):
    """What became of a finding."""

    NEW = "new"
    CHANGED = "changed"
    PERSISTING = "still there"
    GONE = "gone"
    NOT_EXAMINED_THEN = "not examined then"
    NOT_EXAMINED_NOW = "not examined now"


@dataclass(frozen=True, slots=True)
class FindingChange:
    """One finding of a choice check; the normal answer is no finding.

    Attributes
    ----------
    check_id, title : str
    course : Course
    now, then : str
        The answer's label; empty where there was none, or where nobody looked.
    """

    check_id: str
    title: str
    course: Course
    now: str = ""
    then: str = ""

    def sentence(self, now_on: date, then_on: date) -> str:
        """Return the whole in plain words."""
        before, today = written_date(then_on), written_date(now_on)
        return {
            Course.NEW: f"New: {self.title}: {self.now}.",
            Course.CHANGED: f"Changed: {self.title}: {self.now}; it was {self.then}.",
            Course.PERSISTING: f"Still there: {self.title}: {self.now}.",
            Course.GONE: f"Gone: {self.title}: {self.then}.",
            Course.NOT_EXAMINED_THEN: (
                f"{self.title}: {self.now}; not examined on {before}, so it may have been there."
            ),
            Course.NOT_EXAMINED_NOW: (
                f"{self.title}: {self.then} on {before}; not examined on {today}, so it may still "
                "be there."
            ),
        }[self.course]


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two examinations of one ram, side by side.

    Attributes
    ----------
    ram_id, label : str
    protocol : str
        By which both were read.
    now_on, then_on : date
    same_person : bool or None
        None when it is not on record who measured.
    measures : tuple of MeasureChange
        Checks measured at both, in the order of the walk.
    findings : tuple of FindingChange
        New first, then changed, still there, gone, not examined.
    not_examined_then, not_examined_now : tuple of str
        Titles of checks done at the other examination only.
    not_covered : tuple of str
        Check ids that the protocol does not know.
    """

    ram_id: str
    label: str
    protocol: str
    now_on: date
    then_on: date
    same_person: bool | None
    measures: tuple[MeasureChange, ...]
    findings: tuple[FindingChange, ...]
    not_examined_then: tuple[str, ...]
    not_examined_now: tuple[str, ...]
    not_covered: tuple[str, ...] = ()

    @property
    def real_changes(self) -> tuple[MeasureChange, ...]:
        """Measures that have really changed."""
        return tuple(m for m in self.measures if m.judgement is Judgement.REAL)

    def sentences(self) -> tuple[str, ...]:
        """Return everything in plain words, a line each."""
        now, then = self.now_on, self.then_on
        lines = [m.sentence(now, then) for m in self.measures]
        lines += [f.sentence(now, then) for f in self.findings]
        for on, titles in ((then, self.not_examined_then), (now, self.not_examined_now)):
            if titles:
                lines.append(f"Not examined on {written_date(on)}: {', '.join(titles)}.")
        if self.not_covered:
            lines.append(f"Not in protocol {self.protocol}: {', '.join(self.not_covered)}.")
        return tuple(lines) or ("Nothing was examined at both visits that could be compared.",)

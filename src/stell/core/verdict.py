"""What the judge answers: outcome, reasons, what is missing, what to do by when."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from typing import Any

from stell.core.protocol.conditions import Span
from stell.core.protocol.ready import (
    Origin,
    ReadyBand,
    ReadyCheck,
    ReadyStandard,
    Rule,
    RuleEffect,
)
from stell.core.protocol.schema import Severity
from stell.core.records import written_date
from stell.core.units import shown


class Outcome(StrEnum):
    """The four verdicts, from good to bad by `rank`."""

    SATISFACTORY = "satisfactory"
    DEFERRED = "deferred"
    INCOMPLETE = "incomplete"
    UNSATISFACTORY = "unsatisfactory"

    @property
    def rank(self) -> int:
        """0 for satisfactory up to 3 for unsatisfactory. [1]"""
        return _RANK[self]


_RANK = {
    Outcome.SATISFACTORY: 0,
    Outcome.DEFERRED: 1,
    Outcome.INCOMPLETE: 2,
    Outcome.UNSATISFACTORY: 3,
}

ACTION_KINDS = {
    "report": "stop and report",
    "isolate": "keep apart",
    "withdraw": "do not use",
    "treat": "treat",
    "complete": "finish the examination",
    "measure_again": "measure again",
    "reexamine": "examine again",
    "restrict": "use only within limits",
}


@dataclass(frozen=True, slots=True)
class Reason:
    """One rule that spoke, and what was found.

    Attributes
    ----------
    check : ReadyCheck
    rule : Rule
    effects : tuple of RuleEffect
        Those whose condition held.
    value : int or None
        Mean reading of a measured check. [fixed units]
    standard, band
        Set for a measured check.
    """

    check: ReadyCheck
    rule: Rule
    effects: tuple[RuleEffect, ...]
    value: int | None = None
    standard: ReadyStandard | None = None
    band: ReadyBand | None = None

    @property
    def severity(self) -> int:
        """The worst effect that held; 0 for none."""
        return max((e.kind for e in self.effects), default=0)

    @property
    def awaits_clearance(self) -> bool:
        """Whether an authority, and no number of days, decides when he may be passed."""
        return "notifiable" in self.rule.flags and self.severity < Severity.reject

    @property
    def origin(self) -> Origin:
        """Where the rule comes from."""
        assert self.rule.origin is not None
        return self.rule.origin

    @property
    def sentence(self) -> str:
        """What was found, in one plain sentence without a full stop."""
        if self.band is None or self.value is None or self.check.unit is None:
            return f"{self.check.title}: {self.rule.label}"
        measured = f"{self.check.title} {shown(self.value, self.check.unit)}"
        assert self.standard is not None
        return f"{measured}, {band_text(self.check, self.band)} ({self.standard.title})"

    def as_dict(self) -> dict[str, Any]:
        """Return JSON-ready values."""
        return {
            "rule": self.rule.rule_id,
            "check": self.check.id,
            "effect": Severity(self.severity).name if self.severity else "none",
            "days": max((e.days for e in self.effects), default=0),
            "sentence": self.sentence,
            "do": self.rule.do,
            "owner": self.rule.owner,
            "flags": list(self.rule.flags),
            "source": self.origin.source,
            "where": self.origin.where,
            "basis": self.origin.basis,
        }


def band_text(check: ReadyCheck, band: ReadyBand) -> str:
    """Return where a band lies in words, for example ``below 32.0 cm``."""
    unit = check.unit
    assert unit is not None
    low, high = band.from_limit, band.to_limit
    if low is None and high is not None:
        return f"{'below' if band.high < high else 'no more than'} {shown(high, unit)}"
    if high is None and low is not None:
        return f"{'above' if band.low > low else 'at least'} {shown(low, unit)}"
    assert low is not None
    assert high is not None
    start = f"{'above' if band.low > low else 'from'} {shown(low, unit)}"
    return f"{start} {'to below' if band.high < high else 'to'} {shown(high, unit)}"


@dataclass(frozen=True, slots=True)
class Missing:
    """Something without which the verdict cannot stand. `why` is a closed word (see `WHYS`).

    `possible_on` is the first day on which it can be mended, when that lies ahead.
    """

    check_id: str
    title: str
    why: str
    detail: str = ""
    possible_on: date | None = None

    WHYS = ("not_examined", "fact_unknown", "no_standard", "implausible", "unknown_answer")

    @property
    def sentence(self) -> str:
        """What is missing, in one plain sentence without a full stop."""
        return {
            "not_examined": f"{self.title}: not examined",
            "fact_unknown": f"{self.title}: cannot be judged without knowing {self.detail}",
            "no_standard": f"{self.title}: {self.detail}",
            "implausible": f"{self.title}: {self.detail}",
            "unknown_answer": f"{self.title}: the answer {self.detail!r} is not in this protocol",
        }[self.why]


@dataclass(frozen=True, slots=True)
class Borderline:
    """A single reading so close to a limit that a second could fall on the other side."""

    check: ReadyCheck
    value: int
    limit: int
    error: int

    @property
    def sentence(self) -> str:
        """Why to measure again."""
        unit = self.check.unit
        assert unit is not None
        return (
            f"{self.check.title} {shown(self.value, unit)} is within measurement error "
            f"(±{shown(self.error, unit)}) of the limit of {shown(self.limit, unit)}"
        )


@dataclass(frozen=True, slots=True)
class Action:
    """One thing to do by a day. `kind` is one of `ACTION_KINDS`.

    `finding` is what was found, `sentence` that and what to do about it.
    """

    kind: str
    due_on: date
    sentence: str
    rules: tuple[str, ...] = ()
    owner: str = ""
    finding: str = ""

    def as_dict(self) -> dict[str, Any]:
        """Return JSON-ready values."""
        return {
            "kind": self.kind,
            "due_on": self.due_on.isoformat(),
            "finding": self.finding,
            "sentence": self.sentence,
            "owner": self.owner,
            "rules": list(self.rules),
        }


@dataclass(frozen=True, slots=True)
class Verdict:
    """The judge's proposal for one examination.

    Attributes
    ----------
    outcome : Outcome
    classed : str
        Worst class of the measured checks, for a protocol that names classes; else empty.
    reasons : tuple of Reason
        Rules that spoke with an effect, worst first, then in walk order.
    findings : tuple of Reason
        Measured checks that were classed without an effect, in walk order.
    missing : tuple of Missing
    borderline : tuple of Borderline
    restrictions : tuple of str
        Restriction ids.
    fits_intended_use : bool or None
        None when the use is not known and a restriction might matter.
    act : function
        Works the actions out; see `actions`.
    reexamine_on : date or None
        The day on which the longest deferral ends; None while an authority has to clear him.
    ready_in_time : bool or None
        Whether he can be ready at the start of mating; None when it cannot be said.
    age : int or Span or None
        [half steps of months]
    in_season : bool or None
    not_covered : tuple of str
        Observed checks of which this protocol does not speak.
    """

    outcome: Outcome
    protocol: str
    examined_on: date
    classed: str
    reasons: tuple[Reason, ...]
    findings: tuple[Reason, ...]
    missing: tuple[Missing, ...]
    borderline: tuple[Borderline, ...]
    restrictions: tuple[str, ...]
    fits_intended_use: bool | None
    act: Callable[[], tuple[Action, ...]] = field(repr=False, compare=False)
    reexamine_on: date | None
    ready_in_time: bool | None
    age: int | Span | None
    in_season: bool | None
    not_covered: tuple[str, ...]

    @property
    def actions(self) -> tuple[Action, ...]:
        """What follows, in order of `due_on`. Worked out when asked: an archive is judged anew
        without it."""
        return self.act()

    @property
    def headline(self) -> str:
        """The verdict in a few words, for example ``deferred: examine again by 4 Oct 2026``."""
        if any(r.awaits_clearance for r in self.reasons) and (
            self.outcome is not Outcome.UNSATISFACTORY
        ):
            return f"{self.outcome.value}: not before the suspicion is cleared under local rules"
        if self.outcome is Outcome.DEFERRED and self.reexamine_on is not None:
            return f"deferred: examine again on {written_date(self.reexamine_on)}"
        if self.outcome is Outcome.SATISFACTORY and self.restrictions:
            return "satisfactory, with restrictions"
        return self.outcome.value

    def as_dict(self) -> dict[str, Any]:
        """Return JSON-ready values; dates as ISO 8601, numbers as whole fixed units."""
        age = self.age
        return {
            "outcome": self.outcome.value,
            "headline": self.headline,
            "protocol": self.protocol,
            "examined_on": self.examined_on.isoformat(),
            "class": self.classed,
            "reasons": [r.as_dict() for r in self.reasons],
            "missing": [
                {"check": m.check_id, "why": m.why, "sentence": m.sentence} for m in self.missing
            ],
            "borderline": [
                {"check": b.check.id, "value": b.value, "limit": b.limit, "sentence": b.sentence}
                for b in self.borderline
            ],
            "restrictions": list(self.restrictions),
            "fits_intended_use": self.fits_intended_use,
            "actions": [a.as_dict() for a in self.actions],
            "reexamine_on": self.reexamine_on.isoformat() if self.reexamine_on else None,
            "ready_in_time": self.ready_in_time,
            "age_half_steps": [age.low, age.high] if isinstance(age, Span) else age,
            "in_season": self.in_season,
            "not_covered": list(self.not_covered),
        }


@dataclass(frozen=True, slots=True)
class Override:
    """The vet's own verdict in place of the proposal. Both stay on record."""

    outcome: Outcome
    reason: str
    by: str
    on: date


@dataclass(frozen=True, slots=True)
class Decision:
    """What stands for a ram: the proposal, and the vet's override where there is one."""

    proposed: Verdict
    override: Override | None = None

    @property
    def outcome(self) -> Outcome:
        """The outcome that counts."""
        return self.override.outcome if self.override else self.proposed.outcome

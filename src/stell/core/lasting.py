"""Faults that last, found on a ram earlier and not this time: one of the two records may be wrong.

A jaw does not grow straight again, and what is inherited stays inherited whatever the next pair of
hands felt. So a lasting fault must not go out of sight because a later sheet says "normal": the
vet is asked which is right, and corrects the record that is wrong. What counts as lasting is common
practice, no source; see `is_lasting`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from stell.core.facts import Facts
from stell.core.protocol.ready import ReadyCheck, ReadyProtocol, Rule
from stell.core.protocol.schema import Severity
from stell.core.records import Examination, Observed, Ram, Season, written_date

HERITABLE = "heritable"
_BARS = (Severity.restrict, Severity.reject)


@dataclass(frozen=True, slots=True)
class FoundEarlier:
    """One lasting fault of an earlier examination that the later one does not have.

    Attributes
    ----------
    check_id, title : str
        The check, with its side.
    found, brief : str
        The answer's label, and the protocol's few words for the owner, or the label where the
        protocol has none.
    found_on : date
        The last day on which it was found.
    is_heritable : bool
    looked_at : bool
        Whether the later examination looked at all; else it may simply still be there.
    """

    check_id: str
    title: str
    found: str
    brief: str
    found_on: date
    is_heritable: bool
    looked_at: bool

    @property
    def sentence(self) -> str:
        """The whole in plain words, without a full stop."""
        this_time = "not found this time" if self.looked_at else "not looked at this time"
        return f"{self.title}: {self.found} on {written_date(self.found_on)}, {this_time}"


def found_earlier(
    protocol: ReadyProtocol,
    ram: Ram,
    now: Examination,
    earlier: Iterable[Examination],
    season: Season | None = None,
) -> tuple[FoundEarlier, ...]:
    """Return the lasting faults that earlier examinations found and this one does not.

    A heritable fault is looked for in all earlier examinations, any other in the last one that
    looked: who was lame for good two years ago and sound a year ago has been asked about then. A
    check whose answer is another lasting fault now (a jaw slightly undershot, then badly) hides
    nothing. Measures are left to `core.change`.

    Parameters
    ----------
    protocol : ReadyProtocol
        By which all are read; what it does not know is passed over.
    ram : Ram
    now : Examination
    earlier : iterable of Examination
        In any order. Those of his that are not before `now`, and those that another one replaces,
        are left out.
    season : Season, optional
        For rules that hold only in season.

    Returns
    -------
    tuple of FoundEarlier
        In the order of the walk, each fault once.
    """
    known = list(earlier)
    replaced = {e.replaces for e in (*known, now) if e.replaces}
    before = [e for e in known if e.examined_on < now.examined_on and e.exam_id not in replaced]
    before.sort(key=lambda e: (e.examined_on, e.exam_id), reverse=True)
    facts = [Facts(protocol, ram, exam, season or Season()) for exam in before]
    return tuple(
        fault
        for check in protocol.checks.values()
        if not check.is_measure
        for fault in _of_check(check, Facts(protocol, ram, now, season or Season()), facts)
    )


def is_lasting(rule: Rule, facts: Facts) -> bool:
    """Whether what a rule says of that ram on that day is expected to stay.

    It bars him, limits his use, or is flagged heritable. A heritable fault that only puts him off
    is still open: the protocol itself wants it felt again.
    """
    kinds = {e.kind for e in rule.effects if e.holds is None or e.holds(facts) is True}
    if not kinds.isdisjoint(_BARS):
        return True
    return HERITABLE in rule.flags and Severity.defer not in kinds


def _of_check(check: ReadyCheck, now: Facts, before: list[Facts]) -> Iterator[FoundEarlier]:
    """Yield the faults of one check, the last found first."""
    today = _answers(now.exam.observations.get(check.id))
    looked = [f for f in before if check.id in f.exam.observations]
    seen = set(today)
    if not check.spec.several and any(_lasts(check, a, now) for a in today):
        return
    for facts in looked:
        for answer in _answers(facts.exam.observations[check.id]):
            if answer in seen or not _lasts(check, answer, facts):
                continue
            rule = check.rules[answer]
            if facts is not looked[0] and HERITABLE not in rule.flags:
                continue
            seen.add(answer)
            yield FoundEarlier(
                check_id=check.id,
                title=check.title,
                found=rule.label,
                brief=rule.brief or rule.label,
                found_on=facts.exam.examined_on,
                is_heritable=HERITABLE in rule.flags,
                looked_at=bool(today),
            )


def _lasts(check: ReadyCheck, answer: str, facts: Facts) -> bool:
    return answer in check.rules and is_lasting(check.rules[answer], facts)


def _answers(observed: Observed | None) -> tuple[str, ...]:
    if observed is None:
        return ()
    return (observed,) if isinstance(observed, str) else tuple(str(a) for a in observed)

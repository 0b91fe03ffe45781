"""One judged ram as a report says him: his line, the reasons behind it, and what they rest on."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from stell.core.judge import mean_reading
from stell.core.protocol.ready import ReadyCheck, ReadyProtocol
from stell.core.protocol.schema import Source
from stell.core.readiness import DeferredOutlook
from stell.core.records import Examination, Ram, written_date
from stell.core.units import from_fixed, shown
from stell.core.verdict import Decision, Reason, Verdict
from stell.press.wording import age_text, month_year, sentence
from stell.reports.todo import finding, next_step
from stell.reports.values import Cited, Measured, OwnVerdict, RamLine, SizeAtAge, SizeOnDay, Why
from stell.reports.wording import BASIS, FLAGS, effect_text, ready_text

READ = {
    "whole": "",
    "part": "read in part",
    "abstract": "abstract read",
    "secondary": "met where another reports it",
    "not-seen": "not seen, recalled",
}
_MEASURED_COLUMNS = 2


@dataclass(frozen=True, slots=True)
class JudgedRam:
    """One ram with his standing examination of the season, as services gather it.

    Attributes
    ----------
    ram : Ram
    exam : Examination
    decision : Decision
        The judge's proposal, with the vet's own verdict where there is one.
    before : Examination or None
        The examination to set beside this one, as a rule last season's.
    protocol : ReadyProtocol or None
        The version that judged him, where it is not the one the report is written by.
    """

    ram: Ram
    exam: Examination
    decision: Decision
    before: Examination | None = None
    protocol: ReadyProtocol | None = None


def measured_columns(protocol: ReadyProtocol) -> tuple[ReadyCheck, ...]:
    """Return the measured checks that have a column of their own: required ones, in walk order."""
    measures = [c for c in protocol.checks.values() if c.is_measure and not c.side]
    wanted = [c for c in measures if c.id in protocol.always_required]
    others = [c for c in measures if c not in wanted and c.standards]
    chosen = (*wanted, *others)[:_MEASURED_COLUMNS]
    return tuple(sorted(chosen, key=lambda c: protocol.order[c.id]))


def size_check(protocol: ReadyProtocol) -> ReadyCheck | None:
    """Return the check that is drawn against age: the first length with limits."""
    in_cm = (c for c in protocol.checks.values() if c.unit and c.unit.name == "cm" and c.standards)
    return next(in_cm, None)


def ram_line(
    judged: JudgedRam,
    protocol: ReadyProtocol,
    columns: Sequence[ReadyCheck],
    cited: Bibliography,
    today: date,
    outlook: DeferredOutlook | None = None,
) -> RamLine:
    """Return a ram's line.

    Parameters
    ----------
    judged : JudgedRam
    protocol : ReadyProtocol
        By which the report is written; his own judge goes before it.
    columns : sequence of ReadyCheck
        The measured checks that have a column.
    cited : Bibliography
        Takes up what his reasons rest on.
    today : date
    outlook : DeferredOutlook or None
        Of a deferred ram, from the timetable.
    """
    ram, exam, decision = judged.ram, judged.exam, judged.decision
    protocol = judged.protocol or protocol
    verdict = decision.proposed
    outcome = decision.outcome
    age_class = protocol.age_classes.get(ram.age_class)
    return RamLine(
        label=ram.label,
        tag=ram.tag or ram.eid,
        name=ram.name,
        kind=", ".join(part.replace("_", " ") for part in (ram.breed, ram.ram_type) if part),
        age=age_text(verdict.age, age_class.title if age_class and not ram.born else ""),
        outcome=outcome.value,
        headline=verdict.headline if decision.override is None else outcome.value,
        measured=tuple(_measured(protocol.checks.get(c.id, c), judged) for c in columns),
        findings=tuple(finding(r) for r in verdict.reasons),
        next_step=next_step(decision, today),
        ready=_ready(decision, outlook),
        reasons=tuple(_why(r, protocol, cited) for r in verdict.reasons),
        missing=tuple(sentence(m.sentence) for m in verdict.missing),
        borderline=tuple(sentence(b.sentence) for b in verdict.borderline),
        restrictions=tuple(_restriction(protocol, r) for r in verdict.restrictions),
        fits_use=_fits_use(verdict),
        own_verdict=_own_verdict(decision),
        note=exam.note,
        examined_on=written_date(exam.examined_on),
        examiner=exam.examiner,
        not_covered=tuple(c.replace("_", " ") for c in verdict.not_covered),
    )


def _ready(decision: Decision, outlook: DeferredOutlook | None) -> str:
    """Say whether he can work when the rams go in; of a deferred ram the outlook knows it."""
    if outlook is not None:
        return ready_text(decision.outcome, outlook.ready_in_time, outlook.seen_on)
    proposed = decision.proposed
    same = decision.outcome is proposed.outcome
    return ready_text(
        decision.outcome, proposed.ready_in_time if same else None, proposed.reexamine_on
    )


def _restriction(protocol: ReadyProtocol, restriction_id: str) -> str:
    restriction = protocol.restrictions[restriction_id]
    return f"{sentence(restriction.title)} {restriction.owner}"


def _fits_use(verdict: Verdict) -> str:
    if not verdict.restrictions or verdict.fits_intended_use:
        return ""
    if verdict.fits_intended_use is None:
        return "Whether that matters depends on what he is meant to sire, which is not recorded."
    return "That speaks against the use he is meant for."


def _own_verdict(decision: Decision) -> OwnVerdict | None:
    own = decision.override
    if own is None:
        return None
    return OwnVerdict(
        decision.proposed.headline, own.outcome.value, own.reason, own.by, written_date(own.on)
    )


def _spoken(verdict: Verdict, check: ReadyCheck) -> Reason | None:
    """Return the reason or finding in which a measured check was classed."""
    both = (*verdict.reasons, *verdict.findings)
    return next((r for r in both if r.check.id == check.id and r.standard), None)


def _nearest_limit(reason: Reason | None) -> int | None:
    if reason is None or reason.standard is None or reason.value is None:
        return None
    value = reason.value
    return min(reason.standard.limits, key=lambda limit: abs(limit - value), default=None)


def _reading(exam: Examination | None, check: ReadyCheck) -> tuple[int, int] | None:
    """Return mean [fixed units] and number of an examination's readings of a check."""
    observed = exam.observations.get(check.id) if exam else None
    if not isinstance(observed, tuple):
        return None
    numbers = tuple(v for v in observed if isinstance(v, int))
    return (mean_reading(numbers), len(numbers)) if numbers else None


def _measured(check: ReadyCheck, judged: JudgedRam) -> Measured:
    unit = check.unit
    assert unit is not None
    reading = _reading(judged.exam, check)
    limit = _nearest_limit(_spoken(judged.decision.proposed, check))
    before = _reading(judged.before, check)
    past = ""
    if before and judged.before:
        past = f"{month_year(judged.before.examined_on)}: {_bare(before[0], check)}"
    return Measured(
        check_id=check.id,
        title=check.spec.short or check.title,
        shown=shown(reading[0], unit) if reading else "",
        limit=f"limit {_bare(limit, check)}" if limit is not None else "",
        before=past,
        close=any(b.check.id == check.id for b in judged.decision.proposed.borderline),
    )


def _bare(value: int, check: ReadyCheck) -> str:
    """Return a value without its unit, for a place beside one that has it."""
    assert check.unit is not None
    return shown(value, check.unit).removesuffix(f" {check.unit.symbol}")


def _size(judged: JudgedRam, check: ReadyCheck) -> tuple[float, float | None, float | None] | None:
    """Return circumference, limit and half-width of its error. [the check's own unit]"""
    reading = _reading(judged.exam, check)
    if reading is None or check.unit is None:
        return None
    limit = _nearest_limit(_spoken(judged.decision.proposed, check))
    error = check.error_by_readings[min(reading[1], len(check.error_by_readings) - 1)]
    return (
        from_fixed(reading[0], check.unit),
        None if limit is None else from_fixed(limit, check.unit),
        from_fixed(error, check.unit) if error else None,
    )


def size_at_age(judged: JudgedRam, check: ReadyCheck, shorts: dict[str, str]) -> SizeAtAge | None:
    """Return his point on the chart of sizes by age; None when age or size is unknown."""
    age, size = judged.decision.proposed.age, _size(judged, check)
    if size is None or age is None:
        return None
    months = age / 2 if isinstance(age, int) else (age.low + age.high) / 4
    return SizeAtAge(shorts[judged.ram.ram_id], judged.decision.outcome.value, months, *size)


def size_on_day(judged: JudgedRam, check: ReadyCheck) -> SizeOnDay | None:
    """Return his point on his own line; None when he was not measured."""
    size = _size(judged, check)
    if size is None:
        return None
    return SizeOnDay(judged.exam.examined_on, judged.decision.outcome.value, *size)


def _why(reason: Reason, protocol: ReadyProtocol, cited: Bibliography) -> Why:
    origin = reason.origin
    follows = dict.fromkeys(effect_text(e.kind, e.days) for e in reason.effects)
    place = origin.where
    return Why(
        found=sentence(reason.sentence),
        follows=sentence("; ".join(follows)),
        owner=reason.rule.owner,
        do=reason.rule.do,
        flags=tuple(sentence(FLAGS.get(f, f.replace("_", " "))) for f in reason.rule.flags),
        source=cited.number(origin.source, protocol),
        where=place,
        basis=BASIS[origin.basis],
    )


class Bibliography:
    """Sources in the order in which they are first cited, numbered from 1."""

    def __init__(self) -> None:
        self._numbers: dict[str, int] = {}

    def number(self, key: str, protocol: ReadyProtocol) -> int:
        """Return the number of a protocol's source, 0 where no source stands."""
        if not key:
            return 0
        text = cited_text(protocol.sources[key])
        return self._numbers.setdefault(text, len(self._numbers) + 1)

    def entries(self) -> Iterable[Cited]:
        """Yield the sources cited so far."""
        for text, number in self._numbers.items():
            yield Cited(number, text)


def cited_text(source: Source) -> str:
    """Return one entry of a bibliography, with how far the source was read."""
    who = source.author.rstrip(".")
    head = f"{who} ({source.year})" if who and source.year else who or str(source.year or "")
    doi = f"doi {source.doi}" if source.doi else ""
    read = READ[source.read]
    parts = [head, source.title, source.published_in, doi, source.address]
    return ". ".join(p.rstrip(".") for p in parts if p) + (f" ({read})." if read else ".")

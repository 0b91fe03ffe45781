"""From core values to the values of an owner's report. Services gather; everything is said here."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from stell.core.judge import mean_reading
from stell.core.protocol.ready import ReadyCheck, ReadyProtocol
from stell.core.protocol.schema import Source
from stell.core.records import Examination, Ram, written_date
from stell.core.timetable import DeferredRam, Timetable, timetable
from stell.core.units import from_fixed, shown
from stell.core.verdict import Decision, Outcome, Reason, Verdict
from stell.press.wording import (
    age_text,
    counted,
    days_text,
    listed,
    month_year,
    natural_key,
    sentence,
    weekday_date,
)
from stell.reports.cautions import OWNER
from stell.reports.todo import finding, next_step, timetable_days, todo_list
from stell.reports.values import (
    Cited,
    Measured,
    OwnerReport,
    OwnVerdict,
    RamLine,
    Return,
    SizeAtAge,
    Tally,
    Why,
)
from stell.reports.wording import BASIS, FLAGS, effect_text, ready_text

READ = {
    "whole": "",
    "part": "read in part",
    "abstract": "abstract read",
    "secondary": "met where another reports it",
    "not-seen": "not seen, recalled",
}
_FIRST = (Outcome.DEFERRED, Outcome.INCOMPLETE, Outcome.UNSATISFACTORY, Outcome.SATISFACTORY)
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
    """

    ram: Ram
    exam: Examination
    decision: Decision
    before: Examination | None = None


def owner_report_values(
    *,
    flock: str,
    owner: str = "",
    practice: str = "",
    protocol: ReadyProtocol,
    judged: Sequence[JudgedRam],
    mating_start_on: date | None = None,
    not_examined: Iterable[Ram] = (),
    today: date,
) -> OwnerReport:
    """Return the values of an owner's report.

    Parameters
    ----------
    flock, owner, practice : str
        Names; the last two may be empty.
    protocol : ReadyProtocol
        The one that judged; one report speaks of one protocol.
    judged : sequence of JudgedRam
        May be empty.
    mating_start_on : date or None
    not_examined : iterable of Ram
        Rams of the flock without an examination this season.
    today : date

    Raises
    ------
    ProtocolError, ValueRefused
        From the timetable, for figures or a start of mating that cannot be used.
    """
    rams = sorted(judged, key=_in_order)
    shorts = _short_labels([j.ram for j in rams])
    table = _table(rams, shorts, protocol, mating_start_on, today)
    cited = _Bibliography(protocol)
    columns = measured_columns(protocol)
    sizes_of = _size_check(protocol)
    sizes = [s for j in rams if sizes_of and (s := _size_at_age(j, sizes_of, shorts))]
    left_out = tuple(r.label for r in not_examined)
    unsettled = any(j.decision.outcome is not Outcome.SATISFACTORY for j in rams)
    return OwnerReport(
        flock=flock,
        owner=owner,
        practice=practice,
        examiners=listed(dict.fromkeys(j.exam.examiner for j in rams if j.exam.examiner)),
        examined_on=days_text(j.exam.examined_on for j in rams),
        visit_on=max((j.exam.examined_on for j in rams), default=None),
        mating_start_on=mating_start_on,
        mating_start=weekday_date(mating_start_on) if mating_start_on else "",
        today=today,
        made=written_date(today),
        protocol=protocol.named,
        protocol_title=protocol.spec.title,
        protocol_digest=protocol.digest[:12],
        opening=table.opening,
        summary=_summary(rams),
        tallies=_tallies(rams),
        todos=todo_list(
            [(shorts[j.ram.ram_id], j.decision) for j in rams],
            table,
            today=today,
            short_of_rams=unsettled or bool(left_out),
        ),
        days=timetable_days(table),
        returns=_returns(table),
        rams=tuple(_line(j, protocol, columns, cited, today) for j in rams),
        sizes=tuple(sizes),
        size_title=sizes_of.title if sizes_of else "",
        without_size=len(rams) - len(sizes) if sizes_of else 0,
        not_examined=left_out,
        cautions=OWNER,
        sources=tuple(cited.entries()),
    )


def measured_columns(protocol: ReadyProtocol) -> tuple[ReadyCheck, ...]:
    """Return the measured checks that have a column of their own: required ones, in walk order."""
    measures = [c for c in protocol.checks.values() if c.is_measure and not c.side]
    wanted = [c for c in measures if c.id in protocol.always_required]
    others = [c for c in measures if c not in wanted and c.standards]
    chosen = (*wanted, *others)[:_MEASURED_COLUMNS]
    return tuple(sorted(chosen, key=lambda c: protocol.order[c.id]))


def _size_check(protocol: ReadyProtocol) -> ReadyCheck | None:
    """Return the check that is drawn against age: the first length with limits."""
    in_cm = (c for c in protocol.checks.values() if c.unit and c.unit.name == "cm" and c.standards)
    return next(in_cm, None)


def _in_order(judged: JudgedRam) -> tuple[object, ...]:
    return (_FIRST.index(judged.decision.outcome), natural_key(judged.ram.label))


def _short_labels(rams: Sequence[Ram]) -> dict[str, str]:
    """Return each ram's tag, or the whole label where the tag is missing or not his alone."""
    tags = Counter(r.tag for r in rams)
    return {r.ram_id: r.tag if r.tag and tags[r.tag] == 1 else r.label for r in rams}


def _table(
    rams: Sequence[JudgedRam],
    shorts: dict[str, str],
    protocol: ReadyProtocol,
    start: date | None,
    today: date,
) -> Timetable:
    waiting = [
        DeferredRam(
            j.ram.ram_id,
            shorts[j.ram.ram_id],
            j.exam.examined_on,
            again,
            "; ".join(r.rule.label for r in _deferring(j.decision.proposed)),
        )
        for j in rams
        if j.decision.outcome is Outcome.DEFERRED and (again := j.decision.proposed.reexamine_on)
    ]
    return timetable(start, protocol.spec.timing, today=today, deferred=waiting)


def _deferring(verdict: Verdict) -> list[Reason]:
    return [r for r in verdict.reasons if any(e.days for e in r.effects)]


def _returns(table: Timetable) -> tuple[Return, ...]:
    return tuple(
        Return(d.ram.label, d.seen_on, d.ready_in_time, d.sentence) for d in table.deferred
    )


def _tallies(rams: Sequence[JudgedRam]) -> tuple[Tally, ...]:
    counts = Counter(j.decision.outcome for j in rams)
    return tuple(Tally(o.value, counts[o]) for o in Outcome)


def _summary(rams: Sequence[JudgedRam]) -> str:
    if not rams:
        return "No ram of this flock has been examined this season."
    counts = Counter(j.decision.outcome for j in rams)
    ready = counts[Outcome.SATISFACTORY]
    if ready == len(rams):
        only = "The ram examined is" if len(rams) == 1 else f"All {len(rams)} rams examined are"
        return f"{only} satisfactory."
    said = [f"{ready} satisfactory" if ready else "none satisfactory yet"]
    if waiting := counts[Outcome.DEFERRED]:
        in_time = sum(
            j.decision.outcome is Outcome.DEFERRED and bool(j.decision.proposed.ready_in_time)
            for j in rams
        )
        known = any(j.decision.proposed.ready_in_time is not None for j in rams)
        still = f", of whom {in_time or 'none'} can still be ready in time" if known else ""
        said.append(f"{waiting} to be examined again{still}")
    if open_ones := counts[Outcome.INCOMPLETE]:
        said.append(f"{open_ones} not fully examined")
    if out := counts[Outcome.UNSATISFACTORY]:
        said.append(f"{out} not to be used")
    return f"Of {counted(len(rams), 'ram')} examined: {'; '.join(said)}."


def _line(
    judged: JudgedRam,
    protocol: ReadyProtocol,
    columns: Sequence[ReadyCheck],
    cited: _Bibliography,
    today: date,
) -> RamLine:
    ram, exam, decision = judged.ram, judged.exam, judged.decision
    verdict = decision.proposed
    outcome = decision.outcome
    age_class = protocol.age_classes.get(ram.age_class)
    ready = verdict.ready_in_time if outcome is verdict.outcome else None
    return RamLine(
        label=ram.label,
        tag=ram.tag or ram.eid,
        name=ram.name,
        kind=", ".join(part.replace("_", " ") for part in (ram.breed, ram.ram_type) if part),
        age=age_text(verdict.age, age_class.title if age_class and not ram.born else ""),
        outcome=outcome.value,
        headline=verdict.headline if decision.override is None else outcome.value,
        measured=tuple(_measured(c, judged) for c in columns),
        findings=tuple(finding(r) for r in verdict.reasons),
        next_step=next_step(decision, today),
        ready=ready_text(outcome, ready, verdict.reexamine_on),
        reasons=tuple(_why(r, cited) for r in verdict.reasons),
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


def _size_at_age(judged: JudgedRam, check: ReadyCheck, shorts: dict[str, str]) -> SizeAtAge | None:
    unit, age = check.unit, judged.decision.proposed.age
    reading = _reading(judged.exam, check)
    if unit is None or reading is None or age is None:
        return None
    months = age / 2 if isinstance(age, int) else (age.low + age.high) / 4
    limit = _nearest_limit(_spoken(judged.decision.proposed, check))
    error = check.error_by_readings[min(reading[1], len(check.error_by_readings) - 1)]
    return SizeAtAge(
        label=shorts[judged.ram.ram_id],
        outcome=judged.decision.outcome.value,
        months=months,
        value=from_fixed(reading[0], unit),
        limit=None if limit is None else from_fixed(limit, unit),
        error=from_fixed(error, unit) if error else None,
    )


def _why(reason: Reason, cited: _Bibliography) -> Why:
    origin = reason.origin
    follows = dict.fromkeys(effect_text(e.kind, e.days) for e in reason.effects)
    place = origin.where
    return Why(
        found=sentence(reason.sentence),
        follows=sentence("; ".join(follows)),
        owner=reason.rule.owner,
        do=reason.rule.do,
        flags=tuple(sentence(FLAGS.get(f, f.replace("_", " "))) for f in reason.rule.flags),
        source=cited.number(origin.source),
        where=place,
        basis=BASIS[origin.basis],
    )


class _Bibliography:
    """Sources in the order in which they are first cited."""

    def __init__(self, protocol: ReadyProtocol) -> None:
        self._protocol = protocol
        self._numbers: dict[str, int] = {}

    def number(self, key: str) -> int:
        """Return a source's number, 0 where no source stands."""
        return self._numbers.setdefault(key, len(self._numbers) + 1) if key else 0

    def entries(self) -> Iterable[Cited]:
        """Yield the sources cited so far."""
        for key, number in self._numbers.items():
            yield Cited(number, cited_text(self._protocol.sources[key]))


def cited_text(source: Source) -> str:
    """Return one entry of a bibliography, with how far the source was read."""
    who = source.author.rstrip(".")
    head = f"{who} ({source.year})" if who and source.year else who or str(source.year or "")
    doi = f"doi {source.doi}" if source.doi else ""
    read = READ[source.read]
    parts = [head, source.title, source.published_in, doi, source.address]
    return ". ".join(p.rstrip(".") for p in parts if p) + (f" ({read})." if read else ".")

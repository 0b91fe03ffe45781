"""A ram's measured figures: what he brings, what he had to bring, what he brought last year."""

from __future__ import annotations

from collections.abc import Sequence

from stell.core.facts import Facts, mean_reading
from stell.core.protocol.conditions import Span
from stell.core.protocol.ready import ReadyCheck, ReadyProtocol, ReadyStandard
from stell.core.protocol.schema import Figure
from stell.core.records import Examination, Season
from stell.core.units import from_fixed, shown, to_fixed
from stell.core.verdict import Reason, Verdict
from stell.press.wording import month_year
from stell.reports.judged import JudgedRam
from stell.reports.owner_values import Column
from stell.reports.values import Measured, SizeAtAge, SizeOnDay

_MEASURED_COLUMNS = 2
_TARGETS = {"condition_score": "condition_at_mating"}  # quantity to the key of its target
_CLEAR = "clear of every limit"


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


def column(check: ReadyCheck, protocol: ReadyProtocol) -> Column:
    """Return a check's column: ``Condition`` and ``target at mating 3.0–4.0, aim for 3.5``."""
    return Column(check.spec.short or check.title, _target_text(check, target_of(check, protocol)))


def target_of(check: ReadyCheck, protocol: ReadyProtocol) -> Figure | None:
    """Return the protocol's target for what a check measures, or None."""
    figure = protocol.spec.targets.get(_TARGETS.get(check.spec.quantity or "", ""))
    fits = figure is not None and check.unit is not None and figure.unit == check.unit.name
    return figure if fits else None


def _target_text(check: ReadyCheck, target: Figure | None) -> str:
    if target is None or check.unit is None:
        return ""
    aim = _bare(to_fixed(target.value, check.unit), check)
    if target.low is None or target.high is None:
        return f"target at mating {aim}"
    low, high = (_bare(to_fixed(v, check.unit), check) for v in (target.low, target.high))
    return f"target at mating {low}–{high}, aim for {aim}"


def measured(check: ReadyCheck, judged: JudgedRam, protocol: ReadyProtocol) -> Measured:
    """Return one measured check of one ram by the protocol that judged him."""
    unit = check.unit
    assert unit is not None
    reading = _reading(judged.exam, check)
    target = target_of(check, protocol)
    before = _reading(judged.before, check)
    past = ""
    if before and judged.before:
        past = f"{month_year(judged.before.examined_on)}: {_bare(before[0], check)}"
    return Measured(
        check_id=check.id,
        title=check.spec.short or check.title,
        shown=shown(reading[0], unit) if reading else "",
        limit="" if target or not reading else _limit_text(check, judged, protocol),
        off_target=_off_target(check, target, reading[0]) if target and reading else "",
        before=past,
        close=any(b.check.id == check.id for b in judged.decision.proposed.borderline),
    )


def _off_target(check: ReadyCheck, target: Figure, value: int) -> str:
    assert check.unit is not None
    if target.low is not None and value < to_fixed(target.low, check.unit):
        return "below target"
    if target.high is not None and value > to_fixed(target.high, check.unit):
        return "above target"
    return ""


# ---------------------------------------------------------------- limits


def _limit_text(check: ReadyCheck, judged: JudgedRam, protocol: ReadyProtocol) -> str:
    reason = _spoken(judged.decision.proposed, check)
    if reason is None or reason.standard is None:
        return ""
    row = _row_with_limits(check, reason, judged, protocol)
    if row is not None:
        return f"limit {_bare(limit, check)}" if (limit := _nearest(row, reason)) else ""
    return _CLEAR if any(s.limits for s in check.standards) else ""


def _spoken(verdict: Verdict, check: ReadyCheck) -> Reason | None:
    """Return the reason or finding in which a measured check was classed."""
    both = (*verdict.reasons, *verdict.findings)
    return next((r for r in both if r.check.id == check.id and r.standard), None)


def _row_with_limits(
    check: ReadyCheck, reason: Reason, judged: JudgedRam, protocol: ReadyProtocol
) -> ReadyStandard | None:
    """Return the standard whose limits hold for him, None where several may.

    A ram whose age is known only roughly passes when he passes at every age that he may have. And
    a row may let big rams pass whatever their age, and so have no limit of its own: then the row
    that would have judged him counts, as far as it can be told.
    """
    own = reason.standard
    assert own is not None
    facts = Facts(protocol, judged.ram, judged.exam, Season())
    roughly = isinstance(facts.get("age_months"), Span)
    if own.limits and (reason.rule.effects or not roughly):
        return own
    rows = ((r, r.holds(facts)) for r in check.standards if r.limits)
    row, holds = next(((r, h) for r, h in rows if h is not False), (None, None))
    return row if holds else None


def _nearest(row: ReadyStandard, reason: Reason) -> int | None:
    """Return the end, nearest to his figure, of the stretch on which nothing follows.

    Without such a stretch it is the nearest limit of any kind. [fixed units]
    """
    good = [b for b in row.bands if not b.rule.worst]
    ends = [end for b in (good[:1] + good[-1:]) for end in (b.from_limit, b.to_limit)]
    inner = {b.from_limit for b in good} & {b.to_limit for b in good}
    known = [e for e in ends if e is not None and e not in inner]
    value = reason.value or 0
    return min(known or row.limits, key=lambda limit: abs(limit - value), default=None)


def _reading(exam: Examination | None, check: ReadyCheck) -> tuple[int, int] | None:
    """Return mean [fixed units] and number of an examination's readings of a check."""
    observed = exam.observations.get(check.id) if exam else None
    if not isinstance(observed, tuple):
        return None
    numbers = tuple(v for v in observed if isinstance(v, int))
    return (mean_reading(numbers), len(numbers)) if numbers else None


def _bare(value: int, check: ReadyCheck) -> str:
    """Return a value without its unit, for a place beside one that has it."""
    assert check.unit is not None
    return shown(value, check.unit).removesuffix(f" {check.unit.symbol}")


# ---------------------------------------------------------------- sizes for charts


def _size(
    judged: JudgedRam, check: ReadyCheck, protocol: ReadyProtocol
) -> tuple[float, float | None, float | None] | None:
    """Return circumference, limit and half-width of its error. [the check's own unit]"""
    reading = _reading(judged.exam, check)
    if reading is None or check.unit is None:
        return None
    reason = _spoken(judged.decision.proposed, check)
    row = reason and reason.standard and _row_with_limits(check, reason, judged, protocol)
    limit = _nearest(row, reason) if row and reason else None
    error = check.error_by_readings[min(reading[1], len(check.error_by_readings) - 1)]
    return (
        from_fixed(reading[0], check.unit),
        None if limit is None else from_fixed(limit, check.unit),
        from_fixed(error, check.unit) if error else None,
    )


def size_at_age(
    judged: JudgedRam, check: ReadyCheck, protocol: ReadyProtocol, label: str
) -> SizeAtAge | None:
    """Return his point on the chart of sizes by age; None when age or size is unknown."""
    age, size = judged.decision.proposed.age, _size(judged, check, protocol)
    if size is None or age is None:
        return None
    months = age / 2 if isinstance(age, int) else (age.low + age.high) / 4
    return SizeAtAge(label, judged.outcome.value, months, *size)


def size_on_day(judged: JudgedRam, check: ReadyCheck, protocol: ReadyProtocol) -> SizeOnDay | None:
    """Return his point on his own line; None when he was not measured."""
    size = _size(judged, check, protocol)
    if size is None:
        return None
    return SizeOnDay(judged.exam.examined_on, judged.outcome.value, *size)


def figure_text(reason: Reason) -> str:
    """Return the figure that a rule spoke of, with its unit; empty for a choice."""
    if reason.value is None or reason.check.unit is None:
        return ""
    return shown(reason.value, reason.check.unit)


def columns_of(checks: Sequence[ReadyCheck], protocol: ReadyProtocol) -> tuple[Column, ...]:
    """Return the columns of several checks."""
    return tuple(column(c, protocol) for c in checks)

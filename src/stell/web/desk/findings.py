"""One examination in words: reasons with their sources, and everything that was found."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from stell.core.protocol.ready import Origin, ReadyCheck, ReadyProtocol, Rule, RuleEffect
from stell.core.protocol.schema import Severity, Source
from stell.core.records import Examination, Observed
from stell.core.units import shown
from stell.core.verdict import Reason, Verdict
from stell.web.desk.wording import BASIS, FLAGS

_KEY = re.compile(r"[a-z][a-z0-9]*(?:_[a-z0-9]+)+")


@dataclass(frozen=True, slots=True)
class Cited:
    """Where a rule comes from, in words. `title` is empty for a habit of the trade."""

    title: str
    where: str
    basis: str
    remark: str


@dataclass(frozen=True, slots=True)
class Why:
    """One reason: what was found, what follows, what to do, and by which rule."""

    found: str
    follows: tuple[str, ...]
    worst: str
    do: str
    flags: tuple[str, ...]
    rule: str
    cited: Cited


@dataclass(frozen=True, slots=True)
class Found:
    """One check and what was found. `is_normal` is None for a figure."""

    title: str
    answer: str
    remark: str
    is_normal: bool | None


@dataclass(frozen=True, slots=True)
class Stop:
    """A station of the walk and what was found there."""

    title: str
    found: tuple[Found, ...]


def reasons(verdict: Verdict, protocol: ReadyProtocol) -> list[Why]:
    """Return the reasons of a verdict, worst first."""
    return [_why(reason, protocol) for reason in verdict.reasons]


def _why(reason: Reason, protocol: ReadyProtocol) -> Why:
    return Why(
        found=reason.sentence,
        follows=tuple(
            effect_text(e, protocol) for e in sorted(reason.effects, key=lambda e: -e.kind)
        ),
        worst=Severity(reason.severity).name if reason.severity else "none",
        do=reason.rule.do,
        flags=flag_texts(reason.rule),
        rule=reason.rule.rule_id,
        cited=cited(reason.origin, protocol),
    )


def flag_texts(rule: Rule) -> tuple[str, ...]:
    """Return what has to be borne in mind with a finding."""
    return tuple(str(FLAGS.get(flag, flag)) for flag in rule.flags)


def effect_text(effect: RuleEffect, protocol: ReadyProtocol) -> str:
    """Return what an effect means for the ram."""
    if effect.kind is Severity.restrict:
        return protocol.restrictions[effect.restriction].title
    if effect.kind is Severity.treat:
        return (
            f"treat within {_days(effect.within_days)}" if effect.within_days else "treat at once"
        )
    if effect.kind is Severity.defer:
        said = f"examine again after {_days(effect.days)}"
        return f"{said}, and in season" if effect.until_in_season else said
    return {Severity.note: "noted", Severity.reject: "not to be used"}[effect.kind]


def _days(number: int) -> str:
    return "1 day" if number == 1 else f"{number} days"


def cited(origin: Origin, protocol: ReadyProtocol) -> Cited:
    """Return a rule's origin in words."""
    source = protocol.sources.get(origin.source) if origin.source else None
    return Cited(
        title=source_text(source) if source else origin.source,
        where=origin.where,
        basis=str(BASIS.get(origin.basis, origin.basis)),
        remark=with_names(origin.remark, protocol.sources),
    )


def with_names(remark: str, sources: Mapping[str, Source]) -> str:
    """Return a remark with the keys of the bibliography put as author and year, or as title."""
    if "[" not in remark:
        return remark
    return _KEY.sub(lambda m: short_name(sources[m[0]]) if m[0] in sources else m[0], remark)


def short_name(source: Source) -> str:
    """Return how a work is named within a sentence.

    Examples
    --------
    >>> short_name(Source(title="A study", author="A. Example", year=1999))
    'A. Example 1999'
    """
    if not source.author:
        return source.title
    return f"{source.author} {source.year}" if source.year else source.author


def source_text(source: Source) -> str:
    """Return one entry of the bibliography on a line.

    Examples
    --------
    >>> source_text(Source(title="A study", author="A. Example", year=1999))
    'A. Example (1999): A study'
    """
    year = f" ({source.year})" if source.year else ""
    if source.author:
        return f"{source.author}{year}: {source.title}"
    return f"{source.title}{year}"


def walk(exam: Examination, protocol: ReadyProtocol) -> list[Stop]:
    """Return everything that was found, in the order of the walk; stops without anything left out.

    Answers that the protocol does not know stand last, under no stop of its own.
    """
    found: dict[str, list[Found]] = {}
    for check in protocol.checks.values():
        if check.id in exam.observations:
            line = _found(check, exam.observations[check.id], exam.remarks.get(check.id, ""))
            found.setdefault(check.spec.stop, []).append(line)
    stops = [Stop(s.title, tuple(found[s.id])) for s in protocol.spec.stop if s.id in found]
    strange = [
        Found(check_id.replace("_", " "), _raw(observed), exam.remarks.get(check_id, ""), None)
        for check_id, observed in exam.observations.items()
        if check_id not in protocol.checks
    ]
    return [*stops, Stop("Not in this protocol", tuple(strange))] if strange else stops


def _found(check: ReadyCheck, observed: Observed, remark: str) -> Found:
    if check.unit is not None:
        readings = [v for v in _each(observed) if isinstance(v, int)]
        answer = ", ".join(shown(v, check.unit) for v in readings)
        return Found(check.title, answer or _raw(observed), remark, None)
    answers = [str(v) for v in _each(observed)]
    labels = [check.rules[a].label if a in check.rules else a for a in answers]
    return Found(check.title, "; ".join(labels), remark, answers == [check.normal])


def _each(observed: Observed) -> Iterable[object]:
    return observed if isinstance(observed, tuple) else (observed,)


def _raw(observed: Observed) -> str:
    return ", ".join(str(v) for v in _each(observed))

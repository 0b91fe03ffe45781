"""The protocol: what is looked at, in the order of the walk, what each finding does, and why."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from stell.core.leads import span_text
from stell.core.protocol import schema
from stell.core.protocol.load import load_shipped
from stell.core.protocol.ready import ReadyCheck, ReadyProtocol, ReadyStandard, Rule
from stell.core.units import shown
from stell.core.verdict import band_text
from stell.services import protocols
from stell.services.protocols import ProtocolRecord
from stell.web.desk.findings import (
    Cited,
    cited,
    effect_text,
    flag_texts,
    source_text,
    with_names,
)
from stell.web.desk.wording import BASIS


@dataclass(frozen=True, slots=True)
class Line:
    """One answer or one class of a measured value, and what it does."""

    label: str
    effects: tuple[str, ...]
    worst: str
    is_normal: bool
    do: str
    flags: tuple[str, ...]
    cited: Cited | None


@dataclass(frozen=True, slots=True)
class Limits:
    """One standard of a measured check."""

    title: str
    cited: Cited
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class CheckPart:
    """One check, its sides taken together."""

    id: str
    title: str
    how: str
    caution: str
    need: str
    sides: str
    plausible: str
    lines: tuple[Line, ...]
    limits: tuple[Limits, ...]


@dataclass(frozen=True, slots=True)
class StopPart:
    """A station of the walk."""

    id: str
    title: str
    intro: str
    caution: str
    checks: tuple[CheckPart, ...]


@require_safe
def protocol_in_force(request: HttpRequest) -> HttpResponse:
    """Show the protocol that was put on record last; the one that comes with stell when none is."""
    known = protocols.all_protocols()
    found = protocols.load_registered(known[-1].named) if known else load_shipped()
    return _page(request, found, known)


@require_safe
def protocol(request: HttpRequest, name: str, version: str) -> HttpResponse:
    """Show one version on record."""
    found = protocols.load_registered(f"{name} {version}")
    return _page(request, found, protocols.all_protocols())


def _page(
    request: HttpRequest, found: ReadyProtocol, known: tuple[ProtocolRecord, ...]
) -> HttpResponse:
    record = next((r for r in known if r.named == found.named), None)
    return render(
        request,
        "desk/protocol.html",
        {
            "protocol": found,
            "record": record,
            "is_latest": not known or known[-1].named == found.named,
            "others": [r for r in reversed(known) if r.named != found.named],
            "stops": stops_of(found),
            "timing": timing_of(found),
            "restrictions": list(found.restrictions.values()),
            "sources": sources_of(found),
        },
    )


def stops_of(found: ReadyProtocol) -> list[StopPart]:
    """Return the walk round the ram with its checks."""
    parts: dict[str, list[CheckPart]] = {}
    for check in found.checks.values():
        # A check of both sides stands once; its sides have the same rules.
        if not check.side or check.side == check.spec.sides[0]:
            parts.setdefault(check.spec.stop, []).append(_check_part(check, found))
    return [
        StopPart(s.id, s.title, s.intro, s.caution, tuple(parts.get(s.id, ())))
        for s in found.spec.stop
    ]


def _check_part(check: ReadyCheck, found: ReadyProtocol) -> CheckPart:
    plausible = ""
    if check.unit is not None:
        low, high = (shown(v, check.unit) for v in check.plausible)
        plausible = f"{low} to {high}"
    return CheckPart(
        id=check.base,
        title=check.spec.title,
        how=check.spec.how,
        caution=check.spec.caution or "",
        need=_need(check.spec),
        sides=" and ".join(s.replace("_", " ") for s in check.spec.sides),
        plausible=plausible,
        lines=tuple(
            _line(rule, rule.label, found, is_normal=rule_id == check.normal)
            for rule_id, rule in check.rules.items()
        ),
        limits=tuple(_limits(check, standard, found) for standard in check.standards),
    )


def _need(spec: schema.Check) -> str:
    if spec.required_when is not None:
        return "required at times"
    if spec.asked_when is not None:
        return "asked at times"
    return "required" if spec.required else "may be left out"


def _limits(check: ReadyCheck, standard: ReadyStandard, found: ReadyProtocol) -> Limits:
    lines = tuple(
        _line(
            band.rule,
            f"{band_text(check, band)}: {band.rule.classed.replace('_', ' ')}",
            found,
            is_normal=not band.rule.effects,
            own_source=False,
        )
        for band in standard.bands
    )
    return Limits(standard.title, cited(standard.origin, found), lines)


def _line(
    rule: Rule, label: str, found: ReadyProtocol, *, is_normal: bool, own_source: bool = True
) -> Line:
    effects = sorted(rule.effects, key=lambda e: -e.kind)
    return Line(
        label=label,
        effects=tuple(
            effect_text(e, found) + (" (under conditions)" if e.when is not None else "")
            for e in effects
        ),
        worst=schema.Severity(rule.worst).name if rule.worst else "none",
        is_normal=is_normal,
        do=rule.do,
        flags=flag_texts(rule),
        cited=cited(rule.origin, found) if own_source and rule.origin and not is_normal else None,
    )


_TIMING = {
    "ideal_examination": "Best time to examine",
    "last_sensible_examination": "Last sensible time to examine",
    "sperm_cycle": "A whole sperm cycle",
    "early_reexamination": "A short deferral",
    "quarantine": "Quarantine",
    "settling": "Settling in, after quarantine",
    "shearing_lead": "Shearing",
    "stress_free": "Quiet weeks",
    "condition_lead": "Feeding for condition",
}


def timing_of(found: ReadyProtocol) -> list[tuple[str, str, Cited]]:
    """Return the figures of the timetable: what, how long before mating, and where from."""
    if found.spec.timing is None:
        return []
    lines = []
    for name, title in _TIMING.items():
        figure: schema.Figure = getattr(found.spec.timing, name)
        lines.append((title, _figure_text(figure), _figure_source(figure, found)))
    return lines


def _figure_text(figure: schema.Figure) -> str:
    said = f"{figure.value:g} {figure.unit}"
    if figure.unit == "days":
        said = span_text(int(figure.value))
    if figure.low is None and figure.high is None:
        return said
    low = figure.value if figure.low is None else figure.low
    high = figure.value if figure.high is None else figure.high
    return f"{said} ({low:g} to {high:g} {figure.unit})"


def _figure_source(figure: schema.Figure, found: ReadyProtocol) -> Cited:
    source = found.sources.get(figure.source) if figure.source else None
    basis = figure.basis or "common-practice"
    return Cited(
        title=source_text(source) if source else "",
        where=figure.where or "",
        basis=str(BASIS[basis]),
        remark=with_names(figure.remark or "", found.sources),
    )


def sources_of(found: ReadyProtocol) -> list[tuple[str, schema.Source]]:
    """Return the works that the protocol's rules cite, by key."""
    used = {rule.origin.source for _, rule in found.rules() if rule.origin and rule.origin.source}
    used |= {s.origin.source for c in found.checks.values() for s in c.standards}
    if found.spec.timing is not None:
        used |= {getattr(found.spec.timing, name).source for name in _TIMING}
    return [(key, found.sources[key]) for key in sorted(used - {None, ""}) if key in found.sources]

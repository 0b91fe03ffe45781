"""The owner's report as a PDF: what to do and by when first, then every ram, then the reasons."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date
from typing import Any

from stell.core.leads import when_text
from stell.core.records import written_date
from stell.press.compile import to_pdf
from stell.press.look import look
from stell.press.wording import counted, listed, shortened, weekday_date
from stell.reports.charts import has_room_for_tags, rams_by_verdict, size_by_age
from stell.reports.drawing import Spec, svg
from stell.reports.owner_values import OwnerReport
from stell.reports.season_line import season_line

TEMPLATE = "reports/owner.typ"
_FOOT = 48  # characters of the flock's name that fit into the footer's one line
_FEW = 4  # rams whose earlier figures are of another month, named one by one
_LEAST_POINTS = 2  # a chart of one point shows nothing that its number does not


def build(report: OwnerReport) -> bytes:
    """Return the report as a tagged PDF; equal values give equal bytes.

    Raises
    ------
    PressFailed
        When a template is broken.
    """
    pictures = {name: spec for name, spec in owner_charts(report).items() if spec is not None}
    return to_pdf(
        TEMPLATE,
        _page_values(report, {name: spec["description"] for name, spec in pictures.items()}),
        files={name: svg(spec).encode() for name, spec in pictures.items()},
        title=f"Rams before mating: {report.flock}, {report.made}",
        author=report.practice or report.examiners or "stell",
        made_on=report.today,
    )


def owner_charts(report: OwnerReport) -> dict[str, Spec | None]:
    """Return the report's charts as Vega-Lite by name; None where there is nothing to draw."""
    on_line = bool(report.days or report.returns)
    season = season_line(report.days, report.returns, report.today, report.visit_on)
    enough = len(report.sizes) >= _LEAST_POINTS
    rams = report.rams
    tagged = bool(rams) and has_room_for_tags(rams)
    return {
        "rams": rams_by_verdict(rams) if rams else None,
        # in place of the first where a long list of things to do wants the room
        "rams_small": rams_by_verdict(rams, labelled=False) if tagged else None,
        "season": season if on_line else None,
        "sizes": size_by_age(report.sizes, report.size_title) if enough else None,
    }


def _page_values(report: OwnerReport, alt: dict[str, str]) -> dict[str, Any]:
    start = report.mating_start_on
    was, was_months = _was(report)
    return {
        "report": plain_values(asdict(report)),
        "alt": alt,
        "subtitle": _subtitle(report),
        "foot_name": shortened(report.flock, _FOOT),
        "as_of": weekday_date(report.today),
        "start_short": written_date(start) if start else "",
        "start_away": when_text(start, report.today) if start else "",
        "not_examined": _not_examined(report),
        "groups": _groups(report),
        "figures_note": _figures_note(report),
        "was": was,
        "was_months": was_months,
        "sizes_note": _sizes_note(report),
    }


def _not_examined(report: OwnerReport) -> str:
    unseen = len(report.not_examined)
    have = "has" if unseen == 1 else "have"
    return f"{unseen} of {counted(unseen + len(report.rams), 'ram')} {have} not been examined yet."


def _subtitle(report: OwnerReport) -> list[str]:
    parts = [f"for {report.owner}" if report.owner else ""]
    by = f" by {report.examiners}" if report.examiners else ""
    parts.append(f"examined {report.examined_on}{by}" if report.examined_on else "")
    parts.append(report.practice)
    return [p for p in parts if p]


def _groups(report: OwnerReport) -> list[dict[str, Any]]:
    """Return the rams by verdict: those with something to say of them, and the plain ones."""
    groups = []
    for outcome in dict.fromkeys(ram.outcome for ram in report.rams):
        some = [i for i, ram in enumerate(report.rams) if ram.outcome == outcome]
        plain = [i for i in some if report.rams[i].is_plain]
        told = [i for i in some if i not in plain]
        rams = counted(len(some), "ram")
        groups.append(
            {
                "outcome": outcome,
                "count": f"{len(told)} of {rams}" if plain and told else rams,
                "meaning": look().marks[outcome].plain,
                "told": told,
                "plain": plain,
                "plain_count": counted(len(plain), "ram"),
            }
        )
    return groups


def _was(report: OwnerReport) -> tuple[str, list[str]]:
    """Return of when the earlier figures of rams with nothing found are, and the months so named.

    Most are of one month; a few rams with others are named, and many say it beside each figure.
    """
    by_month: dict[str, dict[str, None]] = {}
    for ram in report.rams:
        for figure in ram.measured if ram.is_plain else ():
            if figure.before:
                month = figure.before.partition(":")[0]
                by_month.setdefault(month, {})[ram.tag or ram.label] = None
    if not by_month:
        return "", []
    usual, *others = sorted(by_month, key=lambda month: -len(by_month[month]))
    if sum(len(by_month[month]) for month in others) > _FEW:
        return usual, [usual]
    few = "; ".join(f"{listed(by_month[month])}: {month}" for month in others)
    return (f"{usual} ({few})" if few else usual), [usual, *others]


def _figures_note(report: OwnerReport) -> str:
    """Return what the figures of the table of rams are to be held against."""
    targets = [f"{c.title}: {c.target}." for c in report.columns if c.target]
    if any(m.limit.startswith("limit") for ram in report.rams for m in ram.measured):
        targets.append("The limit is that for a ram of his age and breed.")
    return " ".join(targets)


def _sizes_note(report: OwnerReport) -> str:
    limits = any(point.limit is not None for point in report.sizes)
    parts = [
        "The short bar is the limit for a ram like him." if limits else "",
        "The thin line is the stretch in which nineteen of twenty measurements of him would fall.",
        "Every number stands in the table above.",
    ]
    if report.without_size:
        parts.append(f"{counted(report.without_size, 'ram')} without age or measurement left out.")
    return " ".join(p for p in parts if p)


def plain_values(value: Any) -> Any:
    """Return JSON-ready values: dates as ISO 8601."""
    if isinstance(value, dict):
        return {k: plain_values(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [plain_values(v) for v in value]
    return value.isoformat() if isinstance(value, date) else value

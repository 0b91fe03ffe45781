"""The owner's report as a PDF: what to do and by when first, then every ram, then the reasons."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date
from typing import Any

from stell.core.leads import when_text
from stell.core.records import written_date
from stell.press.compile import to_pdf
from stell.press.look import look
from stell.press.wording import counted, shortened, weekday_date
from stell.reports.charts import rams_by_verdict, size_by_age
from stell.reports.drawing import Spec, svg
from stell.reports.season_line import season_line
from stell.reports.todo import named
from stell.reports.values import OwnerReport

TEMPLATE = "reports/owner.typ"
_FOOT = 48  # characters of the flock's name that fit into the footer's one line
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
    return {
        "rams": rams_by_verdict(report.rams) if report.rams else None,
        "season": season if on_line else None,
        "sizes": size_by_age(report.sizes, report.size_title) if enough else None,
    }


def _page_values(report: OwnerReport, alt: dict[str, str]) -> dict[str, Any]:
    start = report.mating_start_on
    values = plain_values(asdict(report))
    for back, shown in zip(report.returns, values["returns"], strict=True):
        shown["due"] = weekday_date(back.on)
        shown["in_time"] = {True: "yes", False: "no", None: "not known"}[back.ready_in_time]
    return {
        "report": values,
        "alt": alt,
        "subtitle": _subtitle(report),
        "foot_name": shortened(report.flock, _FOOT),
        "start_short": written_date(start) if start else "",
        "start_away": when_text(start, report.today) if start else "",
        "not_examined": named(report.not_examined),
        "groups": _groups(report),
        "stories": [i for i, ram in enumerate(report.rams) if ram.has_story],
        "sizes_note": _sizes_note(report),
    }


def _subtitle(report: OwnerReport) -> list[str]:
    parts = [f"for {report.owner}" if report.owner else ""]
    by = f" by {report.examiners}" if report.examiners else ""
    parts.append(f"examined {report.examined_on}{by}" if report.examined_on else "")
    parts.append(report.practice)
    return [p for p in parts if p]


def _groups(report: OwnerReport) -> list[dict[str, Any]]:
    """Return where each verdict's rams start and end: they stand together."""
    groups: list[dict[str, Any]] = []
    for i, ram in enumerate(report.rams):
        if not groups or groups[-1]["outcome"] != ram.outcome:
            plain = look().marks[ram.outcome].plain
            groups.append({"outcome": ram.outcome, "from": i, "plain": plain})
        groups[-1]["to"] = i + 1
    for group in groups:
        group["count"] = counted(group["to"] - group["from"], "ram")
    return groups


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

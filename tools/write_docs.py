#!/usr/bin/env python3
"""Remake the generated parts of docs/: `tools/write_docs.py` writes, `--check` only compares."""

from __future__ import annotations

import dataclasses
import re
import sys
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "src"))

from stell.core import deeds, intake, records, verdict  # noqa: E402
from stell.core.errors import CODES  # noqa: E402
from stell.core.protocol.load import load_shipped, shipped  # noqa: E402
from stell.core.protocol.ready import ReadyProtocol, ReadyStandard  # noqa: E402
from stell.core.protocol.schema import Severity  # noqa: E402
from stell.core.units import UNITS  # noqa: E402
from stell.core.verdict import ACTION_KINDS, band_text  # noqa: E402

BLOCK = re.compile(r"(<!-- made by tools/write_docs\.py: (\w+) -->\n).*?(<!-- end -->)", re.DOTALL)


def table(head: list[str], rows: list[list[str]]) -> str:
    """Return a Markdown table."""
    lines = ["| " + " | ".join(head) + " |", "|" + "---|" * len(head)]
    lines += ["| " + " | ".join(c.replace("|", "\\|") for c in row) + " |" for row in rows]
    return "\n".join(lines) + "\n"


def fields() -> str:
    """Fields of every value class, with the first line of what they say."""
    rows = []
    for module in (records, intake, verdict, deeds):
        for cls in vars(module).values():
            if dataclasses.is_dataclass(cls) and cls.__module__ == module.__name__:
                names = ", ".join(f"`{f.name}`" for f in dataclasses.fields(cls))
                rows.append([f"`{cls.__name__}`", (cls.__doc__ or "").split("\n")[0], names])
    return table(["value", "is", "fields"], rows)


def columns() -> str:
    """Sheet columns that are not checks."""
    return table(["column", "means"], [[f"`{k}`", v] for k, v in intake.INTAKE_FIELDS.items()])


def units() -> str:
    """Units with their fixed form."""
    rows = [[u.name, f"{u.per_unit} {u.fixed}", u.symbol or "–"] for u in UNITS.values()]
    return table(["in protocol files", "inside", "shown as"], rows)


def actions() -> str:
    """Closed list of action kinds."""
    return table(["kind", "in words"], [[f"`{k}`", v] for k, v in ACTION_KINDS.items()])


def errors() -> str:
    """Closed list of error codes."""
    return table(["code", "means"], [[f"`{k}`", v] for k, v in CODES.items()])


def cited(protocol: ReadyProtocol, source: str, where: str, basis: str) -> str:
    """Source, place and basis in one cell."""
    if not source:
        return "common practice, no source" if basis == "common-practice" else basis
    return f"{protocol.sources[source].title}, {where} ({basis})"


def season() -> str:
    """The house protocol's season rule in its own remark."""
    protocol = load_shipped()
    rule = protocol.spec.season
    assert rule is not None
    origin = cited(protocol, rule.source or "", rule.where or "", rule.basis or "")
    return f"> {rule.remark}\n>\n> Origin: {origin}. Rule: `{rule.in_season}`\n"


def circumference() -> str:
    """Limits of circumference of every shipped protocol."""
    rows = []
    for name in shipped():
        protocol = load_shipped(name)
        check = protocol.checks.get("circumference")
        for standard in check.standards if check else ():
            rows.append(
                [name, standard.title, bands(protocol, standard), where(protocol, standard)]
            )
    return table(["protocol", "for", "classes", "from"], rows)


def bands(protocol: ReadyProtocol, standard: ReadyStandard) -> str:
    """Bands of a standard with what they do."""
    check = protocol.checks["circumference"]
    parts = []
    for band in standard.bands:
        effect = Severity(band.rule.worst).name if band.rule.worst else ""
        parts.append(
            f"{band_text(check, band)}: {band.rule.label}" + (f" → {effect}" if effect else "")
        )
    return "; ".join(parts)


def where(protocol: ReadyProtocol, standard: ReadyStandard) -> str:
    """Origin of a standard."""
    o = standard.origin
    return cited(protocol, o.source, o.where, o.basis)


def timing() -> str:
    """Timetable figures of the house protocol."""
    protocol = load_shipped()
    figures = protocol.spec.timing
    assert figures is not None
    rows = []
    for key in type(figures).model_fields:
        figure = getattr(figures, key)
        origin = protocol.origins[f"timing.{key}"]
        span = f"{figure.low}–{figure.high}" if figure.low is not None else "–"
        rows.append(
            [
                key.replace("_", " "),
                f"{figure.value} {figure.unit}",
                span,
                cited(protocol, origin.source, origin.where, origin.basis),
            ]
        )
    return table(["figure", "used", "range", "from"], rows)


def effects() -> str:
    """Every rule of the house protocol that restricts, defers or rejects."""
    protocol = load_shipped()
    rows = []
    for check, rule in protocol.rules():
        if check.side not in ("", "left") or rule.worst < Severity.restrict:
            continue
        said = ", ".join(one_effect(e.kind, e.days, e.when is not None) for e in rule.effects)
        title = check.spec.title
        assert rule.origin is not None
        o = rule.origin
        rows.append([f"{title}: {rule.label}", said, cited(protocol, o.source, o.where, o.basis)])
    return table(["finding", "effects", "from"], rows)


def one_effect(kind: Severity, days: int, conditional: bool) -> str:
    """One effect in words."""
    text = f"{kind.name} {days} days" if days else kind.name
    return f"{text} (under a condition)" if conditional else text


PARTS: dict[str, Callable[[], str]] = {
    f.__name__: f
    for f in (fields, columns, units, actions, errors, season, circumference, timing, effects)
}


def remade(text: str) -> str:
    """Return a document with its generated parts made anew."""
    return BLOCK.sub(lambda m: m.group(1) + PARTS[m.group(2)]() + m.group(3), text)


def main() -> int:
    """Write, or with --check compare and return 1 when something is out of date."""
    stale = []
    for path in sorted((ROOT / "docs").glob("*.md")):
        text = path.read_text("utf-8")
        new = remade(text)
        if new != text:
            stale.append(path.name)
            if "--check" not in sys.argv:
                path.write_text(new, "utf-8")
    if "--check" in sys.argv and stale:
        print(f"out of date: {', '.join(stale)}; run tools/write_docs.py")
        return 1
    return 0


if __name__ == "__main__":
    raise SystemExit(main())

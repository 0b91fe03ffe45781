"""Charts as Vega-Lite, drawn to SVG once: the same picture stands in the page and in the PDF.

Every function returns a plain Vega-Lite specification; `drawing.svg` draws it with the shipped
font. The numbers behind each picture stand beside it as text or as a table, and
``spec["description"]`` says in words what is to be seen.
"""

from __future__ import annotations

from collections.abc import Sequence

from stell.press.look import look
from stell.press.wording import counted, listed, month_year
from stell.reports.drawing import WIDTH, Spec, base_spec, coord, verdict_marks, verdict_scales
from stell.reports.values import RamLine, SizeAtAge, SizeOnDay

_LABELLED_RAMS = 48
_ROOMY_RAMS = 150
_LEFT, _TILE, _LINE = 140, 45, 27.5  # room for the verdict's word, and for a mark with its tag


def short_tag(label: str) -> str:
    """Return the end of a long tag: that is where the animal's own number stands.

    Examples
    --------
    >>> short_tag("UK0 512345 00107")
    '…00107'
    """
    return label if len(label) <= 7 else "…" + label[-5:].lstrip()


def has_room_for_tags(rams: Sequence[RamLine]) -> bool:
    """Whether the picture of the rams can name each of them."""
    return len(rams) <= _LABELLED_RAMS


def rams_by_verdict(rams: Sequence[RamLine], *, labelled: bool = True) -> Spec:
    """Return the picture of the rams: one mark a ram, a row of marks for each verdict.

    Parameters
    ----------
    rams : sequence of RamLine
    labelled : bool
        Whether each mark has its tag, if there is room for tags at all.
    """
    labelled = labelled and has_room_for_tags(rams)
    pitch = 15 if len(rams) <= _ROOMY_RAMS else 11
    left, tile, line = (_LEFT, _TILE, _LINE) if labelled else (_LEFT, pitch, pitch)
    per_line = (WIDTH - left) // tile
    cells: list[Spec] = []
    heads: list[Spec] = []
    y = 0.0
    for outcome, mark in look().marks.items():
        group = [r for r in rams if r.outcome == outcome]
        if not group:
            continue
        heads.append({"x": 0, "y": y + 10, "text": f"{len(group)}", "word": mark.word, "w": 40})
        for i, ram in enumerate(group):
            row, column = divmod(i, per_line)
            cells.append(
                {
                    "x": left + column * tile + tile / 2,
                    "y": y + row * line + 10,
                    "outcome": outcome,
                    "tag": short_tag(ram.tag or ram.name or ram.label) if labelled else "",
                }
            )
        rows = -(-len(group) // per_line)
        y += max(rows * line, 24) + (3 if labelled else 6)
    return _picture(cells, heads, y, 13.5 if labelled else pitch * 0.75, _by_verdict_words(rams))


def _picture(cells: list[Spec], heads: list[Spec], height: float, size: float, words: str) -> Spec:
    x, y = coord("x", WIDTH), coord("y", height, downwards=True)
    at = {"x": x, "y": y}
    layers: list[Spec] = [verdict_marks(size, {"encoding": {**at, **verdict_scales()}})]
    if any(cell["tag"] for cell in cells):
        layers.append(
            {
                "mark": {"type": "text", "dy": 13.5, "fontSize": 11, "baseline": "middle"},
                "encoding": {**at, "text": {"field": "tag"}},
            }
        )
    number = {"type": "text", "align": "right", "dx": 36, "fontSize": 21, "fontWeight": "bold"}
    word = {"type": "text", "align": "left", "dx": 46, "fontSize": 13.5}
    layers += [
        {"data": {"values": heads}, "mark": number, "encoding": {**at, "text": {"field": "text"}}},
        {"data": {"values": heads}, "mark": word, "encoding": {**at, "text": {"field": "word"}}},
    ]
    return base_spec(cells, words, max(height, 1), {"layer": layers})


def _by_verdict_words(rams: Sequence[RamLine]) -> str:
    parts = []
    for outcome in look().marks:
        group = [r.tag or r.label for r in rams if r.outcome == outcome]
        if group:
            named = f" ({', '.join(group)})" if len(group) <= _LABELLED_RAMS else ""
            parts.append(f"{counted(len(group), 'ram')} {outcome}{named}")
    return f"One mark for each ram: {'; '.join(parts)}." if parts else "No ram was examined."


# ---------------------------------------------------------------- circumference by age


def size_by_age(points: Sequence[SizeAtAge], title: str) -> Spec:
    """Return circumference against age: each ram, his band of error and his limit."""
    oldest = max((p.months for p in points), default=12)
    x = {
        "field": "months",
        "type": "quantitative",
        "title": "age in months",
        "scale": {"domain": [0, oldest * 1.06], "nice": False},
        "axis": {"tickCount": 8, "grid": False},
    }
    values = [{"months": p.months, **_size_values(p)} for p in points]
    layers = _size_layers(points, x, title)
    return base_spec(values, _size_words(points, title), 170, {"layer": layers})


def size_history(points: Sequence[SizeOnDay], title: str) -> Spec:
    """Return one ram's circumference over the years, with error, limit and verdict."""
    x = {
        "field": "on",
        "type": "temporal",
        "title": None,
        "scale": {"type": "utc", "padding": 24},
        "axis": {"format": "%b %Y", "grid": False, "tickCount": 6, "labelOverlap": True},
    }
    y = {"field": "value", "type": "quantitative"}
    line = {
        "mark": {"type": "line", "color": look().colours["shale"], "strokeDash": [4, 3]},
        "encoding": {"x": x, "y": y},
    }
    values = [{"on": p.on.isoformat(), **_size_values(p)} for p in points]
    said = "; ".join(f"{month_year(p.on)} {p.value:.1f} cm, {p.outcome}" for p in points)
    layers = [line, *_size_layers(points, x, title)]
    return base_spec(values, f"{title} over time: {said}.", 200, {"layer": layers})


def _size_values(p: SizeAtAge | SizeOnDay) -> Spec:
    error = p.error or 0
    return {
        "value": p.value,
        "low": p.value - error,
        "high": p.value + error,
        "limit": p.limit,
        "outcome": p.outcome,
    }


def _size_layers(points: Sequence[SizeAtAge | SizeOnDay], x: Spec, title: str) -> list[Spec]:
    """Return the layers of limits, errors and marks over a given horizontal axis."""
    colours = look().colours
    edges = [v for p in points for v in (p.value - (p.error or 0), p.value + (p.error or 0))]
    edges += [p.limit for p in points if p.limit is not None]
    low, high = (min(edges) - 1, max(edges) + 1) if edges else (20, 40)
    y = {
        "field": "value",
        "type": "quantitative",
        "title": f"{title} (cm)",
        "scale": {"domain": [low, high], "nice": True, "zero": False},
    }
    bar = {"type": "tick", "thickness": 3, "bandSize": 22, "orient": "horizontal"}
    return [
        {
            "mark": {**bar, "color": colours["slate"], "opacity": 1},
            "transform": [{"filter": "datum.limit !== null"}],
            "encoding": {"x": x, "y": {**y, "field": "limit"}},
        },
        {
            "mark": {"type": "rule", "color": colours["shale"], "strokeWidth": 1.2},
            "encoding": {"x": x, "y": {**y, "field": "low"}, "y2": {"field": "high"}},
        },
        verdict_marks(11, {"encoding": {"x": x, "y": y, **verdict_scales()}}),
    ]


def _size_words(points: Sequence[SizeAtAge], title: str) -> str:
    below = [p.label for p in points if p.limit is not None and p.value < p.limit]
    tail = f" Below their limit: {listed(below)}." if below and len(below) <= 40 else ""
    return f"{title} by age for {counted(len(points), 'ram')}, with the limit for each.{tail}"

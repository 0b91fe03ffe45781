"""Drawing charts: what all of them share, and the one place where Vega-Lite becomes SVG."""

from __future__ import annotations

import threading
from collections.abc import Iterable
from typing import Any

from stell.press.look import FONTS, look

Spec = dict[str, Any]

WIDTH = 680  # of every chart; on A4 between the margins one unit is a quarter of a millimetre
_drawing = threading.Lock()
_fonts_known = False


def svg(spec: Spec) -> str:
    """Return a specification drawn as SVG text."""
    import vl_convert  # loading it costs time, and most commands draw nothing

    global _fonts_known
    with _drawing:
        if not _fonts_known:
            vl_convert.register_font_directory(str(FONTS))
            _fonts_known = True
        return str(vl_convert.vegalite_to_svg(spec, vl_version="5.20"))


def warm() -> threading.Thread:
    """Start the drawing engine in the background, for a caller who will draw a little later."""
    nothing = base_spec([], "", 10, {"mark": "point", "encoding": {}})
    thread = threading.Thread(target=svg, args=(nothing,), daemon=True)
    thread.start()
    return thread


def base_spec(values: Iterable[Spec], description: str, height: float, rest: Spec) -> Spec:
    """Return a specification with the shared look.

    Parameters
    ----------
    values : iterable of dict
        One for each row of data.
    description : str
        What is to be seen, in words: the picture's text alternative.
    height : float
        [units of `WIDTH`]
    rest : dict
        Marks, encodings or layers.
    """
    colours = look().colours
    return {
        "$schema": "https://vega.github.io/schema/vega-lite/v5.json",
        "description": description,
        "width": WIDTH,
        "height": height,
        "padding": 0,
        "autosize": {"type": "pad", "contains": "padding"},
        "background": None,
        "config": {
            "font": look().font,
            "view": {"stroke": None},
            "text": {"font": look().font, "fontSize": 12.5, "fill": colours["slate"]},
            "axis": {
                "labelFontSize": 12,
                "titleFontSize": 12,
                "titleFontWeight": "normal",
                "labelColor": colours["lead"],
                "titleColor": colours["lead"],
                "domainColor": colours["shale"],
                "tickColor": colours["shale"],
                "gridColor": colours["chalk"],
            },
        },
        "data": {"values": list(values)},
        **rest,
    }


def coord(field: str, end: float, *, downwards: bool = False) -> Spec:
    """Return a position in units of the picture, without an axis."""
    return {
        "field": field,
        "type": "quantitative",
        "axis": None,
        "scale": {"domain": [0, end], "nice": False, "reverse": downwards},
    }


def verdict_scales() -> Spec:
    """Return the encodings that draw the field ``outcome`` as a verdict's shape and colour."""
    marks = look().marks
    names = list(marks)
    return {
        "shape": {
            "field": "outcome",
            "type": "nominal",
            "legend": None,
            "scale": {"domain": names, "range": [marks[n].path for n in names]},
        },
        "fill": {
            "field": "outcome",
            "type": "nominal",
            "legend": None,
            "scale": {
                "domain": names,
                "range": [m.colour if m.filled else "#ffffff" for m in marks.values()],
            },
        },
        "stroke": {
            "field": "outcome",
            "type": "nominal",
            "legend": None,
            "scale": {"domain": names, "range": [m.colour for m in marks.values()]},
        },
    }


def verdict_marks(size: float, layer: Spec | None = None) -> Spec:
    """Return a layer of verdict marks. Vega gives a symbol's size as an area. [unit²]"""
    return {
        "mark": {"type": "point", "size": size * size, "strokeWidth": 1.6, "opacity": 1},
        **(layer or {}),
    }

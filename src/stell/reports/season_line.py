"""The season drawn to scale: weeks from the visit to the day the rams go in, as Vega-Lite."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from stell.press.look import look
from stell.press.wording import counted, day_month, listed
from stell.reports.drawing import WIDTH, Spec, base_spec, coord
from stell.reports.owner_values import Day, Return

_ON_LINE = ("condition_lead", "shearing_lead", "last_purchase", "stress_free", "rams_in")
_EDGE = 20  # room left and right of the line
_LANE = 16.5  # from one line of labels to the next
_CHARACTER = 6.7  # a generous width of one character at the labels' size
_MOST_NAMED = 4
_MOST_LANES = 4
_DIAMOND = "M0,-1.1L1.1,0L0,1.1L-1.1,0Z"


@dataclass(frozen=True, slots=True)
class _Flag:
    """A label on the line: where, what, and in which lane its text stands."""

    x: float
    text: str
    kind: str
    lane: int
    leftwards: bool


@dataclass(frozen=True, slots=True)
class _Scale:
    """Days to units of the picture."""

    first: date
    last: date

    def __call__(self, on: date) -> float:
        span = max((self.last - self.first).days, 7)
        return _EDGE + (on - self.first).days * (WIDTH - 2 * _EDGE) / span


def season_line(
    days: Sequence[Day], returns: Sequence[Return], today: date, visit: date | None
) -> Spec:
    """Return the chart: milestones above the line, rams to be looked at again below it.

    Parameters
    ----------
    days, returns : sequences
        Either may be empty.
    today : date
    visit : date or None
        Day of the examination.
    """
    shown = [(d.on, d.title, "past" if d.past else "ahead") for d in days if d.code in _ON_LINE]
    shown.append((today, "Today", "today"))
    if visit is not None and visit != today:
        shown.append((visit, "Examined", "past"))
    back: dict[date, list[Return]] = {}
    for r in sorted(returns, key=lambda r: r.on):
        back.setdefault(r.on, []).append(r)
    every = [*(on for on, _, _ in shown), *back]
    at = _Scale(min(every), max(every))
    above = _flags((at(on), f"{day_month(on)}  {title}", kind) for on, title, kind in shown)
    below = _below(back, at)
    base = 9 + _depth(above) * _LANE
    values = [_placed(f, base, base - 14 - f.lane * _LANE) for f in above]
    values += [_placed(f, base, base + 34 + f.lane * _LANE) for f in below]
    height = base + (38 + _depth(below) * _LANE if below else 24)
    words = _in_words(shown, back, at)
    weeks = _weeks(at, [at(on) for on in back])
    layers = [*_line_layers(weeks, base, height), *_flag_layers(height)]
    return base_spec(values, words, height, {"layer": layers})


def _below(back: dict[date, list[Return]], at: _Scale) -> list[_Flag]:
    """Return the flags of rams who come back; counted where their names would not stand clear."""
    flags: list[_Flag] = []
    for most in (_MOST_NAMED, 1, 0):
        named = ((at(on), _return_text(on, some, most), _kind(some)) for on, some in back.items())
        flags = _flags(named)
        if _depth(flags) <= _MOST_LANES and not _crossed(flags):
            break
    return flags


def _crossed(flags: Sequence[_Flag]) -> bool:
    """Whether a stem runs through the text of another flag."""
    for flag in flags:
        start, end = _reach(flag.x, flag.text, flag.leftwards)
        if any(start < f.x < end and f.lane > flag.lane for f in flags if f is not flag):
            return True
    return False


def _return_text(on: date, rams: Sequence[Return], most: int = _MOST_NAMED) -> str:
    many = len(rams) > most
    names = counted(len(rams), "ram") if many else listed(r.label for r in rams)
    late = " (too late)" if any(r.ready_in_time is False for r in rams) else ""
    return f"{day_month(on)}  {names} again{late}"


def _kind(rams: Sequence[Return]) -> str:
    return "late" if any(r.ready_in_time is False for r in rams) else "back"


def _flags(items: Iterable[tuple[float, str, str]]) -> list[_Flag]:
    """Give each label a lane, so that no text runs into another and no stem through a text.

    A text stands to the right of its stem, or to its left where there is no room. It lies farther
    out than every flag whose stem it passes over; hence the order in which lanes are given.
    """
    wanted = sorted(items)
    lefts = _leftwards(wanted)
    order = [i for i in range(len(wanted) - 1, -1, -1) if i not in lefts] + sorted(lefts)
    placed: list[tuple[float, float, _Flag]] = []
    for i in order:
        x, text, kind = wanted[i]
        start, end = _reach(x, text, i in lefts)
        over = [f.lane + 1 for _, _, f in placed if start < f.x < end]
        lane = max(over, default=0)
        while any(f.lane == lane and start < b and a < end for a, b, f in placed):
            lane += 1
        placed.append((start, end, _Flag(x, text, kind, lane, i in lefts)))
    return [flag for _, _, flag in placed]


def _reach(x: float, text: str, leftwards: bool) -> tuple[float, float]:
    width = _CHARACTER * len(text) + 12
    return (x - width, x + 3) if leftwards else (x - 3, x + width)


def _leftwards(wanted: Sequence[tuple[float, str, str]]) -> set[int]:
    """Return which labels stand to the left: no room on the right, or such a stem in their way."""
    lefts: set[int] = set()
    while True:
        barred = [wanted[i][0] for i in lefts]
        more = {
            i
            for i, (x, text, _) in enumerate(wanted)
            if i not in lefts
            and (
                _reach(x, text, False)[1] > WIDTH
                or any(x < b < _reach(x, text, False)[1] for b in barred)
            )
            and _reach(x, text, True)[0] >= 0
        }
        if not more:
            return lefts
        lefts |= more


def _depth(flags: Sequence[_Flag]) -> int:
    return max((f.lane + 1 for f in flags), default=0)


def _placed(flag: _Flag, base: float, text_y: float) -> Spec:
    return {
        "x": flag.x,
        "base": base,
        "y": text_y,
        "text": flag.text,
        "kind": flag.kind,
        "left": flag.leftwards,
    }


def _weeks(at: _Scale, stems: Sequence[float]) -> list[Spec]:
    """Return a tick for every Monday; a date is left out where a stem would run through it."""
    monday = at.first + timedelta(days=-at.first.weekday() % 7)
    mondays = []
    while monday <= at.last:
        mondays.append(monday)
        monday += timedelta(days=7)
    every = max(1, -(-len(mondays) * 46 // WIDTH))
    ticks = []
    for i, day in enumerate(mondays):
        clear = i % every == 0 and all(abs(at(day) - stem) > 20 for stem in stems)
        ticks.append({"x": at(day), "text": day_month(day) if clear else ""})
    return ticks


def _line_layers(weeks: list[Spec], base: float, height: float) -> list[Spec]:
    colours = look().colours
    x, y = coord("x", WIDTH), coord("y", height, downwards=True)
    ticks = [{**w, "y": base, "end": base + 5, "below": base + 15} for w in weeks]
    return [
        {
            "data": {"values": [{"x": 0, "end": WIDTH, "y": base}]},
            "mark": {"type": "rule", "strokeWidth": 3, "color": colours["stone"]},
            "encoding": {"x": x, "x2": {"field": "end"}, "y": y},
        },
        {
            "data": {"values": ticks},
            "mark": {"type": "rule", "color": colours["shale"]},
            "encoding": {"x": x, "y": y, "y2": {"field": "end"}},
        },
        {
            "data": {"values": ticks},
            "mark": {"type": "text", "fontSize": 10.5, "fill": colours["lead"]},
            "encoding": {"x": x, "y": {**y, "field": "below"}, "text": {"field": "text"}},
        },
    ]


def _flag_layers(height: float) -> list[Spec]:
    x, y = coord("x", WIDTH), coord("y", height, downwards=True)
    base = {**y, "field": "base"}
    layers: list[Spec] = [
        {
            "mark": {"type": "rule", "strokeWidth": 1.2},
            "encoding": {"x": x, "y": base, "y2": {"field": "y"}, "color": _by_kind("colour")},
        },
        {
            "mark": {"type": "point", "filled": True, "size": 90, "opacity": 1},
            "encoding": {
                "x": x,
                "y": base,
                "color": _by_kind("colour"),
                "shape": _by_kind("shape"),
            },
        },
    ]
    for left in (False, True):
        side = {"align": "right", "dx": -5} if left else {"align": "left", "dx": 5}
        layers.append(
            {
                "transform": [{"filter": f"datum.left === {str(left).lower()}"}],
                "mark": {"type": "text", "baseline": "middle", **side},
                "encoding": {"x": x, "y": y, "text": {"field": "text"}},
            }
        )
    return layers


def _by_kind(what: str) -> Spec:
    """Return the encoding of a flag's kind: a late ram by the cross, a deferred by the triangle."""
    colours, marks = look().colours, look().marks
    deferred, out = marks["deferred"], marks["unsatisfactory"]
    ways = {
        "past": (colours["shale"], "circle"),
        "ahead": (colours["slate"], "circle"),
        "today": (colours["heather"], _DIAMOND),
        "back": (deferred.colour, deferred.path),
        "late": (out.colour, out.path),
    }
    picked = [way[0 if what == "colour" else 1] for way in ways.values()]
    scale = {"domain": list(ways), "range": picked}
    return {"field": "kind", "type": "nominal", "legend": None, "scale": scale}


def _in_words(
    shown: Sequence[tuple[date, str, str]], back: dict[date, list[Return]], at: _Scale
) -> str:
    days = "; ".join(f"{day_month(on)} {title}" for on, title, _ in sorted(shown))
    again = "; ".join(_return_text(on, rams) for on, rams in back.items())
    tail = f" Below the line: {again}." if again else ""
    ends = f"{day_month(at.first)} to {day_month(at.last)}"
    return f"The season to scale from {ends}: {days}.{tail}"

"""The run sheet: one line a ram on A4 across, last year's figures on a strip that folds away."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from stell.core.facts import age_of, mean_reading
from stell.core.protocol.ready import ReadyProtocol
from stell.core.records import Examination, Ram, written_date
from stell.core.units import shown
from stell.core.verdict import Outcome
from stell.paper.layout import CAUTION, CORNER, Asked, Form, Sheet, Station, form_id, stations
from stell.press.look import look
from stell.press.wording import age_text, natural_key, shortened

WIDTH, HEIGHT = 297.0, 210.0
WIDE, HIGH = 420.0, 297.0  # A3 across, for a protocol with more stops than A4 has room for
ROW = 13.7
HEAD = 21.0
RAM, VERDICT, STRIP = 33.0, 28.0, 37.0
MEASURE, LEAST_STOP = 19.0, 17.0
TICK = 8.0
SPARE_LINES = 3
STRIP_FIGURES = 2
_LONGEST = 44


@dataclass(frozen=True, slots=True)
class RunLine:
    """One ram on the run sheet.

    Attributes
    ----------
    tag, name, about : str
        `about` is breed and age.
    past_on : str
        Day of the examination whose figures stand on the strip; empty when there is none.
    past : mapping as tuple of (check id, text)
        Measured values of that day.
    past_outcome : str
        Its verdict, or empty.
    """

    tag: str
    name: str = ""
    about: str = ""
    past_on: str = ""
    past: tuple[tuple[str, str], ...] = ()
    past_outcome: str = ""


@dataclass(frozen=True, slots=True)
class RunSheet:
    """What a run sheet says. `lines` in the order of printing."""

    flock: str
    protocol: ReadyProtocol
    lines: tuple[RunLine, ...]
    made_on: date
    practice: str = ""


def run_sheet_values(
    *,
    flock: str,
    protocol: ReadyProtocol,
    rams: Sequence[tuple[Ram, Examination | None, Outcome | None]],
    today: date,
    practice: str = "",
) -> RunSheet:
    """Return a run sheet's values from core values.

    Parameters
    ----------
    flock, practice : str
    protocol : ReadyProtocol
    rams : sequence of (Ram, Examination or None, Outcome or None)
        With the examination to compare with, as a rule last season's, and its verdict.
    today : date
        Ages are counted to this day, and the sheet is dated.
    """
    ordered = sorted(rams, key=lambda r: natural_key(r[0].label))
    lines = (_line(protocol, *ram, today=today) for ram in ordered)
    return RunSheet(flock, protocol, tuple(lines), today, practice)


def _line(
    protocol: ReadyProtocol,
    ram: Ram,
    before: Examination | None,
    outcome: Outcome | None,
    *,
    today: date,
) -> RunLine:
    age = age_of(protocol, ram, Examination("", ram.ram_id, today, {}))
    known_as = protocol.age_classes.get(ram.age_class)
    age_words = age_text(age, known_as.title if known_as and not ram.born else "")
    about = ", ".join(p for p in (ram.breed.replace("_", " "), age_words) if p)
    past: list[tuple[str, str]] = []
    for check_id, observed in (before.observations if before else {}).items():
        check = protocol.checks.get(check_id)
        numbers = tuple(v for v in observed if isinstance(v, int))
        if check is not None and check.unit is not None and numbers:
            past.append((check_id, shown(mean_reading(numbers), check.unit)))
    return RunLine(
        tag=shortened(ram.tag or ram.eid, _LONGEST),
        name=shortened(ram.name, _LONGEST),
        about=shortened(about, _LONGEST),
        past_on=written_date(before.examined_on) if before else "",
        past=tuple(sorted(past, key=lambda p: protocol.order[p[0]])),
        past_outcome=outcome.value if outcome and before else "",
    )


@dataclass(frozen=True, slots=True)
class _Column:
    """One column between the ram and the verdict: a stop, or a measured check at a stop."""

    station: Station
    measured: Asked | None
    x: float
    width: float


def run_sheet_layout(sheet_of: RunSheet) -> Form:
    """Return the layout of a run sheet: boxes for each stop and each measured check, a line a ram.

    Boxes mean ``row=3 stop:head`` and ``row=3 circumference#1``; rows are counted from 1 over the
    whole sheet, the blank ones at the end included.
    """
    asked = _columns_wanted(sheet_of.protocol)
    width, height = _paper(asked)
    columns = _columns(asked, width)
    sheet = Sheet(width, height, left=CORNER, top=CORNER, foot=height - CORNER - 4)
    blank = RunLine("")
    lines = [*sheet_of.lines, *[blank] * SPARE_LINES]
    per_page = int((sheet.foot - sheet.top - HEAD - 10) // ROW)
    lines += [blank] * (-len(lines) % per_page)
    for number, line in enumerate(lines, start=1):
        if number > 1 and (number - 1) % per_page == 0:
            sheet.turn()
        if (number - 1) % per_page == 0:
            _head(sheet, sheet_of, columns)
        _row(sheet, line, number, columns)
        if number % per_page == 0:
            _rules(sheet, columns, per_page * ROW)
    named = form_id("run", sheet_of.protocol)
    right = _strip_x(sheet) - 3
    return sheet.form(named, f"Run sheet: {sheet_of.flock}", CAUTION, right=right)


def _columns_wanted(protocol: ReadyProtocol) -> list[tuple[Station, Asked | None]]:
    """Return stops that every ram passes, each followed by what is always measured there."""
    found: list[tuple[Station, Asked | None]] = []
    for station in stations(protocol):
        if any(not a.first.is_measure for a in station.always):
            found.append((station, None))
        found += [(station, a) for a in station.always if a.first.is_measure]
    return found


def _paper(asked: Sequence[tuple[Station, Asked | None]]) -> tuple[float, float]:
    least = sum(MEASURE if a else LEAST_STOP for _, a in asked)
    fits = least <= WIDTH - 2 * CORNER - RAM - VERDICT - STRIP
    return (WIDTH, HEIGHT) if fits else (WIDE, HIGH)


def _columns(asked: Sequence[tuple[Station, Asked | None]], width: float) -> list[_Column]:
    room = width - 2 * CORNER - RAM - VERDICT - STRIP
    measures = sum(a is not None for _, a in asked)
    stops = len(asked) - measures
    each = (room - measures * MEASURE) / stops if stops else 0
    columns: list[_Column] = []
    x = CORNER + RAM
    for station, measured in asked:
        wide = MEASURE if measured else each
        columns.append(_Column(station, measured, x, wide))
        x += wide
    return columns


def _strip_x(sheet: Sheet) -> float:
    return sheet.width - CORNER - STRIP


def _head(sheet: Sheet, sheet_of: RunSheet, columns: Sequence[_Column]) -> None:
    y = sheet.y
    sheet.put("text", CORNER, y, 95, 8, sheet_of.flock, "title")
    named = f"{sheet_of.practice}  {sheet_of.protocol.named}  {written_date(sheet_of.made_on)}"
    sheet.put("text", CORNER + 98, y + 2.2, 70, 5, named.strip(), "small")
    x = _strip_x(sheet) - 82
    sheet.put("write", x, y, 39, 8.5, "examiner", field=f"page={sheet.page} examiner")
    sheet.put("write", x + 41, y, 39, 8.5, "day, month, year", field=f"page={sheet.page} day")
    y += 10
    sheet.put("band", CORNER, y, _strip_x(sheet) - CORNER - 1.5, HEAD)
    sheet.put("text", CORNER + 1, y + 1.2, RAM - 2, 5, "Ram", "stop")
    told = "A cross in a stop's box: looked at, nothing found. Else leave it and write beside it."
    sheet.put("text", CORNER + 1, y + 6.6, RAM - 4, 13.8, told, "small")
    for column in columns:
        _column_head(sheet, column, y)
    x = _strip_x(sheet) - VERDICT
    sheet.put("text", x + 1, y + 1.2, VERDICT - 3, 5, "Verdict", "stop")
    for i, (outcome, mark) in enumerate(look().marks.items()):
        sheet.put("mark", x + 1.2, y + 7.3 + i * 3.3, 2.2, 2.2, outcome)
        sheet.put("text", x + 4.2, y + 6.9 + i * 3.3, VERDICT - 6, 3.2, mark.word, "small")
    _strip_head(sheet, y, _on_strip(columns))
    sheet.y = y + HEAD


def _on_strip(columns: Sequence[_Column]) -> list[Asked]:
    """Return the measured checks whose last figures the strip shows."""
    return [c.measured for c in columns if c.measured is not None][:STRIP_FIGURES]


def _strip_head(sheet: Sheet, y: float, shown_there: Sequence[Asked]) -> None:
    x = _strip_x(sheet) + 2.5
    sheet.put("text", x, y + 1.2, STRIP - 2.5, 5, "Last time", "stop")
    told = "Fold back along the line before you start; look when he has been measured."
    sheet.put("text", x, y + 6.6, STRIP - 2.5, 9, told, "small")
    for i, asked in enumerate(shown_there):
        wide = (STRIP - 2.5) / len(shown_there)
        sheet.put("text", x + i * wide, y + 16.6, wide - 0.5, 3.6, asked.short.lower(), "small")


def _column_head(sheet: Sheet, column: _Column, y: float) -> None:
    inner = column.width - 2.2
    if column.measured is not None:
        unit = column.measured.first.unit
        assert unit is not None
        sheet.put("text", column.x + 1.2, y + 1.2, inner, 12, column.measured.short, "check")
        sheet.put("text", column.x + 1.2, y + 14, inner, 5, unit.symbol, "small")
        return
    station = column.station
    title = f"{station.number} {station.title}"
    sheet.put("text", column.x + 1.2, y + 1.2, inner, 5, title, "stop")
    listed = ", ".join(a.short.lower() for a in station.always if not a.first.is_measure)
    sheet.put("text", column.x + 1.2, y + 6.6, inner, 13.5, listed, "small")


def _row(sheet: Sheet, line: RunLine, number: int, columns: Sequence[_Column]) -> None:
    y = sheet.y
    if line.tag or line.name:
        sheet.put("text", CORNER + 0.8, y + 1.4, RAM - 2, 6, line.tag or line.name, "tag")
        about = "\n".join(p for p in (line.name if line.tag else "", line.about) if p)
        sheet.put("text", CORNER + 0.8, y + 7.2, RAM - 2, ROW - 7.8, about, "small")
    else:
        sheet.put("write", CORNER, y + 2.3, RAM - 2, 9, "tag", field=f"row={number} ram:tag")
    for column in columns:
        _cell(sheet, column, y, number)
    _verdict_cell(sheet, y)
    _past(sheet, line, y, _on_strip(columns))
    sheet.put("line", CORNER, y + ROW, _strip_x(sheet) - CORNER - 1.5, 0)
    sheet.put("line", _strip_x(sheet) + 2.5, y + ROW, STRIP - 2.5, 0)
    sheet.y += ROW


def _cell(sheet: Sheet, column: _Column, y: float, number: int) -> None:
    if column.measured is None:
        field = f"row={number} stop:{column.station.stop_id}"
        sheet.put("tick", column.x + 1.2, y + 2.8, TICK, TICK, field=field)
        return
    asked = column.measured
    each = (column.width - 1.6) / len(asked.sides)
    for i, (letter, check_id) in enumerate(asked.sides):
        x = column.x + 0.9 + i * each
        sheet.put("write", x, y + 1.8, each - 0.4, 10, letter, field=f"row={number} {check_id}#1")


def _verdict_cell(sheet: Sheet, y: float) -> None:
    """Four marks to ring: large enough for a ring, in the order of the head."""
    x = _strip_x(sheet) - VERDICT
    step = (VERDICT - 3) / len(look().marks)
    for i, outcome in enumerate(look().marks):
        left = x + i * step
        sheet.put("mark", left + (step - 3) / 2, y + 5.5, 3, 3, outcome)


def _past(sheet: Sheet, line: RunLine, y: float, shown_there: Sequence[Asked]) -> None:
    if not line.past_on:
        return
    x = _strip_x(sheet) + 2.5
    figures = dict(line.past)
    for i, asked in enumerate(shown_there):
        wide = (STRIP - 2.5) / len(shown_there)
        figure = figures.get(asked.first.id, "not taken")
        style = "figure" if asked.first.id in figures else "small"
        sheet.put("text", x + i * wide, y + 2, wide - 0.5, 5.4, figure, style)
    told = f"{line.past_on} {line.past_outcome}".strip()
    sheet.put("text", x, y + 8.2, STRIP - 3, 4.5, told, "small")


def _rules(sheet: Sheet, columns: Sequence[_Column], rows: float) -> None:
    """Put the thin lines between columns, and the line along which the strip is folded."""
    top = sheet.y - rows - HEAD
    for x in (*(c.x for c in columns), _strip_x(sheet) - VERDICT):
        sheet.put("line", x, top, 0, rows + HEAD)
    sheet.put("fold", _strip_x(sheet), 4, 0, sheet.height - 8)

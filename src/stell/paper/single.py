"""The blank form for one ram: the walk round him with boxes to cross, on A4 upright."""

from __future__ import annotations

from stell.core.protocol.ready import ReadyProtocol
from stell.paper.layout import CAUTION, CORNER, Asked, Form, Sheet, Station, form_id, stations
from stell.press.look import look

WIDTH, HEIGHT = 210.0, 297.0
TITLES = 36.0  # column of the checks' titles
TICK = 5.0
GAP = 2.0
COLUMNS, MANY_COLUMNS = 3, 4
TITLE_CHARACTERS = 18  # of a check's title on one line
NOTES, MOST_NOTES = 14.0, 110.0
STOP_TITLE, STOP_RIGHT = 50.0, 48.0  # room in a stop's band left and right of its caution
BAND, CAUTION_LINE = 8.0, 3.05  # a band's least height, and a line of a caution in 7.7 pt
CAUTION_CHARACTER, CAUTION_CAPITAL = 1.38, 1.9  # generous widths at that size
ONE_LINE, TWO_LINES = 6.1, 7.6
CHARACTER = 1.62  # generous width of one character of a label
WRITE_HEIGHT = 9.0
WRITE_WIDTH = 24.0
SMALL_LINE, SMALL_CHARACTER = 2.75, 1.2  # the same for 6.8 pt
_WHO = (
    (("ram:tag", "tag", 1.0), ("ram:name", "name", 1.0), ("flock", "flock", 1.2)),
    (
        ("ram:breed", "breed", 1.0),
        ("ram:age", "age or born", 1.0),
        ("examined_on", "day, month, year", 1.0),
        ("examiner", "examiner", 1.2),
    ),
)


def blank_form_layout(protocol: ReadyProtocol) -> Form:
    """Return the layout of the blank form for one ram.

    Notes, verdict and signature stand last, at the foot of the last page: the vet signs for all
    that stands above. The room that is left over is for notes.

    Parameters
    ----------
    protocol : ReadyProtocol
        Its stops, checks and answers in its own order.
    """
    sheet = Sheet(WIDTH, HEIGHT, left=CORNER + 1, top=15, foot=HEIGHT - 17.5)
    sheet.put("text", sheet.left, sheet.y, 120, 8, "Walk round the ram", "title")
    named = f"{protocol.spec.title}, {protocol.named}"
    sheet.put("text", sheet.left + 122, sheet.y + 2, sheet.inner - 122, 6, named, "right")
    sheet.y += 10.5
    for row in _WHO:
        _write_row(sheet, row)
    for station in stations(protocol):
        _station(sheet, station)
    _closing(sheet, protocol)
    return sheet.form(
        form_id("single", protocol), "Walk round the ram", CAUTION, right=WIDTH - CORNER - 1
    )


def _write_row(sheet: Sheet, fields: tuple[tuple[str, str, float], ...]) -> None:
    shares = sum(share for _, _, share in fields)
    room = sheet.inner - GAP * (len(fields) - 1)
    x = sheet.left
    for field, label, share in fields:
        width = room * share / shares
        sheet.put("write", x, sheet.y, width, WRITE_HEIGHT, label, field=field)
        x += width + GAP
    sheet.y += WRITE_HEIGHT + GAP


def _station(sheet: Sheet, station: Station) -> None:
    wide = sheet.inner - STOP_TITLE - (STOP_RIGHT if station.always else 2)
    band = _band_height(station.caution, wide)
    if not sheet.has_room(band + 6 + _check_height(station.checks[0])):
        sheet.turn()
    sheet.y += 1.6
    top = sheet.y
    sheet.put("band", sheet.left, top, sheet.inner, band)
    title = f"{station.number}  {station.title}"
    sheet.put("text", sheet.left + 2, top + 1.2, STOP_TITLE - 4, 6, title, "stop")
    x, height = sheet.left + STOP_TITLE, band - 1.4
    sheet.put("text", x, top + 1, wide, height, station.caution, "caution")
    right = sheet.left + sheet.inner
    if station.always:
        sheet.put("text", right - 46, top + 1.2, 36, 5.5, "nothing found here", "right")
        sheet.put("tick", right - 8, top, 8, 8, field=f"stop:{station.stop_id}")
    sheet.y += band + 1.4
    for asked in station.checks:
        _check(sheet, asked)


def _band_height(caution: str, wide: float) -> float:
    """Return how high a stop's band is, so that its caution stands there in full. [mm]"""
    capitals = sum(not c.islower() for c in caution if not c.isspace())
    long = capitals * CAUTION_CAPITAL + (len(caution) - capitals) * CAUTION_CHARACTER
    return max(BAND, -(-long // wide) * CAUTION_LINE + 2.2)


def _columns(asked: Asked) -> int:
    """Return how many answers stand side by side: four where all are short, else three."""
    longest = max(len(label) for _, label in asked.options)
    fits = longest * CHARACTER <= _label_room(asked, MANY_COLUMNS)
    return MANY_COLUMNS if fits else COLUMNS


def _label_room(asked: Asked, columns: int) -> float:
    boxes = len(asked.sides) * (TICK + 1)
    return (WIDTH - 2 * (CORNER + 1) - TITLES) / columns - boxes - GAP


def _rows(asked: Asked) -> list[list[tuple[str, str]]]:
    options, columns = list(asked.options), _columns(asked)
    return [options[i : i + columns] for i in range(0, len(options), columns)]


def _row_height(asked: Asked, row: list[tuple[str, str]]) -> float:
    room = _label_room(asked, _columns(asked))
    return TWO_LINES if any(len(label) * CHARACTER > room for _, label in row) else ONE_LINE


def _title(asked: Asked) -> str:
    return asked.title if asked.always else f"{asked.title}\nif needed"


def _title_height(asked: Asked) -> float:
    lines = -(-len(asked.title) // TITLE_CHARACTERS)
    return 3.9 * lines + (2.6 if not asked.always else 0)


def _check_height(asked: Asked) -> float:
    title = _title_height(asked) + 0.9
    if asked.first.is_measure:
        return max(WRITE_HEIGHT + 1.2, title, _how_height(asked) + 0.9)
    head = 3.2 if len(asked.sides) > 1 else 0
    return max(head + sum(_row_height(asked, row) for row in _rows(asked)) + 0.5, title)


def _how_room(asked: Asked) -> float:
    """Return the width left beside the boxes of a measure. [mm]"""
    boxes = len(asked.sides) * asked.readings
    return WIDTH - 2 * (CORNER + 1) - TITLES - boxes * (WRITE_WIDTH + 15)


def _how_height(asked: Asked) -> float:
    room = max(_how_room(asked), 1.0)
    return float(-(-len(asked.first.spec.how) * SMALL_CHARACTER // room) * SMALL_LINE)


def _check(sheet: Sheet, asked: Asked) -> None:
    height = _check_height(asked)
    if not sheet.has_room(height):
        sheet.turn()
    top = sheet.y
    sheet.put("text", sheet.left, top + 0.9, TITLES - 2, height - 0.9, _title(asked), "check")
    if asked.first.is_measure:
        _measure(sheet, asked)
    else:
        _choice(sheet, asked)
    sheet.y = top + height
    sheet.put("line", sheet.left, sheet.y - 0.3, sheet.inner, 0)


def _measure(sheet: Sheet, asked: Asked) -> None:
    unit = asked.first.unit
    assert unit is not None
    x = sheet.left + TITLES
    for letter, check_id in asked.sides:
        for i in range(asked.readings):
            order = ("first", "second")[i] if asked.readings > 1 else ""
            label = " ".join(p for p in (letter, order) if p)
            field = f"{check_id}#{i + 1}"
            sheet.put("write", x, sheet.y, WRITE_WIDTH, WRITE_HEIGHT, label, field=field)
            sheet.put("text", x + WRITE_WIDTH + 1.5, sheet.y + 3, 12, 5, unit.symbol, "plain")
            x += WRITE_WIDTH + 15
    how = asked.first.spec.how
    height = max(8.2, _how_height(asked))
    sheet.put("text", x, sheet.y + 0.5, sheet.left + sheet.inner - x, height, how, "small")


def _choice(sheet: Sheet, asked: Asked) -> None:
    start, columns = sheet.left + TITLES, _columns(asked)
    column = (sheet.inner - TITLES) / columns
    y = sheet.y
    if len(asked.sides) > 1:
        for c in range(min(columns, len(asked.options))):
            for s, (letter, _) in enumerate(asked.sides):
                x = start + c * column + s * (TICK + 1)
                sheet.put("text", x, y + 0.3, TICK, 3, letter, "centre")
        y += 3.2
    for row in _rows(asked):
        height = _row_height(asked, row)
        for c, (option_id, label) in enumerate(row):
            x = start + c * column
            for _, check_id in asked.sides:
                sheet.put("tick", x, y + 0.6, TICK, TICK, field=f"{check_id}={option_id}")
                x += TICK + 1
            room = height - 0.4
            middle = y + 0.6 + TICK / 2
            wide = _label_room(asked, columns)
            sheet.put("text", x + 0.8, middle - room / 2, wide, room, label, "plain")
        y += height


def _closing(sheet: Sheet, protocol: ReadyProtocol) -> None:
    limits = protocol.spec.restriction
    below = 2.5 + 9 + _limits_height(len(limits)) + WRITE_HEIGHT
    if not sheet.has_room(2 + NOTES + below):
        sheet.turn()
    sheet.y += 2
    notes = min(sheet.foot - sheet.y - below, MOST_NOTES)
    sheet.put("write", sheet.left, sheet.y, sheet.inner, notes, "notes", field="note")
    sheet.y += notes + 2.5
    sheet.put("text", sheet.left, sheet.y + 1.2, TITLES, 6, "The vet's verdict", "check")
    x = sheet.left + TITLES
    step = (sheet.inner - TITLES) / len(look().marks)
    for outcome, mark in look().marks.items():
        sheet.put("tick", x, sheet.y, 7, 7, field=f"verdict={outcome}")
        sheet.put("mark", x + 8.5, sheet.y + 1.7, 3.6, 3.6, outcome)
        sheet.put("text", x + 13.3, sheet.y + 1.5, step - 14, 5, mark.word, "plain")
        x += step
    sheet.y += 9
    for i, restriction in enumerate(limits):
        if i and i % COLUMNS == 0:
            sheet.y += 6.6
        x = sheet.left + TITLES + i % COLUMNS * _column()
        sheet.put("tick", x, sheet.y, TICK, TICK, field=f"restriction={restriction.id}")
        sheet.put("text", x + 6.8, sheet.y - 1, _column() - 8.8, 7, restriction.title)
    sheet.y += 9 if limits else 0
    again = ("again_on", "look at him again on (day, month, year)", 1.0)
    _write_row(sheet, (again, ("signed", "signed", 1.2)))


def _limits_height(limits: int) -> float:
    return 9 + 6.6 * ((limits - 1) // COLUMNS) if limits else 0


def _column() -> float:
    return (WIDTH - 2 * (CORNER + 1) - TITLES) / COLUMNS

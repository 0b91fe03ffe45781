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
NOTES = 14.0
ONE_LINE, TWO_LINES = 6.1, 7.6
CHARACTER = 1.62  # generous width of one character of a label
WRITE_HEIGHT = 9.0
WRITE_WIDTH = 24.0
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

    Stops at which nothing is asked of every ram stand behind the verdict: most rams never need
    that part of the paper.

    Parameters
    ----------
    protocol : ReadyProtocol
        Its stops, checks and answers in its own order.
    """
    sheet = Sheet(WIDTH, HEIGHT, left=CORNER + 1, top=15, foot=HEIGHT - 16)
    sheet.put("text", sheet.left, sheet.y, 120, 8, "Walk round the ram", "title")
    named = f"{protocol.spec.title}, {protocol.named}"
    sheet.put("text", sheet.left + 122, sheet.y + 2, sheet.inner - 122, 6, named, "right")
    sheet.y += 10.5
    for row in _WHO:
        _write_row(sheet, row)
    walk = stations(protocol)
    for station in walk:
        if station.always:
            _station(sheet, station)
    _closing(sheet, protocol)
    for station in walk:
        if not station.always:
            _station(sheet, station)
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
    first = _check_height(station.checks[0])
    if not sheet.has_room(14 + first):
        sheet.turn()
    sheet.y += 1.6
    top = sheet.y
    sheet.put("band", sheet.left, top, sheet.inner, 8)
    title = f"{station.number}  {station.title}"
    sheet.put("text", sheet.left + 2, top + 1.2, 46, 6, title, "stop")
    sheet.put("text", sheet.left + 50, top + 0.7, sheet.inner - 98, 6.8, station.caution, "small")
    right = sheet.left + sheet.inner
    if station.always:
        sheet.put("text", right - 46, top + 1.2, 36, 5.5, "nothing found here", "right")
        sheet.put("tick", right - 8, top, 8, 8, field=f"stop:{station.stop_id}")
    sheet.y += 9.4
    for asked in station.checks:
        _check(sheet, asked)


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
        return max(WRITE_HEIGHT + 1.2, title)
    head = 3.2 if len(asked.sides) > 1 else 0
    return max(head + sum(_row_height(asked, row) for row in _rows(asked)) + 0.5, title)


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
    sheet.put("text", x, sheet.y + 0.5, sheet.left + sheet.inner - x, 8.2, how, "small")


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
    if not sheet.has_room(NOTES + 33 + 2.2 * len(limits)):
        sheet.turn()
    sheet.y += 2
    sheet.put("write", sheet.left, sheet.y, sheet.inner, NOTES, "notes", field="note")
    sheet.y += NOTES + 2.5
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


def _column() -> float:
    return (WIDTH - 2 * (CORNER + 1) - TITLES) / COLUMNS

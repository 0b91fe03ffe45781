"""From the cells of a column to values: which reader a meaning needs, and what a column shows.

A column is looked at as a whole before its cells are read: one cell above 12 tells day and month
apart, one "yes" tells what "n" stands for. Whatever is assumed so is said in a notice.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from uuid import UUID

from stell.core.intake import ColumnMatch, ReadingRules
from stell.core.protocol.ready import ReadyProtocol
from stell.core.records import CIRCUMSTANCES, INTENDED_USES, RAM_TYPES
from stell.core.verdict import Outcome
from stell.exchange import dates
from stell.exchange.ages import AgeReader
from stell.exchange.answers import (
    NORMAL_WORDS,
    BothSidesReader,
    ChoiceReader,
    answer_key,
    says_yes,
    uses_n,
)
from stell.exchange.cells import Cell, Table, shown, visible
from stell.exchange.date_orders import DAYS
from stell.exchange.eid_cells import read_eid
from stell.exchange.field_words import (
    CIRCUMSTANCE_WORDS,
    NO,
    TYPE_WORDS,
    USE_WORDS,
    VERDICT_WORDS,
    YES,
)
from stell.exchange.measures import MeasureReader, looks_like_fractions
from stell.exchange.phrases import bag, near, slug
from stell.exchange.refusal import refused
from stell.exchange.titles import Vocabulary

Reader = Callable[[Cell], object]
_LONGEST = {"tag": 60, "name": 120, "flock": 120, "examiner": 120, "breed": 60}
_LONGEST_TEXT = 4000
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]")
_ERRORS = frozenset({"#N/A", "#REF!", "#DIV/0!", "#VALUE!", "#NAME?", "#NUM!", "#NULL!", "Err:502"})
# A title with such a word asks a question, to which "n" is the answer no.
_ASKING = frozenset(
    {"seen", "extruded", "exteriorised", "present", "collected", "even", "symmetrical", "done"}
)


@dataclass(frozen=True, slots=True)
class ColumnReader:
    """What reads the cells of one column, and what was assumed about it."""

    read: Reader
    notices: tuple[str, ...] = ()


def reader_for(
    match: ColumnMatch,
    cells: Sequence[Cell],
    table: Table,
    words: Vocabulary,
    rules: ReadingRules,
    order: dates.DateOrder | None = None,
) -> ColumnReader:
    """Return the reader of a matched column.

    Parameters
    ----------
    match : ColumnMatch
        With a meaning.
    cells : sequence of Cell
        The different cells of the column.
    table : Table
    words : Vocabulary
        Of the protocol.
    rules : ReadingRules
    order : DateOrder, optional
        Of a column of days, as the whole sheet shows it; without it, as the column does.
    """
    protocol = words.protocol
    place = table.place(match.column)
    kind, _, name = match.meaning.partition(":")
    if kind == "remark":
        return ColumnReader(_text_reader("remark", _LONGEST_TEXT))
    if kind == "stop":
        titles = _choices_of(name, protocol)
        said = f"'ok' in {place} counts for what has no entry of its own: {', '.join(titles)}."
        return ColumnReader(_stop_reader(titles, words), (said,))
    if kind == "both":
        sides = [c for c in protocol.checks.values() if c.base == name]
        n_is_no, notices = _n_of(cells, match.header, place)
        readers = {c.side: ChoiceReader(c, n_is_no, words.answering) for c in sides}
        return ColumnReader(BothSidesReader(readers), notices)
    check = protocol.checks.get(match.meaning)
    if check is None:
        if match.meaning in DAYS:
            return _day_reader(match, cells, place, rules, order)
        return _field_reader(match, protocol)
    if check.unit is not None:
        of_fractions = table.is_workbook and looks_like_fractions(cells)
        return ColumnReader(
            MeasureReader(check, check.unit, match.unit, rules.decimal_comma, of_fractions)
        )
    n_is_no, notices = _n_of(cells, match.header, place)
    return ColumnReader(ChoiceReader(check, n_is_no, words.answering), notices)


def _n_of(cells: Sequence[Cell], header: str, place: str) -> tuple[bool, tuple[str, ...]]:
    """Return whether ``n`` is no in this column, and what to say of it."""
    if not uses_n(cells):
        return False, ()
    if header.strip().endswith("?") or bag(header) & _ASKING:
        return True, (f"In {place} 'n' is taken as no, since its title asks a question.",)
    if says_yes(cells):
        return True, (f"In {place} 'n' is taken as no, since the column also says yes.",)
    return False, (f"In {place} 'n' is taken as normal.",)


def _field_reader(match: ColumnMatch, protocol: ReadyProtocol) -> ColumnReader:
    field = match.meaning
    words: dict[str, tuple[Sequence[str], Mapping[str, Sequence[str]]]] = {
        "ram_type": (RAM_TYPES, TYPE_WORDS),
        "intended_use": (INTENDED_USES, USE_WORDS),
        "override": ([o.value for o in Outcome], VERDICT_WORDS),
    }
    if field in words:
        return ColumnReader(_word_reader(field, *words[field]))
    readers: dict[str, Reader] = {
        "eid": read_eid,
        "tag": _read_tag,
        "age_months": AgeReader(protocol.age_classes, match.unit),
        "age_class": AgeReader(protocol.age_classes, match.unit),
        "circumstances": _read_circumstances,
        "rest_normal": _read_yes_or_no,
        "exam_id": _read_uuid,
        "breed": _read_breed,
    }
    return ColumnReader(
        readers.get(field) or _text_reader(field, _LONGEST.get(field, _LONGEST_TEXT))
    )


def _day_reader(
    match: ColumnMatch,
    cells: Sequence[Cell],
    place: str,
    rules: ReadingRules,
    order: dates.DateOrder | None,
) -> ColumnReader:
    in_title = dates.order_in_title(match.header)
    order = order or dates.order_of(cells, rules.date_order or in_title, rules.today)
    swapped = "" if rules.date_order else dates.swapped_by(cells)
    days = dates.DayReader(rules.today, order, swapped)
    notices = []
    if order.shown_by and not order.against:
        notices.append(f"Days in {place} are read {order.order}, {order.because}.")
    elif in_title and not rules.date_order:
        notices.append(f"Days in {place} are read {order.order}, as its title says.")
    serial = next((c for c in cells if dates.is_serial(c)), None)
    if serial is not None:
        notices.append(
            f"{place[0].upper()}{place[1:]} holds day numbers of a spreadsheet; {shown(serial)} "
            f"is read as {dates.written_date(dates.day_of_serial(serial))}."
        )
    if match.meaning == "examined_on":
        return ColumnReader(days, tuple(notices))
    if dates.all_first_of_month(cells):
        notices.append(
            f"Every birth in {place} is the first of a month and is read as that day; where only "
            "the month is known, write it as Apr 2024."
        )
    return ColumnReader(dates.BirthReader(days), tuple(notices))


def _text_reader(field: str, longest: int) -> Reader:
    def read(cell: Cell) -> str | None:
        text = visible(cell).strip() if isinstance(cell, str) else shown(cell)
        if text in _ERRORS:
            raise refused(
                "the cell holds an error of the spreadsheet",
                text,
                "a value, or an empty cell",
                "mend the formula and save again",
            )
        if _CONTROL.search(text):
            raise refused(
                f"a control character stands in the {field}",
                _CONTROL.sub("\N{REPLACEMENT CHARACTER}", text),
                "letters, digits and signs",
                "type the cell again",
            )
        if len(text) > longest:
            raise refused(
                f"the {field} is longer than {longest} characters",
                text,
                f"up to {longest} characters",
                text[:20] + "…",
            )
        return text or None

    return read


def _read_tag(cell: Cell) -> str | None:
    if not isinstance(cell, str | float | int) or isinstance(cell, bool):
        raise refused(
            "the spreadsheet has turned the tag into a date, a time or a truth value",
            shown(cell),
            "the tag as text; format the column as text before typing",
            "R12",
        )
    if isinstance(cell, float) and (not cell.is_integer() or abs(cell) >= 1e15):
        raise refused(
            "a number cell cannot hold this tag without damage",
            shown(cell),
            "the tag as text; format the column as text before typing",
            "UK 0 123456 00001",
        )
    return _text_reader("tag", _LONGEST["tag"])(shown(cell))  # type: ignore[return-value]


def _read_breed(cell: Cell) -> str | None:
    text = shown(cell)
    if len(text) > _LONGEST["breed"]:
        raise refused("the breed is too long", text, "a breed's name", "Gotland")
    return slug(text) or None


def _read_uuid(cell: Cell) -> str | None:
    text = shown(cell)
    if not text:
        return None
    try:
        return str(UUID(text))
    except ValueError:
        raise refused(
            "this is not a UUID",
            text,
            "32 hexadecimal digits in groups of 8-4-4-4-12, or an empty cell",
            "0199c4b2-8d1e-7c3a-9f00-5a1b2c3d4e5f",
        ) from None


def _read_yes_or_no(cell: Cell) -> bool | None:
    if isinstance(cell, bool):
        return cell
    text = shown(cell)
    if not text:
        return None
    word = answer_key(text)
    if word in YES or word in NORMAL_WORDS:
        return True
    if word in NO:
        return False
    raise refused("this is neither yes nor no", text, "yes, no or an empty cell", "yes")


def _word_reader(field: str, ids: Sequence[str], also: Mapping[str, Sequence[str]]) -> Reader:
    named = {answer_key(word): i for i in ids for word in (i, *also.get(i, ()))}

    def read(cell: Cell) -> str | None:
        text = shown(cell)
        if not text:
            return None
        found = named.get(answer_key(text))
        if found is None:
            nearest = [named[answer_key(w)] for w in near(answer_key(text), named)]
            raise refused(
                f"this is not one of the words for {field}",
                text,
                ", ".join(ids),
                (nearest or list(ids))[0],
            )
        return found

    return read


_CIRCUMSTANCE = _word_reader("circumstances", CIRCUMSTANCES, CIRCUMSTANCE_WORDS)


def _read_circumstances(cell: Cell) -> tuple[str, ...] | None:
    parts = [p for p in shown(cell).replace("+", ";").replace(",", ";").split(";") if p.strip()]
    found = tuple(dict.fromkeys(str(_CIRCUMSTANCE(p)) for p in parts))
    return found or None


def _choices_of(stop: str, protocol: ReadyProtocol) -> list[str]:
    checks = protocol.checks.values()
    return [c.title for c in checks if c.spec.stop == stop and not c.is_measure]


def _stop_reader(titles: Sequence[str], words: Vocabulary) -> Reader:
    def read(cell: Cell) -> bool | None:
        text = shown(cell)
        if not text:
            return None
        if answer_key(text) in NORMAL_WORDS or answer_key(text) == "n":
            return True
        own = [title for title in words.answering(answer_key(text)) if title in titles]
        raise refused(
            "a column for a whole stop takes only 'ok'",
            text,
            f"ok or an empty cell; a finding goes into its own column: {', '.join(own or titles)}",
            f"a column '{(own or titles)[0]}' with {text!r}",
        )

    return read

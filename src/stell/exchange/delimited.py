"""CSV: which bytes are which letters, which sign parts the cells, and where a record ends."""

from __future__ import annotations

import csv
import io
import itertools
import re
from collections import Counter
from collections.abc import Callable

from stell.core.errors import SheetError
from stell.exchange.limits import MAX_CELLS, MAX_ROWS, refuse_extent, too_large

DELIMITERS = (",", ";", "\t", "|")
_NAMES = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
_SAMPLE_RECORDS = 60
_SAMPLE_CHARACTERS = 200_000
_SEP_LINE = re.compile(r"\A\ufeff?sep=(.)\r?\n", re.IGNORECASE)
# Signs of Windows-1252 that a sheet may well hold; the rest of its upper half points to another
# encoding or to no text at all.
_LIKELY_1252 = frozenset(
    "ÀÁÂÃÄÅÆÇÈÉÊËÌÍÎÏÐÑÒÓÔÕÖØÙÚÛÜÝÞßàáâãäåæçèéêëìíîïðñòóôõöøùúûüýþÿ"
    "ŒœŠšŽžŸ‘’“”–—…•€£§°²³½¼¾±×µ«»¡¿´ªº\u00a0"
)
_UTF8_PAIR = re.compile(rb"[\xc3-\xf4][\x80-\xbf]+|\xc2[\xa0-\xbf]")
_CONTROL = re.compile("[\x00-\x08\x0b\x0e-\x1f\x7f]")
# What the writer of our own exports put before a cell that a spreadsheet would run as a formula.
_GUARDED = re.compile(r"\A'(?='*[ ]*[=+\-@\t\r\n＝＋－＠])")


def decode(raw: bytes, name: str) -> tuple[str, list[str]]:
    """Return the text in a CSV file's bytes, and what was assumed.

    UTF-8 (with or without its mark) and UTF-16 are recognised; Windows-1252 is taken only when
    the bytes are not UTF-8 and every letter then is one of Western Europe, and it is said.

    Raises
    ------
    SheetError
        `sheet.unreadable`, with how to save the sheet again.
    """
    try:
        return _decode(raw, name)
    except UnicodeDecodeError as error:
        place = _line_of(raw, error.start)
        raise _no_text(f"the letters cannot be read ({place})", name) from None


def _decode(raw: bytes, name: str) -> tuple[str, list[str]]:
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        text = raw.decode("utf-16")
    elif _looks_utf16(raw, 1):
        text = raw.decode("utf-16-le")
    elif _looks_utf16(raw, 0):
        text = raw.decode("utf-16-be")
    else:
        text, notices = _narrow(raw, name)
        _refuse_control(text, name)
        return text, notices
    _refuse_control(text, name)
    return text.removeprefix("\ufeff"), []


def _looks_utf16(raw: bytes, zero_at: int) -> bool:
    """Tell whether every second byte of the beginning is zero, as in UTF-16 without a mark."""
    head = raw[:200]
    zeros = head[zero_at::2]
    return len(head) >= 4 and not any(zeros) and head.count(0) == len(zeros)


def _narrow(raw: bytes, name: str) -> tuple[str, list[str]]:
    try:
        return raw.decode("utf-8-sig"), []
    except UnicodeDecodeError as error:
        if _UTF8_PAIR.search(raw):
            place = _line_of(raw, error.start)
            raise _no_text(f"the letters are of two encodings ({place})", name) from None
    text = raw.decode("cp1252")
    odd = sorted({c for c in text if c > "\x7f" and c not in _LIKELY_1252})
    if odd:
        place = f"{''.join(odd[:3])!r}, line {text[: text.index(odd[0])].count(chr(10)) + 1}"
        raise _no_text(f"the letters are neither UTF-8 nor Western European ({place})", name)
    word = next((w for w in re.findall(r"\w+|\S", text) if any(c > "\x7f" for c in w)), "")
    read_as = "The file is not UTF-8; it was read as Windows-1252 (Western European)."
    return text, [f"{read_as} See whether {word!r} looks right."]


def _refuse_control(text: str, name: str) -> None:
    found = _CONTROL.search(text)
    if found:
        line = text.count("\n", 0, found.start()) + 1
        raise _no_text(f"it is not text (byte {ord(found.group()):#04x} in line {line})", name)


def _line_of(raw: bytes, position: int) -> str:
    return f"line {raw.count(bytes([10]), 0, position) + 1}"


def _no_text(problem: str, name: str) -> SheetError:
    return SheetError(
        "sheet.unreadable",
        problem,
        legal="CSV in UTF-8, UTF-16 or Windows-1252; or an XLSX or ODS workbook",
        example="in the spreadsheet: Save as, type 'CSV UTF-8'",
        where=name,
    )


def parse(text: str, name: str, knows: Callable[[str], bool]) -> tuple[list[list[str]], list[str]]:
    """Return the records of a CSV text, blank lines too, and what was assumed.

    Parameters
    ----------
    text : str
    name : str
        File name, for messages.
    knows : callable
        Whether a cell is a known column title; helps to choose the delimiter.

    Raises
    ------
    SheetError
        `sheet.unreadable` for a quotation mark that is never closed and the like.
    """
    said = _SEP_LINE.match(text)
    if said:
        text = text[said.end() :]
        delimiter = said.group(1)
    else:
        delimiter = _delimiter(text, knows)
    records: list[list[str]] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        # A little more than the limit, so that title lines do not count.
        records.extend(itertools.islice(reader, MAX_ROWS + 100))
    except csv.Error as error:
        raise _broken(error, len(records), name) from None
    if len(records) == MAX_ROWS + 100:
        refuse_extent(len(records), 1, name)
    refuse_extent(1, max(map(len, records), default=0), name)
    cells = sum(map(len, records))
    if cells > MAX_CELLS:
        raise too_large(
            "the sheet has too many cells", f"{cells:,} cells", f"up to {MAX_CELLS:,}", name
        )
    notices = [] if delimiter == "," else [f"Cells are parted by {_NAMES.get(delimiter, 'sep=')}."]
    return records, notices


def unguarded(text: str) -> str:
    """Return a cell without the apostrophe that keeps a spreadsheet from running it.

    Examples
    --------
    >>> unguarded("'=1+1")
    '=1+1'
    >>> unguarded("'tis")
    "'tis"
    """
    return _GUARDED.sub("", text)


def guarded(text: str) -> str:
    """Return a cell that no spreadsheet runs as a formula; `unguarded` undoes it exactly.

    A text that begins with ``= + - @``, a tab or a line break, after any blanks or apostrophes,
    gets one apostrophe in front.

    Examples
    --------
    >>> guarded("=1+1"), guarded("'=1+1"), guarded("'tis")
    ("'=1+1", "''=1+1", "'tis")
    """
    return f"'{text}" if _GUARDED.match(f"'{text}") else text


def _delimiter(text: str, knows: Callable[[str], bool]) -> str:
    return max(DELIMITERS, key=lambda d: _fit(text, d, knows))


def _fit(text: str, delimiter: str, knows: Callable[[str], bool]) -> tuple[int, float, int]:
    """Return how well a delimiter fits: known titles, steadiness of the width, width."""
    records: list[list[str]] = []
    sample = text[:_SAMPLE_CHARACTERS]
    reader = csv.reader(io.StringIO(sample, newline=""), delimiter=delimiter)
    try:
        for record in reader:
            if any(cell.strip() for cell in record):
                records.append(record)
            if len(records) >= _SAMPLE_RECORDS:
                break
    except csv.Error:
        pass
    if not records:
        return (0, 0.0, 0)
    titles = max(sum(knows(cell) for cell in record) for record in records[:20])
    width, often = Counter(map(len, records)).most_common(1)[0]
    return (titles, often / len(records) if width > 1 else 0.0, width)


def _broken(error: csv.Error, records: int, name: str) -> SheetError:
    if "unexpected end" in str(error):
        problem = "a quotation mark is opened and never closed"
    elif "field larger" in str(error):
        problem = "a cell holds more than 131,072 characters"
    else:
        problem = "a quotation mark stands where none can"
    return SheetError(
        "sheet.unreadable",
        problem,
        got=f"the record after row {records}",
        legal='cells with a delimiter or a line break inside stand in "…", and " inside as ""',
        example='R12,"sold to ""Hill End"", Oct"',
        where=name,
    )

"""Turn a typst template and plain values into a PDF, the same bytes for the same values.

Values reach the template as JSON and pictures as SVG text, both through ``sys.inputs``: nothing a
person typed is ever read as markup. Only the shipped fonts and those built into typst are used,
never the system's, so that a report looks alike everywhere. The PDF is written to PDF/UA-1: typst
then refuses a picture without a text alternative and a character that no font can draw.
"""

from __future__ import annotations

import json
import re
import threading
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal

import typst

from stell.press.look import FONTS

__all__ = ["PressFailed", "Printed", "printed", "to_pdf"]

PACKAGE = Path(__file__).parents[1]  # templates are named from here: "reports/owner.typ"
STANDARD: Literal["ua-1"] = "ua-1"
_NO_GLYPH = re.compile(r'the text `"((?:[^"\\]|\\.)*)"` could not be displayed')
_ESCAPED = re.compile(r"\\u\{([0-9a-fA-F]+)\}|\\(.)")
_CONTROL = {"n": "\n", "r": "\r", "t": "\t", "0": "\0"}


class PressFailed(RuntimeError):
    """A template could not be set; the message is typst's own, with place and hints."""


@dataclass(frozen=True, slots=True)
class Printed:
    """A finished PDF.

    Attributes
    ----------
    content : bytes
    stand_ins : tuple of str
        Characters that no font here can draw and that stand in the PDF as ``[U+65E5]``.
    """

    content: bytes
    stand_ins: tuple[str, ...] = ()


def to_pdf(
    template: str | bytes,
    data: Mapping[str, Any],
    *,
    files: Mapping[str, bytes] | None = None,
    title: str,
    author: str,
    language: str = "en",
    made_on: date,
) -> bytes:
    """Return the PDF that `template` makes of `data`. Parameters as in `printed`."""
    return printed(
        template,
        data,
        files=files,
        title=title,
        author=author,
        language=language,
        made_on=made_on,
    ).content


def printed(
    template: str | bytes,
    data: Mapping[str, Any],
    *,
    files: Mapping[str, bytes] | None = None,
    title: str,
    author: str,
    language: str = "en",
    made_on: date,
) -> Printed:
    """Return the PDF that `template` makes of `data`, and what could not be drawn.

    Parameters
    ----------
    template : str or bytes
        Place of the template below the package, for example ``reports/owner.typ``; or its text.
    data : mapping
        JSON-ready values; the template finds them as ``data``.
    files : mapping of str to bytes, optional
        SVG pictures by name; the template shows one with ``picture(name, alt: …)``.
    title, author, language : str
        Properties of the document; the language as in BCP 47, for example ``en``.
    made_on : date
        The only date in the file's properties, so that equal values give equal bytes.

    Raises
    ------
    PressFailed
        When the template is wrong: for example a picture without a text alternative.
    """
    meta = {
        "title": title,
        "author": author,
        "language": language,
        "made_on": [made_on.year, made_on.month, made_on.day],
    }
    pictures = {name: content.decode("utf-8") for name, content in (files or {}).items()}
    stamp = datetime(made_on.year, made_on.month, made_on.day, tzinfo=UTC)
    unknown: tuple[str, ...] = ()
    while True:
        swap = {text: _stand_in(text) for text in unknown}
        meta["stand_ins"] = sorted(set(swap.values()))
        inputs = {
            "meta": json.dumps(_swapped(meta, swap)),
            "data": json.dumps(_swapped(data, swap)),
            **{f"picture:{name}": _swapped(svg, swap) for name, svg in pictures.items()},
        }
        try:
            content = _press().run(template, inputs, stamp)
        except typst.TypstError as error:
            found = {_unescaped(text) for text in _NO_GLYPH.findall(_story(error))}
            if not found - set(unknown):
                named = "template" if isinstance(template, bytes) else template
                raise PressFailed(f"{named}: {_story(error)}") from error
            unknown = tuple(sorted({*unknown, *found}, key=lambda t: (-len(t), t)))
        else:
            return Printed(content, tuple(sorted(unknown)))


class _Press:
    """One warm compiler. It cannot work for two threads at once, hence the lock."""

    def __init__(self) -> None:
        fonts = typst.Fonts(include_system_fonts=False, font_paths=[str(FONTS)])
        self._compiler = typst.Compiler(root=str(PACKAGE), font_paths=fonts)
        self._lock = threading.Lock()

    def run(self, template: str | bytes, inputs: dict[str, str], stamp: datetime) -> bytes:
        """Return the PDF; raise typst's error when it cannot be made."""
        source = template if isinstance(template, bytes) else (PACKAGE / template).read_bytes()
        with self._lock:
            made = self._compiler.compile(
                source,
                format="pdf",
                sys_inputs=inputs,
                pdf_standards=[STANDARD],
                timestamp=stamp,
            )
        assert isinstance(made, bytes)
        return made


@lru_cache(maxsize=1)
def _press() -> _Press:
    return _Press()


def _story(error: typst.TypstError) -> str:
    """Return all of typst's messages: `message` alone holds only the first."""
    return str(error.diagnostic or error.message)


def _unescaped(text: str) -> str:
    def plain(match: re.Match[str]) -> str:
        if match[1]:
            return chr(int(match[1], 16))
        return _CONTROL.get(match[2], match[2])

    return _ESCAPED.sub(plain, text)


def _stand_in(text: str) -> str:
    """Return what is printed for text that cannot be drawn: its code points in ASCII."""
    return "".join(f"[U+{ord(c):04X}]" for c in text)


def _swapped(value: Any, swap: Mapping[str, str]) -> Any:
    """Return JSON-ready `value` with every text in `swap` replaced, keys left alone."""
    if not swap:
        return value
    if isinstance(value, str):
        for text, stand_in in swap.items():
            value = value.replace(text, stand_in)
        return value
    if isinstance(value, Mapping):
        return {k: _swapped(v, swap) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [_swapped(v, swap) for v in value]
    return value

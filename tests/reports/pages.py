"""Reading a PDF back: its text by page, and where each word stands."""

import html
import io
import re
import shutil
import subprocess
from pathlib import Path
from typing import NamedTuple

import pytest
from pypdf import PdfReader

_PAGE = re.compile(r'<page width="([\d.]+)" height="([\d.]+)">(.*?)</page>', re.DOTALL)
_WORD = re.compile(
    r'<word xMin="([\d.-]+)" yMin="([\d.-]+)" xMax="([\d.-]+)" yMax="([\d.-]+)">(.*?)</word>'
)


class Word(NamedTuple):
    """A word and its box. [points, from the top left]"""

    page: int
    left: float
    top: float
    right: float
    bottom: float
    text: str


def texts(content: bytes) -> list[str]:
    """Return the text of each page, in the order in which a screen reader would say it."""
    pages = PdfReader(io.BytesIO(content)).pages
    return [page.extract_text().replace("\u200b", "") for page in pages]


def words(content: bytes, folder: Path) -> tuple[list[tuple[float, float]], list[Word]]:
    """Return the sizes of the pages and every word on them, as poppler sees them. [points]"""
    if shutil.which("pdftotext") is None:
        pytest.skip("pdftotext (poppler-utils) is not installed; `./run test` installs it")
    path = folder / "pages.pdf"
    path.write_bytes(content)
    command = ["pdftotext", "-bbox", str(path), "-"]
    drawn = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    sizes, found = [], []
    for number, (width, height, inside) in enumerate(_PAGE.findall(drawn), start=1):
        sizes.append((float(width), float(height)))
        for *box, text in _WORD.findall(inside):
            found.append(Word(number, *map(float, box), html.unescape(text)))
    return sizes, found


def outside(content: bytes, folder: Path, margin: float) -> list[Word]:
    """Return the words that do not lie within so many points of the page's edges."""
    sizes, found = words(content, folder)
    return [
        w
        for w in found
        if w.left < margin
        or w.top < margin
        or w.right > sizes[w.page - 1][0] - margin
        or w.bottom > sizes[w.page - 1][1] - margin
    ]

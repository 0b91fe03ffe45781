"""The look: one palette for paper and page, enough contrast, fonts as recorded."""

import hashlib
import re
from pathlib import Path

import pytest

from stell.press.look import look

STATIC = Path(__file__).parents[2] / "src" / "stell" / "web" / "static" / "desk"
TEMPLATES = STATIC.parents[1] / "templates"
CSS = (STATIC / "desk.css").read_text(encoding="utf-8")
DARK_FROM = CSS.index("@media (prefers-color-scheme: dark)")
TEXT, SHAPE = 4.5, 3.0  # WCAG 2.2, success criteria 1.4.3 (AA) and 1.4.11


def colours(part: str) -> dict[str, str]:
    block = part[part.index(":root") : part.index("}", part.index(":root"))]
    return dict(re.findall(r"--([a-z-]+):\s*(#[0-9a-f]{6});", block))


LIGHT = colours(CSS)
DARK = LIGHT | colours(CSS[DARK_FROM:])


def luminance(colour: str) -> float:
    """Return relative luminance as WCAG 2.2 defines it."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(a: str, b: str) -> float:
    high, low = sorted((luminance(a), luminance(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_contrast_is_measured_as_the_standard_does() -> None:
    # WCAG 2.2, definition of contrast ratio: black on white is 21:1. #767676 on white is the
    # usual example of the least grey that passes, 4.54:1.
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


def test_page_and_paper_share_their_colours() -> None:
    shared = {n: c for n, c in look().colours.items() if n in LIGHT}
    assert len(shared) >= 8, f"the page has lost the paper's colours: {sorted(shared)}"
    assert {n: LIGHT[n] for n in shared} == shared, "press/look.json and desk.css differ"
    marks = {outcome: mark.colour for outcome, mark in look().marks.items()}
    assert {o: LIGHT[o] for o in marks} == marks, "a verdict has another crayon on the page"


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
def test_text_can_be_read(theme: dict[str, str]) -> None:
    pairs = [(ink, ground) for ink in ("slate", "lead", "heather", "late")
             for ground in ("ground", "paper", "chalk", "heather-pale")]  # fmt: skip
    pairs.append(("on-band", "band"))
    weak = {p: round(contrast(theme[p[0]], theme[p[1]]), 2) for p in pairs}
    weak = {p: ratio for p, ratio in weak.items() if ratio < TEXT}
    assert not weak, f"less than {TEXT}:1: {weak}"


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
def test_shapes_can_be_told_from_the_ground(theme: dict[str, str]) -> None:
    shapes = (*look().marks, "shale", "heather", "slate")
    weak = {s: round(contrast(theme[s], theme["ground"]), 2) for s in shapes}
    weak = {s: ratio for s, ratio in weak.items() if ratio < SHAPE}
    assert not weak, f"less than {SHAPE}:1: {weak}"


def test_fonts_are_as_recorded() -> None:
    recorded = dict(
        re.findall(
            r"\| (\S+\.woff2) \| ([0-9a-f]{64}) \|", (STATIC / "fonts/ORIGIN.md").read_text()
        )
    )
    there = {p.name: hashlib.sha256(p.read_bytes()).hexdigest() for p in STATIC.rglob("*.woff2")}
    assert there == recorded, "ORIGIN.md does not describe the fonts that lie beside it"
    assert all(f"fonts/{name}" in CSS for name in there), "a font is shipped and not used"


def test_pages_need_no_inline_style_or_script() -> None:
    found = [
        f"{path.name}: {match}"
        for path in TEMPLATES.rglob("*.html")
        for match in re.findall(
            r"<script|<style|\sstyle=|\son[a-z]+=|javascript:", path.read_text(encoding="utf-8")
        )
    ]
    assert not found, f"the content security policy forbids these: {found}"


def test_style_asks_nobody_else_for_anything() -> None:
    addresses = re.findall(r"url\(([^)]*)\)|@import", CSS)
    assert addresses, "the style sheet loads at least its fonts"
    assert not [a for a in addresses if "//" in a or a == ""], (
        f"something from outside: {addresses}"
    )

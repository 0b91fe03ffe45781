"""Forms as PDF: the layouts of `run` and `single`, drawn by typst exactly where they stand."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date

from stell.core.protocol.ready import ReadyProtocol
from stell.paper.layout import Form
from stell.paper.run import RunSheet, run_sheet_layout
from stell.paper.single import blank_form_layout
from stell.press.compile import to_pdf

TEMPLATE = "paper/form.typ"


def run_sheet(sheet: RunSheet) -> bytes:
    """Return the run sheet as a PDF; equal values give equal bytes."""
    return draw(run_sheet_layout(sheet), author=sheet.practice, made_on=sheet.made_on)


def blank_form(protocol: ReadyProtocol, *, made_on: date) -> bytes:
    """Return the blank form for one ram as a PDF."""
    return draw(blank_form_layout(protocol), author="", made_on=made_on)


def draw(form: Form, *, author: str, made_on: date) -> bytes:
    """Return a form's PDF. A text too long for its place is set smaller, at last cut with …"""
    return to_pdf(
        TEMPLATE,
        {"form": asdict(form)},
        title=f"{form.title} ({form.form_id})",
        author=author or "stell",
        made_on=made_on,
    )

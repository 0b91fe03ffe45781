"""Verdict marks, dates and drawings, for every template without loading."""

from __future__ import annotations

from datetime import date
from functools import lru_cache

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from stell.core.leads import when_text
from stell.core.records import written_date
from stell.press.look import look
from stell.web.desk import wording

register = template.Library()

NOT_EXAMINED = "not_examined"


@register.simple_tag
def mark(outcome: object) -> SafeString:
    """Draw a verdict's shape; the word has to stand beside it."""
    return _drawn(str(outcome))


@lru_cache(maxsize=16)
def _drawn(outcome: str) -> SafeString:
    if outcome == NOT_EXAMINED:
        shape, filled = '<circle r="0.82"/>', False
    else:
        known = look().marks[outcome]
        filled = known.filled
        shape = f'<path d="{known.path}"/>' if known.points else '<circle r="0.95"/>'
    kind = "filled" if filled else "open"
    return mark_safe(  # noqa: S308  (numbers and words of our own only)
        f'<svg class="mark {kind} {outcome}" viewBox="-1.15 -1.15 2.3 2.3" aria-hidden="true"'
        f' focusable="false">{shape}</svg>'
    )


@register.simple_tag
def verdict(outcome: object, headline: str = "") -> SafeString:
    """Draw a verdict: shape and word. `headline` says more than the word and replaces it."""
    word = str(outcome)
    said = headline or (wording_of_outcome(word))
    return format_html('<span class="verdict {}">{}<b>{}</b></span>', word, _drawn(word), said)


def wording_of_outcome(outcome: str) -> str:
    """Return the word of a verdict."""
    return "not examined" if outcome == NOT_EXAMINED else look().marks[outcome].word


@register.filter
def plain_day(day: date | None) -> str:
    """Return a date that nobody can misread, or nothing."""
    return written_date(day) if day else ""


@register.filter
def weekday(day: date | None) -> str:
    """Return a date with its weekday, or nothing."""
    return wording.weekday_date(day) if day else ""


@register.filter
def due(day: date, today: date) -> str:
    """Return how far off a day is, or by how much it is overdue."""
    return wording.due_text(day, today)


@register.filter
def ago(day: date, today: date) -> str:
    """Return how far off a day is, without saying that it is overdue."""
    return when_text(day, today)


@register.filter
def kind(value: str) -> str:
    """Return what a kind of work is called."""
    return wording.kind_title(value)


@register.filter
def sentence(text: str) -> str:
    """Return text with a capital first letter and a full stop."""
    text = text.strip()
    if not text:
        return ""
    return text[0].upper() + text[1:] + ("" if text[-1] in ".!?…" else ".")


@register.filter
def hang(row: int) -> int:
    """Return how high above the foot of the line of weeks a peg of that row hangs. [px]"""
    return 109 + 26 * row

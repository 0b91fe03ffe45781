"""One ram: every examination on record, with its verdict, reasons, overrides and corrections."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from stell.core.protocol.ready import ReadyProtocol
from stell.core.records import Born, Ram, written_date
from stell.core.verdict import Action
from stell.services import protocols, rams
from stell.services.rams import HistoryEntry, RamHistory
from stell.services.todos import open_actions
from stell.web.clock import today
from stell.web.desk.findings import Stop, Why, reasons, walk
from stell.web.desk.tables import CONDITION, SIZE, figure
from stell.web.desk.wording import CIRCUMSTANCES, RAM_TYPES, USES


@dataclass(frozen=True, slots=True)
class Seen:
    """One examination as the page shows it.

    Attributes
    ----------
    entry : HistoryEntry
        As the service hands it out.
    reasons : list of Why
    stops : list of Stop
        Everything found.
    condition, size : str
        The two figures with a place of their own; empty when not measured.
    circumstances, restrictions : tuple of str
        In words.
    actions : tuple of Action
        What is still to be done: less what the vet's own verdict makes pointless, and deeds.
    protocol_id, protocol_version : str
        For the link.
    is_latest : bool
        The one that counts today.
    """

    entry: HistoryEntry
    reasons: list[Why]
    stops: list[Stop]
    condition: str
    size: str
    circumstances: tuple[str, ...]
    restrictions: tuple[str, ...]
    actions: tuple[Action, ...]
    protocol_id: str
    protocol_version: str
    is_latest: bool


@require_safe
def ram(request: HttpRequest, ram_id: UUID) -> HttpResponse:
    """Show everything on record for a ram."""
    history = rams.history(str(ram_id))
    seen = examinations(history, cache(protocols.load_registered))
    latest = next((s for s in seen if s.is_latest), None)
    return render(
        request,
        "desk/ram.html",
        {
            "ram": history.ram,
            "facts": facts(history.ram.ram),
            "latest": latest,
            "slaughter_notice": history.slaughter_notice(today()),
            "others": [s for s in seen if not s.is_latest],
            "comparisons": [comparison_lines(c) for c in history.comparisons],
        },
    )


def examinations(history: RamHistory, load: Callable[[str], ReadyProtocol]) -> list[Seen]:
    """Return the examinations, newest first; the first one that stands is the latest."""
    standing = next((e for e in history.entries if not e.corrected_by), None)
    return [_seen(entry, load(entry.protocol), entry is standing) for entry in history.entries]


def _seen(entry: HistoryEntry, protocol: ReadyProtocol, is_latest: bool) -> Seen:
    exam = entry.examination.exam
    name, _, version = entry.protocol.rpartition(" ")
    return Seen(
        entry=entry,
        reasons=reasons(entry.decision.proposed, protocol),
        stops=walk(exam, protocol),
        condition=figure(protocol, exam, CONDITION),
        size=figure(protocol, exam, SIZE),
        circumstances=tuple(str(CIRCUMSTANCES.get(c, c)) for c in exam.circumstances),
        restrictions=tuple(
            protocol.restrictions[r].title for r in entry.decision.proposed.restrictions
        ),
        actions=open_actions(entry.decision, entry.deeds),
        protocol_id=name,
        protocol_version=version,
        is_latest=is_latest,
    )


def facts(known: Ram) -> list[tuple[str, str]]:
    """Return what is known of the ram, for the head of his page."""
    pairs = [
        ("Tag", known.tag),
        ("Name", known.name),
        ("Electronic number", spaced_eid(known.eid)),
        ("Breed", known.breed.replace("_", " ").capitalize()),
        ("Type", str(RAM_TYPES.get(known.ram_type, known.ram_type))),
        ("Born", born_text(known.born)),
        ("Age class", known.age_class.replace("_", " ") if known.born is None else ""),
        ("Meant", str(USES.get(known.intended_use, known.intended_use))),
    ]
    return [(title, text) for title, text in pairs if text]


def spaced_eid(eid: str) -> str:
    """Return a 15-digit number as 3 and 12 digits, as it is read out.

    Examples
    --------
    >>> spaced_eid("826012345600042")
    '826 012345600042'
    """
    return f"{eid[:3]} {eid[3:]}" if len(eid) == 15 else eid


def born_text(born: Born | None) -> str:
    """Return when a ram was born, as well as it is known.

    Examples
    --------
    >>> born_text(Born.in_year(2024)), born_text(Born.on(date(2024, 3, 9)))
    ('2024', '9 Mar 2024')
    """
    if born is None:
        return ""
    if born.is_exact:
        return written_date(born.earliest)
    if born == Born.in_year(born.earliest.year):
        return str(born.earliest.year)
    if born == Born.in_month(born.earliest.year, born.earliest.month):
        return written_date(born.earliest).partition(" ")[2]
    return f"{written_date(born.earliest)} to {written_date(born.latest)}"


def comparison_lines(comparison: Any) -> dict[str, Any]:
    """Return a comparison with his own past: both days and its sentences, figures first."""
    now, then = comparison.now_on, comparison.then_on
    return {
        "now_on": now,
        "then_on": then,
        "measures": [m.sentence(now, then) for m in comparison.measures],
        "findings": [f.sentence(now, then) for f in comparison.findings],
    }

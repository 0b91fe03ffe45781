"""Backwards from the start of mating: what has to have happened by when, and who will be ready.

Figures come from the protocol (`Timing`); none stands here. Every milestone has
three days: by the figure's value, and by the high and low ends of its range (the longest lead
gives the earliest day).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from stell.core.errors import ValueRefused
from stell.core.leads import Lead, lead_of, span_text, when_text
from stell.core.protocol.schema import Timing
from stell.core.readiness import (
    DeferredOutlook,
    DeferredRam,
    PurchaseOutlook,
    by_need,
    deferred_outlook,
    purchase_outlook,
)
from stell.core.records import written_date

__all__ = [
    "DeferredOutlook",
    "DeferredRam",
    "Lead",
    "Milestone",
    "PurchaseOutlook",
    "Timetable",
    "timetable",
]

FIRST_YEAR, LAST_YEAR = 1900, 2200  # a day outside is a slip of the pen

# Code, the figures that are added up to the lead, title, and what it means.
_MILESTONES: tuple[tuple[str, tuple[str, ...], str, str], ...] = (
    (
        "ideal_examination",
        ("ideal_examination",),
        "Best day to examine",
        "the most can still be done about what is found",
    ),
    (
        "condition_lead",
        ("condition_lead",),
        "Start of feeding for condition",
        "condition is slow to come, so thin rams are fed up from this day at the latest",
    ),
    (
        "sperm_cycle",
        ("sperm_cycle",),
        "Last day to wait out a sperm cycle",
        "a ram put off for a whole sperm cycle after this day is not ready when the rams go in",
    ),
    (
        "last_sensible_examination",
        ("last_sensible_examination",),
        "Last sensible day to examine",
        "what can be treated can still be treated and looked at again",
    ),
    (
        "shearing_lead",
        ("shearing_lead",),
        "Last day to shear",
        "rams that are to be shorn are shorn by then",
    ),
    (
        "last_purchase",
        ("quarantine", "settling"),
        "Last useful day to buy or borrow",
        "quarantine and some time to settle still fit",
    ),
    (
        "early_reexamination",
        ("early_reexamination",),
        "Last day for a short deferral",
        "a ram put off for a short time can still be looked at again before the rams go in",
    ),
    (
        "stress_free",
        ("stress_free",),
        "Start of the quiet weeks",
        "no transport, dipping or mixing of rams that can wait",
    ),
    (
        "quarantine_ends",
        ("settling",),
        "End of quarantine",
        "a ram bought on the last useful day comes out and has time to settle",
    ),
    ("rams_in", (), "Rams in", "mating starts"),
)


@dataclass(frozen=True, slots=True)
class Milestone:
    """One day of the timetable.

    Attributes
    ----------
    code : str
        As in the protocol's timing, and ``last_purchase``, ``quarantine_ends``, ``rams_in``.
    title : str
        For a line of the timetable.
    on : date
        By the figure's value.
    earliest, latest : date
        By the high and the low end of the figure's range.
    lead : Lead
        Before the start of mating. [days]
    sentence : str
        What the day means, for people.
    """

    code: str
    title: str
    on: date
    earliest: date
    latest: date
    lead: Lead
    sentence: str

    @property
    def heading(self) -> str:
        """The title and how long before the rams go in, without what the day means."""
        return f"{self.title}{_before(self.lead)}"


@dataclass(frozen=True, slots=True)
class Timetable:
    """The whole answer for one flock on one day.

    Attributes
    ----------
    state : str
        ``ahead``, ``today``, ``begun``, or ``no_date``.
    mating_start_on : date or None
    today : date
    opening : str
        Where the flock stands, in a sentence.
    milestones : tuple of Milestone
        In order of days. Empty without a start of mating or without figures.
    purchase : PurchaseOutlook or None
    deferred : tuple of DeferredOutlook
        Late rams first, then by day.
    """

    state: str
    mating_start_on: date | None
    today: date
    opening: str
    milestones: tuple[Milestone, ...]
    purchase: PurchaseOutlook | None
    deferred: tuple[DeferredOutlook, ...]

    def milestone(self, code: str) -> Milestone | None:
        """Return the milestone of that code, or None."""
        return next((m for m in self.milestones if m.code == code), None)

    def sentences(self) -> tuple[str, ...]:
        """Return everything as plain text, a line each."""
        days = (
            f"{written_date(m.on)} ({when_text(m.on, self.today)}): {m.sentence}"
            for m in self.milestones
        )
        bought = self.purchase.sentences if self.purchase else ()
        return (self.opening, *days, *bought, *(d.sentence for d in self.deferred))


def timetable(
    mating_start_on: date | None,
    timing: Timing | None,
    *,
    today: date,
    deferred: Iterable[DeferredRam] = (),
) -> Timetable:
    """Return what a flock has to do by when, counted back from the start of mating.

    Parameters
    ----------
    mating_start_on : date or None
        The day the rams go in; None when it is not settled.
    timing : Timing or None
        ``protocol.spec.timing``; None when the protocol has no figures.
    today : date
    deferred : iterable of DeferredRam
        Rams who wait for a re-examination.

    Raises
    ------
    ValueRefused
        `value.date` for a day in a year that cannot be meant.
    ProtocolError
        When a figure is not in days or weeks, or its range does not hold its value.
    """
    rams = tuple(deferred)
    check_day(today, "the timetable")
    if mating_start_on is None:
        outlooks = tuple(deferred_outlook(ram, None, None, today) for ram in rams)
        opening = (
            "No start of mating is set for this flock, so nothing can be counted back from it; "
            "set the day the rams go in."
        )
        return Timetable("no_date", None, today, opening, (), None, by_need(outlooks))
    check_day(mating_start_on, "the start of mating")
    milestones = _milestones(mating_start_on, timing) if timing else ()
    purchase = purchase_outlook(mating_start_on, timing, today) if timing else None
    outlooks = tuple(deferred_outlook(ram, mating_start_on, purchase, today) for ram in rams)
    state, opening = _opening(mating_start_on, today)
    if timing is None:
        opening += " The protocol in use has no timing figures, so no days are counted back."
    return Timetable(
        state, mating_start_on, today, opening, milestones, purchase, by_need(outlooks)
    )


def check_day(day: date, what: str) -> None:
    """Refuse a day that is a slip of the pen.

    Parameters
    ----------
    day : date
    what : str
        What it is the day of, for the message.

    Raises
    ------
    ValueRefused
        `value.date`.
    """
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise ValueRefused(
            "value.date",
            f"the day of {what} lies in a year that cannot be meant",
            got=day.isoformat(),
            legal=f"years {FIRST_YEAR} to {LAST_YEAR}",
            example="2026-10-04",
        )


def _opening(start: date, today: date) -> tuple[str, str]:
    if today < start:
        return "ahead", f"Mating starts on {written_date(start)}, {when_text(start, today)}."
    if today == start:
        return "today", f"Mating starts today, {written_date(start)}."
    opening = f"Mating started on {written_date(start)}, {when_text(start, today)}: what follows "
    return (
        "begun",
        opening + "shows what was due by when. For the next season set its own start.",
    )


def _before(lead: Lead) -> str:
    return f" ({span_text(lead.days)} before the rams go in)" if lead.days else ""


def _milestones(start: date, timing: Timing) -> tuple[Milestone, ...]:
    found = []
    for code, figures, title, meaning in _MILESTONES:
        lead = Lead(0, 0, 0)
        for figure in figures:
            lead += lead_of(getattr(timing, figure), where=f"timing.{figure}")
        found.append(
            Milestone(
                code=code,
                title=title,
                on=start - timedelta(lead.days),
                earliest=start - timedelta(lead.high),
                latest=start - timedelta(lead.low),
                lead=lead,
                sentence=f"{title}{_before(lead)}: {meaning}.",
            )
        )
    return tuple(sorted(found, key=lambda m: m.on))

"""What a visit on a given day leaves: which lengths of deferral still fit before mating.

A visit five weeks ahead leaves room to look again after four weeks, and not after a whole sperm
cycle: a ram with a fever that day will not be known to be sound when the rams go in.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from stell.core.leads import lead_of, span_text
from stell.core.protocol.ready import ReadyProtocol
from stell.core.protocol.schema import Timing
from stell.core.readiness import DeferredRam
from stell.core.records import written_date
from stell.core.timetable import check_day


@dataclass(frozen=True, slots=True)
class DeferralFit:
    """One length of deferral, counted from the visit.

    Attributes
    ----------
    days : int
        Length. [days]
    title : str
        What it is for, or its length.
    reexamine_on : date
    fits : bool or None
        Ends no later than the day the rams go in. None without a start of mating.
    days_to_spare : int or None
        Negative when it does not fit. [days]
    """

    days: int
    title: str
    reexamine_on: date
    fits: bool | None
    days_to_spare: int | None


@dataclass(frozen=True, slots=True)
class VisitOutlook:
    """What a visit on that day leaves.

    Attributes
    ----------
    visit_on : date
    mating_start_on : date or None
    days_before : int or None
        From the visit to the start of mating; negative when the visit is later. [days]
    deferrals : tuple of DeferralFit
        Shortest first.
    can_still_buy : bool or None
        A ram bought on the day of the visit is ready at the start. None when not known.
    sentence : str
    """

    visit_on: date
    mating_start_on: date | None
    days_before: int | None
    deferrals: tuple[DeferralFit, ...]
    can_still_buy: bool | None
    sentence: str


def deferral_lengths(protocol: ReadyProtocol) -> tuple[int, ...]:
    """Return every length of deferral that a protocol knows, shortest first. [days]"""
    return tuple(sorted({e.days for _, rule in protocol.rules() for e in rule.effects if e.days}))


def what_a_visit_leaves(
    visit_on: date,
    mating_start_on: date | None,
    timing: Timing | None,
    lengths_days: Iterable[int] = (),
) -> VisitOutlook:
    """Return which lengths of deferral still fit between a visit and the start of mating.

    Parameters
    ----------
    visit_on : date
    mating_start_on : date or None
        The day the rams go in.
    timing : Timing or None
        Its early re-examination and its sperm cycle are always among the lengths.
    lengths_days : iterable of int
        More lengths, for example `deferral_lengths` of the protocol in use. [days]

    Raises
    ------
    ValueRefused
        `value.date` for a day in a year that cannot be meant.
    """
    check_day(visit_on, "the visit")
    if mating_start_on is not None:
        check_day(mating_start_on, "the start of mating")
    titles = {days: span_text(days) for days in lengths_days if days > 0}
    if timing is not None:
        early = lead_of(timing.early_reexamination, where="timing.early_reexamination").days
        cycle = lead_of(timing.sperm_cycle, where="timing.sperm_cycle").days
        titles |= {early: f"a short deferral ({span_text(early)})"}
        titles |= {cycle: f"a whole sperm cycle ({span_text(cycle)})"}
    before = None if mating_start_on is None else (mating_start_on - visit_on).days
    fits = tuple(_fit(visit_on, days, titles[days], before) for days in sorted(titles))
    return VisitOutlook(
        visit_on=visit_on,
        mating_start_on=mating_start_on,
        days_before=before,
        deferrals=fits,
        can_still_buy=_can_still_buy(before, timing),
        sentence=_sentence(visit_on, mating_start_on, before, fits),
    )


def rams_caught_by(
    visit_on: date, mating_start_on: date | None, deferred: Iterable[DeferredRam]
) -> tuple[DeferredRam, ...]:
    """Return the rams for whom a visit on that day comes too late.

    Each is taken to be put off on `visit_on` for as long as he was put off. The day the rams go in
    is not too late. Without a start of mating none is caught.

    Parameters
    ----------
    visit_on : date
    mating_start_on : date or None
    deferred : iterable of DeferredRam
    """
    if mating_start_on is None:
        return ()
    before = (mating_start_on - visit_on).days
    return tuple(ram for ram in deferred if ram.days > before)


def _fit(visit_on: date, days: int, title: str, before: int | None) -> DeferralFit:
    spare = None if before is None else before - days
    fits = None if spare is None else spare >= 0
    return DeferralFit(days, title, visit_on + timedelta(days), fits, spare)


def _can_still_buy(before: int | None, timing: Timing | None) -> bool | None:
    if before is None or timing is None:
        return None
    whole = lead_of(timing.quarantine) + lead_of(timing.settling)
    return before >= whole.days


def _sentence(
    visit_on: date, start: date | None, before: int | None, fits: tuple[DeferralFit, ...]
) -> str:
    on = f"A visit on {written_date(visit_on)}"
    if start is None or before is None:
        return f"{on}: no start of mating is set, so what it leaves cannot be said."
    if before < 0:
        return (
            f"{on} comes {span_text(-before)} after the rams went in on {written_date(start)}: "
            "no deferral fits; what is found asks for cover at once."
        )
    still = [f.title for f in fits if f.fits]
    gone = [f.title for f in fits if not f.fits]
    ahead = f"{span_text(before)} before the rams go in" if before else "the day the rams go in"
    parts = [f"{on}, {ahead}"]
    if still:
        parts.append(f"there is time for {_listed(still, 'and')}")
    if gone:
        parts.append(f"there is no time for {_listed(gone, 'or')}")
    return "; ".join(parts) + "."


def _listed(words: list[str], joint: str) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {joint} {words[-1]}"

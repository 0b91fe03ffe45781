"""Who will be ready for mating: deferred rams, and rams that could still be bought.

- A ram whose re-examination falls on the very day the rams go in is in time, with 0 days to spare.
- A ram whose re-examination is overdue can be seen today at the earliest, so today counts.
- The last useful day to buy leaves room for quarantine and then for settling, one after the other.
  On that day itself it is not too late.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from stell.core.leads import lead_of, span_text, when_text
from stell.core.protocol.schema import Timing
from stell.core.records import written_date


@dataclass(frozen=True, slots=True)
class DeferredRam:
    """A ram who was put off.

    Attributes
    ----------
    ram_id, label : str
        Who, and what people call him.
    examined_on, reexamine_on : date
        When he was put off, and until when.
    why : str
        The reason, for people.
    """

    ram_id: str
    label: str
    examined_on: date
    reexamine_on: date
    why: str = ""

    @property
    def days(self) -> int:
        """For how long he was put off. [days]"""
        return (self.reexamine_on - self.examined_on).days


@dataclass(frozen=True, slots=True)
class DeferredOutlook:
    """Whether a deferred ram can be ready, and until when to decide about a replacement.

    Attributes
    ----------
    ram : DeferredRam
    seen_on : date
        His re-examination; today when that is overdue.
    ready_in_time : bool or None
        `seen_on` is no later than the start of mating. None without a start.
    days_to_spare : int or None
        From `seen_on` to the start of mating; negative when he is late. [days]
    overdue_days : int
        0 when his day has not passed. [days]
    decide_by : date or None
        Last useful day to buy. None without a start or without figures.
    after_last_purchase : bool or None
        His answer comes when it is too late to buy.
    advice : str
        ``wait`` (see him, then decide), ``cover_now`` (his answer comes too late to buy),
        ``too_late`` (he misses the start), ``unknown`` (no start of mating).
    sentence : str
    """

    ram: DeferredRam
    seen_on: date
    ready_in_time: bool | None
    days_to_spare: int | None
    overdue_days: int
    decide_by: date | None
    after_last_purchase: bool | None
    advice: str
    sentence: str


@dataclass(frozen=True, slots=True)
class PurchaseOutlook:
    """Whether a bought or borrowed ram can still be ready.

    Attributes
    ----------
    last_on : date
        Last useful day, by the figures' values.
    last_on_shortest : date
        The same by the low ends of their ranges.
    days_left : int
        Negative when `last_on` has passed. [days]
    out_of_quarantine_on, ready_on : date
        For a ram bought today.
    days_into_mating : int
        From the start of mating to `ready_on`; 0 or less when he is in time. [days]
    sentences : tuple of str
    """

    last_on: date
    last_on_shortest: date
    days_left: int
    out_of_quarantine_on: date
    ready_on: date
    days_into_mating: int
    sentences: tuple[str, ...]


def purchase_outlook(start: date, timing: Timing, today: date) -> PurchaseOutlook:
    """Return whether a ram bought or borrowed today can be ready.

    Parameters
    ----------
    start : date
        The day the rams go in.
    timing : Timing
        Its quarantine and settling, one after the other.
    today : date
    """
    quarantine = lead_of(timing.quarantine, where="timing.quarantine")
    whole = quarantine + lead_of(timing.settling, where="timing.settling")
    last_on = start - timedelta(whole.days)
    shortest = start - timedelta(whole.low)
    out_on = today + timedelta(quarantine.days)
    ready_on = today + timedelta(whole.days)
    if today <= last_on:
        by = f"Buy or borrow by {written_date(last_on)} ({when_text(last_on, today)})"
        said: tuple[str, ...] = (f"{by} if rams are short: quarantine and settling still fit.",)
    else:
        said = (
            _bought_late(start, last_on, out_on, ready_on, today),
            *_still_possible(start, shortest, ready_on, today),
            f"Do not cut quarantine below {span_text(quarantine.low)}.",
        )
    return PurchaseOutlook(
        last_on=last_on,
        last_on_shortest=shortest,
        days_left=(last_on - today).days,
        out_of_quarantine_on=out_on,
        ready_on=ready_on,
        days_into_mating=(ready_on - start).days,
        sentences=said,
    )


def _bought_late(start: date, last_on: date, out_on: date, ready_on: date, today: date) -> str:
    """Say how late it is to buy, and when a ram bought today would be ready."""
    late = (ready_on - start).days
    return (
        f"The last useful day to buy or borrow was {written_date(last_on)}, "
        f"{when_text(last_on, today)}. A ram bought today leaves quarantine on "
        f"{written_date(out_on)} and has settled by {written_date(ready_on)}, "
        f"{span_text(late)} after mating starts."
    )


def _still_possible(start: date, shortest: date, ready_on: date, today: date) -> tuple[str, ...]:
    """Say what can still be done when the last useful day to buy has passed."""
    ready = written_date(ready_on)
    share = "share the ewes among the sound rams; or"
    if today >= start:
        return (f"Still possible: {share} buy now, if mating goes on beyond {ready}.",)
    join = "buy now and let him join then"
    lines = (f"Still possible: {join}; {share} let mating start on {ready}.",)
    if today > shortest:
        return lines
    in_time = "With the shortest quarantine and settling that the protocol gives, "
    return (f"{in_time}he is in time if he comes by {written_date(shortest)}.", *lines)


def deferred_outlook(
    ram: DeferredRam, start: date | None, purchase: PurchaseOutlook | None, today: date
) -> DeferredOutlook:
    """Return whether a deferred ram can be ready.

    Parameters
    ----------
    ram : DeferredRam
    start : date or None
        The day the rams go in.
    purchase : PurchaseOutlook or None
        None without a start or without figures.
    today : date
    """
    seen_on = max(ram.reexamine_on, today)
    ready = None if start is None else seen_on <= start
    last_on = purchase.last_on if purchase else None
    after = None if last_on is None else seen_on > last_on
    if ready is None:
        advice = "unknown"
    elif not ready:
        advice = "too_late"
    else:
        advice = "cover_now" if after else "wait"
    overdue = max((today - ram.reexamine_on).days, 0)
    return DeferredOutlook(
        ram=ram,
        seen_on=seen_on,
        ready_in_time=ready,
        days_to_spare=None if start is None else (start - seen_on).days,
        overdue_days=overdue,
        decide_by=last_on,
        after_last_purchase=after,
        advice=advice,
        sentence=_deferred_sentence(ram, start, purchase, seen_on, advice, today),
    )


def _deferred_sentence(
    ram: DeferredRam,
    start: date | None,
    purchase: PurchaseOutlook | None,
    seen_on: date,
    advice: str,
    today: date,
) -> str:
    why = f" ({ram.why})" if ram.why else ""
    if ram.reexamine_on < today:
        due = (
            f"{ram.label}{why} was to be examined again on {written_date(ram.reexamine_on)}, "
            f"{when_text(ram.reexamine_on, today)}: do it now"
        )
    else:
        due = f"{ram.label}{why} is to be examined again on {written_date(ram.reexamine_on)}"
    if start is None or advice == "unknown":
        return f"{due}. Whether that is in time cannot be said without a start of mating."
    spare = abs((start - seen_on).days)
    if advice == "too_late":
        late = f"{due}; that is {span_text(spare)} too late for the start of mating. "
        return late + _find_cover(purchase, seen_on, today)
    left = f", {span_text(spare)} before the rams go in" if spare else ", the day the rams go in"
    if advice == "cover_now":
        cover = _find_cover(purchase, seen_on, today)
        return f"{due}{left}, but after the last useful day to buy. {cover}"
    if purchase is None:
        return f"{due}{left}."
    return f"{due}{left}, and a replacement can be bought until {written_date(purchase.last_on)}."


def _find_cover(purchase: PurchaseOutlook | None, seen_on: date, today: date) -> str:
    """Return the advice to replace him, with the day until which that is of use."""
    if purchase is None:
        return "Find cover for his ewes now."
    if today > purchase.last_on:
        advice = "Share out his ewes or find cover now, do not wait."
    else:
        by = written_date(purchase.last_on)
        advice = f"Buy or borrow cover now, by {by} at the latest, do not wait."
    if seen_on > purchase.last_on_shortest:
        return advice
    by = written_date(purchase.last_on_shortest)
    return (
        f"{advice} With the shortest quarantine and settling of the protocol a replacement can "
        f"come until {by}."
    )


def by_need(outlooks: Sequence[DeferredOutlook]) -> tuple[DeferredOutlook, ...]:
    """Return the rams that ask for a decision first: late, unanswered in time to buy, waiting."""
    rank = {"too_late": 0, "cover_now": 1, "wait": 2, "unknown": 3}
    return tuple(sorted(outlooks, key=lambda d: (rank[d.advice], d.ram.reexamine_on, d.ram.label)))

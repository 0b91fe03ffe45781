"""What the owner is told of single rams in whole sentences: who is looked at again, and the others.

Rams of whom the same is to be said stand together, and what holds for several is said once.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date

from stell.core.protocol.ready import ReadyProtocol
from stell.core.readiness import DeferredOutlook, PurchaseOutlook
from stell.core.records import Ram, written_date
from stell.core.standing import standing_actions
from stell.core.timetable import Timetable
from stell.core.verdict import Decision, Outcome, Reason, Verdict
from stell.press.wording import counted, sentence, weekday_date
from stell.reports.briefly import brief_borderline, brief_missing, briefs
from stell.reports.judged import JudgedRam
from stell.reports.owner_values import LookAgain, Named, PlainWords
from stell.reports.todo import due_words, named
from stell.reports.wording import OWN_VERDICT, WARNINGS

_MOST_OPEN = 3  # open points told one by one


# ---------------------------------------------------------------- rams to be looked at again


def look_again(
    rams: Sequence[JudgedRam], table: Timetable, protocol: ReadyProtocol, today: date
) -> tuple[LookAgain, ...]:
    """Return the deferred rams, those who need a decision first, same findings together."""
    outlooks = {d.ram.ram_id: d for d in table.deferred}
    rank = {ram_id: i for i, ram_id in enumerate(outlooks)}
    waiting = [j for j in rams if j.outcome is Outcome.DEFERRED]
    waiting.sort(key=lambda j: rank.get(j.ram.ram_id, len(rank)))
    groups: dict[LookAgain, list[Named]] = {}
    for judged in waiting:
        line = _line(judged, outlooks.get(judged.ram.ram_id), judged.protocol or protocol, today)
        groups.setdefault(line, []).append(named_ram(judged.ram))
    lines = [replace(line, rams=tuple(rams)) for line, rams in groups.items()]
    return tuple(_without_repeats(lines))


def _without_repeats(lines: Sequence[LookAgain]) -> Iterable[LookAgain]:
    """Yield the lines; words that stood before are not said again, only where they stand."""
    first: dict[tuple[str, ...], str] = {}
    for line in lines:
        told = line.meanwhile
        if told in first:
            yield replace(line, meanwhile=(f"As for {first[told]}.",))
        else:
            yield line
        first.setdefault(told, line.rams[0].tag)


def _line(
    judged: JudgedRam, outlook: DeferredOutlook | None, protocol: ReadyProtocol, today: date
) -> LookAgain:
    """Return what is said of one deferred ram, without his name."""
    decision = judged.decision
    why = briefs(deferring(decision.proposed)) or OWN_VERDICT
    told = tuple(_told(decision, protocol))
    if outlook is None:
        return LookAgain((), why, "ask the vet for the day", "", "", "not known", told)
    due, away = due_words(outlook.seen_on, [outlook.ram.reexamine_on], today)
    if due != "now":
        away = ""
    return LookAgain((), why, due, away, _before(outlook), _in_time(outlook), told)


def deferring(verdict: Verdict) -> list[Reason]:
    """Return the reasons that put a ram off."""
    return [r for r in verdict.reasons if any(e.days for e in r.effects)]


def _before(outlook: DeferredOutlook) -> str:
    spare = outlook.days_to_spare
    if spare is None:
        return ""
    if spare == 0:
        return "the same day"
    return counted(spare, "day") if spare > 0 else f"{counted(-spare, 'day')} after"


def _in_time(outlook: DeferredOutlook) -> str:
    return {
        "too_late": "no",
        "cover_now": "yes",
        "wait": "yes",
        "unknown": "not known",
    }[outlook.advice]


def advice(table: Timetable, today: date) -> tuple[str, ...]:
    """Return what holds for several deferred rams, most pressing first."""
    by_need: dict[str, list[DeferredOutlook]] = {}
    for outlook in table.deferred:
        by_need.setdefault(outlook.advice, []).append(outlook)
    bought = table.purchase
    still = bought if bought and today <= bought.last_on else None
    said: list[str] = []
    for need in ("too_late", "cover_now"):
        if some := by_need.get(need):
            who = "All of them" if len(some) == len(table.deferred) > 1 else ""
            said += _cover(some, who, still, late=need == "too_late")
    if bought and not still and said:
        said += bought.sentences
    if still and (waiting := by_need.get("wait")):
        who, until = named([d.ram.label for d in waiting]), written_date(still.last_on)
        said.append(f"{who}: a replacement can still be bought after the answer, until {until}.")
    if "unknown" in by_need:
        said.append("Whether that is in time cannot be said without a start of mating.")
    return tuple(said)


def _cover(
    some: Sequence[DeferredOutlook], who: str, still: PurchaseOutlook | None, *, late: bool
) -> Iterable[str]:
    """Yield what to do for rams whose answer comes too late to buy, or after the rams go in.

    Parameters
    ----------
    some : sequence of DeferredOutlook
    who : str
        In place of their labels.
    still : PurchaseOutlook or None
        None when it is too late to buy.
    late : bool
        They miss the start of mating.
    """
    whose, them = ("his", "him") if len(some) == 1 and not who else ("their", "them")
    comes = f"{whose} day comes after the rams go in" if late else f"{whose} answer comes after"
    who = who or named([d.ram.label for d in some])
    if still is None:
        comes += "" if late else " the last useful day to buy or borrow"
        yield f"{who}: {comes}. If you cannot do without {them}, share out {whose} ewes."
        return
    by = weekday_date(still.last_on)
    last = "the last useful day to buy or borrow"
    comes = f"{comes}; {last} is {by}" if late else f"{comes} {last}, {by}"
    yield f"{who}: {comes}. If you cannot do without {them}, find cover by then; do not wait."
    early = [d.ram.label for d in some if d.seen_on <= still.last_on_shortest]
    if early:
        yield (
            "With the shortest quarantine and settling of the protocol a replacement can come "
            f"until {written_date(still.last_on_shortest)}, which leaves time to see "
            f"{named(early)} first."
        )


# ---------------------------------------------------------------- the other rams


def plain_words(rams: Iterable[JudgedRam], protocol: ReadyProtocol) -> tuple[PlainWords, ...]:
    """Return what the owner is told of the rams that are not deferred, same findings together."""
    groups: dict[tuple[str, str, tuple[str, ...]], list[Named]] = {}
    for judged in rams:
        if judged.outcome is Outcome.DEFERRED:
            continue
        by = judged.protocol or protocol
        told = tuple(_told(judged.decision, by))
        if told:
            found = _found(judged.decision, by)
            key = (judged.outcome.value, found, told)
            groups.setdefault(key, []).append(named_ram(judged.ram))
    return tuple(
        PlainWords(outcome, tuple(some), found, told)
        for (outcome, found, told), some in groups.items()
    )


def _found(decision: Decision, protocol: ReadyProtocol) -> str:
    verdict = decision.proposed
    still = () if decision.outcome is Outcome.UNSATISFACTORY else verdict.missing
    parts = (
        briefs(verdict.reasons),
        brief_missing(still, protocol),
        brief_borderline(verdict.borderline),
    )
    return ", ".join(p for p in parts if p) or OWN_VERDICT


def _told(decision: Decision, protocol: ReadyProtocol) -> Iterable[str]:
    """Yield what the owner is told of one ram, the vet's own verdict first."""
    verdict, own = decision.proposed, decision.override
    if own is not None:
        yield (
            f"The vet's own verdict, {own.outcome.value}: {sentence(own.reason)} ({own.by}, "
            f"{written_date(own.on)}. The protocol's proposal was “{verdict.headline}”; both stay "
            "on record.)"
        )
    standing = (r.rule.owner for r in _standing(decision))
    yield from dict.fromkeys(sentence(words) for words in standing if words)
    for restriction in verdict.restrictions:
        yield protocol.restrictions[restriction].owner
    yield from _fits_use(verdict)
    if decision.outcome is not Outcome.UNSATISFACTORY:
        yield from _open_points(verdict)


def _standing(decision: Decision) -> list[Reason]:
    """Return the reasons whose words still hold once the vet has decided.

    Words that go with actions which the vet's own verdict has set aside would speak against it.
    """
    reasons = decision.proposed.reasons
    stand = {rule for a in standing_actions(decision) for rule in a.rules}
    gone = {rule for a in decision.proposed.actions for rule in a.rules} - stand
    return [r for r in reasons if r.rule.rule_id not in gone]


def _open_points(verdict: Verdict) -> Iterable[str]:
    points = [sentence(m.sentence) for m in verdict.missing]
    yield from points[:_MOST_OPEN]
    if len(points) > _MOST_OPEN:
        more = counted(len(points) - _MOST_OPEN, "more point is", "more points are")
        yield f"{more} still open; they are named at the end."
    yield from (sentence(b.sentence) for b in verdict.borderline)


def _fits_use(verdict: Verdict) -> Iterable[str]:
    if not verdict.restrictions or verdict.fits_intended_use:
        return
    if verdict.fits_intended_use is None:
        yield "Whether that matters depends on what he is meant to sire, which is not recorded."
    else:
        yield "That speaks against the use he is meant for."


def warnings(rams: Iterable[JudgedRam], shorts: dict[str, str]) -> tuple[str, ...]:
    """Return what nobody may overlook, each with the rams it concerns."""
    flagged: dict[str, list[str]] = {}
    for judged in rams:
        for flag in dict.fromkeys(f for r in judged.reasons for f in r.rule.flags):
            flagged.setdefault(flag, []).append(shorts[judged.ram.ram_id])
    return tuple(
        f"{said}: {named(flagged[flag])}. {rest}"
        for flag, (said, rest) in WARNINGS.items()
        if flag in flagged
    )


def named_ram(ram: Ram) -> Named:
    """Return him as the owner knows him."""
    return Named(ram.tag or ram.eid or ram.label, ram.name if ram.tag or ram.eid else "")

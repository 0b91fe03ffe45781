"""A ram against his own past: real changes, and lasting faults that are not found now."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from stell.core.lasting import FoundEarlier
from stell.core.protocol.ready import ReadyProtocol
from stell.press.wording import month_year
from stell.reports.judged import JudgedRam
from stell.reports.todo import MANY_RAMS

_THIS_TIME = {True: "Found earlier, not this time", False: "Found earlier, not looked at this time"}
_ASK = {True: "ask the vet which is right", False: "ask the vet to look"}


def changed(judged: JudgedRam, protocol: ReadyProtocol) -> tuple[str, ...]:
    """Return the measures that have really changed, a few words each, in the order of the walk.

    For example ``Circumference 2.6 cm less than Aug 2025, more than measuring and season explain``.
    """
    if judged.compared is None:
        return ()
    then_on = judged.compared.then_on
    return tuple(
        f"{_title(m.check_id, m.title, protocol)} {m.in_brief(then_on)}"
        for m in judged.compared.real_changes
    )


def _title(check_id: str, title: str, protocol: ReadyProtocol) -> str:
    check = protocol.checks.get(check_id)
    return (check.spec.short or title) if check else title


def earlier_faults(judged: JudgedRam) -> tuple[str, ...]:
    """Return what was found on him earlier and not now, and whom to ask, a sentence each."""
    return tuple(
        f"{_THIS_TIME[f.looked_at]}: {_fault(f)}: {_ASK[f.looked_at]}" for f in judged.found_earlier
    )


def _fault(found: FoundEarlier) -> str:
    return f"{found.brief} ({month_year(found.found_on)})"


def earlier_warnings(rams: Iterable[JudgedRam], shorts: Mapping[str, str]) -> tuple[str, ...]:
    """Return the same for the whole flock, for page one; of many rams only how many there are.

    Parameters
    ----------
    rams : iterable of JudgedRam
    shorts : mapping of str to str
        Labels by ram id.
    """
    said: dict[bool, dict[str, dict[str, None]]] = {True: {}, False: {}}
    for judged in rams:
        for found in judged.found_earlier:
            some = said[found.looked_at].setdefault(shorts[judged.ram.ram_id], {})
            some[_fault(found)] = None
    return tuple(
        f"{_THIS_TIME[looked_at]}: {_whose(some)}: {_ASK[looked_at]}."
        for looked_at, some in said.items()
        if some
    )


def _whose(some: Mapping[str, Iterable[str]]) -> str:
    if len(some) > MANY_RAMS:
        return f"lasting faults of {len(some)} rams, named under “Ram by ram”"
    return "; ".join(f"{label} {', '.join(faults)}" for label, faults in some.items())

"""What was found, in the few words that a list has room for."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from stell.core.protocol.ready import ReadyProtocol
from stell.core.verdict import Borderline, Missing, Reason
from stell.press.wording import counted, listed, shortened

_MOST = 40  # as many characters as a protocol may give
_MOST_OPEN = 2  # open points that are named one by one
_CUT = re.compile(r"\s*[,:;(].*")


def brief(reason: Reason) -> str:
    """Return a finding in the protocol's words for owners, else its label cut short.

    For example ``soft testicles``; without such words ``tone of the testis: soft``.
    """
    if reason.rule.brief:
        return reason.rule.brief
    check = reason.check.spec.short or reason.check.spec.title
    found = _CUT.sub("", reason.rule.label) if reason.band is None else reason.rule.label
    return shortened(f"{_lowered(check)}: {found}", _MOST)


def briefs(reasons: Iterable[Reason]) -> str:
    """Return several findings, each said once."""
    return ", ".join(dict.fromkeys(brief(r) for r in reasons))


def brief_missing(missing: Sequence[Missing], protocol: ReadyProtocol) -> str:
    """Return what is still open, for example ``penis not yet examined``."""
    titles = list(dict.fromkeys(_lowered(_short(m, protocol)) for m in missing))
    left = all(m.why == "not_examined" for m in missing)
    state = "not yet examined" if left else "not yet judged"
    if len(titles) > _MOST_OPEN:
        return f"{counted(len(titles), 'point')} {state}"
    return f"{listed(titles)} {state}" if titles else ""


def _short(missing: Missing, protocol: ReadyProtocol) -> str:
    check = protocol.checks.get(missing.check_id)
    if check is None or check.short.endswith("."):  # "Temp." is for columns
        return missing.title
    return check.short


def brief_borderline(borderline: Sequence[Borderline]) -> str:
    """Return what lies too close to a limit."""
    titles = (_lowered(b.check.spec.short or b.check.title) for b in borderline)
    return f"{listed(dict.fromkeys(titles))} close to a limit" if borderline else ""


def findings(reasons: Iterable[Reason]) -> tuple[str, ...]:
    """Return what was found, both sides of a ram in one.

    For example ``Gait: lame, but bears weight`` and ``Tone of the testis (left and right): soft``.
    """
    sides: dict[tuple[str, str], list[str]] = {}
    for reason in reasons:
        found = reason.rule.label if reason.band is None else reason.rule.classed.replace("_", " ")
        sides.setdefault((reason.check.spec.title, found), []).append(reason.check.side)
    return tuple(
        f"{title} ({listed(s for s in where)}): {found}" if any(where) else f"{title}: {found}"
        for (title, found), where in sides.items()
    )


def _lowered(title: str) -> str:
    """Return a title as it stands within a sentence; what begins with two capitals stays."""
    return title[:1].lower() + title[1:] if title[1:2].islower() else title

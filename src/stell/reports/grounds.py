"""Why: every rule that spoke, once for all rams it spoke of, and what else is on record."""

from __future__ import annotations

from collections.abc import Iterable, Sequence, Sized
from dataclasses import dataclass, field
from datetime import date

from stell.core.protocol.ready import ReadyProtocol
from stell.core.records import written_date
from stell.core.verdict import Reason, band_text
from stell.press.wording import counted, listed, sentence
from stell.reports.figures import figure_text
from stell.reports.judged import JudgedRam
from stell.reports.lines import Bibliography
from stell.reports.owner_values import Ground, Remark
from stell.reports.wording import BASIS, FLAGS, effect_text

_Key = tuple[str, str, tuple[str, ...], str]


@dataclass(slots=True)
class _Found:
    """One rule in the making: who met it, and on which sides or with which figure."""

    reason: Reason
    protocol: ReadyProtocol
    rams: dict[str, list[str]] = field(default_factory=dict)


def grounds(
    rams: Sequence[JudgedRam], shorts: dict[str, str], protocol: ReadyProtocol, cited: Bibliography
) -> tuple[Ground, ...]:
    """Return every rule with the rams it spoke of, worst first, then in the order of the walk.

    Parameters
    ----------
    rams : sequence of JudgedRam
    shorts : dict of str to str
        Labels by ram id.
    protocol : ReadyProtocol
        For rams that no other version judged.
    cited : Bibliography
        Takes up what the rules rest on.
    """
    found: dict[_Key, _Found] = {}
    for judged in rams:
        by = judged.protocol or protocol
        for reason in judged.reasons:
            one = found.setdefault(_key(reason, by), _Found(reason, by))
            detail = reason.check.side or figure_text(reason)
            one.rams.setdefault(shorts[judged.ram.ram_id], []).append(detail)

    def place(one: _Found) -> tuple[int, int]:
        return (-one.reason.severity, one.protocol.order.get(one.reason.check.id, 0))

    return tuple(_ground(one, cited) for one in sorted(found.values(), key=place))


def _key(reason: Reason, protocol: ReadyProtocol) -> _Key:
    """Return what makes two reasons the same: rule whatever the side, and what followed."""
    rule = reason.rule.rule_id.partition(".")[2]
    return (protocol.named, f"{reason.check.base}.{rule}", _follows(reason), reason.rule.do)


def _follows(reason: Reason) -> tuple[str, ...]:
    return tuple(dict.fromkeys(effect_text(e.kind, e.days) for e in reason.effects))


def _ground(one: _Found, cited: Bibliography) -> Ground:
    reason, origin = one.reason, one.reason.origin
    return Ground(
        found=_title(reason),
        rams=tuple(_who(label, details) for label, details in one.rams.items()),
        follows=sentence("; ".join(_follows(reason))),
        do=reason.rule.do,
        flags=tuple(sentence(FLAGS.get(f, f.replace("_", " "))) for f in reason.rule.flags),
        source=cited.number(origin.source, one.protocol),
        where=origin.where,
        basis=BASIS[origin.basis],
    )


def _title(reason: Reason) -> str:
    title = reason.check.spec.title
    if reason.band is None or reason.standard is None:
        return sentence(f"{title}: {reason.rule.label}")
    return sentence(f"{title} {band_text(reason.check, reason.band)} ({reason.standard.title})")


def _who(label: str, details: Sequence[str]) -> str:
    said = listed(d for d in details if d)
    return f"{label} ({said})" if said else label


# ---------------------------------------------------------------- what else is on record


def remarks(rams: Iterable[JudgedRam], shorts: dict[str, str]) -> tuple[Remark, ...]:
    """Return what is open, close to a limit, noted or unjudged.

    A note on a ram with nothing found is left out: it says that all was normal.
    """
    said: dict[str, dict[str, str]] = {"Still open": {}, "Close to a limit": {}, "Notes": {}}
    unjudged: dict[str, list[str]] = {}
    for judged in rams:
        verdict, label = judged.decision.proposed, shorts[judged.ram.ram_id]
        told = verdict.reasons or verdict.missing or judged.decision.override
        said["Still open"][label] = " ".join(sentence(m.sentence) for m in verdict.missing)
        said["Close to a limit"][label] = " ".join(sentence(b.sentence) for b in verdict.borderline)
        said["Notes"][label] = sentence(judged.exam.note) if told else ""
        if verdict.not_covered:
            others = listed(c.replace("_", " ") for c in verdict.not_covered)
            unjudged.setdefault(sentence(others), []).append(label)
    said["Looked at, but not judged by this protocol"] = {
        ", ".join(labels): others for others, labels in unjudged.items()
    }
    found = (
        Remark(title, tuple((label, text) for label, text in some.items() if text))
        for title, some in said.items()
    )
    return tuple(r for r in found if r.said)


def visits(rams: Iterable[JudgedRam], shorts: dict[str, str]) -> tuple[str, ...]:
    """Return who was examined on which day by whom, in the order of days.

    Of several visits the one with most rams names none of them: it is all others.
    """
    seen: dict[tuple[date, str], list[str]] = {}
    for judged in rams:
        key = (judged.exam.examined_on, judged.exam.examiner)
        seen.setdefault(key, []).append(shorts[judged.ram.ram_id])
    most = max(seen, key=lambda key: len(seen[key]), default=None)
    return tuple(
        f"{written_date(on)}{f' by {by}' if by else ''}: {_which(labels, (on, by) == most, seen)}."
        for (on, by), labels in sorted(seen.items())
    )


def _which(labels: Sequence[str], is_most: bool, seen: Sized) -> str:
    if not is_most:
        return ", ".join(labels)
    return "all others" if len(seen) > 1 else counted(len(labels), "ram")

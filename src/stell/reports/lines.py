"""One judged ram as a report says him: his line, the reasons behind it, and what they rest on."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from stell.core.protocol.ready import ReadyCheck, ReadyProtocol
from stell.core.protocol.schema import Source
from stell.core.readiness import DeferredOutlook
from stell.core.records import written_date
from stell.core.verdict import Decision, Reason, Verdict
from stell.press.wording import age_text, sentence
from stell.reports.against_past import changed, earlier_faults
from stell.reports.briefly import findings
from stell.reports.figures import measured
from stell.reports.judged import JudgedRam
from stell.reports.todo import next_step
from stell.reports.values import Cited, OwnVerdict, RamLine, Why
from stell.reports.wording import BASIS, FLAGS, effect_text, ready_text

READ = {
    "whole": "",
    "part": "read in part",
    "abstract": "abstract read",
    "secondary": "met where another reports it",
    "not-seen": "not seen, recalled",
}


def ram_line(
    judged: JudgedRam,
    protocol: ReadyProtocol,
    columns: Sequence[ReadyCheck],
    cited: Bibliography,
    today: date,
    outlook: DeferredOutlook | None = None,
) -> RamLine:
    """Return a ram's line.

    Parameters
    ----------
    judged : JudgedRam
    protocol : ReadyProtocol
        By which the report is written; his own judge goes before it.
    columns : sequence of ReadyCheck
        The measured checks that have a column.
    cited : Bibliography
        Takes up what his reasons rest on.
    today : date
    outlook : DeferredOutlook or None
        Of a deferred ram, from the timetable.
    """
    ram, exam, decision = judged.ram, judged.exam, judged.decision
    protocol = judged.protocol or protocol
    verdict = decision.proposed
    outcome = decision.outcome
    age_class = protocol.age_classes.get(ram.age_class)
    return RamLine(
        label=ram.label,
        tag=ram.tag or ram.eid,
        name=ram.name,
        kind=", ".join(part.replace("_", " ") for part in (ram.breed, ram.ram_type) if part),
        age=age_text(verdict.age, age_class.title if age_class and not ram.born else ""),
        outcome=outcome.value,
        headline=verdict.headline if decision.override is None else outcome.value,
        measured=tuple(measured(protocol.checks.get(c.id, c), judged, protocol) for c in columns),
        findings=findings(verdict.reasons),
        next_step=next_step(decision, today),
        ready=_ready(decision, outlook),
        reasons=tuple(_why(r, protocol, cited) for r in verdict.reasons),
        missing=tuple(sentence(m.sentence) for m in verdict.missing),
        borderline=tuple(sentence(b.sentence) for b in verdict.borderline),
        restrictions=tuple(_restriction(protocol, r) for r in verdict.restrictions),
        fits_use=_fits_use(verdict),
        own_verdict=_own_verdict(decision),
        note=exam.note,
        examined_on=written_date(exam.examined_on),
        examiner=exam.examiner,
        not_covered=tuple(c.replace("_", " ") for c in verdict.not_covered),
        changed=changed(judged, protocol),
        earlier=earlier_faults(judged),
    )


def _ready(decision: Decision, outlook: DeferredOutlook | None) -> str:
    """Say whether he can work when the rams go in; of a deferred ram the outlook knows it."""
    if outlook is not None:
        return ready_text(decision.outcome, outlook.ready_in_time, outlook.seen_on)
    proposed = decision.proposed
    same = decision.outcome is proposed.outcome
    return ready_text(
        decision.outcome, proposed.ready_in_time if same else None, proposed.reexamine_on
    )


def _restriction(protocol: ReadyProtocol, restriction_id: str) -> str:
    restriction = protocol.restrictions[restriction_id]
    return f"{sentence(restriction.title)} {restriction.owner}"


def _fits_use(verdict: Verdict) -> str:
    if not verdict.restrictions or verdict.fits_intended_use:
        return ""
    if verdict.fits_intended_use is None:
        return "Whether that matters depends on what he is meant to sire, which is not recorded."
    return "That speaks against the use he is meant for."


def _own_verdict(decision: Decision) -> OwnVerdict | None:
    own = decision.override
    if own is None:
        return None
    return OwnVerdict(
        decision.proposed.headline, own.outcome.value, own.reason, own.by, written_date(own.on)
    )


def _why(reason: Reason, protocol: ReadyProtocol, cited: Bibliography) -> Why:
    origin = reason.origin
    follows = dict.fromkeys(effect_text(e.kind, e.days) for e in reason.effects)
    place = origin.where
    return Why(
        found=sentence(reason.sentence),
        follows=sentence("; ".join(follows)),
        owner=reason.rule.owner,
        do=reason.rule.do,
        flags=tuple(sentence(FLAGS.get(f, f.replace("_", " "))) for f in reason.rule.flags),
        source=cited.number(origin.source, protocol),
        where=place,
        basis=BASIS[origin.basis],
    )


class Bibliography:
    """Sources in the order in which they are first cited, numbered from 1."""

    def __init__(self) -> None:
        self._numbers: dict[str, int] = {}

    def number(self, key: str, protocol: ReadyProtocol) -> int:
        """Return the number of a protocol's source, 0 where no source stands."""
        if not key:
            return 0
        text = cited_text(protocol.sources[key])
        return self._numbers.setdefault(text, len(self._numbers) + 1)

    def entries(self) -> Iterable[Cited]:
        """Yield the sources cited so far."""
        for text, number in self._numbers.items():
            yield Cited(number, text)


def cited_text(source: Source) -> str:
    """Return one entry of a bibliography, with how far the source was read."""
    who = source.author.rstrip(".")
    head = f"{who} ({source.year})" if who and source.year else who or str(source.year or "")
    doi = f"doi {source.doi}" if source.doi else ""
    read = READ[source.read]
    parts = [head, source.title, source.published_in, doi, source.address]
    return ". ".join(p.rstrip(".") for p in parts if p) + (f" ({read})." if read else ".")

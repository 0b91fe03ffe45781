"""From core values to the values of an owner's report. Services gather; everything is said here."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import date

from stell.core.protocol.ready import ReadyProtocol
from stell.core.records import Ram, written_date
from stell.core.timetable import DeferredRam, Timetable, timetable
from stell.core.verdict import Outcome, Reason, Verdict
from stell.press.wording import (
    counted,
    days_text,
    listed,
    natural_key,
    weekday_date,
)
from stell.reports.cautions import OWNER
from stell.reports.lines import (
    Bibliography,
    JudgedRam,
    measured_columns,
    ram_line,
    size_at_age,
    size_check,
)
from stell.reports.todo import timetable_days, todo_list
from stell.reports.values import (
    OwnerReport,
    Return,
    Tally,
)

__all__ = ["JudgedRam", "owner_report_values"]

_FIRST = (Outcome.DEFERRED, Outcome.INCOMPLETE, Outcome.UNSATISFACTORY, Outcome.SATISFACTORY)


def owner_report_values(
    *,
    flock: str,
    owner: str = "",
    practice: str = "",
    protocol: ReadyProtocol,
    judged: Sequence[JudgedRam],
    mating_start_on: date | None = None,
    not_examined: Iterable[Ram] = (),
    today: date,
) -> OwnerReport:
    """Return the values of an owner's report.

    Parameters
    ----------
    flock, owner, practice : str
        Names; the last two may be empty.
    protocol : ReadyProtocol
        By which the report is written: its columns and its timetable.
    judged : sequence of JudgedRam
        May be empty.
    mating_start_on : date or None
    not_examined : iterable of Ram
        Rams of the flock without an examination this season.
    today : date

    Raises
    ------
    ProtocolError, ValueRefused
        From the timetable, for figures or a start of mating that cannot be used.
    """
    rams = sorted(judged, key=_in_order)
    shorts = _short_labels([j.ram for j in rams])
    table = _table(rams, shorts, protocol, mating_start_on, today)
    outlooks = {d.ram.ram_id: d for d in table.deferred}
    cited = Bibliography()
    columns = measured_columns(protocol)
    sizes_of = size_check(protocol)
    sizes = [s for j in rams if sizes_of and (s := size_at_age(j, sizes_of, shorts))]
    left_out = tuple(r.label for r in not_examined)
    unsettled = any(j.decision.outcome is not Outcome.SATISFACTORY for j in rams)
    return OwnerReport(
        flock=flock,
        owner=owner,
        practice=practice,
        examiners=listed(dict.fromkeys(j.exam.examiner for j in rams if j.exam.examiner)),
        examined_on=days_text(j.exam.examined_on for j in rams),
        visit_on=max((j.exam.examined_on for j in rams), default=None),
        mating_start_on=mating_start_on,
        mating_start=weekday_date(mating_start_on) if mating_start_on else "",
        today=today,
        made=written_date(today),
        protocol=listed(_judges(protocol, rams)),
        protocol_title=protocol.spec.title,
        protocol_digest=protocol.digest[:12],
        opening=table.opening,
        summary=_summary(rams, table),
        tallies=_tallies(rams),
        todos=todo_list(
            [(shorts[j.ram.ram_id], j.decision) for j in rams],
            table,
            today=today,
            short_of_rams=unsettled or bool(left_out),
        ),
        days=timetable_days(table),
        returns=_returns(table),
        rams=tuple(
            ram_line(j, protocol, columns, cited, today, outlooks.get(j.ram.ram_id)) for j in rams
        ),
        sizes=tuple(sizes),
        size_title=sizes_of.title if sizes_of else "",
        without_size=len(rams) - len(sizes) if sizes_of else 0,
        not_examined=left_out,
        cautions=OWNER,
        sources=tuple(cited.entries()),
    )


def _judges(protocol: ReadyProtocol, rams: Sequence[JudgedRam]) -> Iterable[str]:
    """Return the names of all versions that judged, the report's own first."""
    return dict.fromkeys((protocol.named, *(j.protocol.named for j in rams if j.protocol)))


def _in_order(judged: JudgedRam) -> tuple[object, ...]:
    return (_FIRST.index(judged.decision.outcome), natural_key(judged.ram.label))


def _short_labels(rams: Sequence[Ram]) -> dict[str, str]:
    """Return each ram's tag, or the whole label where the tag is missing or not his alone."""
    tags = Counter(r.tag for r in rams)
    return {r.ram_id: r.tag if r.tag and tags[r.tag] == 1 else r.label for r in rams}


def _table(
    rams: Sequence[JudgedRam],
    shorts: dict[str, str],
    protocol: ReadyProtocol,
    start: date | None,
    today: date,
) -> Timetable:
    waiting = [
        DeferredRam(
            j.ram.ram_id,
            shorts[j.ram.ram_id],
            j.exam.examined_on,
            again,
            "; ".join(r.rule.label for r in _deferring(j.decision.proposed)),
        )
        for j in rams
        if j.decision.outcome is Outcome.DEFERRED and (again := j.decision.proposed.reexamine_on)
    ]
    return timetable(start, protocol.spec.timing, today=today, deferred=waiting)


def _deferring(verdict: Verdict) -> list[Reason]:
    return [r for r in verdict.reasons if any(e.days for e in r.effects)]


def _returns(table: Timetable) -> tuple[Return, ...]:
    return tuple(
        Return(d.ram.label, d.seen_on, d.ready_in_time, d.sentence) for d in table.deferred
    )


def _tallies(rams: Sequence[JudgedRam]) -> tuple[Tally, ...]:
    counts = Counter(j.decision.outcome for j in rams)
    return tuple(Tally(o.value, counts[o]) for o in Outcome)


def _summary(rams: Sequence[JudgedRam], table: Timetable) -> str:
    if not rams:
        return "No ram of this flock has been examined this season."
    counts = Counter(j.decision.outcome for j in rams)
    ready = counts[Outcome.SATISFACTORY]
    if ready == len(rams):
        only = "The ram examined is" if len(rams) == 1 else f"All {len(rams)} rams examined are"
        return f"{only} satisfactory."
    said = [f"{ready} satisfactory" if ready else "none satisfactory yet"]
    if waiting := counts[Outcome.DEFERRED]:
        answers = [d.ready_in_time for d in table.deferred]
        known = f", of whom {answers.count(True) or 'none'} can still be ready in time"
        still = known if any(a is not None for a in answers) else ""
        said.append(f"{waiting} to be examined again{still}")
    if open_ones := counts[Outcome.INCOMPLETE]:
        said.append(f"{open_ones} not fully examined")
    if out := counts[Outcome.UNSATISFACTORY]:
        said.append(f"{out} not to be used")
    return f"Of {counted(len(rams), 'ram')} examined: {'; '.join(said)}."

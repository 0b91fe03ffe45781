"""Verdicts on the terminal: a line per ram, what to do, and by when."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

from rich.text import Text

from stell.cli.printing import (
    counted,
    day_text,
    paragraph,
    sentence,
    show_notices,
    show_problems,
    show_unmatched,
    table,
    tally,
    tally_of,
    verdict_text,
)
from stell.cli.session import Session
from stell.core.leads import when_text
from stell.core.unseen import missing_lines
from stell.core.verdict import ACTION_KINDS, Action, Outcome, Verdict

if TYPE_CHECKING:
    from stell.core.protocol.ready import ReadyProtocol
    from stell.services.intake import JudgedRow, SheetVerdicts


def print_verdicts(
    session: Session,
    answer: SheetVerdicts,
    rows: Sequence[JudgedRow],
    title: str,
    *,
    full: bool = False,
) -> None:
    """Print a judged sheet: heading, counts, a line per ram, refused rows, notices."""
    start = answer.season.mating_start_on
    show_unmatched(session, answer.reading.unmatched)
    session.out.print(Text(title, style="bold"))
    session.out.print(f"{counted(len(rows), 'ram')}, judged by {answer.protocol.named}")
    if start is not None:
        go = "go" if start >= session.today else "went"
        session.out.print(
            f"The rams {go} in on {day_text(start)}, {when_text(start, session.today)} "
            f"(today: {day_text(session.today)})"
        )
    session.out.print(tally(tally_of(r.decision.outcome for r in rows)))
    session.out.print()
    session.out.print(verdict_table(session, rows, answer.protocol))
    if full:
        for row in worst_first(rows):
            _because(session, row, answer.protocol)
    problems = answer.reading.problems
    if problems:
        session.aside.print()
        refused = len(answer.reading.refused_rows)
        session.aside.print(f"{counted(refused, 'row')} of the sheet refused, not judged:")
        show_problems(session, problems)
    show_notices(session, session.notices)


def verdict_table(session: Session, rows: Sequence[JudgedRow], protocol: ReadyProtocol) -> Any:
    """Return the table: the gravest first, each action on a line of its own."""
    shown = table(
        session,
        ("Ram", {"style": "bold", "max_width": 16}),
        ("Verdict", {"min_width": 16}),
        ("What to do", {"ratio": 1}),
        ("By", {"no_wrap": True, "min_width": 11}),
    )
    shown.expand = True
    several_days = len({r.row.exam.examined_on for r in rows}) > 1
    for row in worst_first(rows):
        decision = row.decision
        verdict = verdict_text(
            session, decision.outcome.value, overridden=decision.override is not None
        )
        _late(verdict, decision.proposed)
        lines = _action_lines(row, protocol, "→" if session.can_draw else ">")
        first, *rest = lines or [("nothing to do", "")]
        label = row.row.ram.label
        if several_days:
            label += f"\n{day_text(row.row.exam.examined_on)}"
        shown.add_row(label, verdict, *first)
        for line in rest:
            shown.add_row("", "", *line)
    return shown


def worst_first(rows: Iterable[JudgedRow]) -> list[JudgedRow]:
    """Return rows with the gravest outcome first; within one, what is due first."""

    def place(row: JudgedRow) -> tuple[int, date, int]:
        actions = row.decision.proposed.actions
        return (-row.decision.outcome.rank, actions[0].due_on if actions else date.max, row.row.row)

    return sorted(rows, key=place)


def _late(text: Text, verdict: Verdict) -> None:
    if verdict.outcome is Outcome.DEFERRED and verdict.ready_in_time is False:
        text.append("\n  too late for mating", style="not bold")


def _action_lines(row: JudgedRow, protocol: ReadyProtocol, arrow: str) -> list[tuple[Any, str]]:
    """Return what was found and, below it, what to do, each with the day by which."""
    decision = row.decision
    verdict = decision.proposed
    lines: list[tuple[Any, str]] = []
    if decision.override is not None:
        proposed = verdict.outcome.value
        lines.append((f"The vet: {decision.override.reason} (proposed: {proposed})", ""))
    found = [r.sentence for r in verdict.reasons]
    found += missing_lines(verdict.missing, row.row.exam, protocol)
    found += [b.sentence for b in verdict.borderline]
    lines += [(sentence(text), "") for text in found]
    merged: dict[tuple[str, date], list[Action]] = {}
    for action in verdict.actions:
        merged.setdefault((action.kind, action.due_on), []).append(action)
    several = len(verdict.reasons) > 1
    for (kind, due_on), actions in merged.items():
        about = _about(actions, verdict) if several else ""
        what = ACTION_KINDS[kind] + _limits(actions, verdict)
        text = Text(f"{arrow} {what}{about}", style="bold")
        lines.append((text, day_text(due_on)))
    return lines


def _limits(actions: Sequence[Action], verdict: Verdict) -> str:
    """Return the limits on use that an action sets, without the finding they follow from."""
    found = {r.rule.rule_id: f"{r.sentence}: " for r in verdict.reasons}
    limits = [
        action.sentence.removeprefix(found.get(action.rules[0], ""))
        for action in actions
        if action.kind == "restrict"
    ]
    return f": {'; '.join(dict.fromkeys(limits))}" if limits else ""


def _about(actions: Sequence[Action], verdict: Verdict) -> str:
    """Return which of several findings an action is for; empty when it is for all of them."""
    rules = {rule for action in actions for rule in action.rules}
    meant = [r.check.short for r in verdict.reasons if r.rule.rule_id in rules]
    if not meant or len(meant) == len(verdict.reasons):
        return ""
    return f" ({', '.join(dict.fromkeys(meant))})"


def _because(session: Session, row: JudgedRow, protocol: ReadyProtocol) -> None:
    verdict = row.decision.proposed
    if not verdict.reasons and not verdict.missing:
        return
    session.out.print()
    session.out.print(Text(f"{row.row.ram.label}: {verdict.headline}", style="bold"))
    for reason in verdict.reasons:
        origin = reason.origin
        where = ", ".join(part for part in (origin.source, origin.where, origin.basis) if part)
        paragraph(session, f"{reason.sentence}. {reason.rule.do}", indent=2)
        paragraph(session, f"rule {reason.rule.rule_id}: {where}", style="italic", indent=2)
    for missing in missing_lines(verdict.missing, row.row.exam, protocol):
        paragraph(session, f"Missing: {missing}.", indent=2)

"""Verdicts on the terminal: a line per ram, what to do, and by when."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from rich.text import Text

from stell.cli.judging import action_text, worst_first
from stell.cli.printing import (
    counted,
    day_text,
    distance_text,
    paragraph,
    show_notices,
    show_problems,
    table,
    tally,
    tally_of,
    verdict_text,
)
from stell.cli.session import Session
from stell.core.verdict import Outcome, Verdict

if TYPE_CHECKING:
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
    session.out.print(Text(title, style="bold"))
    session.out.print(f"{counted(len(rows), 'ram')}, judged by {answer.protocol.named}")
    if start is not None:
        session.out.print(
            f"Mating starts {day_text(start)}, {distance_text(start, session.today)} "
            f"from {day_text(session.today)}"
        )
    session.out.print(tally(tally_of(r.decision.outcome for r in rows)))
    session.out.print()
    session.out.print(verdict_table(session, rows))
    if full:
        for row in worst_first(rows):
            _because(session, row)
    problems = answer.reading.problems
    if problems:
        session.aside.print()
        refused = len(answer.reading.refused_rows)
        session.aside.print(f"{counted(refused, 'row')} of the sheet refused, not judged:")
        show_problems(session, problems)
    show_notices(session, session.notices)


def verdict_table(session: Session, rows: Sequence[JudgedRow]) -> Any:
    """Return the table: the gravest first, each action on a line of its own."""
    shown = table(
        session,
        ("Ram", {"style": "bold", "max_width": 16}),
        ("Verdict", {"min_width": 16}),
        ("What to do", {"ratio": 1}),
        ("By", {"no_wrap": True, "min_width": 11}),
    )
    shown.expand = True
    for row in worst_first(rows):
        decision = row.decision
        verdict = verdict_text(
            session, decision.outcome.value, overridden=decision.override is not None
        )
        _late(verdict, decision.proposed)
        lines = _action_lines(row)
        first, *rest = lines or [("nothing", "")]
        shown.add_row(row.row.ram.label, verdict, *first)
        for line in rest:
            shown.add_row("", "", *line)
    return shown


def _late(text: Text, verdict: Verdict) -> None:
    if verdict.outcome is Outcome.DEFERRED and verdict.ready_in_time is False:
        text.append("\n  too late for mating", style="not bold")


def _action_lines(row: JudgedRow) -> list[tuple[str, str]]:
    decision = row.decision
    lines = []
    if decision.override is not None:
        proposed = decision.proposed.outcome.value
        lines.append((f"vet's reason: {decision.override.reason} (proposed: {proposed})", ""))
    seen = set()
    for action in decision.proposed.actions:
        line = (action_text(action, decision.proposed), day_text(action.due_on))
        if line not in seen:
            seen.add(line)
            lines.append(line)
    return lines


def _because(session: Session, row: JudgedRow) -> None:
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
    for missing in verdict.missing:
        paragraph(session, f"Missing: {missing.sentence}.", indent=2)

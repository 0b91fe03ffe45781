"""Two protocols side by side on the terminal, and the rams whose verdict changes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from rich.text import Text

from stell.cli.printing import counted, paragraph, table
from stell.cli.session import Session
from stell.core.unseen import missing_text

if TYPE_CHECKING:
    from stell.core.protocol.ready import ReadyProtocol

# Parts whose one-sided rows stand in the table; of the others only the titles are listed.
_WHOLE = ("limits", "answer", "required", "season")


def print_comparison(
    session: Session, protocols: Sequence[ReadyProtocol], found: Sequence[Any], changed: Any
) -> None:
    """Print what differs, side by side, and the rams of a sheet whose verdict changes."""
    first, second = (p.named for p in protocols)
    session.out.print(Text(f"{first} beside {second}", style="bold"))
    if not found:
        session.out.print("No check, answer, limit or figure differs.")
    titles = {
        "limits": "Limits",
        "required": "What is required",
        "answer": "Answers and their effects",
        "order": "Order of the walk, where it differs",
        "season": "Season",
        "age class": "Age classes",
        "figure": "Figures",
    }
    for part, title in titles.items():
        rows = [d for d in found if d.part == part and (part in _WHOLE or (d.first and d.second))]
        if not rows:
            continue
        session.out.print()
        _side_by_side(session, title, rows, (first, second))
    _only_in_one(session, found, (first, second))
    if changed is not None:
        _print_changed(session, changed, first, second)


def _side_by_side(
    session: Session, title: str, rows: Sequence[Any], names: tuple[str, str]
) -> None:
    heads = [(name, {"ratio": 5}) for name in names]
    shown_table = table(session, ("", {"ratio": 3, "style": "bold"}), *heads, title=title)
    shown_table.expand = True
    before = ""
    for row in rows:
        named = row.title if row.title != before else ""
        shown_table.add_row(named, _side(row.first), _side(row.second))
        before = row.title
    session.out.print(shown_table)


def _only_in_one(session: Session, found: Sequence[Any], names: tuple[str, str]) -> None:
    for position, name in enumerate(names):
        for part, word in (
            ("check", "Checks"),
            ("figure", "Figures"),
            ("age class", "Age classes"),
        ):
            titles = [
                d.title for d in found if d.part == part and (d.second, d.first)[position] is None
            ]
            if titles:
                session.out.print()
                session.out.print(Text(f"{word} that only {name} has", style="bold"))
                paragraph(session, "; ".join(titles) + ".")


def _side(side: Any) -> Text:
    if side is None:
        return Text("-")
    text = Text(side.text)
    where = ", ".join(part for part in (side.source, side.basis) if part)
    if where:
        text.append(f"\n{where}", style="italic")
    return text


def _print_changed(session: Session, changed: Any, first: str, second: str) -> None:
    from stell.cli.printing import verdict_text

    session.out.print()
    session.out.print(
        f"Of {counted(changed.judged, 'ram')} on the sheet, "
        f"{len(changed.rows)} would be given another verdict."
    )
    if not changed.rows:
        return
    shown_table = table(session, "Row", ("Ram", {"style": "bold"}), first, second, "Because")
    for row in changed.rows:
        reasons = [r.sentence for r in (*row.b.reasons, *row.a.reasons) if r.severity >= 4]
        if row.b.missing:
            reasons.append(missing_text(row.b.missing, changed.b))
        if row.a.missing:
            reasons.append(missing_text(row.a.missing, changed.a))
        shown_table.add_row(
            str(row.row.row),
            row.row.ram.label,
            verdict_text(session, row.a.outcome.value),
            verdict_text(session, row.b.outcome.value),
            "; ".join(dict.fromkeys(reasons)),
        )
    session.out.print(shown_table)

"""Commands about rams: who is on the books, and everything on record for one of them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from stell.cli.commands import command
from stell.cli.records import opened
from stell.cli.session import Session

if TYPE_CHECKING:
    from stell.services.rams import HistoryEntry, RamHistory

InFlock = Annotated[
    str, typer.Option("--flock", metavar="FLOCK", help="Only this flock. [default: all]")
]
RamQuery = Annotated[
    str, typer.Argument(metavar="RAM", help="His tag, name, electronic number or id.")
]


def register(app: typer.Typer) -> None:
    """Add the commands to `app`."""
    command(app, "rams", needs=("json", "data"))(rams)
    command(app, "history", needs=("json", "data", "today"))(history)


def rams(
    session: Session,
    flock: InFlock = "",
    include_left: Annotated[
        bool, typer.Option("--left", help="Also rams that were sold or have died.")
    ] = False,
) -> None:
    """List the rams on the books."""
    from stell.cli.shapes import ram_shape
    from stell.services.rams import list_rams

    opened(session, create=False)
    found = list_rams(flock or None, include_left=include_left)
    if session.as_json:
        session.emit([ram_shape(r) for r in found])
        return
    from stell.cli.printing import counted, day_text, table

    columns: list[Any] = [("Tag", {"style": "bold"}), "Name", "Breed", "Born", "Use", "Flock"]
    if include_left:
        columns.append("Left")
    shown = table(session, *columns)
    for record in found:
        ram = record.ram
        row = [
            ram.tag or ram.eid,
            ram.name,
            ram.breed.replace("_", " "),
            born_text(ram),
            ram.intended_use,
            record.flock_name,
        ]
        if include_left:
            left = f"{day_text(record.left_on)}: {record.left_why}" if record.left_on else ""
            row.append(left)
        shown.add_row(*row)
    session.out.print(shown)
    session.out.print(f"\n{counted(len(found), 'ram')}.")


def born_text(ram: Any) -> str:
    """Return his birth as well as it is known: day, month, year, or his age class."""
    from stell.core.records import Born, written_date

    born = ram.born
    if born is None:
        return ram.age_class.replace("_", " ") or "-"
    if born.is_exact:
        return written_date(born.earliest)
    day = born.earliest
    if born == Born.in_month(day.year, day.month):
        return written_date(day).split(" ", 1)[1]
    if born == Born.in_year(day.year):
        return str(day.year)
    return f"{written_date(born.earliest)} to {written_date(born.latest)}"


def history(
    session: Session,
    ram: RamQuery,
    flock: InFlock = "",
    all_records: Annotated[
        bool, typer.Option("--all", help="Also examinations that a correction has replaced.")
    ] = False,
) -> None:
    """Show every examination of one ram, and what has changed."""
    from stell.cli.shapes import comparison_shape, entry_shape, ram_shape
    from stell.services.rams import find_ram
    from stell.services.rams import history as history_of

    opened(session, create=False)
    found = history_of(find_ram(ram, flock or None))
    if session.as_json:
        session.emit(
            {
                "ram": ram_shape(found.ram),
                "entries": [entry_shape(e) for e in found.entries],
                "comparisons": [comparison_shape(c) for c in found.comparisons],
                "slaughter_notice": found.slaughter_notice(session.today),
            }
        )
        return
    _print_history(session, found, all_records)


def _print_history(session: Session, found: RamHistory, all_records: bool) -> None:
    from rich.text import Text

    from stell.cli.printing import counted, day_text, paragraph, table

    ram = found.ram.ram
    session.out.print(Text(found.ram.label, style="bold"))
    parts = [
        ram.breed.replace("_", " "),
        f"born {born_text(ram)}",
        f"for {ram.intended_use}" if ram.intended_use else "",
        found.ram.flock_name,
    ]
    session.out.print(", ".join(part for part in parts if part))
    if found.ram.left_on:
        session.out.print(f"Left {day_text(found.ram.left_on)}: {found.ram.left_why}.")
    if notice := found.slaughter_notice(session.today):
        paragraph(session, f"{notice[0].upper()}{notice[1:]}.")
    listed = [e for e in found.entries if all_records or not e.corrected_by]
    session.out.print()
    shown = table(
        session,
        ("Examined", {"no_wrap": True}),
        ("Verdict", {"min_width": 16}),
        ("Circ. cm", {"justify": "right"}),
        ("Score", {"justify": "right"}),
        ("Found", {"ratio": 1}),
    )
    for entry in listed:
        shown.add_row(*_entry_row(session, entry))
    session.out.print(shown)
    hidden = len(found.entries) - len(listed)
    if hidden:
        text = counted(hidden, "replaced examination")
        session.out.print(f"\n{text} not shown; --all shows every one.")
    for comparison in found.comparisons:
        session.out.print()
        then, now = day_text(comparison.then_on), day_text(comparison.now_on)
        session.out.print(Text(f"{then} beside {now}", style="bold"))
        for line in comparison.sentences():
            paragraph(session, line, indent=2)


def _entry_row(session: Session, entry: HistoryEntry) -> tuple[Any, ...]:
    from stell.cli.printing import day_text, verdict_text

    decision = entry.decision
    exam = entry.examination.exam
    verdict = verdict_text(
        session, decision.outcome.value, overridden=decision.override is not None
    )
    if entry.corrected_by:
        verdict.append("\n  replaced", style="italic")
    found = [r.sentence for r in decision.proposed.reasons]
    found += [m.sentence for m in decision.proposed.missing]
    if decision.override is not None:
        own = decision.override
        found.append(f"vet ({own.by}, {day_text(own.on)}): {own.reason}")
        found.append(f"proposed by the protocol: {decision.proposed.headline}")
    if entry.examination.correction_reason:
        on = day_text(entry.examination.received_at.date())
        found.append(f"corrected on {on}: {entry.examination.correction_reason}")
    if exam.note:
        found.append(f"note: {exam.note}")
    found += [deed.sentence for deed in entry.deeds]
    by = f"{day_text(exam.examined_on)}\n{exam.examiner}"
    return (
        by,
        verdict,
        _measured(entry, "scrotal_circumference", 1),
        _measured(entry, "condition_score", 1),
        "\n".join(found) or "nothing of note",
    )


def _measured(entry: HistoryEntry, quantity: str, decimals: int) -> str:
    """Return what was measured of a quantity, whatever the protocol calls its check."""
    from stell.services.protocols import load_registered

    check = load_registered(entry.protocol).measuring(quantity)
    if check is None or check.unit is None:
        return "-"
    observed = entry.examination.exam.observations.get(check.id)
    return readings_text(observed, check.unit.per_unit, decimals)


def readings_text(observed: Any, per_unit: int, decimals: int) -> str:
    """Return the mean of whole readings in the trade's unit, with the number of readings."""
    if not isinstance(observed, tuple) or not observed or isinstance(observed[0], str):
        return "-"
    mean = sum(observed) / len(observed) / per_unit
    return f"{mean:.{decimals}f}" + (f" ({len(observed)}×)" if len(observed) > 1 else "")

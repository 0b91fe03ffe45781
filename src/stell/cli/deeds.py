"""Commands that say what was done: a treatment given, a ram put apart; and that it was not."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from stell.cli.commands import command
from stell.cli.deciding import OnDay, RamOrExam
from stell.cli.rams import InFlock
from stell.cli.records import opened
from stell.cli.session import Session, day_from

if TYPE_CHECKING:
    from stell.core.deeds import Deed, Medicine
    from stell.core.verdict import Action
    from stell.services.rams import HistoryEntry

Kind = Annotated[
    str,
    typer.Argument(
        metavar="KIND",
        help="treat, isolate, withdraw, report, measure_again or restrict; or as `stell due` says "
        'it, for example "keep apart".',
    ),
]
Rule = Annotated[
    str,
    typer.Option(
        "--rule",
        metavar="RULE",
        help="For one of several findings: the rule that asks for it, as `stell due --json` shows "
        "it. [default: all of that kind]",
    ),
]


def register(app: typer.Typer) -> None:
    """Add the commands to `app`."""
    writes = ("json", "data", "by", "today")
    command(app, "done", needs=writes)(done)
    command(app, "not-done", needs=writes)(not_done)


def done(
    session: Session,
    ram: RamOrExam,
    kind: Kind,
    on: Annotated[
        str, typer.Option("--on", metavar="DATE", help="The day it was done. [default: today]")
    ] = "",
    done_by: Annotated[
        str,
        typer.Option("--done-by", metavar="NAME", help="Who did it. [default: as --by]"),
    ] = "",
    note: Annotated[str, typer.Option("--note", metavar="TEXT", help="Anything else.")] = "",
    product: Annotated[
        str,
        typer.Option("--product", metavar="TEXT", help="What he was given, as on the label."),
    ] = "",
    dose: Annotated[
        str, typer.Option("--dose", metavar="TEXT", help="How much of it, and how.")
    ] = "",
    withdrawal: Annotated[
        str,
        typer.Option(
            "--withdrawal", metavar="TEXT", help="The withdrawal period, as label or vet have it."
        ),
    ] = "",
    withdrawal_until: Annotated[
        str,
        typer.Option(
            "--withdrawal-until",
            metavar="DATE",
            help="The first day on which he may go for slaughter, as the vet works it out; stell "
            "reckons none.",
        ),
    ] = "",
    rule: Rule = "",
    flock: InFlock = "",
    examined_on: OnDay = "",
) -> None:
    """Say that what a verdict asks for was done; it goes off the list.

    The verdict stays as it is. Examining again and finishing an examination are no ticks: they go
    in with `import` and `correct`.
    """
    from stell.core.deeds import Medicine, kind_named
    from stell.services.deeds import put_done

    kind = kind_named(kind)
    day = day_from(on, "--on") if on else session.today
    until = day_from(withdrawal_until, "--withdrawal-until") if withdrawal_until else None
    medicine = Medicine(product, dose, withdrawal, until)
    opened(session, create=False)
    entry, label = _found(ram, flock, examined_on)
    deed = put_done(
        entry.examination.id,
        kind,
        done_on=day,
        by=session.by,
        now=session.now,
        done_by=done_by,
        rule=rule,
        note=note,
        medicine=medicine,
    )
    _notice(session, deed)
    _tell(session, entry.examination.id, label, deed)


def not_done(
    session: Session,
    ram: RamOrExam,
    kind: Kind,
    reason: Annotated[
        str, typer.Option("--reason", metavar="TEXT", help="Why; it stays on record.")
    ],
    on: Annotated[
        str,
        typer.Option("--on", metavar="DATE", help="Where it was done more than once: which day."),
    ] = "",
    rule: Rule = "",
    flock: InFlock = "",
    examined_on: OnDay = "",
) -> None:
    """Take back what was marked as done by mistake; both stay on record."""
    from stell.services.deeds import deed_meant, take_back

    day = day_from(on, "--on") if on else None
    opened(session, create=False)
    entry, label = _found(ram, flock, examined_on)
    meant = deed_meant(entry, kind, rule=rule, done_on=day)
    deed = take_back(meant.deed_id, reason, by=session.by, now=session.now)
    _tell(session, entry.examination.id, label, deed)


def _found(ram: str, flock: str, examined_on: str) -> tuple[HistoryEntry, str]:
    from stell.services.examinations import find_examination

    day = day_from(examined_on, "--examined-on") if examined_on else None
    record, entry = find_examination(ram, flock or None, day)
    return entry, record.label


def _notice(session: Session, deed: Deed) -> None:
    medicine: Medicine | None = deed.medicine
    if medicine is not None and not medicine.withdrawal and medicine.withdrawal_until is None:
        session.notice(
            f"no withdrawal was entered for {medicine.product}; what holds stands on its label and "
            "in the vet's prescription"
        )
    if deed.kind == "measure_again":
        session.notice("a figure that differs goes into the record: stell correct RAM --set ...")


def _tell(session: Session, exam_id: str, label: str, deed: Deed) -> None:
    from stell.core.deeds import HOLDS_ON
    from stell.services.examinations import find_examination
    from stell.services.todos import open_actions

    _, entry = find_examination(exam_id)
    left = open_actions(entry.decision, entry.deeds)
    if session.as_json:
        session.emit({"ram": label, "deed": deed, "open": left})
        return
    from stell.cli.printing import paragraph, sentence, show_notices

    paragraph(session, sentence(f"{label}: {deed.sentence}"))
    if deed.stands and deed.kind in HOLDS_ON and not session.quiet:
        session.out.print("It goes off the list, and holds for as long as his verdict does.")
    paragraph(session, _open_text(session, left))
    show_notices(session, session.notices)


def _open_text(session: Session, left: tuple[Action, ...]) -> str:
    from stell.cli.printing import day_text
    from stell.core.verdict import ACTION_KINDS

    first: dict[str, Any] = {}
    for action in left:
        first.setdefault(action.kind, action.due_on)
    if not first:
        return "Nothing else is open for him."
    parts = [
        f"{ACTION_KINDS[kind]} " + ("now" if due <= session.today else f"by {day_text(due)}")
        for kind, due in first.items()
    ]
    return f"Still open for him: {'; '.join(parts)}."

"""Commands by which a person has the last word: override, correct, rejudge."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from stell.cli.commands import command
from stell.cli.named_protocols import protocol_named
from stell.cli.progress import progress_bar
from stell.cli.rams import InFlock
from stell.cli.records import opened
from stell.cli.session import Session, day_from
from stell.cli.written_changes import written_changes
from stell.core.errors import ValueRefused

if TYPE_CHECKING:
    from stell.core.protocol.ready import ReadyProtocol
    from stell.services.rams import HistoryEntry

RamOrExam = Annotated[
    str,
    typer.Argument(metavar="RAM", help="His tag, name or electronic number, or an examination id."),
]
OnDay = Annotated[
    str,
    typer.Option("--examined-on", metavar="DATE", help="Which examination. [default: the latest]"),
]
Why = Annotated[str, typer.Option("--reason", metavar="TEXT", help="Why; it stays on record.")]


def register(app: typer.Typer) -> None:
    """Add the commands to `app`."""
    writes = ("json", "data", "by", "today")
    command(app, "override", needs=writes)(override)
    command(app, "correct", needs=writes)(correct)
    command(app, "rejudge", needs=writes)(rejudge)


def override(
    session: Session,
    ram: RamOrExam,
    verdict: Annotated[
        str,
        typer.Option(
            "--verdict",
            metavar="WORD",
            help="satisfactory, deferred, incomplete or unsatisfactory.",
        ),
    ],
    reason: Why,
    flock: InFlock = "",
    examined_on: OnDay = "",
) -> None:
    """Put the vet's own verdict beside the proposal; both stay."""
    from stell.cli.printing import day_text
    from stell.services.deciding import override as put

    outcome = _outcome(verdict)
    opened(session, create=False)
    entry, label = _examination(ram, flock, examined_on)
    record = put(entry.examination.id, outcome, reason, by=session.by, now=session.now)
    proposed = entry.decision.proposed.outcome.value
    if session.as_json:
        session.emit({"ram": label, "proposed": proposed, "override": record})
        return
    on = day_text(entry.examination.exam.examined_on)
    session.out.print(
        f"{label}, examined {on}: {record.outcome.value} (proposed: {proposed}), "
        f"said {record.by}: {record.reason}"
    )


def _outcome(word: str) -> Any:
    from stell.core.verdict import Outcome

    try:
        return Outcome(word.strip().lower())
    except ValueError:
        raise ValueRefused(
            "value.choice",
            "that is not a verdict",
            got=word,
            legal=", ".join(o.value for o in Outcome),
            example="--verdict satisfactory",
            where="--verdict",
        ) from None


def _examination(query: str, flock: str, examined_on: str) -> tuple[HistoryEntry, str]:
    """Return the examination that is meant, and what people call the ram."""
    from stell.services.examinations import find_examination

    day = day_from(examined_on, "--examined-on") if examined_on else None
    ram, entry = find_examination(query, flock or None, day)
    return entry, ram.label


def correct(
    session: Session,
    ram: RamOrExam,
    reason: Why,
    changes: Annotated[
        list[str],
        typer.Option(
            "--set",
            metavar="WHAT=VALUE",
            help="What was really found: a check's id or title and the answer or figures, or "
            "note=..., examiner=..., examined_on=.... An empty value takes it away. May be "
            "given several times.",
        ),
    ],
    flock: InFlock = "",
    examined_on: OnDay = "",
) -> None:
    """Record what was really found; the wrong record is kept too."""
    from stell.cli.shapes import examination_shape
    from stell.services.deciding import correct as put

    opened(session, create=False)
    entry, label = _examination(ram, flock, examined_on)
    protocol = _protocol_of(entry)
    found = written_changes(changes, protocol)
    record = put(entry.examination.id, found, reason, by=session.by, now=session.now)
    if session.as_json:
        session.emit({"ram": label, "examination": examination_shape(record)})
        return
    from stell.cli.printing import day_text

    on = day_text(record.exam.examined_on)
    session.out.print(f"{label}, examined {on}: corrected by {session.by}. The old record is kept.")


def _protocol_of(entry: HistoryEntry) -> ReadyProtocol:
    from stell.services.protocols import load_registered

    return load_registered(entry.protocol)


def rejudge(
    session: Session,
    protocol: Annotated[
        str, typer.Option("--protocol", metavar="NAME", help="Judge everything by this one.")
    ],
    no_resume: Annotated[
        bool,
        typer.Option("--no-resume", help="Refuse to go on with a run that was stopped."),
    ] = False,
    list_changes: Annotated[
        bool, typer.Option("--list", help="List the examinations whose verdict changes.")
    ] = False,
) -> None:
    """Judge everything on record by another protocol.

    Verdicts given before stay as they are. The run may be stopped at any time: the next one goes
    on from there.
    """
    from stell.services.rejudging import changes
    from stell.services.rejudging import rejudge as run

    ready = protocol_named(session, protocol)
    opened(session, create=False)
    with progress_bar(session, "Judging") as progress:
        summary = run(
            ready, by=session.by, now=session.now, resume=not no_resume, progress=progress
        )
    changed = list(changes(ready)) if list_changes or session.as_json else []
    if session.as_json:
        moves = [
            {"before": before, "after": after, "examinations": n}
            for (before, after), n in summary.moves.items()
        ]
        parts = ("protocol", "total", "judged", "already", "changed", "was_resumed")
        whole = {key: getattr(summary, key) for key in parts}
        session.emit({**whole, "moves": moves, "changes": changed})
        return
    _print_rejudged(session, summary, changed)


def _print_rejudged(session: Session, summary: Any, changed: list[Any]) -> None:
    from stell.cli.printing import counted, day_text, table, verdict_text

    already = f" ({summary.already:,} had been before)" if summary.already else ""
    session.out.print(
        f"{counted(summary.total, 'examination')} on record, {summary.judged:,} judged by "
        f"{summary.protocol}{already}; {summary.changed:,} would get another verdict."
    )
    shown = table(
        session,
        ("Verdict first given", {}),
        "By this protocol",
        ("Examinations", {"justify": "right"}),
    )
    for (before, after), number in sorted(
        summary.moves.items(), key=lambda m: (m[0][0].rank, m[0][1].rank)
    ):
        shown.add_row(
            verdict_text(session, before.value), verdict_text(session, after.value), f"{number:,}"
        )
    session.out.print(shown)
    if changed:
        session.out.print()
        rows = table(session, "Flock", ("Ram", {"style": "bold"}), "Examined", "Was", "Would be")
        for change in changed:
            rows.add_row(
                change.flock_name,
                change.ram_label,
                day_text(change.examined_on),
                verdict_text(session, change.before.value),
                verdict_text(session, change.after.value),
            )
        session.out.print(rows)

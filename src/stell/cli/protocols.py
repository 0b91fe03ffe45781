"""Commands about protocols: read, check, compare, copy, register."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from stell.cli.commands import command
from stell.cli.comparing import compare
from stell.cli.named_protocols import protocol_named
from stell.cli.session import Session
from stell.cli.whole_files import write_whole
from stell.core.errors import RecordError

if TYPE_CHECKING:
    from stell.core.protocol.ready import ReadyProtocol

app = typer.Typer(
    help="Checklists and limits: show, check, compare, copy them.",
    no_args_is_help=True,
    rich_markup_mode=None,
)

Named = Annotated[
    str,
    typer.Argument(
        metavar="NAME", help="One that comes with stell, a .toml file, or a registered version."
    ),
]


@command(app, "list", needs=("json", "data"))
def list_protocols(session: Session) -> None:
    """List the protocols that come with stell, and those on record."""
    from stell.cli.records import opened_or_none
    from stell.core.protocol.load import load_shipped, shipped

    ready = [load_shipped(name) for name in shipped()]
    with_stell = [
        {"name": p.id, "version": p.version, "title": p.spec.title, "checks": len(p.checks)}
        for p in ready
    ]
    registered: list[Any] = []
    if opened_or_none(session):
        from stell.services.protocols import all_protocols

        registered = list(all_protocols())
    if session.as_json:
        session.emit({"shipped": with_stell, "registered": registered})
        return
    from stell.cli.printing import day_text, table

    shown = table(session, ("Comes with stell", {"style": "bold"}), "Version", "Title")
    for row in with_stell:
        shown.add_row(str(row["name"]), str(row["version"]), str(row["title"]))
    session.out.print(shown)
    if registered:
        session.out.print()
        kept = table(
            session, ("On record", {"style": "bold"}), "Registered", "By", "Verdicts", "Title"
        )
        for record in registered:
            on = day_text(record.registered_at.date())
            kept.add_row(
                record.named, on, record.registered_by, f"{record.judgements:,}", record.title
            )
        session.out.print(kept)


@command(app, "show")
def show(
    session: Session,
    name: Named = "house",
    stop: Annotated[
        str, typer.Option("--stop", metavar="WORD", help="Only the stops or checks named so.")
    ] = "",
    full: Annotated[
        bool, typer.Option("--full", help="With what to do and what the owner is told.")
    ] = False,
    keys: Annotated[
        bool, typer.Option("--keys", help="The keys that a protocol file may hold, instead.")
    ] = False,
) -> None:
    """Show a protocol: the walk, answers, effects, limits, sources."""
    if keys:
        _show_keys(session)
        return
    protocol = protocol_named(session, name)
    if session.as_json:
        session.emit(protocol.spec.model_dump(mode="json", exclude_none=True, by_alias=True))
        return
    from stell.cli.protocol_page import print_protocol

    print_protocol(session, protocol, only=stop, full=full)


def _show_keys(session: Session) -> None:
    from stell.cli.protocol_keys import key_tables

    tables = key_tables()
    if session.as_json:
        session.emit(tables)
        return
    from stell.cli.printing import table

    for title, rows in tables.items():
        shown = table(session, ("Key", {"style": "bold", "width": 26}), "May hold", title=title)
        for row in rows:
            shown.add_row(row["key"] + ("" if row["required"] else " ?"), row["holds"])
        session.out.print(shown)
        session.out.print()
    session.out.print("A key with ? may be left out.")


@command(app, "check")
def check(
    session: Session,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A protocol file (.toml).")],
) -> None:
    """Check a protocol file: each problem with its line and what is legal."""
    from stell.core.protocol.load import load_text, problems_of, read_text

    text = read_text(file)
    problems = problems_of(text, where=str(file))
    if problems:
        first, *others = problems
        first.others = others  # type: ignore[attr-defined]  # printed one below the other
        raise first
    protocol = load_text(text, where=str(file))
    notes = _worth_a_look(protocol)
    summary = {
        "protocol": protocol.named,
        "title": protocol.spec.title,
        "sha256": protocol.digest,
        "stops": len(protocol.spec.stop),
        "checks": len(protocol.checks),
        "rules": sum(1 for _ in protocol.rules()),
        "basis": _basis_counts(protocol),
        "worth_a_look": notes,
    }
    if session.as_json:
        session.emit(summary)
        return
    session.out.print(
        f"{file.name} is in order: {summary['protocol']}, {summary['stops']} stops, "
        f"{summary['checks']} checks, {summary['rules']} rules."
    )
    from stell.cli.protocol_words import BASIS

    where = ", ".join(f"{n} {BASIS[basis]}" for basis, n in _basis_counts(protocol).items())
    session.out.print(f"Rules by where they come from: {where}.")
    for sentence in notes:
        session.out.print(f"Worth a look: {sentence}.")


def _worth_a_look(protocol: ReadyProtocol) -> list[str]:
    """Return what is legal in a copy, but probably not meant."""
    from stell.core.protocol.copies import borrowed_citations, original_of

    original = original_of(protocol)
    if original is None:
        return []
    notes = list(borrowed_citations(protocol, original))
    if protocol.spec.title == original.spec.title:
        notes.append(f"the title is still {original.spec.title!r}, and reports print it")
    return notes


def _basis_counts(protocol: ReadyProtocol) -> dict[str, int]:
    counts: dict[str, int] = {}
    for _, rule in protocol.rules():
        if rule.origin is not None:
            counts[rule.origin.basis] = counts.get(rule.origin.basis, 0) + 1
    return dict(sorted(counts.items(), key=lambda item: -item[1]))


command(app, "compare", needs=("json", "today"))(compare)


@command(app, "new")
def new(
    session: Session,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The file to write (.toml).")],
    source: Annotated[
        str, typer.Option("--from", metavar="NAME", help="The protocol to copy.")
    ] = "house",
    name: Annotated[
        str, typer.Option("--id", metavar="WORD", help="Its id. [default: the file's name]")
    ] = "",
) -> None:
    """Write a copy of a protocol, for a practice to change."""
    from stell.core.protocol.load import load_text, read_text, shipped, shipped_text

    if file.exists():
        raise RecordError(
            "record.refused",
            "the file exists and is not overwritten",
            got=str(file),
            legal="a name that is not taken",
            example=f"stell protocol new my-{file.name} --from {source}",
        )
    text = shipped_text(source) if source in shipped() else read_text(Path(source))
    original = load_text(text, where=source)
    new_id = name or file.stem.lower().replace("-", "_")
    copy = _renamed(text, new_id, original.named)
    made = load_text(copy, where=str(file))
    write_whole(file, copy.encode())
    if session.as_json:
        session.emit({"file": file, "protocol": made.named, "copied_from": original.named})
        return
    session.say(f"{file} written: {made.named}, a copy of {original.named}.")
    if not session.quiet:
        session.say(
            f"Change it in any text editor, then:  stell protocol check {file}\n"
            f"What your changes do to the rams:    stell protocol compare {source} {file} "
            "--sheet SHEET"
        )


def _renamed(text: str, new_id: str, original: str) -> str:
    """Return the file's text with id, version and origin of a copy; all else stays as it was."""
    import re

    def put(value: str) -> Callable[[re.Match[str]], str]:
        return lambda match: f'{match[1]}"{value}"'

    head, mark, rest = text.partition("\n[")
    head = re.sub(r'(?m)^(id\s*=\s*)"[^"]*"', put(new_id), head, count=1)
    head = re.sub(r'(?m)^(version\s*=\s*)"[^"]*"', put("1"), head, count=1)
    head = re.sub(r"(?m)^copied_from\s*=.*\n", "", head)
    line = f'copied_from = "{original}"\n'
    head = re.sub(r"(?m)^(version\s*=.*\n)", lambda match: match[1] + line, head, count=1)
    return head + mark + rest


@command(app, "register", needs=("json", "data", "by", "today"))
def register(
    session: Session,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A protocol file (.toml).")],
) -> None:
    """Put a version on record; its text is kept for good."""
    from stell.cli.records import opened
    from stell.core.protocol.load import read_text
    from stell.services.protocols import register as put_on_record

    text = read_text(file)
    opened(session)
    record = put_on_record(text, by=session.by, now=session.now, where=str(file))
    if session.as_json:
        session.emit(record)
        return
    session.out.print(f"{record.named} is on record ({record.title}).")

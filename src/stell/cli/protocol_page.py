"""A protocol on the terminal: the walk round the ram, its answers, effects, limits and sources."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from stell.cli.printing import counted, paragraph
from stell.cli.protocol_words import (
    BASIS,
    band_words,
    cited,
    condition_words,
    effects_words,
    origin_words,
)
from stell.cli.session import Session
from stell.core.errors import ValueRefused
from stell.core.units import shown, to_fixed, unit_named

if TYPE_CHECKING:
    from stell.core.protocol.ready import ReadyCheck, ReadyProtocol, Rule

_READ = {
    "whole": "read as a whole",
    "part": "read in part",
    "abstract": "abstract read",
    "secondary": "as reported elsewhere",
    "not-seen": "not seen",
}
_STYLES = {1: "", 2: "cyan", 3: "cyan", 4: "yellow", 5: "red"}


def print_protocol(
    session: Session, protocol: ReadyProtocol, *, only: str = "", full: bool = False
) -> None:
    """Print the whole protocol, or the stops and checks whose id or title holds `only`.

    Raises
    ------
    ValueRefused
        When nothing is named so.
    """
    numbers = cited(protocol)
    chosen = _chosen(protocol, only)
    if not only:
        _heading(session, protocol)
    for position, stop in enumerate(protocol.spec.stop, 1):
        checks = [c for c in chosen if c.spec.stop == stop.id]
        if not checks:
            continue
        session.out.print()
        session.out.rule(Text(f"{position}  {stop.title}", style="bold"), align="left")
        for text, label in ((stop.intro, ""), (stop.caution, "Caution: ")):
            if text and not only:
                paragraph(session, label + text, style="italic")
        for check in checks:
            _check(session, protocol, check, numbers, full)
    if not only:
        _figures(session, protocol, numbers)
    _sources(session, protocol, numbers, None if not only else chosen)


def _chosen(protocol: ReadyProtocol, only: str) -> list[ReadyCheck]:
    """Return the checks to print; of a check with sides the first side stands for all."""
    checks = [c for c in protocol.checks.values() if not c.side or c.side == c.spec.sides[0]]
    word = only.lower().replace("-", "_")
    if not word:
        return checks
    titles = {s.id: s.title.lower() for s in protocol.spec.stop}
    found = [
        c
        for c in checks
        if word in (c.spec.stop, c.base, c.id)
        or only.lower() in titles[c.spec.stop]
        or only.lower() in c.spec.title.lower()
    ]
    if not found:
        raise ValueRefused(
            "value.choice",
            f"nothing in {protocol.named} is named so",
            got=only,
            legal=", ".join(titles) + ", or the name of a check",
            example=f"--stop {next(iter(titles))}",
            where="--stop",
        )
    return found


def _heading(session: Session, protocol: ReadyProtocol) -> None:
    spec = protocol.spec
    session.out.print(Text(f"{spec.title} ({protocol.named})", style="bold"))
    paragraph(session, spec.summary)
    if spec.copied_from:
        session.out.print(f"Copied from {spec.copied_from}.")
    answers = sum(1 for _ in protocol.rules())
    session.out.print(
        f"{counted(len(spec.stop), 'stop')}, {counted(len(protocol.checks), 'check')}, "
        f"{counted(answers, 'rule')}."
    )
    session.out.print()
    paragraph(
        session,
        "Effects, from light to grave: note; treat; restrict (use within limits); defer (examine "
        "again after so many days); reject. The verdict is the gravest that was found; whatever "
        "is required and missing makes it incomplete.",
    )


def _check(
    session: Session,
    protocol: ReadyProtocol,
    check: ReadyCheck,
    numbers: Mapping[str, int],
    full: bool,
) -> None:
    spec = check.spec
    sides = f", each side ({' and '.join(spec.sides)})" if spec.sides else ""
    head = Text(f"\n{spec.title}{sides}", style="bold")
    head.append(f"  {_need(protocol, check)}", style="not bold italic")
    session.out.print(head)
    paragraph(session, spec.how, indent=2)
    if full and spec.caution:
        paragraph(session, f"Caution: {spec.caution}", style="italic", indent=2)
    grid = _grid()
    for rule in check.rules.values():
        if rule.rule_id.endswith(f".{check.normal}"):
            grid.add_row(rule.label, Text("normal", style="green"), "")
        else:
            _rule(grid, rule.label, rule, protocol, numbers, full)
    if check.rules:
        session.out.print(Padding(grid, (0, 0, 0, 2)))
    for standard in check.standards:
        whom = condition_words(standard.applies, protocol) or "any ram"
        line = Text(f"{standard.title}", style="underline")
        line.append(f"  for: {whom}", style="not underline")
        session.out.print(Padding(line, (0, 0, 0, 2)))
        bands = _grid()
        for band in standard.bands:
            label = f"{band_words(check, band)}: {band.rule.label}"
            _rule(bands, label, band.rule, protocol, numbers, full)
        session.out.print(Padding(bands, (0, 0, 0, 4)))
        if full and standard.origin.remark:
            paragraph(session, standard.origin.remark, style="italic", indent=4)
    _precision(session, check)


def _grid() -> Table:
    grid = Table.grid(padding=(0, 2, 0, 0), expand=True)
    grid.add_column(ratio=9, overflow="fold")
    grid.add_column(ratio=10, overflow="fold")
    grid.add_column(width=20, overflow="fold")
    return grid


def _rule(
    grid: Table,
    label: str,
    rule: Rule,
    protocol: ReadyProtocol,
    numbers: Mapping[str, int],
    full: bool,
) -> None:
    effects = Text(effects_words(rule, protocol), style=_STYLES.get(rule.worst, ""))
    if rule.flags:
        effects.append("\n! " + ", ".join(flag.replace("_", " ") for flag in rule.flags))
    grid.add_row(label, effects, origin_words(rule.origin, numbers))
    if full and rule.do:
        grid.add_row("", Text(f"Do: {rule.do}", style="italic"), "")
        grid.add_row("", Text(f"Owner: {rule.owner}", style="italic"), "")


def _need(protocol: ReadyProtocol, check: ReadyCheck) -> str:
    if check.id in protocol.always_required:
        return "required"
    if check in protocol.sometimes_required:
        nodes = [n for n in (check.asked_when, check.required_when) if n is not None]
        return "required if " + " and ".join(condition_words(n, protocol) for n in nodes)
    return "optional"


def _precision(session: Session, check: ReadyCheck) -> None:
    if check.unit is None:
        return
    low, high = (shown(v, check.unit) for v in check.plausible)
    text = f"Readings from {low} to {high} are believed"
    if check.error_by_readings[1]:
        error = shown(check.error_by_readings[1], check.unit)
        text += f"; one reading by the same person is within ±{error}"
    if check.spec.second_reading_near_limit:
        text += "; nearer to a limit than that, a second reading is asked for"
    paragraph(session, text + ".", indent=2)


def _figures(session: Session, protocol: ReadyProtocol, numbers: Mapping[str, int]) -> None:
    spec = protocol.spec
    figures = []
    if spec.timing is not None:
        figures += [
            (f"timing.{k}", getattr(spec.timing, k)) for k in type(spec.timing).model_fields
        ]
    figures += [(f"targets.{k}", figure) for k, figure in spec.targets.items()]
    if not figures:
        return
    session.out.print()
    session.out.rule(Text("Figures", style="bold"), align="left")
    grid = _grid()
    for key, figure in figures:
        unit = unit_named(figure.unit)
        text = shown(to_fixed(figure.value, unit), unit)
        if figure.low is not None and figure.high is not None:
            text += f" ({figure.low} to {figure.high})"
        title = key.split(".")[1].replace("_", " ")
        grid.add_row(title, text, origin_words(protocol.origins.get(key), numbers))
    if protocol.in_season is not None:
        grid.add_row("in season", condition_words(protocol.in_season, protocol), "")
    session.out.print(Padding(grid, (0, 0, 0, 2)))


def _sources(
    session: Session,
    protocol: ReadyProtocol,
    numbers: Mapping[str, int],
    checks: Sequence[ReadyCheck] | None,
) -> None:
    wanted = set(numbers)
    if checks is not None:
        ids = {c.id for c in checks}
        wanted = {
            rule.origin.source
            for check, rule in protocol.rules()
            if check.id in ids and rule.origin is not None and rule.origin.source
        }
    if not wanted:
        return
    session.out.print()
    session.out.rule(Text("Sources", style="bold"), align="left")
    grid = Table.grid(padding=(0, 1, 0, 0))
    grid.add_column(justify="right")
    grid.add_column(overflow="fold")
    for key, number in numbers.items():
        if key in wanted:
            grid.add_row(f"[{number}]", _reference(protocol.sources[key]))
    session.out.print(grid)
    words = ", ".join(BASIS.values())
    paragraph(session, f"Where a rule comes from is one of: {words}.", style="italic")


def _reference(source: Any) -> Text:
    parts = [source.author.rstrip("."), str(source.year or ""), source.title, source.published_in]
    text = Text(". ".join(part for part in parts if part) + ".")
    if source.doi:
        text.append(f" doi:{source.doi}")
    text.append(f" ({_READ[source.read]})", style="italic")
    return text

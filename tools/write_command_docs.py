#!/usr/bin/env python3
"""Write docs/commands.md from the program itself; a test holds the page to the program.

.venv/bin/python tools/write_command_docs.py           write the page
.venv/bin/python tools/write_command_docs.py --check   only tell whether it is up to date
"""

from __future__ import annotations

import io
import os
import sys
from collections.abc import Iterator
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path
from typing import Any

import typer.main

from stell.cli.endings import EXIT_CODES
from stell.cli.main import app
from stell.core.errors import CODES

ROOT = Path(__file__).parents[1]
PAGE = ROOT / "docs" / "commands.md"
SHEETS = "src/stell/services/demo_data"

EXAMPLES: dict[str, tuple[str, ...]] = {
    "judge": (
        'stell judge rams.csv --flock "Hill End" --mating-start 2026-11-02 --latitude 54.9',
        'stell judge old.csv --map "Bag (in)=circumference" --date-order day-first',
        "stell judge rams.xlsx --json | jq '.result.counts'",
    ),
    "import": (
        "stell import rams.xlsx --flock hill-end --dry-run",
        "stell import rams.xlsx --flock hill-end",
        'stell import rams.xlsx --flock hill-end --corrections "figures read back from the book"',
    ),
    "flock add": (
        (
            'stell flock add "Hill End" --owner "A. Example" --latitude 54.9 --type hill '
            "--mating-start 2026-11-02"
        ),
    ),
    "flock list": ("stell flock list",),
    "flock show": ("stell flock show hill-end", "stell flock show hill-end --all-rams"),
    "flock mating-start": ('stell flock mating-start hill-end "2 Nov 2026"',),
    "rams": ("stell rams --flock hill-end", "stell rams --left"),
    "history": ('stell history "HE 101"', "stell history Bracken --flock hill-end --all"),
    "due": ("stell due --within 30", "stell due --calendar due.ics"),
    "done": (
        'stell done "HE 103" "keep apart" --on 2026-08-25 --done-by "the owner"',
        'stell done "HE 103" treat --product "as on the label" --withdrawal-until 2026-09-24',
    ),
    "not-done": ('stell not-done "HE 103" treat --reason "that was another ram"',),
    "report": ("stell report hill-end -o report.pdf",),
    "sheet": ("stell sheet hill-end", "stell sheet --blank -o form.pdf"),
    "override": (
        'stell override "HE 101" --verdict unsatisfactory --reason "no teeth left to graze with"',
    ),
    "correct": (
        'stell correct "HE 116" --set circumference=34.5 --reason "digits swapped in typing"',
        'stell correct "HE 116" --set feet=scald --set "note=off fore" --reason "wrong line"',
    ),
    "leave": ('stell leave "HE 117" --why "sold: aged" --on 2026-12-10',),
    "move": ('stell move "HE 120" low-park',),
    "retag": ('stell retag "HE 101" --tag "HE 2101" --on "4 Oct 2026"',),
    "protocol list": ("stell protocol list",),
    "protocol show": (
        "stell protocol show house",
        "stell protocol show house --stop scrotum --full",
        "stell protocol show --keys",
    ),
    "protocol check": ("stell protocol check ours.toml",),
    "protocol compare": (
        "stell protocol compare house merck_older",
        "stell protocol compare house ours.toml --sheet rams.csv --latitude 54.9",
        'stell protocol compare house ours.toml --sheet old.csv --map "Seen=examined on"',
    ),
    "protocol new": ("stell protocol new ours.toml --from house",),
    "protocol register": ("stell protocol register ours.toml",),
    "rejudge": ("stell rejudge --protocol ours.toml --list",),
    "export": ("stell export records.xlsx", "stell export records.json --flock hill-end"),
    "backup": ("stell backup /media/stick/stell-2026-09-14.backup",),
    "restore": ("stell restore stell-2026-09-14.backup --data ~/restored",),
    "serve": ("stell serve", "stell serve --port 9000"),
    "demo": ("stell demo --no-serve", "stell demo --folder /tmp/stell-demo"),
}

RESULTS: dict[str, str] = {
    "judge": "an object: `sheet`, `sha256`, `flock`, `protocol`, `mating_start_on`, "
    "`latitude_deg`, `counts` (outcome to rams), `rams` (each with `row`, `flock`, `ram`, "
    "`examined_on`, `examiner`, `observations`, `note`, `outcome`, `override`, `verdict`), "
    "`columns` (what each was taken to mean)",
    "import": "an object: `sheet`, `stored`, `corrected`, `unchanged`, `refused`, `new_rams`, "
    "`new` (what they are called), `outcomes`, `exam_ids`; with `--dry-run` what an import would "
    "do, and `dry_run`, `would_store` (false when a refused row holds all back), `refused_rows`, "
    "`rams` (as `judge` prints them, with what is on record), `columns`",
    "flock add": "the flock: `id`, `slug`, `name`, `owner`, `latitude_deg`, `ram_type`, "
    "`mating_starts`, `rams`",
    "flock list": "a list of flocks, each as `flock add` prints it",
    "flock show": "the season: `flock`, `mating_start_on`, `protocol`, `counts`, `not_examined`, "
    "`ready`, `not_ready`, `readiness_open`, `timetable`, `to_do`, `rams`",
    "flock mating-start": "the flock, as `flock add` prints it",
    "rams": "a list of rams: `id`, `flock`, `tag`, `eid`, `name`, `breed`, `ram_type`, `born` "
    "(`earliest`, `latest`), `age_class`, `intended_use`, `left_on`, `left_why`",
    "history": "an object: `ram`, `entries` (newest first, each an examination with `decision`, "
    "`overrides` and `deeds`), `comparisons`, `slaughter_notice`",
    "due": "a list of things to do: `flock`, `days_left`, `overdue`, `kind`, `due_on`, `ram`, "
    "`ram_id`, `finding`, `sentence`, `owner`, `exam_id`, `rules`, `notice`",
    "done": "an object: `ram`, `deed` (`deed_id`, `exam_id`, `kind`, `rules`, `done_on`, "
    "`done_by`, `entered_by`, `note`, `medicine`, `taken_back`), `open` (what is still to be done)",
    "not-done": "an object, as `done` prints it",
    "report": "an object: `file`, `bytes`",
    "sheet": "an object: `file`, `bytes`",
    "override": "an object: `ram`, `proposed`, `override`",
    "correct": "an object: `ram`, `examination`",
    "leave": "the ram, as `rams` prints it",
    "move": "the ram, as `rams` prints it",
    "retag": "the ram, as `rams` prints it",
    "protocol list": "an object: `shipped`, `registered`",
    "protocol show": "the protocol, with the keys of its file; with `--keys` the keys themselves",
    "protocol check": "an object: `protocol`, `title`, `sha256`, `stops`, `checks`, `rules`, "
    "`basis` (rules by where they come from)",
    "protocol compare": "an object: `a`, `b`, `differences`; with `--sheet` also `judged` and "
    "`rams` (those whose verdict differs, with both verdicts)",
    "protocol new": "an object: `file`, `protocol`, `copied_from`",
    "protocol register": "the version: `id`, `version`, `title`, `sha256`, `registered_at`, "
    "`registered_by`, `judgements`",
    "rejudge": "an object: `protocol`, `total`, `judged`, `already`, `changed`, `was_resumed`, "
    "`moves` (each `before`, `after`, `examinations`), `changes`",
    "export": "an object: `files`, `rows` (table to rows)",
    "backup": "an object: `path`, `size_bytes`, `sha256`, `schema`, `made_at`, `examinations`",
    "restore": "an object, as `backup` prints it",
    "demo": "an object: `folder`, `summary`, `reports`",
}

INTRODUCTION = """\
# Commands

<!-- Written by tools/write_command_docs.py from the program itself; change it there. -->

`stell` alone, or with `--help`, lists its commands; every command has `--help` too. From a fresh
clone `./run judge …` is the same as `stell judge …`.

- [What is printed where](#what-is-printed-where)
- [Options that many commands share](#options-that-many-commands-share)
- [Exit codes](#exit-codes)
- [JSON](#json)
- [Errors](#errors)
- [The commands](#the-commands)

## What is printed where

Results go to standard output, everything else (notices, refused rows, progress) to standard error.
A progress bar is shown only on a terminal. Tables fit the terminal's width, 80 columns where there
is none. Every verdict is a word with a shape; colour comes on top and can be turned off. Where the
terminal knows ASCII only, the shapes are o, ^, ? and x. Dates are printed as `4 Oct 2026` and taken
as `2026-10-04` or `"4 Oct 2026"`.

`Ctrl-C` leaves nothing half-done: what was not finished was not stored, and a run of `rejudge` goes
on where it stopped. When the reader of a pipe has seen enough (`stell rams | head`), stell ends
without a word.
"""

JSON_PART = """\
## JSON

With `--json` standard output is one JSON object and nothing else:

| Key | Meaning |
|---|---|
| `stell` | 1; raised when the shape changes in a way that breaks readers |
| `command` | the command's words, for example `"flock show"` |
| `today` | the day it acted on |
| `result` | what the command answers, see each command |
| `notices` | remarks for a person |
| `problems` | refused rows, each in the shape of an error |

Dates are ISO 8601. Measured values are lists of readings in whole fixed units: circumference in
millimetres, condition in hundredths of a score, temperature in tenths of a degree, percentages in
tenths. An examination's `observations` map a check's id to an answer's id, to a list of them, or to
such readings.

An error is printed to standard error as

```json
{"stell": 1, "error": {"code": "…", "title": "…", "problem": "…", "got": "…", "legal": "…",
 "example": "…", "where": "…", "detail": "…"}, "others": [], "exit_code": 2}
```

with standard output empty. `detail` is the whole text in one line; `others` are errors of the same
kind that came with the first one.
"""


def commands(group: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """Yield every command with the words that lead to it, in the order of the help."""
    context = typer.main.get_command(app).make_context("stell", [], resilient_parsing=True)
    for name in group.list_commands(context):
        command = group.commands[name]
        words = f"{path} {name}".strip()
        if hasattr(command, "commands"):
            yield from commands(command, words)
        else:
            yield words, command


def option_row(option: Any) -> str:
    """Return a line of the table of options."""
    names = ", ".join(f"`{o}`" for o in option.opts)
    metavar = f" `{option.metavar}`" if option.metavar else ""
    return f"| {names}{metavar} | {_text(option)} |"


def _text(parameter: Any) -> str:
    text = (parameter.help or "").replace("|", "\\|")
    default = parameter.default
    if isinstance(default, str | int | float) and default not in ("", False, True):
        text += f" [default: {default}]"
    if parameter.required:
        text += " **Needed.**"
    return text


def usage(words: str, command: Any) -> str:
    """Return the command's usage line."""
    parts = ["stell", words]
    for parameter in command.params:
        if parameter.param_type_name == "argument":
            name = parameter.metavar or parameter.name.upper()
            parts.append(name if parameter.required else f"[{name}]")
    needed = [p for p in command.params if p.param_type_name == "option" and p.required]
    parts += [f"{p.opts[0]} {p.metavar}" for p in needed]
    return " ".join([*parts, "[options]"])


def command_part(words: str, command: Any, shared: set[str]) -> str:
    """Return the part of the page on one command."""
    lines = [f"### stell {words}", "", f"`{usage(words, command)}`", ""]
    lines += ["\n".join(line.strip() for line in command.help.splitlines()), ""]
    arguments = [p for p in command.params if p.param_type_name == "argument"]
    lines += [f"- `{a.metavar or a.name.upper()}`: {a.help}" for a in arguments]
    lines += [""] if arguments else []
    own = [p for p in command.params if p.param_type_name == "option" and not shared & set(p.opts)]
    if own:
        lines += ["| Option | Meaning |", "|---|---|", *(option_row(o) for o in own), ""]
    takes = [f"`{o}`" for p in command.params for o in p.opts if o in shared]
    lines += [f"Shared options: {', '.join(takes)}.", ""]
    if "`--json`" in takes:
        lines += [f"JSON `result`: {RESULTS[words]}.", ""]
    lines += ["```sh", *EXAMPLES[words], "```", ""]
    return "\n".join(lines)


def output_of(*words: str) -> str:
    """Return what a command prints at 80 columns, standard error behind standard output."""
    out, aside = io.StringIO(), io.StringIO()
    before = {name: os.environ.get(name) for name in ("COLUMNS", "NO_COLOR")}
    os.environ.update({"COLUMNS": "80", "NO_COLOR": "1"})
    try:
        with redirect_stdout(out), redirect_stderr(aside):
            app(list(words), standalone_mode=False)
    finally:
        for name, value in before.items():
            if value is None:
                os.environ.pop(name)
            else:
                os.environ[name] = value
    text = (out.getvalue() + aside.getvalue()).replace(f"{ROOT}/", "")
    return "\n".join(line.rstrip() for line in text.splitlines())


def errors_part() -> str:
    """Return the part on errors, with a faulty sheet as it is really refused."""
    sheet = f"{SHEETS}/with-errors.csv"
    shown = output_of("judge", str(ROOT / sheet), "--latitude", "54.9", "--today", "2026-09-14")
    rows = "\n".join(f"| `{code}` | {meaning} |" for code, meaning in CODES.items())
    return f"""\
## Errors

Every error says where it is, what was got, what is legal, and gives one example. A sheet is read to
its end, so that all of its mistakes are seen at once:

```text
$ stell judge {sheet} --latitude 54.9
{shown}
```

The closed list of codes (`code` in JSON):

| Code | Meaning |
|---|---|
{rows}
"""


def page() -> str:
    """Return the whole page."""
    root = typer.main.get_command(app)
    shared_options = [p for p in root.params if p.opts[0] not in ("--version", "--help")]
    shared = {o for p in shared_options for o in p.opts}
    codes = "\n".join(f"| {code} | {meaning} |" for code, meaning in sorted(EXIT_CODES.items()))
    shared_rows = "\n".join(option_row(p) for p in shared_options)
    parts = [
        INTRODUCTION,
        (
            "## Options that many commands share\n\nThey may stand before the command's name or "
            f"after it.\n\n| Option | Meaning |\n|---|---|\n{shared_rows}\n"
        ),
        f"## Exit codes\n\n| Code | Meaning |\n|---|---|\n{codes}\n",
        JSON_PART,
        errors_part(),
        "## The commands\n",
        *(command_part(words, command, shared) for words, command in commands(root)),
    ]
    return "\n".join(parts).rstrip() + "\n"


def main() -> None:
    """Write the page, or tell whether it is up to date."""
    text = page()
    if "--check" in sys.argv[1:]:
        same = PAGE.exists() and PAGE.read_text(encoding="utf-8") == text
        print(f"{PAGE.name} is up to date" if same else f"{PAGE.name} is out of date")
        sys.exit(0 if same else 1)
    PAGE.parent.mkdir(exist_ok=True)
    PAGE.write_text(text, encoding="utf-8")
    print(f"{PAGE.relative_to(ROOT)} written")


if __name__ == "__main__":
    main()

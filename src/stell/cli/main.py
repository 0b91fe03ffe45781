"""The command's entry point: every group of commands under one roof."""

from __future__ import annotations

import inspect
import sys
from collections.abc import Sequence
from typing import Annotated, Any

import typer
from typer.core import TyperGroup

from stell import __version__
from stell.cli import (
    deciding,
    deeds,
    due,
    flocks,
    importing,
    judging,
    keeping,
    papers,
    protocols,
    rams,
    serving,
    whereabouts,
)
from stell.cli.commands import SHARED, shared_parameters
from stell.cli.endings import STOPPED
from stell.cli.failing import guarded
from stell.cli.plain_letters import never_fail_on_letters
from stell.cli.usage_words import usage_refused

# The order of the job: judge, keep, see what is due, hand out, look after the records.
ORDER = (
    "judge",
    "import",
    "flock",
    "rams",
    "history",
    "due",
    "done",
    "not-done",
    "report",
    "sheet",
    "override",
    "correct",
    "leave",
    "move",
    "retag",
    "protocol",
    "rejudge",
    "export",
    "backup",
    "restore",
    "serve",
    "demo",
)


class Desk(TyperGroup):
    """The command group that turns every failure into one message and one exit code."""

    def list_commands(self, ctx: Any) -> list[str]:
        """Return the commands in the order of the job."""
        return sorted(super().list_commands(ctx), key=ORDER.index)

    def main(self, args: Sequence[str] | None = None, *_: Any, **extra: Any) -> Any:
        """Run a command; leave with its exit code unless ``standalone_mode`` is off."""
        words = list(sys.argv[1:] if args is None else args)
        leave = extra.pop("standalone_mode", True)
        extra["prog_name"] = "stell"
        code = guarded(lambda: self._run(words, extra), words)
        if leave:
            sys.exit(code)
        return code

    def _run(self, words: list[str], extra: dict[str, Any]) -> int:
        try:
            answer = super().main(words, standalone_mode=False, **extra)
        except Exception as error:
            if getattr(error, "format_message", None) is None:
                raise
            raise usage_refused(error) from None
        if answer == STOPPED:  # typer has swallowed the Ctrl-C
            raise KeyboardInterrupt
        return answer if isinstance(answer, int) else 0


app = typer.Typer(
    name="stell",
    cls=Desk,
    help="Examine rams before mating: judge them to a written standard, and see what to do by "
    "when.",
    rich_markup_mode=None,
    add_completion=False,
    context_settings={"help_option_names": ["--help"], "max_content_width": 80},
)


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"stell {__version__}")
        raise typer.Exit


def start(context: typer.Context, **_: Any) -> None:
    """Examine rams before mating: judge them to a written standard, and see what to do by when."""
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())


_VERSION = Annotated[
    bool, typer.Option("--version", help="Print the version.", callback=_version, is_eager=True)
]
_KEYWORD = inspect.Parameter.KEYWORD_ONLY
# The shared options may stand before the command's name as well; `commands` reads them there.
start.__signature__ = inspect.Signature(  # type: ignore[attr-defined]
    [
        inspect.Parameter("context", _KEYWORD, annotation=typer.Context),
        *shared_parameters(SHARED),
        inspect.Parameter("version", _KEYWORD, annotation=_VERSION, default=False),
    ]
)
app.callback(invoke_without_command=True)(start)

for module in (
    judging,
    importing,
    rams,
    due,
    deeds,
    papers,
    keeping,
    deciding,
    whereabouts,
    serving,
):
    module.register(app)
app.add_typer(flocks.app, name="flock")
app.add_typer(protocols.app, name="protocol")


def main() -> None:
    """Run ``stell``."""
    never_fail_on_letters()
    app()

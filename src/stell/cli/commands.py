"""Register a command together with the options it shares with others.

A command is a function whose first argument is a `Session`; the words ``needs`` lists decide
which shared options it takes. They may stand before the command's name or after it.
"""

from __future__ import annotations

import functools
import getpass
import inspect
import os
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Annotated, Any

import typer

from stell.cli.session import Session, day_from

DataFolder = Annotated[
    Path | None,
    typer.Option(
        "--data",
        metavar="FOLDER",
        help="Where stell keeps its records. [default: $STELL_DATA, else a folder of its own in "
        "your home]",
    ),
]
By = Annotated[
    str,
    typer.Option(
        "--by",
        metavar="NAME",
        help="Who does this, for the record of changes. [default: $STELL_BY, else the computer's "
        "user]",
    ),
]
Today = Annotated[
    str, typer.Option("--today", metavar="DATE", help="Act as on this day. [default: today]")
]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON instead of tables.")]
Quiet = Annotated[
    bool, typer.Option("--quiet", help="Print the result only: no notices, no progress.")
]
NoColour = Annotated[
    bool, typer.Option("--no-colour", help="Print without colour. So does NO_COLOR.")
]
SHARED: dict[str, Any] = {
    "data": DataFolder,
    "by": By,
    "today": Today,
    "json": AsJson,
    "quiet": Quiet,
    "no_colour": NoColour,
}
EMPTY: dict[str, Any] = {
    "data": None,
    "by": "",
    "today": "",
    "json": False,
    "quiet": False,
    "no_colour": False,
}
ALWAYS = ("quiet", "no_colour")


def command(
    app: typer.Typer, name: str, *, needs: Iterable[str] = ("json",)
) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Return a decorator that makes ``function(session, ...)`` a command of `app`.

    Parameters
    ----------
    app : typer.Typer
    name : str
        The command's word.
    needs : iterable of str
        Keys of `SHARED` that mean something to this command; `ALWAYS` is added.
    """
    wanted = [key for key in SHARED if key in {*needs, *ALWAYS}]

    def register(function: Callable[..., Any]) -> Callable[..., Any]:
        own = inspect.signature(function, eval_str=True)
        parameters = list(own.parameters.values())[1:]
        words = inspect.Parameter.KEYWORD_ONLY
        context = inspect.Parameter("context", words, annotation=typer.Context)
        shared = shared_parameters(wanted, prefix="shared_")

        @functools.wraps(function)
        def run(**given: Any) -> Any:
            ctx = given.pop("context")
            after = {k: given.pop(f"shared_{k}") for k in wanted}
            return function(_session(ctx, after), **given)

        parts = [*(p.replace(kind=words) for p in parameters), *shared, context]
        run.__signature__ = own.replace(parameters=parts)  # type: ignore[attr-defined]
        app.command(name)(run)
        return function

    return register


def shared_parameters(keys: Iterable[str], *, prefix: str = "") -> list[inspect.Parameter]:
    """Return the shared options as parameters of a function."""
    words = inspect.Parameter.KEYWORD_ONLY
    return [
        inspect.Parameter(prefix + k, words, annotation=SHARED[k], default=EMPTY[k]) for k in keys
    ]


def _session(context: typer.Context, after: dict[str, Any]) -> Session:
    """Return the session; what stands after the command's name counts before what stands ahead."""
    before: dict[str, Any] = context.find_root().params
    chosen = {k: after.get(k) or before.get(k) or empty for k, empty in EMPTY.items()}
    path = context.command_path.split(" ", 1)
    return Session(
        command=path[1] if len(path) > 1 else "",
        folder=chosen["data"],
        as_json=chosen["json"],
        quiet=chosen["quiet"],
        colourless=chosen["no_colour"],
        given_day=day_from(chosen["today"], "--today") if chosen["today"] else None,
        by=chosen["by"] or os.environ.get("STELL_BY", "") or _user(),
    )


def _user() -> str:
    try:
        return getpass.getuser()
    except (OSError, KeyError):  # a container without an entry for its user
        return "unknown"

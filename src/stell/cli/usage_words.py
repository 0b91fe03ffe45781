"""What the command-line library says of wrong words, in ours: what was got, what is legal."""

from __future__ import annotations

import re
from typing import Any

from stell.cli.failing import UsageRefused
from stell.exchange.phrases import near

_QUOTED = re.compile(r"^'(.*?)' is not")
_LEFT_OVER = re.compile(r"unexpected extra arguments?(?:\(s\))? \((.*)\)")
_UNKNOWN = re.compile(r"No such command '(.*?)'")


def usage_refused(error: Any) -> UsageRefused:
    """Return an error of the command-line library as one of ours.

    Parameters
    ----------
    error : Exception
        One of the library's; read by its attributes, as its classes are its own affair.
    """
    context = getattr(error, "ctx", None)
    path = context.command_path if context is not None else "stell"
    help_too = f"{path} --help"
    kind = type(error).__name__
    if kind == "MissingParameter":
        return _missing(error, path, help_too)
    if kind == "NoSuchOption":
        options = _options(context)
        close = near(error.option_name, options, most=1)
        example = f"{close[0]}; {help_too}" if close else help_too
        legal = ", ".join(options)
        return _refused("there is no such option", error.option_name, legal, example, path)
    if kind == "BadOptionUsage":
        return _refused(
            f"the option {error.option_name} needs a value", "nothing",
            f"{error.option_name} and a value behind it", help_too, path,
        )  # fmt: skip
    if kind == "BadParameter" and getattr(error, "param", None) is not None:
        return _bad_value(error, path, help_too)
    return _by_message(error, path, help_too)


def _refused(problem: str, got: str, legal: str, example: str, where: str) -> UsageRefused:
    return UsageRefused("usage", problem, got=got, legal=legal, example=example, where=where)


def _missing(error: Any, path: str, help_too: str) -> UsageRefused:
    param = error.param
    if param is None:
        return _refused("a word is missing", "nothing", "", help_too, path)
    if param.param_type_name == "argument":
        name = _named(param)
        problem = f"{name} is missing"
        legal = f"{path} {name} …"
    else:
        problem = f"the option {_named(param)} is missing"
        legal = f"{_named(param)} {param.metavar or ''}".strip()
    return _refused(problem, "nothing", legal, help_too, path)


def _given(error: Any) -> str:
    """Return what was typed: the library names it only in the error behind its own."""
    details = getattr(error.__cause__ or error.__context__, "errors", None)
    if details is not None:
        return str(details()[0].get("input", ""))
    found = _QUOTED.match(error.message)
    return found[1] if found else str(error.message)


def _named(param: Any) -> str:
    """Return how a person writes an option, or what the help calls a word."""
    if param.param_type_name == "option":
        return str(param.opts[0])
    return str(param.metavar or param.name).strip("[]").upper()


def _bad_value(error: Any, path: str, help_too: str) -> UsageRefused:
    param, message = error.param, error.message
    got = _given(error)
    low, high = getattr(param, "min", None), getattr(param, "max", None)
    is_float = "float" in message
    legal = "a number, with a decimal point" if is_float else "a whole number"
    if low is not None or high is not None:
        legal += f" of at least {low}" if high is None else f" from {low} to {high}"
    number = low if low is not None else 3
    named = _named(param)
    return _refused(f"{named} cannot be that", got, legal, f"{named} {number}; {help_too}", path)


def _by_message(error: Any, path: str, help_too: str) -> UsageRefused:
    message = error.format_message().rstrip(".")
    if found := _UNKNOWN.search(message):
        context = error.ctx
        names = context.command.list_commands(context) if context is not None else []
        close = near(found[1], names)
        example = f"{path} {close[0]} --help" if close else help_too
        return _refused("there is no such command", found[1], ", ".join(names), example, path)
    if found := _LEFT_OVER.search(message):
        return _refused(
            "there are more words than the command takes", found[1],
            "names of several words in quotation marks", f'"High Sallow"; {help_too}', path,
        )  # fmt: skip
    return UsageRefused("usage", message, example=help_too, where=path)


def _options(context: Any) -> list[str]:
    """Return the options of a command, its own before the shared ones."""
    if context is None:
        return []
    return [p.opts[0] for p in context.command.params if p.param_type_name == "option"]

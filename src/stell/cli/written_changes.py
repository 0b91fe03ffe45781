"""Corrections as they are written on the command line: ``circumference=34.5``, ``feet=scald``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from stell.cli.failing import UsageRefused
from stell.cli.session import day_from
from stell.core.errors import ValueRefused

if TYPE_CHECKING:
    from stell.core.protocol.ready import ReadyCheck, ReadyProtocol


def written_changes(words: list[str], protocol: ReadyProtocol) -> dict[str, Any]:
    """Return what ``--set WHAT=VALUE`` asks for, as `services.deciding.correct` takes it.

    Raises
    ------
    UsageRefused
        For words without ``=``.
    ValueRefused
        For a check, an answer or a figure that cannot be.
    """
    changes: dict[str, Any] = {}
    for text in words:
        what, mark, value = text.partition("=")
        what, value = what.strip(), value.strip()
        if not mark or not what:
            raise UsageRefused(
                "usage",
                "--set needs what, = and a value",
                got=text,
                legal="WHAT=VALUE",
                example="--set circumference=34.5",
            )
        if what in ("note", "examiner"):
            changes[what] = value
        elif what == "examined_on":
            changes[what] = day_from(value, "--set examined_on=")
        else:
            check = _check(what, protocol)
            changes.setdefault("observations", {})[check.id] = _observed(check, value)
    return changes


def _check(word: str, protocol: ReadyProtocol) -> ReadyCheck:
    plain = word.lower().replace("_", " ")
    for check in protocol.checks.values():
        if plain in (check.id.replace("_", " "), check.title.lower(), check.short.lower()):
            return check
    raise ValueRefused(
        "value.choice",
        f"{protocol.named} has no check of that name",
        got=word,
        legal=", ".join(protocol.checks) + ", note, examiner, examined_on",
        example="--set circumference=34.5",
        where="--set",
    )


def _observed(check: ReadyCheck, value: str) -> Any:
    """Return a value as an examination holds it; None takes the check away."""
    if not value:
        return None
    if check.unit is not None:
        return _readings(check, value)
    answers = tuple(_answer(check, part) for part in value.split(";"))
    return answers if check.spec.several else answers[0]


def _readings(check: ReadyCheck, text: str) -> tuple[int, ...] | None:
    """Return the readings as a cell of a sheet would give them; None for "not examined".

    Raises
    ------
    ValueRefused
        `value.range`.
    """
    from stell.exchange.cells import NotExamined
    from stell.exchange.measures import MeasureReader
    from stell.exchange.refusal import Refused

    assert check.unit is not None
    try:
        found = MeasureReader(check, check.unit)(text)
    except Refused as error:
        raise ValueRefused(
            "value.range",
            error.problem,
            got=error.got,
            legal=error.legal,
            example=f'--set "{check.id}={error.example}"',
            where="--set",
        ) from None
    return None if isinstance(found, NotExamined) else found


def _answer(check: ReadyCheck, text: str) -> str:
    word = text.strip().lower()
    for option in check.spec.option:
        if word in (option.id, option.label.lower(), *(a.lower() for a in option.also_called)):
            return option.id
    raise ValueRefused(
        "value.choice",
        f"{check.title} has no such answer",
        got=text,
        legal=", ".join(check.rules),
        example=f"--set {check.id}={check.normal}",
        where="--set",
    )

"""What every command shares: where the data lies, how to print, and what day it is."""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from stell.cli.endings import ReaderLeft
from stell.core.errors import ValueRefused

if TYPE_CHECKING:
    from rich.console import Console

JSON_FORMAT = 1  # raised when the shape of what --json prints changes in a way that breaks readers
_FIRST_YEAR, _LAST_YEAR = 1950, 2150  # outside it a year is a slip of the finger


@dataclass
class Session:
    """One run of one command.

    Attributes
    ----------
    command : str
        The words that lead to the command, for example ``protocol show``.
    folder : Path or None
        From ``--data``.
    as_json, quiet, colourless : bool
        From the options of the same names.
    given_day : date or None
        From ``--today``.
    by : str
        Who acts, for the record of changes.
    """

    command: str = ""
    folder: Path | None = None
    as_json: bool = False
    quiet: bool = False
    colourless: bool = False
    given_day: date | None = None
    by: str = ""
    notices: list[str] = field(default_factory=list)
    problems: list[Any] = field(default_factory=list)

    @cached_property
    def today(self) -> date:
        """The day the command acts on: ``--today``, else the computer's date."""
        return self.given_day or datetime.now().astimezone().date()

    @cached_property
    def now(self) -> datetime:
        """The moment that goes on record, in UTC; on another day when ``--today`` says so."""
        moment = datetime.now(UTC)
        if self.given_day is None:
            return moment
        return datetime.combine(self.given_day, moment.timetz())

    @cached_property
    def out(self) -> Console:
        """Where results are printed."""
        return self._console(stderr=False)

    @cached_property
    def aside(self) -> Console:
        """Where everything is printed that is not the result: notices, progress."""
        return self._console(stderr=True)

    def _console(self, *, stderr: bool) -> Console:
        from stell.cli.console import QuietPipeConsole

        stream = sys.stderr if stderr else sys.stdout
        no_colour = self.colourless or bool(os.environ.get("NO_COLOR"))
        return QuietPipeConsole(
            stderr=stderr,
            no_color=no_colour or None,
            color_system=None if no_colour else "auto",
            width=None if stream.isatty() or os.environ.get("COLUMNS") else 80,
            highlight=False,
            emoji=False,
            markup=False,
        )

    @property
    def can_draw(self) -> bool:
        """Whether the place we print to can show shapes beyond ASCII."""
        try:
            "●▲□✖─→".encode(self.out.encoding)
        except (UnicodeEncodeError, LookupError):
            return False
        return True

    def say(self, text: str) -> None:
        """Print a line as it is: a path in it can be copied, however long it is."""
        self.out.print(text, soft_wrap=True)

    def notice(self, text: str) -> None:
        """Keep a remark for the end: after the tables, or in the JSON."""
        if text not in self.notices:
            self.notices.append(text)

    def emit(self, result: Any) -> None:
        """Print the result as JSON: the one shape that docs/commands.md describes."""
        from stell.cli.jsonable import plain, written

        whole = {
            "stell": JSON_FORMAT,
            "command": self.command,
            "today": self.today.isoformat(),
            "result": plain(result),
            "notices": self.notices,
            "problems": [p.as_dict() for p in self.problems],
        }
        try:
            # Where stdout is not UTF-8, letters beyond ASCII go out as \u escapes.
            escaped = "utf" not in (sys.stdout.encoding or "").lower()
            sys.stdout.write(written(whole, ascii_only=escaped) + "\n")
            sys.stdout.flush()
        except BrokenPipeError:
            raise ReaderLeft from None


def day_from(text: str, option: str) -> date:
    """Return the day an option gives, as ISO or with the month as a word.

    Raises
    ------
    ValueRefused
        `value.date`: a date of digits alone could mean two days and is not guessed at.

    Examples
    --------
    >>> day_from("2026-10-04", "--today") == day_from("4 Oct 2026", "--today")
    True
    """
    for pattern in ("%Y-%m-%d", "%d %b %Y", "%d %B %Y"):
        try:
            day = datetime.strptime(text.strip(), pattern).date()  # noqa: DTZ007  (a day, no time)
        except ValueError:
            continue
        if not _FIRST_YEAR <= day.year <= _LAST_YEAR:
            raise ValueRefused(
                "value.date",
                "the day lies in a year that cannot be meant",
                got=text,
                legal=f"a day from {_FIRST_YEAR} to {_LAST_YEAR}",
                example=f"{option} 2026-10-04",
                where=option,
            )
        return day
    raise ValueRefused(
        "value.date",
        "the date could not be understood",
        got=text,
        legal="year-month-day, or day month-as-a-word year",
        example=f'{option} 2026-10-04, or {option} "4 Oct 2026"',
        where=option,
    )

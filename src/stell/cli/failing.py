"""What happens when a command cannot do its work: one message, one exit code, no traceback."""

from __future__ import annotations

import errno
import os
import shutil
import sys
import tempfile
import textwrap
import traceback
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any, TextIO

from stell.cli.alike_problems import grouped
from stell.cli.endings import FINE, STOPPED, UNEXPECTED, ReaderLeft
from stell.cli.jsonable import written
from stell.cli.session import JSON_FORMAT
from stell.core.errors import CODES, StellError, StoreError

MOST_LISTED = 20  # problems printed in full; the rest is counted


class UsageRefused(StellError):
    """The words of a command do not fit together."""

    exit_code = 2


def guarded(work: Callable[[], int], words: Sequence[str]) -> int:
    """Run a command and return its exit code, whatever happens in it.

    Parameters
    ----------
    work : callable
        Runs the command; returns its exit code.
    words : sequence of str
        The words after ``stell``; only looked at for ``--json``.
    """
    _open_closed_streams()
    try:
        code = _told(work, "--json" in words)
    except OSError as error:  # not even the error could be told
        code = file_refused(error).exit_code
    for stream in (sys.stdout, sys.stderr):
        _leave_unsaid(stream)
    return code


def _open_closed_streams() -> None:
    """Give a program that was started without stdout or stderr (``>&-``) one that leads nowhere."""
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:
            nowhere = Path(os.devnull).open("w", encoding="utf-8")  # noqa: SIM115  (for good)
            setattr(sys, name, nowhere)


def _leave_unsaid(stream: TextIO) -> None:
    """Drop what a full disk did not take, or Python tries again at the end and complains."""
    try:
        stream.flush()
    except OSError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def _told(work: Callable[[], int], as_json: bool) -> int:
    try:
        code = work()
        sys.stdout.flush()
    except StellError as error:
        return tell(error, as_json)
    except KeyboardInterrupt:
        return stopped(as_json)
    except (ReaderLeft, BrokenPipeError):
        return reader_left()
    except OSError as error:
        return tell(file_refused(error), as_json)
    except Exception as error:  # the last line of defence: a person never sees a traceback
        return unexpected(error, as_json)
    return code


def file_refused(error: OSError) -> StellError:
    """Return what the computer said of a file as an error of ours."""
    full = error.errno == errno.ENOSPC
    return StoreError(
        "store.full" if full else "store.unreadable",
        error.strerror or type(error).__name__,
        legal="room to write" if full else "a file or folder that may be read and written",
        example="make room and give the same command again"
        if full
        else "another place, or leave to write there",
        where=str(error.filename or ""),
    )


def tell(error: StellError, as_json: bool) -> int:
    """Print an error, and those that came with it, to stderr; return its exit code."""
    others = list(getattr(error, "others", []))
    if as_json:
        _write(
            {
                "stell": JSON_FORMAT,
                "error": as_json_error(error),
                "others": [as_json_error(e) for e in others],
                "exit_code": error.exit_code,
            }
        )
        return error.exit_code
    print(laid_out(error), file=sys.stderr)
    others = grouped(others)
    for other in others[:MOST_LISTED]:
        print(laid_out(other), file=sys.stderr)
    if len(others) > MOST_LISTED:
        print(f"stell: and {len(others) - MOST_LISTED} more", file=sys.stderr)
    return error.exit_code


def as_json_error(error: StellError) -> dict[str, Any]:
    """Return an error's JSON shape: its parts, what its code means, and the whole text."""
    return {**error.as_dict(), "title": CODES[error.code], "detail": error.text()}


def laid_out(error: StellError, *, lead: str = "stell: ", width: int = 0) -> str:
    """Return an error as lines: where and what, then what was got, what is legal, an example."""
    width = min(width or shutil.get_terminal_size((80, 24)).columns, 100)
    # A place too long for the first line, as a deep path, gets a line of its own.
    leads = bool(error.where) and len(lead) + len(error.where) + 20 <= width
    head = f"{error.where}: {error.problem}" if leads else error.problem
    lines = _wrapped(lead + head, "  ", width)
    got = "" if error.got is None else str(error.got)
    if len(got) > 200:
        got = got[:197] + "..."
    if error.where and not leads:
        lines.append(f"  {'where':<8} {_printable(error.where)}")  # whole, so it can be copied
    for label, text in (("got", got), ("legal", error.legal), ("example", error.example)):
        if text:
            lines += _wrapped(f"  {label:<8} {text}", " " * 11, width)
    return "\n".join(lines)


def _wrapped(text: str, indent: str, width: int) -> list[str]:
    return textwrap.wrap(
        _printable(text),
        width,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
        drop_whitespace=True,
        replace_whitespace=False,
    )


def _printable(text: str) -> str:
    """Return a text without control characters: a sheet must not steer the terminal."""
    return "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in text)


def stopped(as_json: bool) -> int:
    """Say that Ctrl-C was heard."""
    text = "Stopped. Nothing was left half-done: what was not finished was not stored."
    if as_json:
        _write({"stell": JSON_FORMAT, "stopped": True, "detail": text, "exit_code": STOPPED})
    else:
        print(f"stell: {text}", file=sys.stderr)
    return STOPPED


def reader_left() -> int:
    """Be quiet when whoever reads our output has seen enough (``stell rams | head``)."""
    # Python would complain once more when it closes stdout at the end.
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())
    return FINE


def unexpected(error: BaseException, as_json: bool) -> int:
    """Write the details of an unforeseen error to a file and say where; return the exit code."""
    kind = type(error).__name__
    place = _write_details(error)
    where = f"The details are in {place}." if place else "The details could not be written."
    text = f"Something went wrong that stell did not expect ({kind}). {where}"
    if as_json:
        _write(
            {
                "stell": JSON_FORMAT,
                "unexpected": kind,
                "detail": text,
                "details_in": place,
                "exit_code": UNEXPECTED,
            }
        )
    else:
        print("\n".join(_wrapped(f"stell: {text}", "  ", 100)), file=sys.stderr)
    return UNEXPECTED


def _write_details(error: BaseException) -> str:
    moment = datetime.now().astimezone().strftime("%Y-%m-%d-%H%M%S")
    lines = [f"command: {' '.join(sys.argv)}\n", f"python: {sys.version}\n"]
    lines += traceback.format_exception(error)
    try:
        handle, name = tempfile.mkstemp(prefix=f"stell-{moment}-", suffix=".txt")
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.writelines(lines)
    except OSError:
        return ""
    return str(Path(name))


def _write(value: dict[str, Any]) -> None:
    escaped = "utf" not in (sys.stderr.encoding or "").lower()
    print(written(value, ascii_only=escaped), file=sys.stderr)

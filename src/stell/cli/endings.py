"""How a command can end: exit codes, and a reader that leaves."""

from __future__ import annotations

# Exit codes. Errors carry their own (`StellError.exit_code`, 1 to 6); these are the others.
FINE = 0
SOME_REFUSED = 10
DIFFERENT = 11
UNEXPECTED = 70
STOPPED = 130

EXIT_CODES: dict[int, str] = {
    FINE: "done",
    1: "not done, for a reason that has no code of its own",
    2: "the words of the command, or a value in them, do not fit",
    3: "a protocol file was refused",
    4: "a sheet was refused; nothing of it was stored",
    5: "a record is missing, ambiguous or closed",
    6: "the data file cannot be read or written",
    SOME_REFUSED: "done, but some rows of the sheet were refused and are listed",
    DIFFERENT: "`protocol compare` found differences",
    UNEXPECTED: "something that stell did not expect; the message says where the details are",
    STOPPED: "stopped with Ctrl-C; nothing was left half-done",
}


class ReaderLeft(Exception):
    """Whoever reads our output has seen enough, as ``head`` in ``stell rams | head``."""

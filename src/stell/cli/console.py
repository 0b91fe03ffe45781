"""The console that results are printed with. Imported only when something is printed."""

from __future__ import annotations

from rich.console import Console

from stell.cli.endings import ReaderLeft


class QuietPipeConsole(Console):
    """A console whose reader may leave early."""

    def on_broken_pipe(self) -> None:
        """Raise `ReaderLeft`; rich itself would end the program with exit code 1."""
        raise ReaderLeft

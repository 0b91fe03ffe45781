"""The console that results are printed with. Imported only when something is printed."""

from __future__ import annotations

import re
from collections.abc import Iterable

from rich.console import Console, ConsoleOptions, RenderableType
from rich.segment import Segment

from stell.cli.endings import ReaderLeft

# What steers a terminal or turns its reading order round; line ends alone may pass.
_STEERING = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")


class QuietPipeConsole(Console):
    """A console whose reader may leave early, and that no text on record can steer."""

    def on_broken_pipe(self) -> None:
        """Raise `ReaderLeft`; rich itself would end the program with exit code 1."""
        raise ReaderLeft

    def render(
        self, renderable: RenderableType, options: ConsoleOptions | None = None
    ) -> Iterable[Segment]:
        """Yield what is printed, with a stand-in for every letter that is none."""
        for segment in super().render(renderable, options):
            if segment.control or not _STEERING.search(segment.text):
                yield segment
            else:
                shown = _STEERING.sub("\N{REPLACEMENT CHARACTER}", segment.text)
                yield Segment(shown, segment.style)

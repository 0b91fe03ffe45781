"""The look that printed pages, charts and the site share: colours, verdict shapes, font.

The numbers stand in ``look.json``, which the typst templates read as well, so that a verdict has
the same word, shape and crayon colour wherever it is met.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType

FONTS = Path(__file__).parent / "fonts"


@dataclass(frozen=True, slots=True)
class Mark:
    """How a verdict is drawn.

    Attributes
    ----------
    word : str
        The verdict.
    plain : str
        What it means for the flock, in a few words.
    colour : str
        Crayon colour, ``#rrggbb``.
    filled : bool
        Else only the outline is drawn.
    points : tuple of (float, float)
        Corners in a box from -1 to 1, y downwards; empty for a disc. [1]
    """

    word: str
    plain: str
    colour: str
    filled: bool
    points: tuple[tuple[float, float], ...]

    @property
    def path(self) -> str:
        """The outline as SVG path data in a box from -1 to 1; ``circle`` for a disc.

        Vega takes the same text as the shape of a symbol.
        """
        if not self.points:
            return "circle"
        return "M" + "L".join(f"{x:g},{y:g}" for x, y in self.points) + "Z"


@dataclass(frozen=True, slots=True)
class Look:
    """Font, colours by name and marks by verdict."""

    font: str
    colours: Mapping[str, str]
    marks: Mapping[str, Mark]


@lru_cache(maxsize=1)
def look() -> Look:
    """Return the look.

    Examples
    --------
    >>> look().marks["deferred"].path
    'M0,-0.95L1,0.85L-1,0.85Z'
    """
    raw = json.loads((Path(__file__).parent / "look.json").read_text("utf-8"))
    marks = {
        outcome: Mark(
            v["word"], v["plain"], v["colour"], v["filled"], tuple((x, y) for x, y in v["points"])
        )
        for outcome, v in raw["verdicts"].items()
    }
    return Look(raw["font"], MappingProxyType(raw["colours"]), MappingProxyType(marks))

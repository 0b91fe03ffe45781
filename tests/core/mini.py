"""A small protocol for tests of the machinery: its numbers are invented and mean nothing."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from stell.core.protocol.load import load_text
from stell.core.protocol.ready import ReadyProtocol
from stell.core.records import Born, Examination, Observed, Ram, Season

MINI = (Path(__file__).parent / "mini.toml").read_text("utf-8")

NORMAL: dict[str, Observed] = {
    "jaw": "meets",
    "feet": ("sound",),
    "condition": (350,),
    "tone_left": "firm",
    "tone_right": "firm",
    "circumference": (345,),
    "sheath": "clean",
}
SEASON = Season(mating_start_on=date(2026, 11, 5), latitude_deg=54.0)
EXAMINED = date(2026, 9, 1)


def mini() -> ReadyProtocol:
    """Return the small protocol, ready."""
    return load_text(MINI, where="mini.toml")


def ram(**changes: object) -> Ram:
    """Return a mature ram, changed as told."""
    known: dict[str, object] = {
        "ram_id": "r1",
        "tag": "00017",
        "born": Born.on(date(2023, 3, 10)),
        "intended_use": "terminal",
    }
    return Ram(**(known | changes))  # type: ignore[arg-type]


def examination(
    on: date = EXAMINED, circumstances: tuple[str, ...] = (), **changes: Observed | None
) -> Examination:
    """Return a normal examination, with findings changed; None takes one away."""
    found = {k: v for k, v in (NORMAL | changes).items() if v is not None}
    return Examination("e1", "r1", on, found, circumstances=circumstances)

"""Papers out: the owner's report, the run sheet for the yard, the blank form."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from stell.core.protocol.ready import ReadyProtocol
from stell.services.records import FlockRecord


def owner_report(flock: FlockRecord | str, *, today: date, path: Path) -> Path:
    """Write the owner's report on the current season as PDF; return its path."""
    raise NotImplementedError


def run_sheet(flock: FlockRecord | str, *, today: date, path: Path) -> Path:
    """Write the run sheet (his rams listed, ready to be filled in) as PDF; return its path."""
    raise NotImplementedError


def blank_form(protocol: ReadyProtocol, path: Path) -> Path:
    """Write a blank form of the protocol as PDF; return its path."""
    raise NotImplementedError

"""A small protocol, and a sheet written and read in one go."""

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from stell.core.intake import ReadingRules, SheetReading
from stell.core.protocol.load import load_file
from stell.core.protocol.ready import ReadyProtocol
from stell.exchange.reading import read_sheet

TODAY = date(2026, 11, 25)
Read = Callable[..., SheetReading]


@pytest.fixture(scope="session")
def protocol() -> ReadyProtocol:
    """Every kind of check once; see small.toml."""
    return load_file(Path(__file__).with_name("small.toml"))


@pytest.fixture
def read(tmp_path: Path, protocol: ReadyProtocol) -> Read:
    """Read the text of a CSV sheet; keyword arguments are reading rules."""

    def reading(text: str | bytes, **rules) -> SheetReading:
        path = tmp_path / "flock.csv"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return read_sheet(path, protocol, ReadingRules(**({"today": TODAY} | rules)))

    return reading

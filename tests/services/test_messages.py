"""What messages tell people to type can be typed."""

import re
from pathlib import Path

ROOT = Path(__file__).parents[2]
# Two words, for `flock add` and its like; one where what follows is an argument.
NAMED = re.compile(r"[\"'`]stell ([a-z]+(?:-[a-z]+)*)(?: ([a-z]+(?:-[a-z]+)*)(?![.\w]))?")
LISTED = re.compile(r"^### stell ([a-z -]+)$", re.MULTILINE)


def test_every_command_that_a_message_names_is_there() -> None:
    rooms = [ROOT / "src" / "stell" / room for room in ("services", "store")]
    files = [path for room in rooms for path in room.rglob("*.py")]
    named = {pair for path in files for pair in NAMED.findall(path.read_text("utf-8"))}
    assert len(named) > 5, f"the pattern finds almost nothing: {named}"
    page = (ROOT / "docs" / "commands.md").read_text("utf-8")
    known = {tuple(line.split()) for line in LISTED.findall(page)}
    unknown = [pair for pair in named if pair not in known and (pair[0],) not in known]
    assert not unknown, f"these are named in messages and are no commands: {unknown}"

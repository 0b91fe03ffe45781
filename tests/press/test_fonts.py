"""The fonts shipped are the ones their note describes, licence beside them."""

import hashlib
import re
from pathlib import Path

FONTS = Path(__file__).parents[2] / "src" / "stell" / "press" / "fonts"


def test_fonts_are_the_published_files() -> None:
    noted = dict(
        re.findall(
            r"^\| (\S+) \| [^|]+ \| ([0-9a-f]{64}) \|$",
            (FONTS / "ORIGIN.md").read_text(encoding="utf-8"),
            flags=re.MULTILINE,
        )
    )
    there = {
        path.name: hashlib.sha256(path.read_bytes()).hexdigest()
        for path in FONTS.iterdir()
        if path.suffix == ".ttf" or path.name == "OFL.txt"
    }
    assert len(there) == 5, f"four faces and a licence are expected, found {sorted(there)}"
    assert there == noted

"""A small invented season for tests of the site, put on record through the public services.

What the verdicts are is read off the house protocol by hand: soft testes put a ram off by 60 days,
a hard one bars him, a check left out leaves the examination incomplete, a slightly short lower
jaw keeps him from siring replacements.
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

TODAY = date(2026, 9, 14)
RAMS_IN = date(2026, 11, 2)
LAST_YEAR = date(2025, 9, 1)
VISIT = date(2026, 8, 31)
LOGIN = "morag.vet"
PASSWORD = "seven-wet-gates"
BY = "Morag Ferrier"
WILD_NAME = "Stone <b>Fold</b> & Co"
# Too long for a line, with marks that a page must not take for its own.
WILD_RAM = "<script>alert(1)</script>"

HEADER = (
    "Tag,Name,Breed,Born,Type,Use,Date,BCS,SC cm,Lower jaw,"
    "Tone of the testis (left),Tone of the testis (right),Temperature C,Rest normal,Notes"
)
PAST = """\
LR 1,Ash,Texel,2022-03-10,terminal,terminal,2025-09-01,3.5,36.0,,,,,yes,
LR 2,Bramble,Texel,2022-03-12,terminal,terminal,2025-09-01,3.5,37.0,,,,,yes,
"""
PRESENT = """\
LR 1,Ash,Texel,2022-03-10,terminal,terminal,2026-08-31,3.5,36.4,,,,,yes,
LR 2,Bramble,Texel,2022-03-12,terminal,terminal,2026-08-31,3.0,36.5,,soft,soft,39.0,yes,
LR 3,Cob,Texel,2022-03-14,terminal,terminal,2026-08-31,3.5,37.5,,,hard,39.0,yes,
LR 4,Dunn,Texel,2022-03-16,terminal,terminal,2026-08-31,3.5,38.0,,,,,yes,
LR 5,Elder,Texel,2022-03-18,terminal,terminal,2026-08-31,3.5,36.5,over_slight,,,,yes,
LR 6,Fern,Texel,2022-03-20,terminal,terminal,2026-08-31,3.5,36.0,,soft,soft,39.0,yes,
"""


def at(day: date) -> datetime:
    """Return noon of a day, for what goes on record."""
    return datetime(day.year, day.month, day.day, 12, tzinfo=UTC)


def rows_of(count: int, tag: str = "LR") -> str:
    """Return so many sound rams as rows of a sheet."""
    return "".join(
        f"{tag} {100 + i},,Texel,2022-03-10,terminal,terminal,2026-08-31,3.5,36.{i % 10},,,,,yes,\n"
        for i in range(count)
    )


def put(folder: Path, flock: str, rows: str, day: date) -> None:
    """Import rows into a flock."""
    from stell.core.intake import ReadingRules
    from stell.core.protocol.load import load_shipped
    from stell.services.intake import import_sheet

    sheet = folder / "sheet.csv"
    sheet.write_text(f"{HEADER}\n{rows}", encoding="utf-8")
    result = import_sheet(
        sheet,
        flock=flock,
        protocol=load_shipped("house"),
        rules=ReadingRules(today=day, examiner=BY),
        by=BY,
        now=at(day),
    )
    sheet.unlink()
    assert not result.problems, [p.text() for p in result.problems]
    assert result.stored == rows.count("\n"), result


def fill(folder: Path) -> None:
    """Make a store in `folder` with two flocks, seven examinations or so, and one account."""
    from stell.services import deciding, flocks, rams
    from stell.services.opening import open_store
    from stell.web.accounts import put_account

    open_store(folder)
    put_account(LOGIN, PASSWORD)
    for name, starts in (("Larch Rigg", (date(2025, 11, 3), RAMS_IN)), (WILD_NAME, ())):
        flocks.add_flock(
            name, owner="Ewan Larch", latitude_deg=54.9, ram_type="lowland", by=BY, now=at(VISIT)
        )
        for start in starts:
            flocks.set_mating_start(name, start, by=BY, now=at(VISIT))
    put(folder, "Larch Rigg", PAST, LAST_YEAR)
    put(folder, "Larch Rigg", PRESENT, VISIT)
    put(folder, WILD_NAME, rows_of(1, tag="SF").replace(",,Texel", f",{WILD_RAM},Texel"), VISIT)
    elder = rams.history(rams.find_ram("LR 5")).entries[0].examination
    deciding.correct(
        elder.id,
        {"remarks": {"lower_jaw": "two millimetres"}},
        "the remark went to another ram",
        by=BY,
        now=at(VISIT),
    )
    for tag, outcome, reason in (
        ("LR 4", "deferred", "served badly last year"),
        ("LR 6", "unsatisfactory", "soft for the third year"),
    ):
        exam = rams.history(rams.find_ram(tag)).entries[0].examination
        deciding.override(exam.id, outcome, reason, by=BY, now=at(VISIT))

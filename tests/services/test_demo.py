"""The invented scenario goes in through the same doors as real work."""

from __future__ import annotations

from collections import Counter
from datetime import date
from pathlib import Path

import pytest
from tests.core.mini import mini
from tests.services.sheets import BY, NOW

from stell.core.errors import RecordError, StellError, StoreError
from stell.services import demo, flocks, rams
from stell.services.reporting import blank_form, owner_report, run_sheet
from stell.services.seasons import flock_season
from stell.store import models

STORY = """
today = 2026-09-14
by = "E. Quill"
[[flock]]
name = "Hill End"
latitude_deg = 54.0
mating_start_on = [2025-11-06, 2026-11-05]
[[step]]
do = "import"
sheet = "first.csv"
flock = "Hill End"
protocol = "mine.toml"
on = 2026-09-01
[[step]]
do = "override"
flock = "Hill End"
ram = "1"
examined_on = 2026-09-01
outcome = "unsatisfactory"
reason = "temper"
on = 2026-09-02
by = "A. Vet"
[[step]]
do = "correct"
flock = "Hill End"
ram = "2"
examined_on = 2026-09-01
reason = "misread"
on = 2026-09-03
[step.changes.observations]
circumference = [350]
[[step]]
do = "leave"
flock = "Hill End"
ram = "2"
on = 2026-09-20
why = "sold"
"""
SHEET = """tag,born_on,examined_on,jaw,feet,tone_left,tone_right,circumference_cm,sheath
1,2023-03-10,2026-09-01,meets,sound,firm,firm,34.5,clean
2,2023-03-10,2026-09-01,meets,sound,firm,firm,30.5,clean
"""


@pytest.fixture
def story(tmp_path: Path) -> Path:
    """A small scenario."""
    folder = tmp_path / "story"
    folder.mkdir()
    (folder / "demo.toml").write_text(STORY)
    (folder / "first.csv").write_text(SHEET)
    (folder / "mine.toml").write_text(mini().text)
    return folder


@pytest.mark.usefixtures("store")
def test_every_step_is_done_up_to_the_day(story: Path) -> None:
    assert demo.demo_day(story) == date(2026, 9, 14)
    summary = demo.load_demo(story, date(2026, 9, 14))
    assert (summary.flocks, summary.rams, summary.examinations) == (1, 2, 3)
    assert (summary.corrections, summary.overrides) == (1, 1)
    assert rams.find_ram("2").is_active, "a step of a later day was done"
    own = models.VetOverride.objects.get()
    assert (own.by, own.on, own.reason) == ("A. Vet", date(2026, 9, 2), "temper")
    newest = rams.history("2").entries[0].examination
    assert newest.exam.observations["circumference"] == (350,)
    assert flocks.find_flock("Hill End").mating_starts == (date(2025, 11, 6), date(2026, 11, 5))


@pytest.mark.usefixtures("sqlite_store")
def test_real_records_are_never_mixed_with_it(story: Path) -> None:
    flocks.add_flock("My own", latitude_deg=54.0, by=BY, now=NOW)
    with pytest.raises(RecordError, match="must not mix"):
        demo.load_demo(story, date(2026, 9, 14))
    assert [f.name for f in flocks.all_flocks()] == ["My own"]


@pytest.mark.usefixtures("sqlite_store")
def test_a_step_that_cannot_be_done_is_named(story: Path) -> None:
    text = STORY.replace('ram = "1"', 'ram = "77"')
    (story / "demo.toml").write_text(text)
    with pytest.raises(StellError) as caught:
        demo.load_demo(story, date(2026, 9, 14))
    assert caught.value.__notes__ == ["step 2 of demo.toml: override"]


def test_a_folder_without_a_scenario_is_told(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="the scenario cannot be read"):
        demo.demo_day(tmp_path)


@pytest.mark.usefixtures("sqlite_store")
def test_the_shipped_scenario_loads_and_every_verdict_is_in_it(tmp_path: Path) -> None:
    day = demo.demo_day()
    summary = demo.load_demo(None, day)
    assert summary.flocks == 3
    assert summary.examinations > 100
    assert summary.corrections >= 1
    assert summary.overrides >= 1
    met = Counter(models.Judgement.objects.values_list("outcome", flat=True))
    assert set(met) == {"satisfactory", "deferred", "incomplete", "unsatisfactory"}, met
    named = {f.name: flock_season(f, today=day) for f in flocks.all_flocks()}
    assert any(s.to_do for s in named.values())


@pytest.mark.usefixtures("sqlite_store")
def test_papers_are_made_from_the_records(story: Path, tmp_path: Path) -> None:
    from pypdf import PdfReader

    demo.load_demo(story, date(2026, 9, 14))
    report = owner_report("Hill End", today=date(2026, 9, 14), path=tmp_path / "o" / "report.pdf")
    text = "\n".join(page.extract_text() for page in PdfReader(report).pages)
    assert "Hill End" in text
    assert "temper" in text.lower(), "the vet's own verdict is not in the report"
    sheet = run_sheet("Hill End", today=date(2026, 9, 14), path=tmp_path / "sheet.pdf")
    assert "Hill End" in PdfReader(sheet).pages[0].extract_text()
    form = blank_form(mini(), tmp_path / "form.pdf")
    assert PdfReader(form).pages, "an empty form"
    assert {p.name for p in tmp_path.glob("*.part")} == set(), "half-written files are left"

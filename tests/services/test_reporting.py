"""Papers from the records: what stands on them is what counts on that day."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from tests.core.mini import mini
from tests.reports.pages import texts
from tests.services.sheets import BY, NOW, import_rows, row, timed

from stell.services import deciding, flocks
from stell.services.reporting import owner_report, run_sheet

START, LAST_YEAR, VISIT = date(2026, 11, 5), date(2025, 9, 1), date(2026, 8, 20)
THAT_DAY = datetime(2026, 8, 20, 17, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def hill_end(store: object) -> None:
    """A flock that goes to mating on 5 Nov 2026, and did on 6 Nov 2025."""
    flocks.add_flock(
        "Hill End", latitude_deg=54.0, mating_start_on=date(2025, 11, 6), by=BY, now=NOW
    )
    flocks.set_mating_start("Hill End", START, by=BY, now=NOW)


def bring_in(*rows: object, protocol: object = None) -> tuple[str, ...]:
    """Import rows, by the small protocol with a timetable unless told otherwise."""
    result = import_rows(rows, "Hill End", protocol or timed())  # type: ignore[arg-type]
    assert not result.problems, [p.text() for p in result.problems]
    return result.exam_ids


def said(pdf: Path) -> str:
    """Return a paper's text on one line."""
    return " ".join(" ".join(texts(pdf.read_bytes())).split())


def test_the_run_sheet_shows_the_corrected_record_on_the_very_day(tmp_path: Path) -> None:
    bring_in(row(2, tag="1", on=LAST_YEAR, circumference=(351,)))
    (exam_id,) = bring_in(row(2, tag="1", on=VISIT, circumference=(453,)))
    change = {"observations": {"circumference": [354]}}
    right = deciding.correct(exam_id, change, "digits swapped", by=BY, now=THAT_DAY)
    sheet = said(run_sheet("Hill End", today=VISIT, path=tmp_path / "sheet.pdf"))
    assert "35.4 cm" in sheet, sheet
    assert "45.3 cm" not in sheet, "the replaced record stands on the sheet"
    assert "20 Aug 2026 satisfactory" in sheet
    deciding.override(right.id, "unsatisfactory", "temper", by=BY, now=THAT_DAY)
    again = said(run_sheet("Hill End", today=VISIT, path=tmp_path / "again.pdf"))
    assert "20 Aug 2026 unsatisfactory" in again, again


def test_on_other_days_the_run_sheet_shows_last_year_with_the_vets_own_verdict(
    tmp_path: Path,
) -> None:
    (old,) = bring_in(row(2, tag="1", on=LAST_YEAR, circumference=(351,)))
    deciding.override(old, "unsatisfactory", "temper", by=BY, now=NOW)
    bring_in(row(2, tag="1", on=VISIT, circumference=(354,)))
    for day in (date(2026, 8, 19), date(2026, 8, 21)):
        sheet = said(run_sheet("Hill End", today=day, path=tmp_path / f"{day}.pdf"))
        assert "35.1 cm" in sheet, sheet
        assert "1 Sep 2025 unsatisfactory" in sheet, "the proposal stands in the vet's place"
        assert "35.4 cm" not in sheet, f"on {day} the year before is what to compare with"


def test_the_owner_is_told_of_a_fault_gone_and_of_a_real_change(tmp_path: Path) -> None:
    # tests/core/mini.toml: a short jaw is heritable; one person's reading errs by 4 mm, so
    # 1.96 x sqrt(2) x 4 = 11.1 mm is the least change, and 26 mm is real.
    bring_in(
        row(2, tag="1", on=LAST_YEAR, jaw="short", circumference=(371,), examiner="A. Vet"),
        row(3, tag="2", on=LAST_YEAR, circumference=(347,), examiner="A. Vet"),
    )
    bring_in(
        row(2, tag="1", on=VISIT, circumference=(345,), examiner="A. Vet"),
        row(3, tag="2", on=VISIT, circumference=(345,), examiner="A. Vet"),
    )
    report = said(owner_report("Hill End", today=VISIT, path=tmp_path / "report.pdf"))
    told = "Found earlier, not this time: 1 short (Sep 2025): ask the vet which is right."
    assert told in report, report
    assert "circumference 2.6 cm less than Sep 2025, more than measuring explains" in report
    assert report.count("than Sep 2025") == 1, "0.2 cm is no change"


def test_rams_not_examined_begin_the_list_with_the_visit(tmp_path: Path) -> None:
    bring_in(*(row(i, tag=f"T{i}", on=LAST_YEAR) for i in range(2, 6)))
    bring_in(row(2, tag="T2", on=VISIT))
    report = said(owner_report("Hill End", today=VISIT, path=tmp_path / "report.pdf"))
    # 70 and 42 days before 5 Nov 2026, by hand: 27 Aug (a Thursday) and 24 Sep.
    how = "best day 27 Aug 2026, last sensible day 24 Sep 2026"
    first = report[report.index("what, and which rams") :]
    assert first.startswith(
        f"what, and which rams Thu 27 Aug 2026 in 7 days Book the visit {how} T3, T4, T5"
    ), first[:200]
    assert "3 of 4 rams have not been examined yet." in report


def test_a_protocol_without_a_timetable_still_asks_for_the_visit(tmp_path: Path) -> None:
    bring_in(row(2, tag="T2", on=LAST_YEAR), row(3, tag="T3", on=LAST_YEAR), protocol=mini())
    bring_in(row(2, tag="T2", on=VISIT), protocol=mini())
    report = said(owner_report("Hill End", today=VISIT, path=tmp_path / "report.pdf"))
    assert "which rams now Book the visit T3" in report, report[:600]

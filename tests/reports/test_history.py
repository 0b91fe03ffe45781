"""A ram's history as printed."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from stell.core.records import Born
from stell.reports.charts import size_history
from stell.reports.drawing import svg
from stell.reports.history import _born_text, build
from tests.reports.pages import outside, texts
from tests.reports.sample import history


def said(content: bytes) -> str:
    return " ".join(" ".join(texts(content)).split())


def test_newest_first_and_all_of_them() -> None:
    made = history(4)
    text = said(build(made))
    days = ["12 Aug 2026", "3 Sep 2025", "13 Aug 2025", "14 Aug 2024", "15 Aug 2023"]
    assert [e.line.examined_on for e in made.entries] == days
    assert all(d in text for d in days)


def test_what_changed_is_told_in_the_words_of_the_comparison() -> None:
    text = said(build(history(4)))
    assert "What has changed" in text
    assert "Gone: Gait: lame, but bears weight." in text


def test_a_corrected_record_is_shown_and_does_not_count() -> None:
    made = history(4, corrected=frozenset({"e1"}))
    assert [e.corrected for e in made.entries].count(True) == 1
    assert len(made.sizes) == len(history(4).sizes) - 1
    assert "replaced by a later record" in said(build(made))


@pytest.mark.parametrize("years", [1, 9])
def test_short_and_long_lives_stay_on_the_page(years: int, tmp_path: Path) -> None:
    assert not outside(build(history(years)), tmp_path, 9 * 72 / 25.4)


def test_nothing_on_record() -> None:
    assert "No examination is on record." in said(build(history(2, examinations=[])))


def test_his_line_is_drawn_by_days_in_any_time_zone() -> None:
    made = history(3)
    spec = size_history(made.sizes, made.size_title)
    assert [v["on"] for v in spec["data"]["values"]] == [p.on.isoformat() for p in made.sizes]
    assert spec["layer"][0]["encoding"]["x"]["scale"]["type"] == "utc"
    assert "<svg" in svg(spec)


@pytest.mark.parametrize(
    ("born", "written"),
    [
        (Born.on(date(2022, 3, 9)), "born 9 Mar 2022"),
        (Born.in_month(2022, 3), "born Mar 2022"),
        (Born.in_year(2022), "born 2022"),
        (Born(date(2021, 11, 1), date(2022, 2, 1)), "born between Nov 2021 and Feb 2022"),
        (None, ""),
    ],
)
def test_birth_as_well_as_it_is_known(born: Born | None, written: str) -> None:
    assert _born_text(born) == written


def test_same_bytes() -> None:
    made = history(3)
    assert build(made) == build(replace(made))

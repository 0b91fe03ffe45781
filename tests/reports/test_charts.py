"""Charts show as many rams as there are, to scale, and the same picture every time."""

import re
from datetime import date, timedelta
from typing import Any

import pytest

from stell.reports.charts import rams_by_verdict, size_by_age
from stell.reports.drawing import WIDTH, svg
from stell.reports.owner_values import Day, Return
from stell.reports.season_line import season_line
from tests.reports.sample import house_protocol, report

TODAY = date(2026, 8, 1)


def day(on: date, title: str = "Rams in", code: str = "rams_in") -> Day:
    return Day(code, on, "", "", title, "", past=False, acts=True)


def marks_in(picture: str) -> int:
    """Count the symbols of the picture's first layer: one path each."""
    group = re.search(r'<g class="mark-symbol[^>]*>(.*?)</g>', picture, re.DOTALL)
    return len(re.findall("<path", group[1])) if group else 0


@pytest.mark.parametrize("count", [1, 18, 60, 300])
def test_one_mark_a_ram(count: int) -> None:
    assert marks_in(svg(rams_by_verdict(report(count).rams))) == count


@pytest.mark.parametrize("count", [18, 300])
def test_no_two_marks_share_a_place_and_none_lies_outside(count: int) -> None:
    spec = rams_by_verdict(report(count).rams)
    places = [(v["x"], v["y"]) for v in spec["data"]["values"]]
    assert len(set(places)) == count
    assert all(0 <= x <= WIDTH and 0 <= y <= spec["height"] for x, y in places)


def test_small_flocks_are_named_in_the_picture() -> None:
    picture = svg(rams_by_verdict(report(18).rams))
    assert all(f">{r.tag}<" in picture for r in report(18).rams)


def test_without_tags_the_picture_of_the_rams_is_smaller() -> None:
    rams = report(41, protocol=house_protocol()).rams
    named, small = rams_by_verdict(rams), rams_by_verdict(rams, labelled=False)
    assert small["height"] < 0.7 * named["height"]
    assert marks_in(svg(small)) == 41
    assert not any(v["tag"] for v in small["data"]["values"])


def flags(spec: dict[str, Any]) -> dict[str, dict[str, Any]]:
    return {v["text"]: v for v in spec["data"]["values"]}


def test_the_season_is_to_scale() -> None:
    # by hand: 1 Aug to 10 Oct 2026 is 70 days; 15 Aug is 14 of them, a fifth of the way
    spec = season_line([day(date(2026, 10, 10)), day(date(2026, 8, 15), "Shear")], [], TODAY, None)
    at = {text.partition("  ")[2]: v["x"] for text, v in flags(spec).items()}
    share = (at["Shear"] - at["Today"]) / (at["Rams in"] - at["Today"])
    assert share == pytest.approx(14 / 70)


def test_labels_never_run_into_each_other_or_off_the_picture() -> None:
    days = [day(date(2026, 9, d), "A long milestone's title") for d in (1, 2, 3, 20, 29, 30)]
    backs = [Return(f"K{i}", date(2026, 9, 26 + i), i % 2 == 0) for i in range(4)]
    spec = season_line(days, backs, TODAY, date(2026, 7, 30))
    boxes = []
    for text, v in flags(spec).items():
        width = 6.0 * len(text)
        left = v["x"] - width if v["left"] else v["x"]
        boxes.append((v["y"], left, left + width))
        assert left >= 0, text
        assert left + width <= WIDTH, text
        assert 0 <= v["y"] <= spec["height"], text
    for i, (y, left, right) in enumerate(boxes):
        for other_y, other_left, other_right in boxes[i + 1 :]:
            assert y != other_y or right <= other_left or other_right <= left


@pytest.mark.parametrize("step", [2, 5, 9])
def test_no_stem_runs_through_the_names_of_rams(step: int) -> None:
    # many days close together, four rams each: rather counted than crossed
    starts = [date(2026, 8, 20) + timedelta(days=step * i) for i in range(6)]
    backs = [Return(f"HS 1{i}{j}", on, True) for i, on in enumerate(starts) for j in range(4)]
    spec = season_line([day(date(2026, 10, 25))], backs, TODAY, date(2026, 7, 30))
    below = [v for v in spec["data"]["values"] if v["kind"] == "back"]
    assert sum(4 for v in below if "4 rams" in v["text"]) in (0, 24), "all of a kind"
    for text in below:
        width = 5.5 * len(text["text"])
        start = text["x"] - width if text["left"] else text["x"] + 3
        for stem in below:
            crosses = start < stem["x"] < start + width - 3 and stem["y"] > text["y"]
            assert not crosses, f"{stem['text']} runs through {text['text']}"


def test_a_ram_too_late_is_said_and_drawn_as_late() -> None:
    late = Return("K7", date(2026, 10, 1), False)
    spec = season_line([day(date(2026, 9, 20))], [late], TODAY, None)
    assert flags(spec)["1 Oct  K7 again (too late)"]["kind"] == "late"
    assert "K7 again (too late)" in spec["description"]


def test_one_day_only_is_no_division_by_nothing() -> None:
    assert "<svg" in svg(season_line([day(TODAY)], [], TODAY, TODAY))


def test_sizes_show_error_and_limit() -> None:
    made = report(18)
    spec = size_by_age(made.sizes, made.size_title)
    assert len(spec["data"]["values"]) == 18
    point = next(p for p in made.sizes if p.error)
    drawn = next(v for v in spec["data"]["values"] if v["value"] == point.value)
    assert drawn["high"] - drawn["low"] == pytest.approx(2 * point.error)
    assert "<svg" in svg(spec)


def test_same_spec_same_picture_whatever_was_drawn_before() -> None:
    made = report(18)
    first = svg(size_by_age(made.sizes, made.size_title))
    svg(rams_by_verdict(made.rams))
    assert svg(size_by_age(made.sizes, made.size_title)) == first
    assert "Atkinson Hyperlegible" in first

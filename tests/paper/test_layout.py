"""Forms follow the protocol, every answer has its box, and no box touches another."""

from dataclasses import replace
from itertools import combinations
from typing import Any

import pytest

from stell.core.protocol.compiled import compile_protocol
from stell.core.protocol.load import load_shipped, shared_sources, shipped
from stell.core.protocol.ready import ReadyProtocol
from stell.core.verdict import Outcome
from stell.paper.layout import CORNER, LEAST_WRITE, Form, Item, stations
from stell.paper.run import RunLine, RunSheet, run_sheet_layout, run_sheet_values
from stell.paper.single import blank_form_layout
from tests.reports.sample import TODAY, rams, sample_protocol

# ISO 216: A4 is 210 mm by 297 mm, A3 is 297 mm by 420 mm.
A4, A4_ACROSS, A3_ACROSS = (210, 297), (297, 210), (420, 297)


def changed(protocol: ReadyProtocol, **parts: Any) -> ReadyProtocol:
    return compile_protocol(
        protocol.spec.model_copy(update=parts), digest="0" * 64, shared=shared_sources()
    )


def run_form(count: int = 18, protocol: ReadyProtocol | None = None) -> Form:
    protocol = protocol or sample_protocol()
    given = [
        (ram, before, Outcome.SATISFACTORY if before else None)
        for ram, _, before in rams(count, sample_protocol())
    ]
    return run_sheet_layout(
        run_sheet_values(flock="Harrow Beck", protocol=protocol, rams=given, today=TODAY)
    )


def boxes(form: Form) -> list[Item]:
    return [i for i in form.items if i.kind in ("tick", "write")]


def overlap(a: Item, b: Item) -> bool:
    return (
        a.page == b.page and a.x < b.right and b.x < a.right and a.y < b.bottom and b.y < a.bottom
    )


FORMS = [
    pytest.param(lambda: blank_form_layout(sample_protocol()), id="single sample"),
    pytest.param(lambda: run_form(), id="run sample"),
    pytest.param(lambda: run_form(60), id="run of 60"),
    *(
        pytest.param(lambda n=name: blank_form_layout(load_shipped(n)), id=f"single {name}")
        for name in shipped()
    ),
    *(
        pytest.param(lambda n=name: run_form(5, load_shipped(n)), id=f"run {name}")
        for name in shipped()
    ),
]


@pytest.mark.parametrize("make", FORMS)
def test_boxes_do_not_touch_and_lie_on_the_page(make) -> None:
    form = make()
    found = boxes(form)
    assert found, "a form without boxes"
    for item in form.items:
        assert item.x >= 0, item
        assert item.y >= 0, item
        assert item.right <= form.width, item
        assert item.bottom <= form.height, item
    for page in range(1, form.pages + 1):
        here = [b for b in found if b.page == page]
        touching = [(a.field, b.field) for a, b in combinations(here, 2) if overlap(a, b)]
        assert not touching, touching[:3]


@pytest.mark.parametrize("make", FORMS)
def test_no_text_lies_on_a_box(make) -> None:
    form = make()
    for page in range(1, form.pages + 1):
        ticks = [i for i in form.items if i.kind == "tick" and i.page == page]
        words = [i for i in form.items if i.kind == "text" and i.page == page]
        covered = [(w.text, t.field) for w in words for t in ticks if overlap(w, t)]
        assert not covered, covered[:3]


@pytest.mark.parametrize("make", FORMS)
def test_corners_stay_free(make) -> None:
    form = make()
    for item in form.items:
        in_x = item.x < CORNER or item.right > form.width - CORNER
        in_y = item.y < CORNER or item.bottom > form.height - CORNER
        assert not (in_x and in_y), f"in a corner: {item}"


@pytest.mark.parametrize("make", FORMS)
def test_boxes_to_write_in_are_large_enough_for_a_wet_glove(make) -> None:
    # 8 mm: common practice for forms filled outdoors, no source
    small = [i for i in make().items if i.kind == "write" and min(i.width, i.height) < 8.0]
    assert LEAST_WRITE == 8.0
    assert not small, small[:2]


@pytest.mark.parametrize("make", FORMS)
def test_every_box_means_one_thing(make) -> None:
    named = [b.field for b in boxes(make())]
    assert "" not in named
    assert len(named) == len(set(named))


@pytest.mark.parametrize("name", shipped())
def test_the_blank_form_asks_everything_the_protocol_asks(name: str) -> None:
    protocol = load_shipped(name)
    there = set(blank_form_layout(protocol).boxes())
    wanted = {f"{c.id}={option}" for c in protocol.checks.values() for option in c.rules} | {
        f"{c.id}#1" for c in protocol.checks.values() if c.is_measure
    }
    assert wanted <= there, sorted(wanted - there)[:5]
    known = {f.split("=")[0].split("#")[0] for f in there}
    extra = known - set(protocol.checks) - {
        "verdict", "restriction", "note", "flock", "examined_on", "examiner", "again_on", "signed",
    }  # fmt: skip
    assert all(e.startswith(("stop:", "ram:")) for e in extra), extra


def test_the_form_says_the_normal_answer_first() -> None:
    protocol = sample_protocol()
    gait = next(c for c in protocol.spec.check if c.id == "gait")
    turned = gait.model_copy(update={"option": tuple(reversed(gait.option))})
    checks = tuple(turned if c.id == "gait" else c for c in protocol.spec.check)
    fields = [b.field for b in boxes(blank_form_layout(changed(protocol, check=checks)))]
    assert next(f for f in fields if f.startswith("gait=")) == "gait=sound"


@pytest.mark.parametrize("name", shipped())
def test_notes_verdict_and_signature_stand_last(name: str) -> None:
    protocol = load_shipped(name)
    form = blank_form_layout(protocol)
    fields = [b.field for b in boxes(form)]
    closing = fields.index("note")
    asked = [f for f in fields if "=" in f or "#" in f]
    late = [f for f in asked if fields.index(f) > closing and f.split("=")[0] in protocol.checks]
    assert late == [], f"asked below the signature: {late[:3]}"
    assert fields[-1] == "signed"
    by_field = form.boxes()
    assert by_field["note"].page == by_field["signed"].page == form.pages


def test_the_room_left_on_the_last_page_is_for_notes() -> None:
    # A4 is 297 mm high (ISO 216). A quarter of a page left blank is too much.
    form = blank_form_layout(load_shipped("house"))
    foot = max(i.bottom for i in boxes(form) if i.page == form.pages)
    assert foot > 297 * 3 / 4, f"the last page ends at {foot} mm"


@pytest.mark.parametrize("make", FORMS)
def test_cautions_have_a_type_of_their_own(make) -> None:
    form = make()
    warned = [i for i in form.items if "Rams butt" in i.text]
    assert [i.page for i in warned] == list(range(1, form.pages + 1))
    assert {i.style for i in warned} == {"caution"}


def places(form: Form) -> list[str]:
    return [f.field for f in boxes(form) if f.field.startswith("stop:")]


def test_another_order_of_stops_is_another_order_on_both_forms() -> None:
    protocol = sample_protocol()
    backwards = changed(protocol, stop=tuple(reversed(protocol.spec.stop)))
    assert places(blank_form_layout(backwards)) == places(blank_form_layout(protocol))[::-1]

    def columns(form: Form) -> list[str]:
        row = [i for i in boxes(form) if i.field.startswith("row=1 ")]
        return [i.field.removeprefix("row=1 ") for i in sorted(row, key=lambda i: i.x)]

    forward = columns(run_form(3, protocol))
    assert forward == [
        "stop:stand_back", "stop:head", "condition#1", "stop:legs", "stop:scrotum",
        "circumference#1", "stop:turned_over",
    ]  # fmt: skip
    assert columns(run_form(3, backwards)) == [
        "stop:turned_over", "stop:scrotum", "circumference#1", "stop:legs", "condition#1",
        "stop:head", "stop:stand_back",
    ]  # fmt: skip


def test_another_order_of_checks_is_another_order_on_the_form() -> None:
    protocol = sample_protocol()
    checks = changed(protocol, check=tuple(reversed(protocol.spec.check)))
    head = next(s for s in stations(checks) if s.stop_id == "head")
    assert [a.first.base for a in head.checks] == ["lips", "jaw"]


def test_a_check_that_is_not_asked_of_all_is_no_column_of_the_run_sheet() -> None:
    fields = {f.split(" ", 1)[1] for f in run_form(2).boxes() if f.startswith("row=1 ")}
    assert "temperature#1" not in fields
    assert "temperature#1" in blank_form_layout(sample_protocol()).boxes()


def test_every_ram_has_a_line_and_there_are_lines_to_spare() -> None:
    form = run_form(60)
    tags = [i.text for i in form.items if i.style == "tag"]
    assert tags == [f"K{101 + i}" for i in range(60)]
    spare = [f for f in form.boxes() if f.endswith("ram:tag")]
    assert len(spare) >= 3


def test_tags_stand_in_the_order_in_which_people_count() -> None:
    lines = tuple(RunLine(t) for t in ("9", "10"))
    sheet = RunSheet("x", sample_protocol(), lines, TODAY)
    assert [i.text for i in run_sheet_layout(sheet).items if i.style == "tag"] == ["9", "10"]


def test_past_figures_lie_behind_the_fold_and_nothing_else_does() -> None:
    form = run_form(18)
    fold = next(i for i in form.items if i.kind == "fold").x
    last_year = [i for i in form.items if i.style == "figure"]
    assert last_year, "no figures of last year"
    assert all(i.x > fold for i in last_year)
    assert all(i.right < fold for i in boxes(form)), "a box to fill in would be folded away"
    hidden = {i.text for i in form.items if i.x < fold}
    assert not any("satisfactory" in t and "2025" in t for t in hidden)


def test_many_stops_take_larger_paper() -> None:
    protocol = sample_protocol()
    stops = list(protocol.spec.stop)
    checks = list(protocol.spec.check)
    gait = checks[0]
    for i in range(6):
        stops.append(stops[0].model_copy(update={"id": f"more_{i}", "title": f"More {i}"}))
        checks.append(gait.model_copy(update={"id": f"gait_{i}", "stop": f"more_{i}"}))
    wide = run_form(3, changed(protocol, stop=tuple(stops), check=tuple(checks)))
    assert (wide.width, wide.height) == A3_ACROSS
    assert (run_form(3).width, run_form(3).height) == A4_ACROSS


def test_paper_sizes() -> None:
    form = blank_form_layout(sample_protocol())
    assert (form.width, form.height) == A4


def test_the_form_is_named_after_the_protocols_contents() -> None:
    protocol = sample_protocol()
    named = blank_form_layout(protocol).form_id
    assert protocol.digest[:8] in named
    assert blank_form_layout(replace(protocol, digest="f" * 64)).form_id != named

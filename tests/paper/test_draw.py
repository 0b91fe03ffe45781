"""Printed forms: what the layout says stands on the paper, and typed text is only text."""

import io
from dataclasses import replace
from pathlib import Path

import pytest
from pypdf import PdfReader

from stell.core.protocol.load import load_shipped, shipped
from stell.core.protocol.ready import ReadyProtocol
from stell.core.records import Born, Ram
from stell.paper.draw import blank_form, run_sheet
from stell.paper.run import RunSheet, run_sheet_values
from tests.reports.pages import outside, texts
from tests.reports.sample import TODAY, rams, sample_protocol


def sheet_of(count: int) -> RunSheet:
    protocol = sample_protocol()
    given = [(ram, before, None) for ram, _, before in rams(count, protocol)]
    return run_sheet_values(flock="Harrow Beck", protocol=protocol, rams=given, today=TODAY)


@pytest.mark.parametrize("count", [0, 1, 60])
def test_every_ram_is_printed(count: int, tmp_path: Path) -> None:
    content = run_sheet(sheet_of(count))
    said = " ".join(texts(content)).split()
    assert [f"K{101 + i}" for i in range(count) if f"K{101 + i}" not in said] == []
    assert not outside(content, tmp_path, 4 * 72 / 25.4)


@pytest.mark.parametrize("name", shipped())
def test_every_shipped_protocol_prints(name: str, tmp_path: Path) -> None:
    protocol = load_shipped(name)
    content = blank_form(protocol, made_on=TODAY)
    said = " ".join(" ".join(texts(content)).split())
    for stop in protocol.spec.stop:
        if any(c.stop == stop.id for c in protocol.spec.check):
            assert stop.title in said, stop.title
    assert not outside(content, tmp_path, 4 * 72 / 25.4)


def test_headers_stand_on_every_page_with_fold_and_caution() -> None:
    pages = texts(run_sheet(sheet_of(60)))
    assert len(pages) > 3
    for page in pages:
        flat = " ".join(page.split())
        for words in ("Harrow Beck", "Fold back along the line", "Circumference", "Rams butt"):
            assert words in flat, words
    assert f"page 2 of {len(pages)}" in " ".join(pages[1].split())


def loud(protocol: ReadyProtocol, caution: str) -> ReadyProtocol:
    """Return the protocol with a caution of its own at every stop."""
    stops = tuple(s.model_copy(update={"caution": caution}) for s in protocol.spec.stop)
    return replace(protocol, spec=protocol.spec.model_copy(update={"stop": stops}))


@pytest.mark.parametrize("name", shipped())
def test_every_caution_is_printed_in_full_and_large_enough(name: str, tmp_path: Path) -> None:
    protocol = load_shipped(name)
    content = blank_form(protocol, made_on=TODAY)
    said = " ".join(" ".join(texts(content)).split())
    for stop in protocol.spec.stop:
        assert " ".join(stop.caution.split()) in said, f"cut: {stop.caution}"
    sizes = type_sizes(content)
    small = {t: s for t, s in sizes.items() if t in ("butt:", "Never", "Gloves:") and s < 7.5}
    assert not small, f"cautions below 7.5 pt: {small}"
    assert "butt:" in sizes


@pytest.mark.parametrize("words", ["Never stand behind a ram. ", "NEVER STAND BEHIND A RAM. "])
def test_a_long_caution_of_a_practice_is_not_cut(words: str) -> None:
    caution = (words * 12).strip()
    made = blank_form(loud(sample_protocol(), caution), made_on=TODAY)
    said = " ".join(" ".join(texts(made)).split())
    assert said.count(caution) == len(sample_protocol().spec.stop), "a caution was cut"


def type_sizes(content: bytes) -> dict[str, float]:
    """Return the smallest size of type in which each word stands. [points]"""
    found: dict[str, float] = {}

    def visit(text: str, _cm: object, tm: list[float], _font: object, size: float) -> None:
        for word in text.split():
            found[word] = min(found.get(word, 99.0), abs(tm[3]) * size)

    for page in PdfReader(io.BytesIO(content)).pages:
        page.extract_text(visitor_text=visit)
    return found


def test_same_bytes() -> None:
    assert run_sheet(sheet_of(5)) == run_sheet(sheet_of(5))
    protocol = sample_protocol()
    assert blank_form(protocol, made_on=TODAY) == blank_form(protocol, made_on=TODAY)


def test_tagged_with_title() -> None:
    reader = PdfReader(io.BytesIO(blank_form(sample_protocol(), made_on=TODAY)))
    assert reader.metadata.title.startswith("Walk round the ram (single sample 3 ")
    assert reader.trailer["/Root"]["/Lang"] == "en"
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"].value


@pytest.mark.parametrize("typed", ['#import "x"', "*b* $x$ @ref", "W" * 90, "a b " * 40])
def test_a_ram_called_anything(typed: str, tmp_path: Path) -> None:
    ram = Ram("r", tag=typed, name=typed, breed=typed, born=Born.in_year(2023))
    sheet = run_sheet_values(
        flock=typed, protocol=sample_protocol(), rams=[(ram, None, None)], today=TODAY
    )
    content = run_sheet(sheet)
    said = "".join("".join(texts(content)).split())
    assert "".join(typed.split())[:8] in said
    assert not outside(content, tmp_path, 4 * 72 / 25.4)


def test_long_labels_of_a_practice_still_fit() -> None:
    protocol = sample_protocol()
    long = "an answer written at the greatest length that a protocol's file allows, which is " * 2
    checks = tuple(
        c.model_copy(
            update={
                "title": long[:120],
                "option": tuple(o.model_copy(update={"label": long[:120]}) for o in c.option),
            }
        )
        for c in protocol.spec.check
    )
    spec = protocol.spec.model_copy(update={"check": checks})
    ready = {
        k: replace(c, spec=next(x for x in checks if x.id == c.base))
        for k, c in protocol.checks.items()
    }
    made = blank_form(replace(protocol, spec=spec, checks=ready), made_on=TODAY)
    assert "…" not in "".join(texts(made))

"""The open JSON document: its schema, there and back, and what is refused."""

import json
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from stell.core.errors import RecordError, SheetError, StellError
from stell.core.judge import judge
from stell.core.protocol.load import load_file
from stell.core.records import Born, Examination, Ram
from stell.core.units import UNITS
from stell.core.verdict import Outcome, Override
from stell.exchange import open_json
from stell.exchange.open_json import OpenRecord, dump, dumps, load, load_rams

SMALL = load_file(Path(__file__).with_name("small.toml"))
PROTOCOLS = {SMALL.named: SMALL}
VALIDATOR = Draft202012Validator(
    open_json.shipped_schema(), format_checker=Draft202012Validator.FORMAT_CHECKER
)


def record(**changes) -> OpenRecord:
    ram = Ram("ram-1", "R1", "Pépé", "826012345600001", born=Born.in_month(2024, 4))
    exam = Examination(
        "exam-1",
        "ram-1",
        date(2026, 10, 4),
        {
            "gait": "sound",
            "scrotal_circumference": (345, 340),
            "condition": (350,),
            "eyes": ("inflamed",),
        },
        examiner="A. Vet",
        remarks={"gait": "wet yard"},
        circumstances=("bought_in",),
    )
    return OpenRecord(
        **({"ram": ram, "exam": exam, "flock": "Hill", "protocol": SMALL.named} | changes)
    )


def test_the_published_schema_is_that_of_the_program() -> None:
    assert open_json.shipped_schema() == open_json.schema(), (
        "write src/stell/exchange/schema/ram-examination.schema.json again: "
        "json.dumps(open_json.schema(), ensure_ascii=False, indent=1)"
    )
    Draft202012Validator.check_schema(open_json.shipped_schema())


def test_a_document_says_its_units_and_fits_its_schema() -> None:
    document = dump([record()], PROTOCOLS)
    VALIDATOR.validate(document)
    assert document["format"] == "ram-examination"
    assert document["format_version"] == 1
    (exam,) = document["examinations"]
    assert exam["found"] == {"gait": "sound", "eyes": ["inflamed"]}
    assert exam["measured"] == {
        "scrotal_circumference_mm": [345, 340],
        "condition_hundredths": [350],
    }
    assert exam["examined_on"] == "2026-10-04"
    (ram,) = document["rams"]
    assert ram["eid"] == "826012345600001"
    assert ram["born"] == {"earliest": "2024-04-01", "latest": "2024-04-30"}


def test_a_verdict_goes_out_and_an_override_comes_back() -> None:
    full = record(
        verdict=judge(SMALL, record().ram, record().exam).as_dict(),
        override=Override(Outcome.DEFERRED, "look again in two weeks", "A. Vet", date(2026, 10, 5)),
    )
    document = dump([full], PROTOCOLS)
    VALIDATOR.validate(document)
    assert document["examinations"][0]["verdict"]["protocol"] == SMALL.named
    (back,) = load(dumps([full], PROTOCOLS))
    assert back.override == full.override
    assert back.verdict is None, "a verdict is judged again, never believed"


def test_a_ram_without_examination_goes_along() -> None:
    text = dumps([record()], PROTOCOLS, rams=[(Ram("ram-2", "R2"), "Low")])
    assert [(ram.tag, flock) for ram, flock in load_rams(text)] == [("R1", "Hill"), ("R2", "Low")]
    assert len(load(text)) == 1


def test_a_reading_of_an_unknown_check_is_not_lost() -> None:
    odd = record(protocol="other 9")
    (exam,) = dump([odd], PROTOCOLS)["examinations"]
    assert exam["measured"] == {"scrotal_circumference_fixed_units": [345, 340],
                                "condition_fixed_units": [350]}  # fmt: skip
    assert load(dumps([odd], PROTOCOLS)) == [odd]


TEXT = st.text(max_size=20)
SLUG = st.from_regex(r"[a-z][a-z0-9_]{0,12}", fullmatch=True)


@st.composite
def records(draw) -> OpenRecord:
    """Return any record; measured values under the small protocol and under none."""
    born = draw(st.none() | st.dates().map(Born.on) | st.builds(Born.in_year, st.integers(1, 9998)))
    ram_id = draw(st.uuids().map(str))
    ram = Ram(
        ram_id=ram_id,
        tag=draw(TEXT),
        name=draw(TEXT),
        eid=draw(st.just("") | st.from_regex(r"[0-9]{15}", fullmatch=True)),
        breed=draw(TEXT),
        ram_type=draw(TEXT),
        born=born,
        age_class=draw(TEXT),
        age_class_on=draw(st.none() | st.dates()),
        intended_use=draw(TEXT),
    )
    readings = st.lists(st.integers(-(10**9), 10**9), min_size=1, max_size=4).map(tuple)
    measured = [c.id for c in SMALL.checks.values() if c.is_measure]
    found = SLUG | st.lists(SLUG, max_size=3).map(tuple)
    observed = draw(st.dictionaries(st.sampled_from(measured), readings, max_size=3))
    choices = [c.id for c in SMALL.checks.values() if not c.is_measure]
    observed |= draw(st.dictionaries(st.sampled_from(choices), found, max_size=4))
    exam = Examination(
        exam_id=draw(st.uuids().map(str)),
        ram_id=ram_id,
        examined_on=draw(st.dates()),
        observations=observed,
        examiner=draw(TEXT),
        note=draw(TEXT),
        remarks=draw(st.dictionaries(SLUG, TEXT, max_size=2)),
        circumstances=tuple(draw(st.lists(SLUG, max_size=2))),
        replaces=draw(TEXT),
    )
    override = st.builds(
        Override, st.sampled_from(list(Outcome)), st.text(min_size=1, max_size=20), TEXT, st.dates()
    )
    protocol = draw(st.sampled_from([SMALL.named, "unknown 1"]))
    return OpenRecord(ram, exam, draw(TEXT), protocol, None, draw(st.none() | override))


@settings(max_examples=60)
@given(st.lists(records(), max_size=4, unique_by=lambda r: r.ram.ram_id))
def test_every_record_comes_back(found: list[OpenRecord]) -> None:
    text = dumps(found, PROTOCOLS)
    VALIDATOR.validate(json.loads(text))
    assert load(text) == found


@pytest.mark.parametrize("unit", sorted({u.fixed for u in UNITS.values()}))
def test_the_check_is_found_under_every_unit(unit: str) -> None:
    document = dump([record()], PROTOCOLS)
    document["examinations"][0]["measured"] = {f"some_check_{unit}": [1]}
    (back,) = load(json.dumps(document))
    assert back.exam.observations["some_check"] == (1,)


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("format",), "something-else"),
        (("format_version",), 2),
        (("rams", 0, "eid"), "12345"),
        (("rams", 0, "ram_id"), ""),
        (("rams", 0, "born"), {"earliest": "2024-04-01"}),
        (("examinations", 0, "examined_on"), "4/10/2026"),
        (("examinations", 0, "examined_on"), 1_700_000_000),
        (("examinations", 0, "examined_on"), None),
        (("examinations", 0, "measured"), {"scrotal_circumference_mm": ["345"]}),
        (("examinations", 0, "measured"), {"scrotal_circumference_mm": [34.5]}),
        (("examinations", 0, "measured"), {"scrotal_circumference_mm": []}),
        (("examinations", 0, "found"), {"Gait!": "normal"}),
        (("examinations", 0, "override"), {"outcome": "fine", "reason": "x", "on": "2026-10-04"}),
        (("examinations",), {}),
    ],
)
def test_what_does_not_fit_is_refused_by_program_and_schema(path, value) -> None:
    document = dump([record()], PROTOCOLS)
    here = document
    for part in path[:-1]:
        here = here[part]
    here[path[-1]] = value
    with pytest.raises(RecordError) as caught:
        load(json.dumps(document), name="rams.json")
    pointer = "/" + "/".join(map(str, path))
    assert caught.value.where.startswith(f"rams.json, {pointer}")
    assert caught.value.legal
    assert not VALIDATOR.is_valid(document), "the published schema refuses it too"


BACKWARDS = {"earliest": "2024-04-02", "latest": "2024-04-01"}


@pytest.mark.parametrize(
    ("change", "problem"),
    [
        ({"rams": []}, "of a ram that is not in the document"),
        ({"rams": [{"ram_id": "ram-1", "born": BACKWARDS}]}, "does not fit its schema"),
    ],
)
def test_what_only_the_whole_shows_is_refused(change: dict, problem: str) -> None:
    with pytest.raises(RecordError, match=problem):
        load(json.dumps(dump([record()], PROTOCOLS) | change))


def test_a_measured_value_without_unit_is_refused() -> None:
    document = dump([record()], PROTOCOLS)
    document["examinations"][0]["measured"] = {"scrotal_circumference": [345]}
    with pytest.raises(RecordError, match="does not name its unit"):
        load(json.dumps(document))


def test_keys_that_are_not_known_are_left_alone() -> None:
    document = dump([record()], PROTOCOLS) | {"made_by": "another program"}
    document["rams"][0]["colour"] = "black"
    VALIDATOR.validate(document)
    assert load(json.dumps(document)) == [record()]


@pytest.mark.parametrize("text", ["", "{", "[" * 100_000, '{"format": ', "\ud800", "null x"])
def test_what_is_no_json(text: str) -> None:
    with pytest.raises(SheetError) as caught:
        load(text)
    assert caught.value.code == "sheet.unreadable"


@given(st.text(max_size=80) | st.binary(max_size=40).map(repr))
def test_any_text_is_records_or_a_refusal(text: str) -> None:
    try:
        found = load(text)
    except StellError:
        return
    assert isinstance(found, list)

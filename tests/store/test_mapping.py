"""Rows and core values: there and back, and when two examinations say the same."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.services.sheets import BY, NOW, import_rows, row

from stell.core.records import Born, Examination, Observed
from stell.services import flocks
from stell.store import mapping, models

ids = st.from_regex(r"[a-z][a-z0-9_]{0,8}", fullmatch=True)
readings = st.lists(st.integers(0, 999), min_size=1, max_size=3).map(tuple)
answers = st.lists(ids, min_size=1, max_size=3, unique=True).map(tuple)
observations = st.dictionaries(ids, ids | readings | answers, max_size=6)
texts = st.text(max_size=20)
examinations = st.builds(
    Examination,
    exam_id=st.just("e"),
    ram_id=st.just("r"),
    examined_on=st.just(date(2026, 9, 1)),
    observations=observations,
    examiner=texts,
    note=texts,
    remarks=st.dictionaries(ids, texts, max_size=2),
    circumstances=st.lists(ids, max_size=2, unique=True).map(tuple),
)


def shuffled(exam: Examination) -> Examination:
    """Say the same in another order: of the checks, and of several answers to one."""
    turned: dict[str, Observed] = {}
    for key in reversed(list(exam.observations)):
        value = exam.observations[key]
        several = isinstance(value, tuple) and isinstance(value[0], str)
        turned[key] = tuple(reversed(value)) if several else value  # type: ignore[assignment]
    return replace(exam, observations=turned, circumstances=tuple(reversed(exam.circumstances)))


@given(examinations)
def test_the_order_of_what_was_found_is_no_contents(exam: Examination) -> None:
    assert mapping.content_hash(exam) == mapping.content_hash(shuffled(exam))


@given(examinations, examinations)
def test_contents_differ_exactly_when_something_was_found_otherwise(
    a: Examination, b: Examination
) -> None:
    same = mapping.content_hash(a) == mapping.content_hash(b)
    assert same == (mapping.findings(a) == mapping.findings(b))
    assert same == (mapping.differing(mapping.findings(a), mapping.findings(b)) == [])


def test_the_order_of_readings_is_contents() -> None:
    exam = Examination("e", "r", date(2026, 9, 1), {"circumference": (340, 345)})
    other = replace(exam, observations={"circumference": (345, 340)})
    assert mapping.content_hash(exam) != mapping.content_hash(other)
    assert mapping.differing(mapping.findings(exam), mapping.findings(other)) == ["circumference"]


def test_ids_and_days_are_no_contents() -> None:
    exam = Examination("e", "r", date(2026, 9, 1), {"gait": "lame"})
    other = Examination("f", "s", date(2020, 1, 1), {"gait": "lame"}, replaces="e")
    assert mapping.content_hash(exam) == mapping.content_hash(other)


@pytest.mark.parametrize(
    ("scheme", "value", "key"),
    [
        ("tag", " UK 0123-456 ", "uk0123456"),
        ("tag", "0042", "0042"),
        ("eid", "826 012345600001", "826012345600001"),
        ("name", "Old  Tolly", "oldtolly"),
    ],
)
def test_marks_are_looked_up_without_blanks_and_case(scheme: str, value: str, key: str) -> None:
    assert mapping.key_of(scheme, value) == key


def test_an_examination_comes_back_as_it_went_in(store: object) -> None:
    flocks.add_flock("Hill End", latitude_deg=-38.25, mating_start_on=date(2026, 11, 5),
                     by=BY, now=NOW)  # fmt: skip
    given_row = row(
        2,
        tag="1",
        breed="texel",
        born=Born.in_month(2024, 4),
        feet=("rot", "scald"),
        circumference=(340, 345),
        tone_left="soft",
        note="first line\nsecond “line” \N{SHEEP}",
        remarks={"feet": "left fore"},
        circumstances=("bought_in", "single_sire"),
        examiner="Ä. Vét",
    )
    import_rows([given_row], "Hill End")
    stored = models.Examination.objects.get()
    exam = mapping.examination_of(stored)
    assert exam == replace(given_row.exam, exam_id=str(stored.id), ram_id=str(stored.ram_id))
    ram = mapping.ram_then(stored, mapping.ram_of(stored.ram))
    assert ram == replace(given_row.ram, ram_id=str(stored.ram_id))
    season = mapping.season_of(stored)
    assert (season.mating_start_on, season.latitude_deg) == (date(2026, 11, 5), -38.25)
    assert stored.content_hash == mapping.content_hash(exam)

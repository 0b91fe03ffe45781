"""A source must not be cited for a number that it does not hold."""

from __future__ import annotations

from stell.core.protocol.copies import borrowed_citations, original_of
from stell.core.protocol.load import load_shipped, load_text, shipped_text

HOUSE = load_shipped("house")


def copy_of(old: str = "", new: str = "", *, count: int = 1) -> str:
    """Return the house protocol as a practice would copy it, with something changed."""
    text = shipped_text("house")
    assert old in text
    head = f'copied_from = "{HOUSE.named}"\n'
    return head + (text.replace(old, new, count) if old else text)


def test_an_untouched_copy_has_nothing_to_mend() -> None:
    copy = load_text(copy_of())
    assert original_of(copy) is HOUSE
    assert borrowed_citations(copy, HOUSE) == ()


def test_a_changed_number_of_days_may_not_keep_its_old_origin() -> None:
    old = 'id          = "scald"'
    text = copy_of()
    start = text.index(old)
    changed = text[:start] + text[start:].replace("days = 14", "days = 21", 1)
    (note,) = borrowed_citations(load_text(changed), HOUSE)
    assert note.startswith("Feet: scald")
    assert "footrot_case, published" in note
    assert 'basis = "practice"' in note


def test_a_changed_limit_may_not_keep_its_old_origin() -> None:
    text = copy_of()
    start = text.index('title   = "other rams from 24 months"')
    end = text.index("[[check.standard]]", start)
    row = (
        text[start:end]
        .replace("lt      = 32", "lt      = 33")
        .replace("ge      = 32", "ge      = 33")
    )
    assert row.count("33") >= 2
    notes = borrowed_citations(load_text(text[:start] + row + text[end:]), HOUSE)
    assert len(notes) == 2
    assert all("merck_older, published" in n for n in notes)
    own = row.replace('basis   = "published"', 'basis   = "practice"', 1)
    assert borrowed_citations(load_text(text[:start] + own + text[end:]), HOUSE) == ()


def test_a_changed_figure_of_the_timetable_is_noticed() -> None:
    text = copy_of()
    start = text.index("[timing.quarantine]")
    changed = text[:start] + text[start:].replace("value      = 28", "value      = 21", 1)
    (note,) = borrowed_citations(load_text(changed), HOUSE)
    assert note.startswith("timing.quarantine: differs from house")


def test_only_a_shipped_version_can_be_compared_with() -> None:
    assert original_of(HOUSE) is None
    other = copy_of().replace(HOUSE.named, "house 1999.9", 1)
    assert original_of(load_text(other)) is None

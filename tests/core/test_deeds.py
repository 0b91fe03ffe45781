"""Deeds: the words for them, what they say, and until when he is not for slaughter."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from stell.core.deeds import (
    DONE_WORDS,
    Deed,
    Medicine,
    TakenBack,
    kind_named,
    not_for_slaughter,
    slaughter_notice,
)
from stell.core.errors import ValueRefused
from stell.core.verdict import ACTION_KINDS

TODAY = date(2026, 9, 14)
GIVEN = Medicine("Invented A", "10 ml", "28 days", date(2026, 10, 4))


def treated(until: date | None = None, **changes) -> Deed:
    """Return a treatment, with a withdrawal that ends on a day."""
    medicine = replace(GIVEN, withdrawal_until=until) if until else None
    plain = Deed("d1", "e1", "treat", (), date(2026, 9, 6), "Shepherd", "A. Vet", medicine=medicine)
    return replace(plain, **changes)


@pytest.mark.parametrize(
    ("word", "kind"),
    [
        ("treat", "treat"),
        ("Keep apart", "isolate"),
        ("keep-apart", "isolate"),
        ("do not use", "withdraw"),
        ("stop and report", "report"),
        ("measure_again", "measure_again"),
        (" measure  again ", "measure_again"),
        ("use only within limits", "restrict"),
    ],
)
def test_a_kind_goes_by_its_key_and_by_its_trade_words(word: str, kind: str) -> None:
    assert kind_named(word) == kind


@pytest.mark.parametrize("word", ["reexamine", "examine again"])
def test_examining_again_is_no_tick(word: str) -> None:
    with pytest.raises(ValueRefused, match="is an examination") as caught:
        kind_named(word)
    assert "stell import" in caught.value.example, "it does not say what to do instead"


def test_finishing_an_examination_is_a_correction() -> None:
    with pytest.raises(ValueRefused, match="goes into the examination itself") as caught:
        kind_named("complete")
    assert "stell correct" in caught.value.example, "it does not say what to do instead"


def test_an_unknown_word_is_answered_with_those_there_are() -> None:
    with pytest.raises(ValueRefused) as caught:
        kind_named("vaccinate")
    assert all(kind in caught.value.legal for kind in DONE_WORDS), caught.value.legal
    assert set(DONE_WORDS) == set(ACTION_KINDS) - {"reexamine", "complete"}


def test_what_a_deed_says() -> None:
    deed = treated(date(2026, 10, 4), note="twice")
    assert deed.sentence == (
        "treated on 6 Sep 2026 by Shepherd: Invented A, 10 ml; withdrawal: 28 days; not for "
        "slaughter before 4 Oct 2026; twice"
    )
    back = replace(treated(), taken_back=TakenBack("another ram", "A. Vet", date(2026, 9, 8)))
    assert back.sentence == (
        "taken back on 8 Sep 2026 by A. Vet (another ram): treated on 6 Sep 2026 by Shepherd"
    )


def test_the_longest_withdrawal_ahead_counts_and_says_who_entered_it() -> None:
    short, long = treated(date(2026, 9, 20)), treated(date(2026, 10, 4), deed_id="d2")
    assert not_for_slaughter([long, short], TODAY) is long
    assert slaughter_notice(long) == (
        "not for slaughter before 4 Oct 2026, as entered by A. Vet (Invented A, 28 days)"
    )


def test_on_the_day_itself_the_withdrawal_is_over() -> None:
    deed = treated(date(2026, 9, 15))
    assert not_for_slaughter([deed], date(2026, 9, 14)) is deed
    assert not_for_slaughter([deed], date(2026, 9, 15)) is None


def test_no_withdrawal_and_one_taken_back_keep_nobody() -> None:
    back = TakenBack("another ram", "A. Vet", TODAY)
    deeds = [treated(), treated(date(2026, 10, 4), taken_back=back)]
    assert not_for_slaughter(deeds, TODAY) is None
    assert slaughter_notice(None) == ""

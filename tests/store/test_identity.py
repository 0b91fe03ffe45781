"""Ids: layout against the RFC's own example, order, and what does not fit."""

from datetime import UTC, datetime
from itertools import islice
from uuid import UUID

import pytest

from stell.store.identity import new_id, new_ids, uuid7

AT = datetime(2022, 2, 22, 19, 22, 22, tzinfo=UTC)


def test_the_example_of_the_rfc() -> None:
    # RFC 9562, appendix A.6: unix_ts_ms 0x017F22E279B0, rand_a 0xCC3, rand_b 0x18C4DC0C0C07398F,
    # for Tuesday, February 22, 2022 2:22:22.00 PM GMT-05:00; the whole as printed there.
    made = uuid7(1645557742000, 0xCC3, 0x18C4DC0C0C07398F)
    assert str(made).upper() == "017F22E2-79B0-7CC3-98C4-DC0C0C07398F"


def test_the_time_of_the_example_is_the_moment_it_names() -> None:
    assert new_id(AT).int >> 80 == 1645557742000


def test_version_and_variant_are_those_of_the_standard() -> None:
    # The standard library reads both from the bits.
    for made in islice(new_ids(AT), 100):
        assert (made.version, made.variant) == (7, "specified in RFC 4122"), made


def test_ids_rise_even_within_one_moment() -> None:
    made = list(islice(new_ids(AT), 10_000))
    assert made == sorted(made), "an id is smaller than the one before it"
    assert len(set(made)) == len(made), "an id came twice"


def test_a_used_up_counter_steps_the_time() -> None:
    # All bits set: the counter starts at the top of its lower half, 0x7FF.
    made = list(islice(new_ids(AT, lambda n: b"\xff" * n), 0x800 + 2))
    counters = [(u.int >> 64) & 0xFFF for u in made]
    times = [u.int >> 80 for u in made]
    assert counters[0] == 0x7FF, "the upper bit of the counter is not kept free"
    assert counters[-1] == 0, "the counter did not begin again"
    assert times[-1] == times[0] + 1, "the time did not step with it"
    assert made == sorted(made), "the step broke the order"


def test_equal_randomness_gives_equal_ids() -> None:
    assert new_id(AT, lambda n: b"\x01" * n) == new_id(AT, lambda n: b"\x01" * n)


@pytest.mark.parametrize("parts", [(1 << 48, 0, 0), (-1, 0, 0), (0, 1 << 12, 0), (0, 0, 1 << 62)])
def test_what_does_not_fit_is_refused(parts: tuple[int, int, int]) -> None:
    with pytest.raises(ValueError, match="a part does not fit"):
        uuid7(*parts)


def test_an_id_is_a_plain_uuid() -> None:
    assert isinstance(new_id(AT), UUID)

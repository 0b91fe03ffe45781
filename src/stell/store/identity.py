"""Record ids: UUID version 7, made from a time and random bits that the caller supplies.

References
----------
.. [1] RFC 9562, sec. 5.7 (layout) and sec. 6.2 method 1 (fixed counter in rand_a).
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from datetime import datetime
from uuid import UUID

_COUNTER_BITS = 12
_TAIL_BITS = 62


def uuid7(at_ms: int, counter: int, tail: int) -> UUID:
    """Return a version 7 UUID.

    Parameters
    ----------
    at_ms : int
        Milliseconds since 1970-01-01 UTC, 48 bits. [ms]
    counter : int
        The 12 bits of rand_a.
    tail : int
        The 62 bits of rand_b.

    Raises
    ------
    ValueError
        If a part does not fit its bits.

    Examples
    --------
    The example of RFC 9562, appendix A.6:

    >>> uuid7(1645557742000, 0xCC3, 0x18C4DC0C0C07398F)
    UUID('017f22e2-79b0-7cc3-98c4-dc0c0c07398f')
    """
    if not (0 <= at_ms < 1 << 48 and 0 <= counter < 1 << 12 and 0 <= tail < 1 << _TAIL_BITS):
        raise ValueError(f"a part does not fit: {at_ms=} (48 bits), {counter=} (12), {tail=} (62)")
    return UUID(int=at_ms << 80 | 0x7 << 76 | counter << 64 | 0b10 << 62 | tail)


def new_ids(at: datetime, random_bytes: Callable[[int], bytes] = os.urandom) -> Iterator[UUID]:
    """Yield ids in rising order, all born at `at`.

    The counter starts at a random place in its lower half and steps by one; when it is used up the
    time steps by one millisecond, as the RFC allows.
    """
    at_ms = round(at.timestamp() * 1000)
    counter = int.from_bytes(random_bytes(2), "big") >> (16 - _COUNTER_BITS + 1)
    while True:
        tail = int.from_bytes(random_bytes(8), "big") >> (64 - _TAIL_BITS)
        yield uuid7(at_ms, counter, tail)
        counter += 1
        if counter == 1 << _COUNTER_BITS:
            at_ms, counter = at_ms + 1, 0


def new_id(at: datetime, random_bytes: Callable[[int], bytes] = os.urandom) -> UUID:
    """Return one id born at `at`."""
    return next(new_ids(at, random_bytes))

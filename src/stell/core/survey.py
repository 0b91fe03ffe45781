"""Counts that should add up: a total and its parts, and a printed share of it, checked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from stell.core.errors import ValueRefused


@dataclass(frozen=True, slots=True)
class Discrepancy:
    """Something that does not add up.

    Attributes
    ----------
    what : str
        ``parts`` or the name of the part whose printed share is off.
    expected, found : float
        What follows from the counts, and what is stated. [count, or percent for a share]
    sentence : str
        In plain words, without a full stop.
    """

    what: str
    expected: float
    found: float
    sentence: str


def check_counts(total: int, parts: Mapping[str, int]) -> tuple[Discrepancy, ...]:
    """Return what does not add up between a total and parts that should make it up.

    Parameters
    ----------
    total : int
    parts : mapping of str to int
        Parts that exclude each other and leave nothing out.

    Raises
    ------
    ValueRefused
        `value.range` for a negative count.

    Examples
    --------
    >>> check_counts(966, {"suitable": 805, "failed": 130, "borderline": 29})[0].sentence
    'the parts make 964, the total says 966: 2 are missing'
    """
    for name, count in (("total", total), *parts.items()):
        if count < 0:
            raise ValueRefused(
                "value.range",
                f"a count cannot be negative: {name}",
                got=count,
                legal="0 or more",
                example="29",
            )
    found = sum(parts.values())
    if found == total:
        return ()
    off = abs(total - found)
    how = f"{off} {'is' if off == 1 else 'are'} {'missing' if found < total else 'too many'}"
    sentence = f"the parts make {found}, the total says {total}: {how}"
    return (Discrepancy("parts", total, found, sentence),)


def check_share(
    name: str, count: int, total: int, printed_percent: float, decimals: int = 1
) -> Discrepancy | None:
    """Return the discrepancy when a printed percentage is not that count's share of the total.

    Parameters
    ----------
    name : str
        What the share is of, for the sentence.
    count, total : int
    printed_percent : float
        As printed. [percent]
    decimals : int
        Decimals to which it was printed; anything that rounds to it agrees.

    Raises
    ------
    ValueRefused
        `value.range` for a total that is not positive.

    Examples
    --------
    >>> check_share("peri-orchitis", 12, 57, 20.05, decimals=2).sentence
    'peri-orchitis: 12 of 57 is 21.05 %, printed is 20.05 %'
    >>> check_share("suitable", 805, 964, 83.5) is None
    True
    """
    if total <= 0:
        raise ValueRefused(
            "value.range", "a share needs a total", got=total, legal="1 or more", example="57"
        )
    share = 100 * count / total
    if abs(share - printed_percent) <= 0.5 * 10**-decimals + 1e-9:
        return None
    sentence = (
        f"{name}: {count} of {total} is {share:.{decimals}f} %, "
        f"printed is {printed_percent:.{decimals}f} %"
    )
    return Discrepancy(name, share, printed_percent, sentence)

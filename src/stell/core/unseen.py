"""What is said of many checks that were not examined: a few by name, the others counted."""

from __future__ import annotations

from collections.abc import Sequence

from stell.core.protocol.ready import ReadyProtocol
from stell.core.records import Examination
from stell.core.verdict import Missing

MOST_LISTED = 4  # checks not examined that are told one by one
_NAMED = 3
_AMONG = 2


def missing_text(missing: Sequence[Missing], protocol: ReadyProtocol) -> str:
    """Return what is missing in one sentence without a full stop.

    Of more than `MOST_LISTED` checks that were not examined the first three are named, measures
    first, and the others counted.
    """
    seen_to, unseen = _parted(missing)
    sentences = [m.sentence for m in seen_to]
    if unseen:
        named = ", ".join(m.title for m in _measures_first(unseen, protocol)[:_NAMED])
        sentences.insert(0, f"not examined: {named} and {len(unseen) - _NAMED} more")
    return "; ".join(sentences)


def missing_lines(
    missing: Sequence[Missing], exam: Examination, protocol: ReadyProtocol
) -> list[str]:
    """Return what is missing line by line, many checks not examined on one line.

    They are set against all that were asked: those observed and those still open.
    """
    seen_to, unseen = _parted(missing)
    lines = [m.sentence for m in seen_to]
    if unseen:
        asked = len(unseen) + len(exam.observations.keys() & protocol.checks.keys())
        first = _measures_first(unseen, protocol)[:_AMONG]
        shorts = (protocol.checks[m.check_id].short for m in first)
        named = " and ".join(s[:1].lower() + s[1:] for s in shorts)
        lines.insert(0, f"{len(unseen)} of {asked} checks not examined, among them {named}")
    return lines


def _parted(missing: Sequence[Missing]) -> tuple[list[Missing], list[Missing]]:
    """Return what is told one by one, and the checks not examined if they are too many for that."""
    unseen = [m for m in missing if m.why == "not_examined"]
    if len(unseen) <= MOST_LISTED:
        return list(missing), []
    return [m for m in missing if m.why != "not_examined"], unseen


def _measures_first(unseen: Sequence[Missing], protocol: ReadyProtocol) -> list[Missing]:
    return sorted(unseen, key=lambda m: not protocol.checks[m.check_id].is_measure)

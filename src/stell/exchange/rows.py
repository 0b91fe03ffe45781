"""One row put together: the ram, the examination, and what its parts say about each other."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Any

from stell.core.facts import Facts
from stell.core.intake import IntakeRow, ReadingRules
from stell.core.protocol.conditions import tester
from stell.core.protocol.ready import ReadyCheck, ReadyProtocol
from stell.core.records import Born, Examination, Observed, Ram, Season, written_date
from stell.core.verdict import Outcome
from stell.exchange.ages import Age
from stell.exchange.cells import NOT_EXAMINED
from stell.exchange.columns import IDENTITY
from stell.exchange.refusal import Refused, refused

# Ages are rounded by people; a birth that is stated counts, and the age may be off by this much.
_AGE_MAY_BE_OFF = timedelta(days=60)


@dataclass(slots=True)
class RowParts:
    """The values of one row.

    Attributes
    ----------
    fields : mapping of field to value
        Empty cells left out.
    observed : mapping of check id to observed value or NOT_EXAMINED
    remarks : mapping of check id to str
    normal_stops : set of str
        Stops that were looked at and normal where nothing else is said.
    left_out : set of str
        Checks that the row says were not examined.
    """

    fields: Mapping[str, Any]
    observed: dict[str, Any]
    remarks: dict[str, str] = field(default_factory=dict)
    normal_stops: set[str] = field(default_factory=set)
    left_out: set[str] = field(default_factory=set)

    @property
    def says_anything(self) -> bool:
        """Whether any cell of a column in use holds something."""
        return bool(self.fields or self.observed or self.remarks or self.normal_stops)


class RowMaker:
    """Makes rows of one sheet.

    Parameters
    ----------
    protocol : ReadyProtocol
    rules : ReadingRules
    with_column : frozenset of str
        Checks that have a column: an optional check is only taken as normal when it has one.
    """

    def __init__(
        self, protocol: ReadyProtocol, rules: ReadingRules, with_column: frozenset[str]
    ) -> None:
        self.rules = rules
        self.protocol = protocol
        choices = [
            c
            for c in protocol.checks.values()
            if not c.is_measure and (c.required or c.id in with_column)
        ]
        self.always = [c for c in choices if c.asked_when is None]
        self.sometimes = [(c, tester(c.asked_when)) for c in choices if c.asked_when is not None]

    def make(self, number: int, part: RowParts) -> IntakeRow:
        """Return the row.

        Raises
        ------
        Refused
            `row.missing`, `row.date` or `row.value` for parts that are missing or contradict.
        """
        said = part.fields
        on = said.get("examined_on") or self.rules.examined_on
        if on is None:
            raise _missing("the day of the examination", "an entry in its column", "2026-10-04")
        if not any(name in said for name in IDENTITY):
            raise _missing("which ram it is", "a tag, an electronic number or a name", "R12")
        ram = self._ram(said, on)
        observed = part.observed
        if part.left_out:
            observed = {k: v for k, v in observed.items() if v is not NOT_EXAMINED}
        exam = Examination(
            exam_id=said.get("exam_id", ""),
            ram_id="",
            examined_on=on,
            observations=observed,
            examiner=said.get("examiner", self.rules.examiner),
            note=said.get("note", ""),
            remarks=part.remarks,
            circumstances=said.get("circumstances", ()),
        )
        if said.get("rest_normal") or part.normal_stops:
            exam = self._with_rest_normal(ram, exam, part)
        override = Outcome(said["override"]) if "override" in said else None
        reason = said.get("override_reason", "")
        if (override is None) != (not reason):
            raise _unreasoned(override)
        return IntakeRow(number, ram, exam, said.get("flock", ""), override, reason)

    def _ram(self, said: Mapping[str, Any], on: date) -> Ram:
        born: Born | None = said.get("born_on")
        ages = [a for a in (said.get("age_months"), said.get("age_class")) if a is not None]
        if born is not None and born.earliest > on:
            raise refused(
                "he was born after he was examined",
                f"born {_span(born)}, examined {written_date(on)}",
                f"a birth up to {written_date(on)}",
                str(on.year - 1),
                "row.date",
            )
        months: Age | None = next((a for a in ages if not a.age_class), None)
        by_class = next((a.age_class for a in ages if a.age_class), "")
        if months is not None:
            by_age = months.born(on)
            if born is None:
                born = by_age
            elif _apart(born, by_age) > _AGE_MAY_BE_OFF:
                raise refused(
                    "birth and age contradict each other",
                    f"born {_span(born)}, but by his age {_span(by_age)}",
                    "one of the two left empty, or both in agreement",
                    _span(born),
                    "row.date",
                )
        return Ram(
            ram_id="",
            tag=said.get("tag", ""),
            name=said.get("name", ""),
            eid=said.get("eid", ""),
            breed=said.get("breed", ""),
            ram_type=said.get("ram_type", ""),
            born=born,
            age_class=by_class,
            age_class_on=on if by_class else None,
            intended_use=said.get("intended_use", ""),
        )

    def _with_rest_normal(self, ram: Ram, exam: Examination, part: RowParts) -> Examination:
        """Return the examination with every open choice normal that the row says was looked at.

        A check that is only asked under a condition counts only where the condition holds.
        """
        observed: dict[str, Observed] = dict(exam.observations)
        every = bool(part.fields.get("rest_normal"))
        for check in self.always:
            if self._is_open(check, observed, part, every):
                observed[check.id] = check.nothing_found
        for check, is_asked in self.sometimes:
            if self._is_open(check, observed, part, every):
                facts = Facts(self.protocol, ram, replace(exam, observations=observed), Season())
                if is_asked(facts):
                    observed[check.id] = check.nothing_found
        return replace(exam, observations=observed)

    @staticmethod
    def _is_open(
        check: ReadyCheck, observed: Mapping[str, Observed], part: RowParts, every: bool
    ) -> bool:
        return (
            (every or check.spec.stop in part.normal_stops)
            and check.id not in observed
            and check.id not in part.left_out
        )


def _apart(one: Born, other: Born) -> timedelta:
    """Return how far two births lie apart; nothing when they can be the same."""
    return max(one.earliest - other.latest, other.earliest - one.latest, timedelta(0))


def _span(born: Born) -> str:
    if born.is_exact:
        return written_date(born.earliest)
    return f"{written_date(born.earliest)} to {written_date(born.latest)}"


def _missing(what: str, legal: str, example: str) -> Refused:
    return Refused("row.missing", f"the row does not say {what}", legal=legal, example=example)


def _unreasoned(override: Outcome | None) -> Refused:
    if override is None:
        return Refused(
            "row.missing",
            "a reason stands without the vet's own verdict",
            legal="both or neither",
            example="unsatisfactory",
        )
    return Refused(
        "row.missing",
        "the vet's own verdict needs a reason",
        got=override.value,
        legal="an entry in the column override_reason",
        example="seen mounting and serving twice",
    )

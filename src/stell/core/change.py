"""This ram against his own past: what is measurably different, and which findings came and went.

Two readings never agree to the millimetre, testes swell and shrink with the season, and young rams
grow. A difference is called a real change only when it is more than measuring (`detectable`) and
the season (`seasonal`) can make; a ram who was still growing is not judged on having grown.

One thing cannot be taken off here. A ram that is looked at again *because* he was unusually large
or small will tend to be less so the second time, without any change: half of his first reading's
luck was bad (or good) measuring. Whoever picks rams for being extreme must expect that, and shrink
the first reading towards the flock's mean before comparing; this module compares two readings.

Exchanging the two examinations turns every sign about and changes no judgement.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date

from stell.core.comparison import (
    Comparison,
    Course,
    FindingChange,
    Judgement,
    MeasureChange,
)
from stell.core.daylength import days_since_longest_day
from stell.core.detectable import ReadingError, detectable_change
from stell.core.errors import ProtocolError, RecordError
from stell.core.facts import age_of, mean_reading
from stell.core.protocol.conditions import Span
from stell.core.protocol.ready import ReadyCheck, ReadyProtocol
from stell.core.records import Examination, Observed, Ram
from stell.core.seasonal import (
    SeasonalSwing,
    seasonal_difference,
    swing_of,
    widest_seasonal_difference,
)
from stell.core.units import UNITS, Unit, to_fixed

__all__ = [
    "LOOK_BACKS",
    "Comparison",
    "Course",
    "FindingChange",
    "Judgement",
    "MeasureChange",
    "compare",
    "nearest_earlier",
    "window_days",
    "year_on_year",
]

# The quantity that follows the season, and the units of what grows with a young ram.
SEASONAL = "scrotal_circumference"
GROWING_UNITS = ("cm", "kg")
# How far back to look. [days]
LOOK_BACKS: Mapping[str, int] = {"two weeks": 14, "a month": 30, "a year": 365, "two years": 730}
_WIDEST_WINDOW_DAYS = 60
_GROWING = "he was still growing"


def window_days(days: int) -> int:
    """Return how far from the day looked for an examination may lie: a third, 60 days at most.

    Two weeks take 10 to 18 days, a month 20 to 40, a year 305 to 425, two years 670 to 790, so
    that no examination answers to two of them.

    Examples
    --------
    >>> [window_days(d) for d in LOOK_BACKS.values()]
    [4, 10, 60, 60]
    """
    return min(days // 3, _WIDEST_WINDOW_DAYS)


def nearest_earlier(
    examinations: Iterable[Examination], on: date, look_backs: Mapping[str, int] = LOOK_BACKS
) -> dict[str, Examination | None]:
    """Return, for each look-back, the earlier examination that lies nearest to it.

    Parameters
    ----------
    examinations : iterable of Examination
        Of one ram, in any order. One that another replaces is left out.
    on : date
        The day from which to look back; only earlier days count.
    look_backs : mapping of str to int
        Name to how far back. [days]

    Returns
    -------
    dict of str to Examination or None
        None when no examination lies within `window_days`. Of two equally near the later is taken.
    """
    known = list(examinations)
    replaced = {e.replaces for e in known if e.replaces}
    earlier = [e for e in known if e.examined_on < on and e.exam_id not in replaced]
    found: dict[str, Examination | None] = {}
    for name, days in look_backs.items():
        off = {e.exam_id: abs((on - e.examined_on).days - days) for e in earlier}
        near = [e for e in earlier if off[e.exam_id] <= window_days(days)]
        near.sort(key=lambda e: (off[e.exam_id], -e.examined_on.toordinal(), e.exam_id))
        found[name] = near[0] if near else None
    return found


def year_on_year(comparisons: Iterable[Comparison]) -> Comparison | None:
    """Return the comparison with about a year ago; else with the examination before; else None.

    Parameters
    ----------
    comparisons : iterable of Comparison
        Of one examination with earlier ones, in any order.
    """
    known = list(comparisons)
    year = LOOK_BACKS["a year"]

    def off(comparison: Comparison) -> tuple[int, int]:
        days = (comparison.now_on - comparison.then_on).days
        return abs(days - year), days

    near = [c for c in known if off(c)[0] <= window_days(year)]
    return min(near, key=off) if near else max(known, key=lambda c: c.then_on, default=None)


def compare(
    protocol: ReadyProtocol,
    ram: Ram,
    now: Examination,
    then: Examination,
    latitude_deg: float | None,
) -> Comparison:
    """Return two examinations of one ram side by side.

    Parameters
    ----------
    protocol : ReadyProtocol
        By which both are read. Its targets ``seasonal_swing``, ``seasonal_peak`` and
        ``growing_until`` (months) are used where it has them.
    ram : Ram
    now, then : Examination
        In either order.
    latitude_deg : float or None
        Where he stands, north positive. Without it the season cannot be taken off, and a
        difference that it could explain is not judged. [degrees]

    Raises
    ------
    RecordError
        `record.refused` when an examination is another ram's.
    ValueRefused
        `value.range` when the latitude is no latitude.
    ProtocolError
        `protocol.unit` when a target is in another unit.
    """
    for exam in (now, then):
        if exam.ram_id != ram.ram_id:
            raise RecordError(
                "record.refused",
                "a ram can only be compared with himself",
                got=f"an examination of {exam.ram_id}",
                legal=f"examinations of {ram.ram_id}",
                where=f"examination {exam.exam_id}",
            )
    pair = _Pair(protocol, ram, now, then, latitude_deg)
    return Comparison(
        ram_id=ram.ram_id,
        label=ram.label,
        protocol=protocol.named,
        now_on=now.examined_on,
        then_on=then.examined_on,
        same_person=pair.same_person,
        measures=tuple(pair.measures()),
        findings=tuple(sorted(pair.findings(), key=lambda f: _COURSES.index(f.course))),
        not_examined_then=pair.only_in(now, then),
        not_examined_now=pair.only_in(then, now),
        not_covered=tuple(
            sorted((now.observations.keys() | then.observations.keys()) - protocol.checks.keys())
        ),
    )


_COURSES = list(Course)


class _Pair:
    """Two examinations and what is known about the time between them."""

    def __init__(
        self,
        protocol: ReadyProtocol,
        ram: Ram,
        now: Examination,
        then: Examination,
        latitude_deg: float | None,
    ) -> None:
        self.protocol = protocol
        self.now = now
        self.then = then
        self.latitude_deg = latitude_deg
        persons = [" ".join(e.examiner.split()).casefold() for e in (now, then)]
        self.same_person = persons[0] == persons[1] if all(persons) else None
        self.swing = swing_of(protocol, latitude_deg)
        self.growing = _growth(protocol, ram, min(now, then, key=lambda e: e.examined_on))
        self.sign = -1 if now.examined_on < then.examined_on else 1

    def measures(self) -> Iterator[MeasureChange]:
        for check in self.protocol.checks.values():
            now = _readings(self.now.observations.get(check.id))
            then = _readings(self.then.observations.get(check.id))
            if check.unit is not None and now and then:
                yield self._measure(check, check.unit, now, then)

    def _measure(
        self, check: ReadyCheck, unit: Unit, now: tuple[int, ...], then: tuple[int, ...]
    ) -> MeasureChange:
        mean_now, mean_then = mean_reading(now), mean_reading(then)  # as the verdict shows them
        expected, season_variance, unknown = self._season(check, mean_now, mean_then)
        difference = mean_now - mean_then - (expected or 0.0)
        error, same = ReadingError.of(check), self.same_person is True
        variances = [error.variance(len(k), same_person=same) for k in (now, then)]
        least = None
        if variances[0] is not None and variances[1] is not None:
            least = detectable_change(variances[0], variances[1], season_variance)
        low, high = check.plausible
        if not all(low <= reading <= high for reading in (*now, *then)):
            judgement, why = Judgement.CANNOT_SAY, "a reading cannot be right"
        else:
            judgement, why = self._judged(check, difference, least, unknown)
        return MeasureChange(
            check_id=check.id,
            title=check.title,
            unit=unit,
            now=mean_now,
            then=mean_then,
            readings_now=len(now),
            readings_then=len(then),
            expected=expected,
            detectable=least,
            judgement=judgement,
            why=why,
        )

    def _season(
        self, check: ReadyCheck, now: float, then: float
    ) -> tuple[float | None, float, float]:
        """Return what the season makes, its variance, and its bound when the place is unknown."""
        if check.spec.quantity != SEASONAL or self.swing is None:
            return None, 0.0, 0.0
        if self.latitude_deg is None:
            return None, 0.0, self._widest(self.swing, (now + then) / 2)
        days = self._days(self.latitude_deg)
        made = seasonal_difference(self.swing, now, days[0], then, days[1])
        return made.expected, made.variance, 0.0

    def _widest(self, swing: SeasonalSwing, mean: float) -> float:
        north, south = self._days(45.0), self._days(-45.0)  # any place of either half of the earth
        return widest_seasonal_difference(swing, mean, (north, south))

    def _days(self, latitude_deg: float) -> tuple[int, int]:
        return (
            days_since_longest_day(latitude_deg, self.now.examined_on),
            days_since_longest_day(latitude_deg, self.then.examined_on),
        )

    def _judged(
        self, check: ReadyCheck, difference: float, least: float | None, unknown: float
    ) -> tuple[Judgement, str]:
        if least is None:
            return Judgement.CANNOT_SAY, self._no_error(check)
        size = abs(difference)
        is_real = size >= least and size > 0
        grows = self.growing != "" and check.spec.unit in GROWING_UNITS
        gained = difference * self.sign >= 0
        if grows and (gained or not is_real):
            return Judgement.CANNOT_SAY, self.growing
        if unknown and size + unknown >= least and size - unknown < least:
            return (
                Judgement.CANNOT_SAY,
                "the flock's latitude is not known, and the season could explain it or hide it",
            )
        if not is_real:
            return Judgement.WITHIN, ""
        return Judgement.REAL, self._bear_in_mind(check, grows)

    def _no_error(self, check: ReadyCheck) -> str:
        if check.spec.error_same_person is None and check.spec.error_other_person is None:
            return "the protocol does not say how well this can be repeated"
        whom = "two people measured" if self.same_person is False else "who measured is not known"
        return f"{whom}, and the protocol does not say how far apart two people are"

    def _bear_in_mind(self, check: ReadyCheck, grows: bool) -> str:
        if grows and self.growing == _GROWING:
            return f"he lost although {_GROWING}"
        if check.spec.quantity == SEASONAL and self.swing is None:
            return "the protocol has no figures for the season, so that may be part of it"
        return ""

    def findings(self) -> Iterator[FindingChange]:
        for check in self.protocol.checks.values():
            if not check.is_measure:
                now = _found(check, self.now.observations.get(check.id))
                then = _found(check, self.then.observations.get(check.id))
                yield from _courses(check, now, then)

    def only_in(self, here: Examination, other: Examination) -> tuple[str, ...]:
        """Return the titles of checks done here and not there, in the order of the walk."""
        done, not_done = here.observations, other.observations
        return tuple(
            check.title
            for check in self.protocol.checks.values()
            if _was_done(check, done.get(check.id)) and not _was_done(check, not_done.get(check.id))
        )


def _growth(protocol: ReadyProtocol, ram: Ram, first: Examination) -> str:
    """Return whether he was growing at the earlier examination, in words; empty when grown."""
    limit = protocol.spec.targets.get("growing_until")
    if limit is None:
        return ""
    if limit.unit != "months":
        raise ProtocolError(
            "protocol.unit",
            "the age until which a ram grows is in another unit",
            got=limit.unit,
            legal="months",
            example='unit = "months"',
            where="targets.growing_until.unit",
        )
    age = age_of(protocol, ram, first)
    grown = to_fixed(limit.value, UNITS["months"])
    if age is None:
        return "his age is not known, and he may have been growing"
    if isinstance(age, Span) and age.low < grown <= age.high:
        return "he may still have been growing"
    oldest = age.high if isinstance(age, Span) else age
    return _GROWING if oldest < grown else ""


def _readings(observed: Observed | None) -> tuple[int, ...]:
    if not isinstance(observed, tuple):
        return ()
    return tuple(value for value in observed if isinstance(value, int))


def _was_done(check: ReadyCheck, observed: Observed | None) -> bool:
    return bool(_readings(observed)) if check.is_measure else observed is not None


def _found(check: ReadyCheck, observed: Observed | None) -> tuple[str, ...] | None:
    """Return the answers that are not normal, or None when nobody looked."""
    if observed is None:
        return None
    answers = observed if isinstance(observed, tuple) else (observed,)
    return tuple(str(a) for a in answers if a != check.normal)


def _label(check: ReadyCheck, answer: str) -> str:
    rule = check.rules.get(answer)
    return rule.label if rule else answer


def _courses(
    check: ReadyCheck, now: tuple[str, ...] | None, then: tuple[str, ...] | None
) -> Iterator[FindingChange]:
    def change(course: Course, today: str = "", before: str = "") -> FindingChange:
        labels = (_label(check, a) if a else "" for a in (today, before))
        return FindingChange(check.id, check.title, course, *labels)

    if now is None or then is None:
        yield from (change(Course.NOT_EXAMINED_THEN, today=a) for a in now or ())
        yield from (change(Course.NOT_EXAMINED_NOW, before=a) for a in then or ())
        return
    if not check.spec.several and now and then and now != then:
        yield change(Course.CHANGED, now[0], then[0])
        return
    yield from (change(Course.NEW, today=a) for a in now if a not in then)
    yield from (change(Course.PERSISTING, a, a) for a in now if a in then)
    yield from (change(Course.GONE, before=a) for a in then if a not in now)

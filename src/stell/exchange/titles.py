"""What a column title can mean: the protocol's own words, trade words, units and readings.

A title is compared whole first, then without its unit, then without the number of a repeated
reading; last of all as a set of words, so that ``tone L testicle`` finds ``Testis tone (left)``.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from stell.core.intake import INTAKE_FIELDS
from stell.core.protocol.ready import ReadyCheck, ReadyProtocol
from stell.exchange.answers import options_by_key
from stell.exchange.dates import order_in_title
from stell.exchange.field_words import FIELD_TITLES
from stell.exchange.phrases import MEASURED_TITLES, bag, near, plain, sharing
from stell.exchange.written_numbers import unit_fits, unit_written

IGNORED = frozenset({"", "-", "ignore", "not used", "none"})
# Ranks, the smaller the surer: an id, a title, the places of other names; words without order.
_SURE, _TITLE, _ALSO, _WORDS = 0, 1, 10, 1000
_BRACKET = re.compile(r"^(.*?)\s*[(\[]([^()\[\]]*)[)\]]\s*(.*)$", re.DOTALL)
_LAST_WORD = re.compile(r"^(.*?\S)[\s_,.-]+(?:in\s+)?([^\s_]+)$", re.DOTALL)
_BEHIND_IN = re.compile(r"\bin\s+\S+$")
_NUMBERED = re.compile(
    r"^(.*?\D)[\s_]*[-#(]?[\s_]*(?:reading|measurement|measure|rep)?[\s_#]*([1-9])\)?$",
    re.IGNORECASE | re.DOTALL,
)
_UNITS_OF_WORDS = ("billion_per_ml", "million_per_ml")
_BARE_UNITS = frozenset({"c", "f", "g", "m", "l", "in", "h", "mo", "score", "count", "hours"})


@dataclass(frozen=True, slots=True)
class Meaning:
    """One thing a title can mean, and how sure that is: the smaller the surer."""

    name: str
    rank: int

    @property
    def is_title(self) -> bool:
        """Whether it is the thing's own id or title, and not what it is also called."""
        return self.rank <= _TITLE


@dataclass(slots=True)
class Vocabulary:
    """Every title that means something under a protocol. Build once, use for many sheets."""

    protocol: ReadyProtocol
    phrases: dict[str, dict[str, int]] = field(default_factory=dict)
    bags: dict[frozenset[str], dict[str, int]] = field(default_factory=dict)
    written: dict[str, str] = field(default_factory=dict)
    answers: dict[str, list[str]] = field(default_factory=dict)
    with_unit: dict[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for name, titles in FIELD_TITLES.items():
            self._add(name, _SURE, name)
            for position, title in enumerate(titles):
                self._add(name, _ALSO + position, title)
        for check in self.protocol.checks.values():
            self._add_check(check)
            for key in options_by_key(check):
                self.answers.setdefault(key, []).append(check.title)
        for base in {c.base for c in self.protocol.checks.values() if c.side}:
            self._add_both(base)
        for stop in self.protocol.spec.stop:
            name = f"stop:{stop.id}"
            self._add(name, _SURE, name)
            self._add(name, _ALSO + 90, stop.title, stop.id)
            for word in ("all", "ok", "all ok", "normal"):
                self._add(name, _ALSO, f"{stop.title} {word}", f"{word} {stop.title}")

    def _add_check(self, check: ReadyCheck) -> None:
        also = check.spec.also_called
        titles = [check.title, check.short]
        if check.side:
            titles += [f"{t} {check.side}" for t in (check.base, check.spec.title)]
            also = tuple(f"{check.side} {word}" for word in also)
        names = [(_SURE, check.id), *((_TITLE, t) for t in titles)]
        names += [(_ALSO + i, word) for i, word in enumerate(also)]
        for rank, name in names:
            self._add(check.id, rank, name)
            for word in ("remark", "note"):
                self._add(f"remark:{check.id}", rank, f"{word} {name}", f"{name} {word}")
        self._add(f"remark:{check.id}", _SURE, f"remark:{check.id}")
        if check.is_measure and not check.side:
            known = {plain(name) for _, name in names}
            for title in (t for key, also in MEASURED_TITLES.items() if key in known for t in also):
                self.with_unit.setdefault(plain(title), check.id)

    def _add_both(self, base: str) -> None:
        sides = [c for c in self.protocol.checks.values() if c.base == base]
        if sides[0].is_measure:
            return
        spec = sides[0].spec
        self._add(f"both:{base}", _SURE, f"both:{base}", base)
        self._add(f"both:{base}", _TITLE, spec.title, spec.short or spec.title)
        for i, word in enumerate(spec.also_called):
            self._add(f"both:{base}", _ALSO + i, word)

    def _add(self, meaning: str, rank: int, *titles: str) -> None:
        for title in titles:
            here = self.phrases.setdefault(plain(title), {})
            self.written.setdefault(plain(title), title)
            here[meaning] = min(rank, here.get(meaning, rank))
            words = self.bags.setdefault(bag(title), {})
            words[meaning] = min(rank + _WORDS, words.get(meaning, rank + _WORDS))

    def answering(self, key: str) -> Sequence[str]:
        """Return the titles of the checks that know a word as an answer."""
        return self.answers.get(key, ())

    def knows(self, title: str) -> bool:
        """Tell whether a title means something."""
        return bool(self.find(title)[0]) if title and len(title) <= 120 else False

    def find(self, title: str) -> tuple[list[Meaning], str]:
        """Return what a title can mean, surest first, and the unit it names."""
        for phrase, unit in _readings_of(title):
            found = [m for m in self._meanings(phrase) if not unit or self._unit_fits(m.name, unit)]
            measured = self.with_unit.get(plain(phrase)) if unit and not found else None
            if measured and self._unit_fits(measured, unit):
                found = [Meaning(measured, _ALSO)]
            if found:
                return found, unit
        return [], ""

    def _meanings(self, phrase: str) -> list[Meaning]:
        words = plain(phrase)
        named = self.phrases.get(words) or self.bags.get(bag(phrase)) or {}
        ranked = sorted((Meaning(m, r) for m, r in named.items()), key=lambda m: m.rank)
        if not ranked:
            return []
        # An id or a title beats what something is also called; equals stay side by side.
        best = ranked[0].rank
        sure = best % _WORDS < _ALSO
        return [m for m in ranked if (m.rank % _WORDS < _ALSO) == sure]

    def _unit_fits(self, meaning: str, unit: str) -> bool:
        if meaning == "age_months":
            return unit in ("months", "years")
        if meaning in ("examined_on", "born_on"):
            return unit in ("day-first", "month-first")
        check = self.protocol.checks.get(meaning)
        if check is None or check.unit is None:
            return unit.isdigit() and check is not None and check.is_measure
        return unit_fits(unit, check.unit)

    def numbered(self, title: str) -> tuple[list[Meaning], str]:
        """Return what a title such as ``SC 2`` can mean as one of several readings."""
        for phrase, unit in _readings_of(title):
            found = _NUMBERED.match(phrase.strip())
            if found is None:
                continue
            for inner, inner_unit in _readings_of(found[1]):
                named = unit or inner_unit
                measured = [
                    m
                    for m in self._meanings(inner)
                    if (check := self.protocol.checks.get(m.name)) is not None
                    and check.is_measure
                    and (not named or self._unit_fits(m.name, named))
                ]
                if measured:
                    return measured, named
        return [], ""

    def unit_in(self, title: str, meaning: str) -> str:
        """Return the unit a title names that fits a meaning, or the empty text."""
        units = (unit for _, unit in _readings_of(title) if unit)
        return next((unit for unit in units if self._unit_fits(meaning, unit)), "")

    def suggestions(self, title: str) -> list[str]:
        """Return up to three known titles that may be meant, best first.

        A title that names a unit may mean what is measured in it, whatever its words.
        """
        phrase, unit = next(((p, u) for p, u in _readings_of(title) if u), (title, ""))
        measured = [
            c
            for c in self.protocol.checks.values()
            if unit and c.unit is not None and unit_fits(unit, c.unit)
        ]
        titles = [t for p, t in self.written.items() if self._is_plain(p)]
        looks = near(title, titles, most=2, cutoff=0.75)
        shown = [c.title for c in self.protocol.checks.values()]
        words = sharing(phrase, [*(plain(name) for name in FIELD_TITLES), *shown], most=2)
        found = [c.title for c in measured[:2]] + words + looks
        return list(dict.fromkeys(found))[:3]

    def _is_plain(self, phrase: str) -> bool:
        """Whether a title speaks of a check or a field itself, not of a stop or a remark."""
        return any(m.partition(":")[0] not in ("stop", "remark") for m in self.phrases[phrase])

    def meant(self, said: str) -> tuple[str, str] | None:
        """Return the one meaning that a person's words stand for, and the unit they name.

        Ids count first, then titles and trade words, with blanks or underscores; None for words
        that mean nothing, or several things.

        Examples
        --------
        >>> from stell.core.protocol.load import load_shipped
        >>> words = Vocabulary(load_shipped("house"))
        >>> words.meant("examined on"), words.meant("SC (mm)"), words.meant("hat size")
        (('examined_on', ''), ('circumference', 'mm'), None)
        """
        meaning, unit = parted(said)
        if not self._exists(meaning):
            found, named = self.find(said)
            if len(found) != 1:
                return None
            meaning, unit = found[0].name, unit or named
        return None if unit and not self._unit_fits(meaning, unit) else (meaning, unit)

    def accepts(self, said: str) -> bool:
        """Tell whether a person may say that a column means this, also with a unit in brackets.

        Examples
        --------
        >>> from stell.core.protocol.load import load_shipped
        >>> words = Vocabulary(load_shipped("house"))
        >>> words.accepts("circumference (mm)"), words.accepts("circumference (kg)")
        (True, False)
        """
        return said.strip().casefold() in IGNORED or self.meant(said) is not None

    def _exists(self, meaning: str) -> bool:
        kind, _, name = meaning.partition(":")
        if not name:
            return meaning in INTAKE_FIELDS or meaning in self.protocol.checks
        return {
            "remark": name in self.protocol.checks,
            "stop": any(s.id == name for s in self.protocol.spec.stop),
            "both": f"both:{name}" in self.phrases.get(plain(f"both:{name}"), {}),
        }.get(kind, False)


def parted(said: str) -> tuple[str, str]:
    """Return a meaning as a person says it, and the unit in brackets behind it."""
    found = _BRACKET.match(said)
    unit = unit_written(found[2]) if found else ""
    return (found[1].strip(), unit) if found and unit else (said.strip(), "")


def _readings_of(title: str) -> Iterator[tuple[str, str]]:
    """Yield the ways to part a title into a phrase and a unit."""
    title = " ".join(title.split())
    # Signs go first: they are not letters, so the whole title would match without them.
    if title.startswith("%"):
        yield title[1:].strip(), "percent"
    for sign, unit in (("%", "percent"), ('"', "inch"), ("″", "inch")):
        if title.endswith(sign):
            yield title[: -len(sign)].strip(), unit
    yield title, ""
    order = order_in_title(title)
    found = _BRACKET.match(title)
    if found:
        unit = order or unit_written(found[2])
        if unit:
            yield f"{found[1]} {found[3]}".strip(), unit
    for name in _UNITS_OF_WORDS:
        if title.endswith(f"_{name}"):
            yield title[: -len(name) - 1], name
    last = _LAST_WORD.match(title)
    # Short units are also words or initials: they count only behind "in", as in "length in m".
    clear = last and (last[2].casefold() not in _BARE_UNITS or _BEHIND_IN.search(title))
    if last and clear and (unit := unit_written(last[2])):
        yield last[1].strip(" ,-_"), unit
    if last and order:
        yield last[1].strip(" ,-_"), order


def age_unit(title: str) -> str:
    """Return whether a title speaks of months or years, or the empty text.

    Examples
    --------
    >>> age_unit("age_months"), age_unit("Age in yrs"), age_unit("Age")
    ('months', 'years', '')
    """
    words = {unit_written(word) for word in plain(title).split()}
    return next((unit for unit in ("months", "years") if unit in words), "")

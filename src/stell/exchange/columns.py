"""Which column of a sheet means what: by what a person said, else by its title.

A column that finds no meaning is reported with the nearest title, never dropped in silence.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from stell.core.errors import SheetError
from stell.core.intake import INTAKE_FIELDS, ColumnMatch
from stell.core.protocol.compiled import MAX_READINGS
from stell.core.protocol.ready import ReadyProtocol
from stell.exchange.phrases import column_letter, near, plain
from stell.exchange.titles import IGNORED, Meaning, Vocabulary, age_unit

__all__ = ["IDENTITY", "Matching", "Vocabulary", "match_columns", "require_essentials"]

IDENTITY = ("tag", "eid", "name")
_SUGGEST_FOR = 20


@dataclass(frozen=True, slots=True)
class Matching:
    """The columns of a sheet, matched.

    Attributes
    ----------
    columns : tuple of ColumnMatch
        One for each column, in order.
    notices : tuple of str
        Columns that are not used and why, for a person to read.
    unmatched : tuple of str
        Those of `notices` that speak of columns without a known meaning.
    """

    columns: tuple[ColumnMatch, ...]
    notices: tuple[str, ...] = ()
    unmatched: tuple[str, ...] = ()

    def of(self, meaning: str) -> list[ColumnMatch]:
        """Return the columns of that meaning."""
        return [c for c in self.columns if c.meaning == meaning]


def match_columns(
    headers: Sequence[str],
    protocol: ReadyProtocol,
    given: Mapping[str, str] | None = None,
    vocabulary: Vocabulary | None = None,
) -> Matching:
    """Return what each column of a sheet means.

    Parameters
    ----------
    headers : sequence of str
        Column titles as written.
    protocol : ReadyProtocol
    given : mapping of title to meaning, optional
        What a person said, or what was saved. A unit may stand behind the meaning in brackets
        (``scrotal_circumference (mm)``); an empty meaning or ``ignore`` leaves the column out.
    vocabulary : Vocabulary, optional
        Of this protocol, when it is at hand.

    Raises
    ------
    SheetError
        `sheet.columns`: a given meaning that does not exist, or two columns that mean the same
        equally surely.
    """
    return _Matcher(headers, vocabulary or Vocabulary(protocol), dict(given or {})).run()


@dataclass(slots=True)
class _Guess:
    column: int
    header: str
    meanings: list[Meaning] = field(default_factory=list)
    unit: str = ""
    why: str = "none"
    numbered: bool = False


class _Matcher:
    def __init__(self, headers: Sequence[str], words: Vocabulary, given: dict[str, str]) -> None:
        self.headers = headers
        self.words = words
        self.given = given
        self.by_plain = {plain(k): k for k in given}
        self.used: set[str] = set()
        self.notices: list[str] = []
        self.unmatched: list[str] = []

    def run(self) -> Matching:
        guesses = [self._guess(i, h) for i, h in enumerate(self.headers)]
        self._settle(guesses)
        columns = tuple(
            ColumnMatch(g.column, g.header, g.meanings[0].name if g.meanings else "", g.unit, g.why)
            for g in guesses
        )
        self._report_given()
        return Matching(columns, (*self.unmatched, *self.notices), tuple(self.unmatched))

    def _guess(self, column: int, header: str) -> _Guess:
        key = header if header in self.given else self.by_plain.get(plain(header))
        if key is not None and header.strip():
            self.used.add(key)
            return self._as_given(column, header, self.given[key])
        if not header.strip():
            return _Guess(column, header)
        meanings, unit = self.words.find(header)
        numbered = False
        if not meanings:
            meanings, unit = self.words.numbered(header)
            numbered = bool(meanings)
        if len(meanings) > 1:
            return self._open(column, header, meanings)
        sure = bool(meanings) and meanings[0].is_title
        if meanings and meanings[0].name == "age_months":
            unit = unit or age_unit(header)
        why = "none" if not meanings else "exact" if sure else "synonym"
        return _Guess(column, header, meanings, unit, why, numbered)

    def _open(self, column: int, header: str, meanings: list[Meaning]) -> _Guess:
        names = " or ".join(m.name for m in meanings[:4])
        self.unmatched.append(
            f"{_place(column, header)} is not used: it can mean {names}; "
            f"{_say(header, meanings[0].name)}."
        )
        return _Guess(column, header, why="open")

    def _as_given(self, column: int, header: str, said: str) -> _Guess:
        if said.strip().casefold() in IGNORED:
            return _Guess(column, header, why="given")
        meant = self.words.meant(said)
        if meant is None:
            raise self._unknown_meaning(header, said)
        meaning, unit = meant
        if meaning == "age_months":
            unit = unit or age_unit(header) or "months"
        unit = unit or self.words.unit_in(header, meaning)
        return _Guess(column, header, [Meaning(meaning, -1)], unit, "given")

    def _unknown_meaning(self, header: str, said: str) -> SheetError:
        names = [*INTAKE_FIELDS, *self.words.protocol.checks]
        found = near(said, names) or [m.name for m in self.words.find(said)[0][:3]] or ["tag"]
        return SheetError(
            "sheet.columns",
            f"column {header!r} is said to mean something that does not exist",
            got=said,
            legal="a check's id, remark:<check>, stop:<stop>, ignore, or one of "
            + ", ".join(INTAKE_FIELDS),
            example=f'--map "{header.strip()}={found[0]}"',
        )

    def _settle(self, guesses: list[_Guess]) -> None:
        """Leave one column for each meaning, several for the readings of a measured check."""
        by_meaning: dict[str, list[_Guess]] = {}
        for guess in guesses:
            if guess.meanings:
                by_meaning.setdefault(guess.meanings[0].name, []).append(guess)
        for meaning, same in by_meaning.items():
            check = self.words.protocol.checks.get(meaning)
            if len(same) > 1 and not (check and check.is_measure):
                self._keep_surest(meaning, same)
            elif len(same) > MAX_READINGS:
                raise SheetError(
                    "sheet.columns",
                    f"{len(same)} columns hold readings of {meaning}",
                    got=", ".join(g.header for g in same),
                    legal=f"up to {MAX_READINGS} readings",
                )
        suggested = 0
        unknown = [g for g in guesses if not g.meanings and g.why == "none"]
        for guess in unknown[:_SUGGEST_FOR]:
            suggested += 1
            self._report(guess)
        if len(unknown) > suggested:
            rest = len(unknown) - suggested
            self.unmatched.append(f"{rest} more columns have no known title and are not used.")

    def _keep_surest(self, meaning: str, same: list[_Guess]) -> None:
        ranked = sorted(same, key=lambda g: g.meanings[0].rank)
        best, *others = ranked
        for other in others:
            if other.meanings[0].rank == best.meanings[0].rank:
                raise self._twice(meaning, best, other)
            self.notices.append(
                f"{_place(other.column, other.header)} is not used: {meaning} is read from "
                f"{_place(best.column, best.header)}."
            )
            other.meanings, other.unit, other.why = [], "", "less sure"

    def _twice(self, meaning: str, one: _Guess, other: _Guess) -> SheetError:
        return SheetError(
            "sheet.columns",
            f"two columns mean {meaning}",
            got=f"{_place(one.column, one.header)} and {_place(other.column, other.header)}",
            legal="one column for each meaning; only a measured check may have several readings",
            example=f'--map "{other.header}=ignore"',
        )

    def _report(self, guess: _Guess) -> None:
        place = _place(guess.column, guess.header)
        if not guess.header.strip():
            self.unmatched.append(f"{place} has no title and is not used.")
            return
        near_titles = self.words.suggestions(guess.header)
        hint = ""
        if near_titles:
            meaning = self.words.find(near_titles[0])[0][0].name
            hint = f" Did you mean {_either(near_titles)}? Then {_say(guess.header, meaning)}."
        self.unmatched.append(f"{place} is not used: its title is not known.{hint}")

    def _report_given(self) -> None:
        for key in self.given:
            if key not in self.used:
                self.notices.append(f"No column has the title {key!r} for which a meaning is set.")


def _say(header: str, meaning: str) -> str:
    return f'say --map "{header.strip()}={meaning}"'


def _either(titles: Sequence[str]) -> str:
    quoted = [repr(title) for title in titles]
    return " or ".join([", ".join(quoted[:-1]), quoted[-1]] if len(quoted) > 1 else quoted)


def _place(column: int, header: str) -> str:
    return f"Column {column_letter(column)}" + (f" ({header.strip()})" if header.strip() else "")


def require_essentials(
    matching: Matching, *, has_day: bool, where: str, headers: Iterable[str]
) -> None:
    """Refuse a sheet from which nothing could be stored.

    Raises
    ------
    SheetError
        `sheet.columns`, naming the titles that were found.
    """
    found = ", ".join(h.strip() for h in headers if h.strip())
    if not any(matching.of(name) for name in IDENTITY):
        raise SheetError(
            "sheet.columns",
            "no column says which ram it is",
            got=found,
            legal="a column tag, eid or name",
            example="tag, date, scrotal circumference (cm)",
            where=where,
        )
    if not has_day and not matching.of("examined_on"):
        raise SheetError(
            "sheet.columns",
            "no column says on which day they were examined",
            got=found,
            legal="a column 'examined on', or one day stated for the whole sheet",
            example="--examined-on 2026-10-04",
            where=where,
        )

"""The answers of a choice column: which option a written word stands for, or a refusal.

A word counts when the protocol names it (id, label or also_called). Beyond that only words that
can mean nothing but "normal" are taken; an empty cell is never normal.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from stell.core.protocol.ready import ReadyCheck
from stell.core.protocol.schema import Option
from stell.exchange.cells import NOT_EXAMINED, Cell, NotExamined, shown
from stell.exchange.phrases import bag, near
from stell.exchange.refusal import Refused, refused

# Words that mean "nothing wrong found" wherever they stand. Common practice, no source. Neither
# "-", "0", "no", "none" nor a tick is among them: beside a sign they say that it is absent, but
# beside a part of the body they can say that the part is. A protocol may list them for a check.
NORMAL_WORDS = frozenset(
    {
        "ok", "okay", "o k", "normal", "norm", "nad", "n a d", "wnl", "unremarkable", "in order",
        "nothing abnormal detected", "no abnormality detected", "no abnormalities detected",
        "nothing abnormal", "nothing found", "within normal limits", "all ok", "all normal",
        "ohne befund", "o b", "i o", "in ordnung", "ras", "rien a signaler", "sin hallazgos",
    }
)  # fmt: skip
_NOT_EXAMINED = frozenset(
    {
        "not examined", "not checked", "not done", "not looked at", "not assessed", "not scored",
        "n e", "n a", "na", "n d", "not applicable", "nicht untersucht", "non examine",
    }
)  # fmt: skip
_YES = frozenset({"y", "yes", "ja", "j", "oui", "si", "true"})
_NO = "n"
# Short forms of the yard, spelled out only to find what may be meant: none is an answer by itself.
_SHORT_FORMS = {
    "nwb": "not weight bearing",
    "wb": "weight bearing",
    "enl": "enlarged",
    "epid": "epididymis",
    "sl": "slightly",
    "sev": "severely",
}
# Words that many checks know, and signs: they tell nothing of the column they belong in.
_EVERYWHERE = frozenset({"yes", "y", "no", "n", "none", "nil", "x"})
_FEW = 4  # checks that share a word; more than that, and the word tells nothing
_CANDIDATES = 3
_SIDES = frozenset({"left", "right"})
_LONGEST_SLIP = 40  # a longer text is a remark, not a slip of the pen; comparing takes time
_LISTED = re.compile(r"[;|\n]")
# A plus behind a word is a sign, not a list: it parts only what stands on both of its sides.
_PARTS = re.compile(r"[;,|\n]|(?<=\S)\s*[+/&]\s*(?=\S)|\band\b")
_SIDE_WORDS = {
    "left": {"left", "l", "lt", "lhs", "links", "gauche", "izquierdo", "izq"},
    "right": {"right", "r", "rt", "rhs", "rechts", "droit", "derecho", "dcho"},
}
_BOTH_WORDS = {"both", "bilateral", "bilaterally", "beide", "beidseits", "ambos"}
_MARKS = re.compile(r"[_.,;:()\[\]'\"’/]+")
_HYPHEN = re.compile(r"(?<=\w)-(?=\w)")


def answer_key(text: str) -> str:
    """Return an answer in one form: lower case, without accents and marks, but with its signs.

    Examples
    --------
    >>> answer_key("Slightly  over-shot."), answer_key("3+"), answer_key("-")
    ('slightly over shot', '3+', '-')
    """
    split = unicodedata.normalize("NFKD", text.casefold())
    bare = "".join(c for c in split if not unicodedata.combining(c))
    return " ".join(_HYPHEN.sub(" ", _MARKS.sub(" ", bare)).split())


@dataclass(frozen=True, slots=True)
class ChoiceReader:
    """Reads the cells of one choice column.

    Attributes
    ----------
    check : ReadyCheck
    n_is_no : bool
        Whether the column also says yes, so that its ``n`` stands for no.
    elsewhere : callable
        Answer key to the titles of all checks that know it as an answer.
    named : mapping of str to tuple of str
        Answer key to the options it can mean, surest first. Made from `check`.
    """

    check: ReadyCheck
    n_is_no: bool = False
    elsewhere: Callable[[str], Sequence[str]] = lambda _: ()
    named: Mapping[str, tuple[str, ...]] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "named", options_by_key(self.check))

    def __call__(self, cell: Cell) -> str | tuple[str, ...] | NotExamined | None:
        """Return the answer in a cell, or None when it is empty."""
        text = shown(cell)
        if not text:
            return None
        whole = self.one(text)
        if isinstance(whole, NotExamined):
            return whole
        ids = (whole,) if whole is not None else self._in_parts(text)
        return ids if self.check.spec.several else ids[0]

    def one(self, text: str) -> str | NotExamined | None:
        """Return the option that a whole text stands for, or None when it stands for none.

        Raises
        ------
        Refused
            When it stands for several.
        """
        key = answer_key(text)
        if key == _NO and self.n_is_no:
            key = "no"
        options = self.named.get(key, ())
        if len(options) > 1:
            labels = " or ".join(repr(self.check.rules[o].label) for o in options)
            raise refused(
                f"this can mean {labels}",
                text,
                self._legal(text),
                self.check.rules[options[0]].label,
            )
        if options:
            return options[0]
        if key in NORMAL_WORDS:
            return self.check.normal
        return NOT_EXAMINED if key in _NOT_EXAMINED else None

    def _in_parts(self, text: str) -> tuple[str, ...]:
        ids = self._each(_LISTED.split(text)) or self._each(_PARTS.split(text))
        if not ids:
            unknown = [p.strip() for p in _PARTS.split(text) if p.strip()]
            unknown = [p for p in unknown if not isinstance(self.one(p), str)]
            raise self.unknown(text, unknown[0] if unknown else text)
        if len(ids) > 1 and not self.check.spec.several:
            raise refused(
                f"{self.check.title} takes one answer",
                text,
                self._legal(text),
                self.check.rules[ids[0]].label,
            )
        if len(ids) > 1 and self.check.normal in ids:
            raise refused(
                "normal and something else cannot both be",
                text,
                self._legal(text),
                self.check.rules[next(i for i in ids if i != self.check.normal)].label,
            )
        return ids

    def _each(self, parts: list[str]) -> tuple[str, ...]:
        """Return what the parts stand for, or nothing when one of them stands for nothing."""
        found = [self.one(part) for part in parts if part.strip()]
        ids = tuple(dict.fromkeys(a for a in found if isinstance(a, str)))
        return ids if all(isinstance(a, str) for a in found) else ()

    def unknown(self, text: str, part: str) -> Refused:
        """Return the refusal of a text that is no answer to this check."""
        others = [t for t in self._elsewhere(part) if t != self.check.title]
        hint = f"; it is one to: {', '.join(others)}" if 0 < len(others) <= _FEW else ""
        return refused(
            (f"{part!r}" if part != text else "this")
            + f" is not an answer to '{self.check.title}'{hint}",
            text,
            f"{self._legal(part)}; other words belong in a column 'remark:{self.check.id}'",
            self._example(part, others if hint else []),
        )

    def _elsewhere(self, text: str) -> Sequence[str]:
        """Return the checks to which a text is an answer; none for a sign or a word of all days."""
        return self.elsewhere(answer_key(text)) if self._tells(text) else ()

    @staticmethod
    def _tells(text: str) -> bool:
        key = answer_key(text)
        return any(c.isalpha() for c in key) and key not in _EVERYWHERE

    def _example(self, text: str, others: Sequence[str]) -> str:
        """Return what may be meant, up to three: never normal, so that nobody is led to it."""
        nearest = self._nearest(text)
        if nearest:
            return ", or ".join(self.check.rules[o].label for o in nearest[:_CANDIDATES])
        if not self._tells(text):
            return "what was found; or an empty cell, if he was not examined there"
        column = others[0] if others else f"remark:{self.check.id}"
        return f"a column '{column}' with {text!r}"

    @property
    def abnormal(self) -> str:
        """The label of the first answer that is not normal."""
        return next(r.label for o, r in self.check.rules.items() if o != self.check.normal)

    def _shared(self, text: str) -> dict[str, int]:
        """Return how many of a text's words each finding has, those with most first.

        Normal is none of them, sides do not count, and a long text is a remark: it shares nothing.
        """
        if len(text) > _LONGEST_SLIP:
            return {}
        words = bag(_spelled(text)) - _SIDES
        findings = [o for o in self.check.spec.option if o.id != self.check.normal]
        shared = {o.id: len(words & _words_of(o)) for o in findings}
        return {o: shared[o] for o in sorted(shared, key=lambda o: -shared[o]) if shared[o]}

    def _like(self, text: str) -> list[str]:
        """Return the options whose words look like a text, best first."""
        if len(text) > _LONGEST_SLIP:
            return []
        keys = near(_spelled(text), self.named, cutoff=0.75)
        options = [option for key in keys for option in self.named.get(answer_key(key), ())]
        return list(dict.fromkeys(o for o in options if o != self.check.normal))

    def _nearest(self, text: str) -> list[str]:
        """Return the options that are nearest, all of them where several are as near."""
        shared = self._shared(text)
        most = max(shared.values(), default=0)
        return [o for o, n in shared.items() if n == most] or self._like(text)[:1]

    def _legal(self, text: str) -> str:
        options = dict.fromkeys([*self._shared(text), *self._like(text), *self.check.rules])
        return " | ".join(self.check.rules[o].label for o in options)


def _spelled(text: str) -> str:
    return " ".join(_SHORT_FORMS.get(word, word) for word in answer_key(text).split())


def _words_of(option: Option) -> frozenset[str]:
    """Return the words by which an option is known."""
    return frozenset().union(*map(bag, (option.id, option.label, *option.also_called)))


def options_by_key(check: ReadyCheck) -> dict[str, tuple[str, ...]]:
    """Return which options a word can mean: ids and labels before what they are also called."""
    sure: dict[str, list[str]] = {}
    also: dict[str, list[str]] = {}
    for option in check.spec.option:
        for text in (option.id, option.label):
            sure.setdefault(answer_key(text), []).append(option.id)
        for text in option.also_called:
            also.setdefault(answer_key(text), []).append(option.id)
    named = also | sure
    return {key: tuple(dict.fromkeys(ids)) for key, ids in named.items() if key}


def says_yes(cells: Iterable[Cell]) -> bool:
    """Tell whether a column says yes anywhere, so that its ``n`` stands for no."""
    return any(isinstance(c, bool) or answer_key(shown(c)) in _YES for c in cells)


def uses_n(cells: Iterable[Cell]) -> bool:
    """Tell whether a column says ``n``."""
    return any(isinstance(c, str) and answer_key(c) == _NO for c in cells)


@dataclass(frozen=True, slots=True)
class BothSidesReader:
    """Reads a column that speaks of a check of two sides without naming one.

    ``ok`` counts for every side; anything else must say which side it is: ``left soft``,
    ``soft L; right ok``, ``both soft``.
    """

    sides: Mapping[str, ChoiceReader]

    def __call__(self, cell: Cell) -> dict[str, str | tuple[str, ...]] | NotExamined | None:
        """Return check id to answer, or None when the cell is empty."""
        text = shown(cell)
        if not text:
            return None
        any_side = next(iter(self.sides.values()))
        whole = any_side.one(text)
        if isinstance(whole, NotExamined):
            return NOT_EXAMINED
        if whole == any_side.check.normal:
            return {r.check.id: _as_answer(r, whole) for r in self.sides.values()}
        found: dict[str, str | tuple[str, ...]] = {}
        for part in (p.strip() for p in _PARTS.split(text)):
            if part:
                self._add(part, text, found)
        return found

    def _add(self, part: str, text: str, found: dict[str, str | tuple[str, ...]]) -> None:
        readers, rest = self._side_of(part)
        any_side = next(iter(self.sides.values()))
        if not readers:
            title = any_side.check.spec.title
            raise refused(
                f"this does not say on which side ({', '.join(self.sides)})",
                text,
                f"a column for each side, or the side in the cell; '{title}: ok' counts for all",
                f"{next(iter(self.sides))} {any_side.abnormal}",
            )
        for reader in readers:
            answer = reader.one(rest)
            if not isinstance(answer, str):
                raise reader.unknown(text, rest)
            if reader.check.id in found:
                raise refused("one side is named twice", text, "each side once", "left soft")
            found[reader.check.id] = _as_answer(reader, answer)

    def _side_of(self, part: str) -> tuple[list[ChoiceReader], str]:
        words = answer_key(part).split()
        said = [(at, readers) for at, word in enumerate(words) if (readers := self._named(word))]
        if len(said) != 1:
            return [], part
        at, readers = said[0]
        return readers, " ".join([*words[:at], *words[at + 1 :]])

    def _named(self, word: str) -> list[ChoiceReader]:
        """Return the readers of the sides that a word names."""
        if word in _BOTH_WORDS:
            return list(self.sides.values())
        return [
            reader
            for side, reader in self.sides.items()
            if word == side or word in _SIDE_WORDS.get(side, ())
        ]


def _as_answer(reader: ChoiceReader, option: str) -> str | tuple[str, ...]:
    return (option,) if reader.check.spec.several else option

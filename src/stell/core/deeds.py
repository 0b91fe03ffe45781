"""What was done of what a verdict asks for: a treatment given, a ram put apart, a report made.

A deed never changes a verdict; it takes a thing off the list of what is to be done. Product, dose
and withdrawal are what a person entered: nothing here prescribes or reckons any of them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from stell.core.errors import ValueRefused
from stell.core.records import written_date
from stell.core.verdict import ACTION_KINDS

# Kinds of action that are done with by a deed, and what is then said of him.
DONE_WORDS = {
    "report": "reported",
    "isolate": "put apart",
    "withdraw": "taken out of use",
    "treat": "treated",
    "measure_again": "measured again",
    "restrict": "limits on his use made known",
}
# What a deed only sets up: it goes on for as long as the verdict stands.
HOLDS_ON = ("isolate", "withdraw", "restrict")
# A correction brings other figures, so whether to measure again is asked anew of them.
STAYS_WITH_RECORD = ("measure_again",)
_OTHER_WAYS = {
    "reexamine": (
        "looking at him again is an examination, with findings and a verdict of its own",
        "bring the new examination in",
        "stell import again.csv --flock FLOCK",
    ),
    "complete": (
        "what is missing is a finding, so it goes into the examination itself",
        "put what was found into the record",
        'stell correct RAM --set circumference=36.5 --reason "measured on the way home"',
    ),
}


@dataclass(frozen=True, slots=True)
class Medicine:
    """What was given, in the words of whoever entered it.

    Attributes
    ----------
    product, dose : str
    withdrawal : str
        For example ``28 days for meat, as on the label``.
    withdrawal_until : date or None
        The first day on which he may go for slaughter, as a person worked it out.
    """

    product: str
    dose: str = ""
    withdrawal: str = ""
    withdrawal_until: date | None = None

    @property
    def sentence(self) -> str:
        """Product, dose and withdrawal in one line."""
        parts = [", ".join(part for part in (self.product, self.dose) if part)]
        parts += [f"withdrawal: {self.withdrawal}"] if self.withdrawal else []
        if self.withdrawal_until is not None:
            parts.append(f"not for slaughter before {written_date(self.withdrawal_until)}")
        return "; ".join(parts)


@dataclass(frozen=True, slots=True)
class TakenBack:
    """Why a deed was marked as done by mistake. The deed itself stays on record."""

    reason: str
    by: str
    on: date


@dataclass(frozen=True, slots=True)
class Deed:
    """One thing that a verdict asked for and somebody did.

    Attributes
    ----------
    deed_id, exam_id : str
        UUID text; the examination whose verdict asked for it.
    kind : str
        A key of `DONE_WORDS`.
    rules : tuple of str
        The rules whose action it settles: all of that kind that were asked for then, or one of
        them. Empty where no rule had asked (a vet's own verdict, a reading close to a limit).
    done_on : date
    done_by, entered_by : str
        Who did it, and who put it on record.
    note : str
    medicine : Medicine or None
        Of a treatment only.
    taken_back : TakenBack or None
    """

    deed_id: str
    exam_id: str
    kind: str
    rules: tuple[str, ...]
    done_on: date
    done_by: str
    entered_by: str
    note: str = ""
    medicine: Medicine | None = None
    taken_back: TakenBack | None = None

    @property
    def stands(self) -> bool:
        """Whether nobody has taken it back."""
        return self.taken_back is None

    @property
    def sentence(self) -> str:
        """What was done, when and by whom, in one line without a full stop."""
        text = f"{DONE_WORDS[self.kind]} on {written_date(self.done_on)} by {self.done_by}"
        details = [self.medicine.sentence] if self.medicine else []
        details += [self.note] if self.note else []
        text += f": {'; '.join(details)}" if details else ""
        if self.taken_back is None:
            return text
        back = self.taken_back
        return f"taken back on {written_date(back.on)} by {back.by} ({back.reason}): {text}"


def kind_named(word: str) -> str:
    """Return the kind of action that a word names, by its key or its title.

    Raises
    ------
    ValueRefused
        `value.choice` for a word that is none, and for what no deed settles.

    Examples
    --------
    >>> kind_named("treat"), kind_named("keep apart"), kind_named("measure-again")
    ('treat', 'isolate', 'measure_again')
    """
    folded = "_".join(word.lower().replace("-", " ").replace("_", " ").split())
    by_title = {title.replace(" ", "_"): kind for kind, title in ACTION_KINDS.items()}
    kind = by_title.get(folded, folded)
    if kind in DONE_WORDS:
        return kind
    if kind in _OTHER_WAYS:
        why, legal, example = _OTHER_WAYS[kind]
        raise ValueRefused("value.choice", why, got=word, legal=legal, example=example)
    raise ValueRefused(
        "value.choice",
        "that is nothing a verdict asks for",
        got=word,
        legal=", ".join(f"{k} ({ACTION_KINDS[k]})" for k in DONE_WORDS),
        example="treat",
    )


def not_for_slaughter(deeds: Iterable[Deed], today: date) -> Deed | None:
    """Return the treatment that keeps him longest from slaughter, when that day lies ahead.

    Deeds that were taken back do not count.
    """
    ahead = [
        (until, deed.deed_id, deed)
        for deed in deeds
        if deed.stands
        and deed.medicine is not None
        and (until := deed.medicine.withdrawal_until) is not None
        and until > today
    ]
    return max(ahead)[2] if ahead else None


def slaughter_notice(deed: Deed | None) -> str:
    """Return what has to be known before he is sold for slaughter; empty for no deed."""
    if deed is None or deed.medicine is None or deed.medicine.withdrawal_until is None:
        return ""
    medicine = deed.medicine
    what = ", ".join(part for part in (medicine.product, medicine.withdrawal) if part)
    until = written_date(deed.medicine.withdrawal_until)
    return f"not for slaughter before {until}, as entered by {deed.entered_by} ({what})"

"""What a protocol file may say: the shape that every file is checked against.

The models mirror the TOML one to one. What can only be checked across the whole file (sources
that exist, conditions, bands that leave holes, checks that wait for each other) is in `compiled`.
"""

from __future__ import annotations

from datetime import date
from enum import IntEnum
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, model_validator

Slug = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]{0,59}$")]
Key = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9_.-]{0,79}$")]
Sentence = Annotated[str, Field(min_length=3, max_length=600)]
Title = Annotated[str, Field(min_length=1, max_length=120)]
Brief = Annotated[str, Field(min_length=3, max_length=40)]
LARGEST = 1_000_000_000


def _within_reach(number: int | float) -> int | float:
    """Refuse what is no measure of a ram: without end, not a number, beyond all units."""
    if not -LARGEST <= number <= LARGEST:
        raise ValueError(f"a number from -{LARGEST:,} to {LARGEST:,}")
    return number


Number = Annotated[int | float, AfterValidator(_within_reach)]

Basis = Literal["published", "published-secondary", "common-practice", "memory", "practice"]
EffectKind = Literal["note", "treat", "restrict", "defer", "reject"]
Quantity = Literal[
    "scrotal_circumference",
    "condition_score",
    "live_weight",
    "rectal_temperature",
    "progressive_motility",
    "normal_morphology",
    "white_cells",
]
Flag = Literal["isolate", "notifiable", "zoonosis", "flock_problem", "heritable", "act_today"]


class Severity(IntEnum):
    """Effects from harmless to final; the verdict is the worst of them."""

    note = 1
    treat = 2
    restrict = 3
    defer = 4
    reject = 5


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=False)


class Provenance(_Strict):
    """Where a statement comes from. A missing part is taken from the check it stands in.

    ``published``: read in the cited place. ``published-secondary``: read in a place that reports
    it. ``memory``: recalled from the source, not seen. ``common-practice``: a habit of the trade
    without a source. ``practice``: set by the practice that owns the file.
    """

    source: Key | None = None
    where: str | None = Field(default=None, min_length=1, max_length=200)
    basis: Basis | None = None
    checked_on: date | None = None
    remark: str | None = Field(default=None, max_length=800)


class Source(_Strict):
    """One entry of the bibliography."""

    title: Title
    author: str = ""
    year: int | None = None
    published_in: str = ""
    doi: str = ""
    address: str = ""
    read: Literal["whole", "part", "abstract", "secondary", "not-seen"] = "not-seen"
    remark: str = ""


class Figure(Provenance):
    """One number with its unit and range."""

    value: Number
    unit: str
    low: Number | None = None
    high: Number | None = None


class Effect(_Strict):
    """What a finding does. `days` and `within_days` are days from the examination. [days]

    `until_in_season` makes a deferral last at least until the protocol's season begins.
    """

    kind: EffectKind
    days: int | None = Field(default=None, ge=1, le=730)
    within_days: int | None = Field(default=None, ge=0, le=365)
    restriction: Slug | None = None
    until_in_season: bool = False
    when: dict[str, Any] | None = None

    @model_validator(mode="after")
    def _parts_fit(self) -> Effect:
        if (self.kind == "defer") != (self.days is not None):
            raise ValueError("'days' belongs to defer and to nothing else, and defer needs it")
        if (self.kind == "restrict") != (self.restriction is not None):
            raise ValueError("'restriction' belongs to restrict, and restrict needs it")
        if self.until_in_season and self.kind != "defer":
            raise ValueError("'until_in_season' belongs to defer")
        if self.within_days is not None and self.kind != "treat":
            raise ValueError("'within_days' belongs to treat")
        return self


class Option(Provenance):
    """One answer to a choice check. The normal answer has no effects.

    `brief` is `owner` in a few words, to stand behind a ram's tag in a list.
    """

    id: Slug
    label: Title
    normal: bool = False
    effects: tuple[Effect, ...] = ()
    do: Sentence | None = None
    owner: Sentence | None = None
    brief: Brief | None = None
    flags: tuple[Flag, ...] = ()
    also_called: tuple[str, ...] = ()

    @model_validator(mode="after")
    def _says_what_it_does(self) -> Option:
        if self.normal:
            if self.effects:
                raise ValueError("the normal answer has no effects")
            return self
        if not self.effects:
            raise ValueError("an answer that is not normal needs effects, at least a note")
        if self.do is None or self.owner is None:
            raise ValueError("an answer that is not normal needs 'do' and 'owner'")
        return self


class Band(_Strict):
    """One class of a measured value: from / to, each end either in (ge, le) or out (gt, lt).

    `brief` as for an option.
    """

    classed: Slug
    lt: Number | None = None
    le: Number | None = None
    gt: Number | None = None
    ge: Number | None = None
    effects: tuple[Effect, ...] = ()
    do: Sentence | None = None
    owner: Sentence | None = None
    brief: Brief | None = None
    flags: tuple[Flag, ...] = ()

    @model_validator(mode="after")
    def _ends(self) -> Band:
        if self.lt is not None and self.le is not None:
            raise ValueError("'lt' and 'le' exclude each other")
        if self.gt is not None and self.ge is not None:
            raise ValueError("'gt' and 'ge' exclude each other")
        if all(v is None for v in (self.lt, self.le, self.gt, self.ge)):
            raise ValueError("a band needs an end: lt, le, gt or ge")
        if self.effects and (self.do is None or self.owner is None):
            raise ValueError("a band with effects needs 'do' and 'owner'")
        return self


class Standard(Provenance):
    """Bands of a measured check for the rams that `applies` describes. The first that fits counts.

    `no_standard_between` lists stretches, both ends in, on which the source is silent.
    """

    id: Slug
    title: Title
    applies: dict[str, Any] = Field(default_factory=dict)
    bands: tuple[Band, ...] = Field(min_length=1)
    no_standard_between: tuple[tuple[Number, Number], ...] = ()


class Plausible(_Strict):
    """A guard against typing errors, not a clinical limit. Both ends are allowed."""

    min: Number
    max: Number


class Check(Provenance):
    """One thing to look at, feel or measure."""

    id: Slug
    stop: Slug
    title: Title
    short: Annotated[str, Field(min_length=1, max_length=24)] | None = None
    kind: Literal["choice", "measure"]
    how: Sentence
    caution: Sentence | None = None
    required: bool = True
    required_when: dict[str, Any] | None = None
    asked_when: dict[str, Any] | None = None
    sides: tuple[Slug, ...] = ()
    also_called: tuple[str, ...] = ()
    # choice
    several: bool = False
    option: tuple[Option, ...] = ()
    # measure; `quantity` tells reports, charts and the seasonal correction what is measured,
    # whatever a practice calls the check
    quantity: Quantity | None = None
    unit: str | None = None
    step: Number | None = None
    plausible: Plausible | None = None
    error_same_person: Figure | None = None
    error_other_person: Figure | None = None
    second_reading_near_limit: bool = False
    no_standard: Literal["incomplete", "note"] = "incomplete"
    standard: tuple[Standard, ...] = ()

    @model_validator(mode="after")
    def _kind_fits(self) -> Check:
        if self.kind == "choice":
            _choice_only(self)
        else:
            _measure_only(self)
        return self


def _choice_only(check: Check) -> None:
    if len(check.option) < 2:
        raise ValueError("a choice needs at least two options")
    if sum(o.normal for o in check.option) != 1:
        raise ValueError("a choice needs exactly one normal option")
    if check.unit or check.standard or check.plausible:
        raise ValueError("'unit', 'plausible' and 'standard' belong to kind = \"measure\"")


def _measure_only(check: Check) -> None:
    if check.unit is None or check.plausible is None:
        raise ValueError("a measure needs 'unit' and 'plausible'")
    if check.option or check.several:
        raise ValueError("'option' and 'several' belong to kind = \"choice\"")
    if check.plausible.min >= check.plausible.max:
        raise ValueError("'plausible' has its ends the wrong way round")


class Stop(_Strict):
    """A station of the walk round the ram."""

    id: Slug
    title: Title
    intro: str = ""
    caution: str = ""


class Restriction(_Strict):
    """A limit on use that a finding may set."""

    id: Slug
    title: Title
    owner: Sentence
    clashes_with: tuple[str, ...] = ()


class AgeClass(Provenance):
    """The trade's word for a ram of some age. [calendar months; from is in, until is out]"""

    id: Slug
    title: Title
    from_months: int = Field(ge=0)
    until_months: int | None = None
    also_called: tuple[str, ...] = ()


class SeasonRule(Provenance):
    """When measured sizes may be judged: in or near the season of falling days."""

    in_season: dict[str, Any]


class Timing(_Strict):
    """Figures of the timetable, counted backwards from the start of mating."""

    ideal_examination: Figure
    last_sensible_examination: Figure
    sperm_cycle: Figure
    early_reexamination: Figure
    quarantine: Figure
    settling: Figure
    shearing_lead: Figure
    stress_free: Figure
    condition_lead: Figure


class Protocol(_Strict):
    """A whole protocol file."""

    format: Literal[1]
    id: Slug
    version: Annotated[str, Field(pattern=r"^[0-9A-Za-z][0-9A-Za-z.+-]{0,39}$")]
    title: Title
    summary: Sentence
    copied_from: str = ""
    classes: tuple[Slug, ...] = ()
    sources: dict[Key, Source] = Field(default_factory=dict)
    season: SeasonRule | None = None
    age_class: tuple[AgeClass, ...] = ()
    timing: Timing | None = None
    targets: dict[Slug, Figure] = Field(default_factory=dict)
    restriction: tuple[Restriction, ...] = ()
    stop: tuple[Stop, ...] = Field(min_length=1)
    check: tuple[Check, ...] = Field(min_length=1)

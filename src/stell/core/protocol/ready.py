"""A protocol ready for judging, as values: rules, bands, standards, checks. Made by `compiled`."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date

from stell.core.protocol import schema
from stell.core.protocol.conditions import Node, Test
from stell.core.units import Unit


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a rule comes from, complete. `source` is empty for a habit of the trade."""

    source: str
    where: str
    basis: str
    checked_on: date
    remark: str = ""


@dataclass(frozen=True, slots=True)
class RuleEffect:
    """One effect of a rule. [days] for `days` and `within_days`; `holds` is `when`, made ready."""

    kind: schema.Severity
    days: int
    within_days: int
    restriction: str
    when: Node | None
    holds: Test | None
    until_in_season: bool = False


@dataclass(frozen=True, slots=True)
class Rule:
    """What one answer, or one class of a measured value, means.

    `rule_id` never changes its meaning: ``check.option`` or ``check.standard.class``. `brief` says
    the finding to the owner in a few words; empty where the file gives none.
    """

    rule_id: str
    label: str
    effects: tuple[RuleEffect, ...]
    do: str
    owner: str
    flags: tuple[str, ...]
    origin: Origin | None
    classed: str = ""
    brief: str = ""

    @property
    def worst(self) -> int:
        """The worst effect this rule can have; 0 for none."""
        return max((e.kind for e in self.effects), default=0)


@dataclass(frozen=True, slots=True)
class ReadyBand:
    """A stretch of whole fixed units, both ends in, and the rule that holds on it.

    `from_limit` and `to_limit` are the numbers as written in the file, or None when open.
    """

    low: int
    high: int
    from_limit: int | None
    to_limit: int | None
    rule: Rule


@dataclass(frozen=True, slots=True)
class ReadyStandard:
    """A standard of a measured check: whom it is for, and its bands in rising order."""

    standard_id: str
    title: str
    applies: Node
    holds: Test
    bands: tuple[ReadyBand, ...]
    limits: tuple[int, ...]
    origin: Origin

    def band_of(self, value: int) -> ReadyBand | None:
        """Return the band a value [fixed units] lies in, or None where the source is silent."""
        for band in self.bands:
            if band.low <= value <= band.high:
                return band
        return None


@dataclass(frozen=True, slots=True)
class ReadyCheck:
    """A check of one side (or of the ram), ready for judging.

    `wanted` joins `asked_when` and `required_when`: whether a check that is required only sometimes
    is required now. `nothing_found` is the normal answer in the shape in which it is observed.
    """

    id: str
    base: str
    side: str
    title: str
    short: str
    spec: schema.Check
    unit: Unit | None
    asked_when: Node | None
    required: bool
    required_when: Node | None
    wanted: Test | None
    rules: Mapping[str, Rule]
    normal: str
    nothing_found: str | tuple[str, ...]
    standards: tuple[ReadyStandard, ...]
    plausible: tuple[int, int]
    error_by_readings: tuple[int, ...]
    error_other_by_readings: tuple[int, ...]

    @property
    def is_measure(self) -> bool:
        """Whether a number is taken."""
        return self.unit is not None


@dataclass(frozen=True, slots=True)
class ReadyProtocol:
    """A whole protocol, ready for judging. Made by `compile_protocol`."""

    spec: schema.Protocol
    digest: str
    sources: Mapping[str, schema.Source]
    checks: Mapping[str, ReadyCheck]
    in_season: Node | None
    season_holds: Test | None
    always_required: frozenset[str]
    sometimes_required: tuple[ReadyCheck, ...]
    restrictions: Mapping[str, schema.Restriction]
    age_classes: Mapping[str, schema.AgeClass]
    order: Mapping[str, int]
    origins: Mapping[str, Origin] = field(default_factory=dict)
    text: str = field(default="", repr=False)  # the file as written; `digest` is its SHA-256

    @property
    def id(self) -> str:
        """Slug of the protocol."""
        return self.spec.id

    @property
    def version(self) -> str:
        """Version as written in the file."""
        return self.spec.version

    @property
    def named(self) -> str:
        """``id version``, as a report names it."""
        return f"{self.spec.id} {self.spec.version}"

    def measuring(self, quantity: str) -> ReadyCheck | None:
        """Return the check that measures a quantity of `schema.Quantity`, or None."""
        return next((c for c in self.checks.values() if c.spec.quantity == quantity), None)

    def rules(self) -> Iterable[tuple[ReadyCheck, Rule]]:
        """Yield every rule with the check it belongs to, in walk order."""
        for check in self.checks.values():
            for rule in check.rules.values():
                yield check, rule
            for standard in check.standards:
                for band in standard.bands:
                    yield check, band.rule

"""What services hand out: stored things as plain frozen values; no database row."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime

from stell.core.records import Examination, Ram, Season
from stell.core.verdict import Outcome

# Called with (done, total) while something long runs. `total` is 0 while it is not known.
Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class FlockRecord:
    """A flock on the books.

    Attributes
    ----------
    id : str
        UUID text.
    slug : str
        Short name for commands and addresses, for example ``hill-end``.
    name, owner : str
        As people say them.
    latitude_deg : float
        North positive. [degrees]
    ram_type : str
        What his rams are when nothing else is said: one of `RAM_TYPES`, or empty.
    mating_starts : tuple of date
        Every mating start on record, oldest first.
    rams : int
        Rams that have not left the flock. [rams]
    """

    id: str
    slug: str
    name: str
    owner: str
    latitude_deg: float
    ram_type: str = ""
    mating_starts: tuple[date, ...] = ()
    rams: int = 0


@dataclass(frozen=True, slots=True)
class RamRecord:
    """A stored ram, as he is known today."""

    ram: Ram
    flock_id: str
    flock_slug: str
    flock_name: str
    left_on: date | None = None
    left_why: str = ""
    identifiers: tuple[IdentifierRecord, ...] = ()

    @property
    def id(self) -> str:
        """UUID text."""
        return self.ram.ram_id

    @property
    def label(self) -> str:
        """Tag and name."""
        return self.ram.label

    @property
    def is_active(self) -> bool:
        """Whether he still belongs to the flock."""
        return self.left_on is None


@dataclass(frozen=True, slots=True)
class IdentifierRecord:
    """One mark a ram carries or carried. `scheme` is ``tag``, ``eid`` or ``name``."""

    scheme: str
    value: str
    from_on: date | None = None
    until_on: date | None = None
    source: str = ""


@dataclass(frozen=True, slots=True)
class ExaminationRecord:
    """A stored examination with everything the judge needs, as known on that day.

    Attributes
    ----------
    exam : Examination
        What was found. `exam.replaces` names the record that this one corrects.
    ram : Ram
        The ram as he was known at the examination.
    season : Season
        Mating start and latitude as known at the examination.
    protocol : str
        ``id version`` of the protocol that judged it first.
    replaced_by : str
        The examination that corrects this one, or empty while this one stands.
    correction_reason : str
        Why this record replaces another; empty when it does not.
    recorded_at, received_at : datetime
        Device time and the store's own time, both with a time zone.
    device, import_name : str
        Where it came from; empty when not known.
    """

    exam: Examination
    ram: Ram
    season: Season
    protocol: str
    flock_id: str
    recorded_at: datetime
    received_at: datetime
    replaced_by: str = ""
    correction_reason: str = ""
    device: str = ""
    import_name: str = ""

    @property
    def id(self) -> str:
        """UUID text."""
        return self.exam.exam_id

    @property
    def stands(self) -> bool:
        """Whether no correction has replaced it."""
        return not self.replaced_by


@dataclass(frozen=True, slots=True)
class OverrideRecord:
    """One word of a vet's own verdict. Every one ever given stays; the last one counts."""

    id: str
    exam_id: str
    outcome: Outcome
    reason: str
    by: str
    on: date
    at: datetime


@dataclass(frozen=True, slots=True)
class AuditRecord:
    """Who did what to which record, and when."""

    at: datetime
    by: str
    action: str
    kind: str
    object_id: str
    before: dict[str, object] = field(default_factory=dict)
    after: dict[str, object] = field(default_factory=dict)

"""Protocol versions on record: an id and version never stand for two texts."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

from django.db.models import Count

from stell.core.errors import ProtocolError
from stell.core.protocol.compiled import compile_protocol
from stell.core.protocol.load import load_text, parse
from stell.core.protocol.ready import ReadyProtocol
from stell.core.protocol.schema import Source
from stell.services.comparing import Comparison, RowDifference, compare_on
from stell.store import audit, models
from stell.store.transactions import reading, take_turn, writing

__all__ = [
    "Comparison",
    "ProtocolRecord",
    "RowDifference",
    "all_protocols",
    "compare_on",
    "load_registered",
    "ready_version",
    "register",
    "version_row",
]


@dataclass(frozen=True, slots=True)
class ProtocolRecord:
    """One registered version."""

    id: str
    version: str
    title: str
    sha256: str
    registered_at: datetime
    registered_by: str
    judgements: int = 0  # how many examinations it has judged

    @property
    def named(self) -> str:
        """``id version``."""
        return f"{self.id} {self.version}"


def register(text: str, *, by: str, now: datetime, where: str = "protocol") -> ProtocolRecord:
    """Put a protocol version on record; the same text again changes nothing.

    Raises
    ------
    ProtocolError
        What is wrong with the text; `protocol.version` when that id and version are on record
        with another text.
    """
    protocol = load_text(text, where=where)
    with writing():
        take_turn()
        return _record(version_row(protocol, by=by, now=now))


def version_row(protocol: ReadyProtocol, *, by: str, now: datetime) -> models.ProtocolVersion:
    """Return the row of a protocol, making it when it is new. Call it inside a transaction.

    Raises
    ------
    ProtocolError
        `protocol.version` when that id and version are on record with another text.
    """
    stored = models.ProtocolVersion.objects.filter(
        protocol_id=protocol.id, version=protocol.version
    ).first()
    if stored is not None:
        if stored.sha256 != protocol.digest:
            raise _other_text(protocol, stored)
        return stored
    row = models.ProtocolVersion.objects.create(
        protocol_id=protocol.id,
        version=protocol.version,
        title=protocol.spec.title,
        sha256=protocol.digest,
        text=protocol.text,
        sources={key: source.model_dump() for key, source in protocol.sources.items()},
        registered_at=now,
        registered_by=by,
    )
    audit.note(
        "register",
        "protocol",
        row.id,
        by=by,
        at=now,
        after={"protocol": protocol.named, "sha256": protocol.digest},
    )
    return row


def _other_text(protocol: ReadyProtocol, stored: models.ProtocolVersion) -> ProtocolError:
    return ProtocolError(
        "protocol.version",
        f"'{protocol.named}' is on record with other contents, and it has judged by them",
        got=f"SHA-256 {protocol.digest[:12]}…",
        legal=f"the contents on record (SHA-256 {stored.sha256[:12]}…), or a new version",
        example=f'version = "{protocol.version}.1"',
        where="version",
    )


def all_protocols() -> tuple[ProtocolRecord, ...]:
    """Return every registered version, oldest first."""
    with reading():
        counted = models.Judgement.objects.values_list("protocol_version").annotate(n=Count("id"))
        judged = dict(counted.order_by())
        rows = models.ProtocolVersion.objects.defer("text", "sources")
        return tuple(_record(row, judged.get(row.id, 0)) for row in rows)


def load_registered(named: str) -> ReadyProtocol:
    """Return a registered version, compiled from the text on record.

    Parameters
    ----------
    named : str
        ``id version``, or an id alone for the version registered last.

    Raises
    ------
    ProtocolError
        `protocol.unknown`.
    """
    protocol_id, _, version = named.strip().partition(" ")
    with reading():
        rows = models.ProtocolVersion.objects.filter(protocol_id=protocol_id)
        if version.strip():
            rows = rows.filter(version=version.strip())
        row = rows.order_by("-registered_at", "-id").first()
        if row is None:
            known = ", ".join(str(r) for r in models.ProtocolVersion.objects.all())
            raise ProtocolError(
                "protocol.unknown",
                "no protocol of that name and version is on record",
                got=named,
                legal=known or "none is on record yet",
                example='"house 2026.1"',
            )
    return ready_version(row)


_ready: dict[str, ReadyProtocol] = {}


def ready_version(row: models.ProtocolVersion) -> ReadyProtocol:
    """Return a registered version ready for judging; compiled once in a program's life."""
    if row.sha256 not in _ready:
        sources = {key: Source(**entry) for key, entry in row.sources.items()}
        protocol = compile_protocol(parse(row.text), digest=row.sha256, shared=sources)
        _ready[row.sha256] = replace(protocol, text=row.text)
    return _ready[row.sha256]


def _record(row: models.ProtocolVersion, judgements: int = 0) -> ProtocolRecord:
    return ProtocolRecord(
        id=row.protocol_id,
        version=row.version,
        title=row.title,
        sha256=row.sha256,
        registered_at=row.registered_at,
        registered_by=row.registered_by,
        judgements=judgements,
    )

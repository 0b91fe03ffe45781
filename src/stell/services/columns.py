"""What a person said the columns of a sheet mean is remembered for the next sheet like it."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from stell.core.intake import INTAKE_FIELDS, ColumnMatch, ReadingRules, SheetReading
from stell.core.protocol.ready import ReadyProtocol
from stell.store import audit, models
from stell.store.transactions import reading as reading_store


def fingerprint(headers: Iterable[str]) -> str:
    """Return what tells sheets with other headers apart; blanks and case do not count."""
    folded = [" ".join(h.split()).casefold() for h in headers]
    return hashlib.sha256(json.dumps(folded).encode()).hexdigest()


def read_as_before(path: Path, protocol: ReadyProtocol, rules: ReadingRules) -> SheetReading:
    """Read a sheet; where a person has matched such columns before, match them so again.

    What `rules.given` says now counts before what is remembered. A remembered meaning that this
    protocol does not know is left out.
    """
    from stell.exchange.reading import read_sheet

    first = read_sheet(path, protocol, rules)
    known = {c.header: c.meaning for c in first.columns}
    remembered = {
        header: meaning
        for header, meaning in _remembered(first.columns).items()
        if header not in rules.given and header in known and known[header] != meaning
        if _is_known(meaning, protocol)
    }
    if not remembered:
        return first
    again = read_sheet(path, protocol, replace(rules, given={**remembered, **rules.given}))
    told = ", ".join(f"'{h}' as {m or 'not used'}" for h, m in remembered.items())
    return replace(again, notices=(*again.notices, f"columns read as last time: {told}"))


def _is_known(meaning: str, protocol: ReadyProtocol) -> bool:
    kind, _, what = meaning.rpartition(":")
    if kind == "stop":
        return any(stop.id == what for stop in protocol.spec.stop)
    return not meaning or (not kind and what in INTAKE_FIELDS) or what in protocol.checks


def _remembered(columns: Iterable[ColumnMatch]) -> dict[str, str]:
    with reading_store():
        row = models.ColumnMapping.objects.filter(
            fingerprint=fingerprint(c.header for c in columns)
        ).first()
    return dict(row.columns) if row else {}


def remember(
    columns: Iterable[ColumnMatch], given: Mapping[str, str], *, by: str, now: datetime
) -> None:
    """Remember what a person said these columns mean. Call it inside a transaction."""
    if not given:
        return
    headers = [c.header for c in columns]
    said = {h: m for h, m in given.items() if h in headers}
    mark = fingerprint(headers)
    row = models.ColumnMapping.objects.filter(fingerprint=mark).first()
    before = dict(row.columns) if row else {}
    after = {**before, **said}
    if after == before:
        return
    models.ColumnMapping.objects.update_or_create(
        fingerprint=mark, defaults={"columns": after, "saved_at": now, "saved_by": by}
    )
    audit.note("match", "columns", mark, by=by, at=now, before=before, after=after)

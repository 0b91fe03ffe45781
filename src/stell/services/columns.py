"""What a person said the columns of a sheet mean is remembered for the next sheet like it."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from stell.core.intake import ColumnMatch, ReadingRules, SheetReading
from stell.core.protocol.ready import ReadyProtocol
from stell.exchange.columns import Vocabulary
from stell.exchange.reading import read_table_rows
from stell.exchange.sheets import read_table
from stell.services.records import Progress
from stell.store import audit, models
from stell.store.transactions import reading as reading_store


def fingerprint(headers: Iterable[str]) -> str:
    """Return what tells sheets with other headers apart; blanks and case do not count."""
    folded = [" ".join(h.split()).casefold() for h in headers]
    return hashlib.sha256(json.dumps(folded).encode()).hexdigest()


def read_as_before(
    path: Path, protocol: ReadyProtocol, rules: ReadingRules, progress: Progress | None = None
) -> SheetReading:
    """Read a sheet; where a person has matched such columns before, match them so again.

    What `rules.given` says now counts before what is remembered. A remembered meaning that this
    protocol does not know is left out.
    """
    vocabulary = Vocabulary(protocol)
    table = read_table(path, sheet=rules.sheet, knows=vocabulary.knows)
    remembered = {
        header: meaning
        for header, meaning in _remembered(table.headers).items()
        if header not in rules.given and header in table.headers and vocabulary.accepts(meaning)
    }
    given = replace(rules, given={**remembered, **rules.given})
    reading = read_table_rows(table, protocol, given, progress=progress, vocabulary=vocabulary)
    columns = tuple(
        replace(c, why="saved") if c.header in remembered else c for c in reading.columns
    )
    return replace(reading, columns=columns)


def _remembered(headers: Iterable[str]) -> dict[str, str]:
    with reading_store():
        row = models.ColumnMapping.objects.filter(fingerprint=fingerprint(headers)).first()
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

"""Everything out, at any time: CSV folder, workbook or open JSON."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import islice
from pathlib import Path
from typing import Literal

from stell.core.deeds import Deed
from stell.core.errors import RecordError, ValueRefused
from stell.core.protocol.ready import ReadyProtocol
from stell.exchange import open_json
from stell.exchange.data_package import DescribedTable, describe_json
from stell.exchange.tables_out import Row, write_csv, write_xlsx
from stell.services import lookup
from stell.services.export_tables import ExportTable, Ids, all_tables, examinations
from stell.services.gathering import Examined
from stell.services.protocols import ready_version
from stell.services.records import FlockRecord
from stell.store import copying, mapping, models
from stell.store.transactions import raise_explained, reading

Format = Literal["csv", "xlsx", "json"]
_PACKAGE = "datapackage.json"
_CHUNK = 1000
_NO_TIME = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class ExportSummary:
    """What was written. `rows` counts rows by table name."""

    files: tuple[Path, ...]
    rows: dict[str, int]


def export(
    target: Path,
    *,
    format: Format,  # noqa: A002  (the word people type)
    flock: FlockRecord | str | None = None,
    now: datetime | None = None,
) -> ExportSummary:
    """Write everything on record (or one flock's part) to a folder (csv) or file (xlsx, json).

    Parameters
    ----------
    target : Path
        A file is replaced when all is written. A folder has to be new, empty, or one of an
        earlier export.
    now : datetime, optional
        Stands in the description of the CSV files; without it the time of the last deed.

    Raises
    ------
    RecordError
        `record.not_found` for an unknown flock; `record.refused` for a folder with other things.
    SheetError
        `sheet.too_large` when a table has more rows than a workbook holds.
    StoreError
        `store.full` when there is no room left.
    """
    with reading():
        flock_id = lookup.flock_row(flock).id if flock is not None else None
        try:
            if format == "json":
                return _json(target, flock_id)
            tables = all_tables(flock_id)
            if format == "xlsx":
                return _workbook(target, tables)
            if format == "csv":
                return _folder(target, tables, now or _last_deed())
        except OSError as error:
            raise_explained(error)
    raise ValueRefused(
        "value.choice",
        "there is no such kind of export",
        got=str(format),
        legal="csv, xlsx, json",
        example="csv",
    )


def _last_deed() -> datetime:
    last = models.AuditEntry.objects.order_by("-id").first()
    return last.at if last else _NO_TIME


def _workbook(target: Path, tables: Sequence[ExportTable]) -> ExportSummary:
    target.parent.mkdir(parents=True, exist_ok=True)
    counts = dict.fromkeys((t.name for t in tables), 0)
    write_xlsx(target, {t.name: (t.fields, _counted(t, counts)) for t in tables})
    return ExportSummary((target,), counts)


def _counted(table: ExportTable, counts: dict[str, int]) -> Iterator[Row]:
    for row in table.rows():
        counts[table.name] += 1
        yield row


def _folder(target: Path, tables: Sequence[ExportTable], now: datetime) -> ExportSummary:
    if target.exists() and any(target.iterdir()) and not (target / _PACKAGE).is_file():
        raise RecordError(
            "record.refused",
            "the folder holds other things, and an export would mix with them",
            got=str(target),
            legal="a new or empty folder, or that of an earlier export",
            example=f"{target}/export",
        )
    target.mkdir(parents=True, exist_ok=True)
    files, counts = [], {}
    for table in tables:
        path = target / f"{table.name}.csv"
        counts[table.name] = write_csv(path, table.fields, table.rows())
        files.append(path)
    for version in models.ProtocolVersion.objects.all():
        path = target / f"protocol-{version.protocol_id}-{version.version}.toml"
        _write_text(path, version.text)
        files.append(path)
    described = [
        DescribedTable(
            path=f"{t.name}.csv",
            fields=t.fields,
            title=t.title,
            primary_key=t.primary_key,
            foreign_keys={c: (f"{name}.csv", key) for c, (name, key) in t.foreign_keys.items()},
        )
        for t in tables
    ]
    package = target / _PACKAGE
    _write_text(package, describe_json("stell", "Rams before mating", described, created=now))
    return ExportSummary((*files, package), counts)


def _json(target: Path, flock_id: Ids) -> ExportSummary:
    protocols = {str(v): ready_version(v) for v in models.ProtocolVersion.objects.all()}
    records = list(_open_records(flock_id, protocols))
    query = lookup.ram_rows().order_by("flock__slug", "tag", "id")
    rams = [
        (mapping.ram_of(row), row.flock.name)
        for row in (query.filter(flock_id=flock_id) if flock_id else query)
    ]
    target.parent.mkdir(parents=True, exist_ok=True)
    _write_text(target, open_json.dumps(records, protocols, rams))
    return ExportSummary((target,), {"rams": len(rams), "examinations": len(records)})


def _open_records(
    flock_id: Ids, protocols: dict[str, ReadyProtocol]
) -> Iterator[open_json.OpenRecord]:
    rows = examinations(flock_id).iterator(chunk_size=_CHUNK)
    while chunk := list(islice(rows, _CHUNK)):
        overrides = lookup.overrides_of(row.id for row in chunk)
        deeds = _own_deeds(row.id for row in chunk)
        for row in chunk:
            record = lookup.examination_record(row)
            own = tuple(overrides.get(row.id, ()))
            decision = Examined(record, protocols[record.protocol], own).decision()
            yield open_json.OpenRecord(
                ram=record.ram,
                exam=record.exam,
                flock=row.flock.name,
                protocol=record.protocol,
                verdict=decision.proposed.as_dict(),
                override=decision.override,
                deeds=deeds.get(str(row.id), ()),
            )


def _own_deeds(exam_ids: Iterable[uuid.UUID]) -> dict[str, tuple[Deed, ...]]:
    """Return the deeds put down about examinations themselves: each deed goes out once."""
    found: dict[str, tuple[Deed, ...]] = {}
    rows = models.Deed.objects.filter(examination_id__in=list(exam_ids))
    for row in rows.select_related("taken_back"):
        exam_id = str(row.examination_id)
        found[exam_id] = (*found.get(exam_id, ()), mapping.deed_of(row))
    return found


def _write_text(path: Path, text: str) -> None:
    """Write a file so that it is there as a whole or not at all."""
    part = path.with_name(f"{path.name}.part")
    try:
        part.write_text(text, encoding="utf-8")
        copying.to_disk(part)
        part.replace(path)
    except BaseException:
        part.unlink(missing_ok=True)
        raise

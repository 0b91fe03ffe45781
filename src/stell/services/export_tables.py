"""The tables of an export: which columns, and where their rows come from."""

from __future__ import annotations

import json
import uuid
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import islice
from typing import Any

from django.db.models import F, QuerySet

from stell.core.deeds import DONE_WORDS
from stell.core.intake import IntakeRow
from stell.core.protocol.ready import ReadyProtocol
from stell.exchange.examination_table import fields_for, most_readings, values_of, written_birth
from stell.exchange.tables_out import Row, TableField
from stell.services import lookup
from stell.services.protocols import ready_version
from stell.store import mapping, models

_CHUNK = 1000
Ids = uuid.UUID | None

_ABOUT_THE_RECORD = (
    TableField("ram_id", "id", "UUID of the ram"),
    TableField("mating_began_on", "date", "start of mating as known at the examination"),
    TableField("flock_latitude_deg", "number", "as known at the examination, north positive"),
    TableField("stell_protocol", "id", "id and version that judged it first"),
    TableField("stell_proposal", "text", "outcome that the protocol proposed"),
    TableField("stell_class", "text", "class, where the protocol names classes"),
    TableField("stell_again_on", "date", "day on which the longest deferral ends"),
    TableField("stell_in_time", "yes_no", "whether he could be ready at the start of mating"),
    TableField("replaces_exam", "id", "the record that this one corrects"),
    TableField("correction_why", "text", "why it was corrected"),
    TableField("put_on_record_at", "datetime", "by the store's clock"),
    TableField("put_on_record_by", "text", "who brought it in"),
    TableField("device_clock_at", "datetime", "by the clock of the device"),
    TableField("device_name", "text", "on which it was recorded"),
    TableField("came_from_sheet", "text", "name of the sheet"),
)


@dataclass(frozen=True, slots=True)
class ExportTable:
    """One table: `rows` makes a new iterator each time it is called."""

    name: str
    title: str
    fields: Sequence[TableField]
    rows: Callable[[], Iterable[Row]]
    primary_key: tuple[str, ...] = ()
    foreign_keys: Mapping[str, tuple[str, str]] = field(default_factory=dict)


def all_tables(flock_id: Ids) -> list[ExportTable]:
    """Return every table, or one flock's part of them."""
    tables = [_flocks(flock_id), _seasons(flock_id), _rams(flock_id), _identifiers(flock_id)]
    tables += _examination_tables(flock_id)
    tables += [_judgements(flock_id), _overrides(flock_id), _deeds(flock_id), _protocols()]
    return tables if flock_id else [*tables, _sheets(), _audit()]


def _table(
    name: str,
    title: str,
    fields: Sequence[TableField],
    query: QuerySet[Any],
    *values: str | Callable[[Any], Any],
    key: tuple[str, ...] = (),
    refers: Mapping[str, tuple[str, str]] | None = None,
) -> ExportTable:
    """Return a table whose columns are attributes of a query's rows, or made from a row."""

    def rows() -> Iterator[Row]:
        for row in query.iterator(chunk_size=_CHUNK):
            yield {
                f.name: getattr(row, value) if isinstance(value, str) else value(row)
                for f, value in zip(fields, values, strict=True)
            }

    return ExportTable(name, title, fields, rows, key, refers or {})


def _flocks(flock_id: Ids) -> ExportTable:
    query = models.Flock.objects.all()
    fields = (
        TableField("flock", "id", "short name", {"required": True, "unique": True}),
        TableField("name"),
        TableField("owner"),
        TableField("latitude_deg", "number", "north positive", {"minimum": -90, "maximum": 90}),
        TableField("ram_type", "text", "what his rams are when nothing else is said"),
        TableField("added_at", "datetime"),
    )
    return _table(
        "flocks", "Flocks", fields, query.filter(id=flock_id) if flock_id else query,
        "slug", "name", "owner", "latitude_deg", "ram_type", "created_at",
        key=("flock",),
    )  # fmt: skip


def _seasons(flock_id: Ids) -> ExportTable:
    query = models.MatingSeason.objects.select_related("flock")
    fields = (TableField("flock", "id"), TableField("rams_go_in_on", "date"))
    return _table(
        "mating-starts", "Starts of mating", fields,
        query.filter(flock_id=flock_id) if flock_id else query,
        lambda row: row.flock.slug, "start_on",
        key=("flock", "rams_go_in_on"), refers={"flock": ("flocks", "flock")},
    )  # fmt: skip


def _rams(flock_id: Ids) -> ExportTable:
    query = models.Ram.objects.select_related("flock").order_by("flock__slug", "tag", "id")
    fields = (
        TableField("ram_id", "id", "UUID", {"required": True, "unique": True}),
        TableField("flock", "id"),
        TableField("tag", "id"),
        TableField("eid", "id", "15 digits, ISO 11784"),
        TableField("name"),
        TableField("breed"),
        TableField("ram_type"),
        TableField("born_on", "text", "ISO 8601 day, month or year, or two days parted by a slash"),
        TableField("age_class"),
        TableField("age_class_on", "date", "day on which the age class held"),
        TableField("intended_use"),
        TableField("left_on", "date"),
        TableField("left_why"),
    )
    return _table(
        "rams", "Rams as they are known now", fields,
        query.filter(flock_id=flock_id) if flock_id else query,
        _text("id"), lambda row: row.flock.slug, "tag", "eid", "name", "breed", "ram_type",
        lambda row: written_birth(mapping.born_of(row.born_earliest, row.born_latest)),
        "age_class", "age_class_on", "intended_use", "left_on", "left_why",
        key=("ram_id",), refers={"flock": ("flocks", "flock")},
    )  # fmt: skip


def _identifiers(flock_id: Ids) -> ExportTable:
    query = models.Identifier.objects.order_by("id")
    fields = (
        TableField("ram_id", "id"),
        TableField("scheme", "text", "", {"enum": ["tag", "eid", "name"]}),
        TableField("value", "id"),
        TableField("from_on", "date"),
        TableField("until_on", "date"),
        TableField("source", "text", "the sheet or person it comes from"),
    )
    return _table(
        "marks", "Tags, numbers and names, present and past", fields,
        query.filter(ram__flock_id=flock_id) if flock_id else query,
        _text("ram_id"), "scheme", "value", "from_on", "until_on", "source",
        refers={"ram_id": ("rams", "ram_id")},
    )  # fmt: skip


def _judgements(flock_id: Ids) -> ExportTable:
    query = models.Judgement.objects.select_related("protocol_version").defer(
        "protocol_version__text", "protocol_version__sources"
    )
    query = query.order_by("id")
    fields = (
        TableField("exam_id", "id"),
        TableField("protocol", "id", "id and version"),
        TableField("outcome"),
        TableField("class"),
        TableField("reexamine_on", "date"),
        TableField("ready_in_time", "yes_no"),
        TableField("rules", "text", "JSON: [rule, severity from 1 to 5, days] of what spoke"),
        TableField("missing", "text", "JSON: [check, why] of what was missing"),
        TableField("judged_at", "datetime"),
    )
    return _table(
        "judgements", "What protocol versions said of examinations", fields,
        query.filter(examination__flock_id=flock_id) if flock_id else query,
        _text("examination_id"), lambda row: str(row.protocol_version), "outcome", "classed",
        "reexamine_on", "is_ready_in_time", _json("rules"), _json("missing"), "judged_at",
        key=("exam_id", "protocol"),
    )  # fmt: skip


def _overrides(flock_id: Ids) -> ExportTable:
    query = models.VetOverride.objects.order_by("at", "id")
    fields = (
        TableField("override_id", "id"),
        TableField("exam_id", "id"),
        TableField("outcome"),
        TableField("reason"),
        TableField("by"),
        TableField("on", "date"),
        TableField("at", "datetime"),
    )
    return _table(
        "own-verdicts", "Verdicts of vets in place of proposals; the last one counts", fields,
        query.filter(examination__flock_id=flock_id) if flock_id else query,
        _text("id"), _text("examination_id"), "outcome", "reason", "by", "on", "at",
        key=("override_id",),
    )  # fmt: skip


def _deeds(flock_id: Ids) -> ExportTable:
    query = models.Deed.objects.select_related("taken_back").annotate(
        ram=F("examination__ram_id"), of_flock=F("examination__flock_id")
    )
    fields = (
        TableField("deed_id", "id", "UUID", {"required": True, "unique": True}),
        TableField("exam_id", "id", "the examination whose verdict asked for it"),
        TableField("ram_id", "id"),
        TableField("kind", "text", "", {"enum": list(DONE_WORDS)}),
        TableField("rules", "text", "JSON: the rules whose action it settles"),
        TableField("done_on", "date"),
        TableField("done_by"),
        TableField("note"),
        TableField("product", "text", "of a treatment, as entered"),
        TableField("dose", "text", "as entered"),
        TableField("withdrawal", "text", "as entered"),
        TableField("not_for_slaughter_before", "date", "as entered"),
        TableField("put_on_record_by"),
        TableField("put_on_record_at", "datetime", "by the store's clock"),
        TableField("device_clock_at", "datetime", "by the clock of the device"),
        TableField("device_name"),
        TableField("taken_back_on", "date", "set when it was marked by mistake"),
        TableField("taken_back_by"),
        TableField("taken_back_why"),
    )
    return _table(
        "deeds", "What was done of what verdicts asked for", fields,
        query.filter(of_flock=flock_id) if flock_id else query,
        _text("id"), _text("examination_id"), _text("ram"), "kind", _json("rules"), "done_on",
        "done_by", "note", "product", "dose", "withdrawal", "withdrawal_until", "recorded_by",
        "received_at", "recorded_at", "device", _back("on"), _back("by"), _back("reason"),
        key=("deed_id",), refers={"ram_id": ("rams", "ram_id")},
    )  # fmt: skip


def _back(name: str) -> Callable[[Any], Any]:
    return lambda row: getattr(getattr(row, "taken_back", None), name, None)


def _protocols() -> ExportTable:
    fields = (
        TableField("protocol", "id", "id and version", {"required": True, "unique": True}),
        TableField("title"),
        TableField("sha256", "id", "of the text"),
        TableField("registered_at", "datetime"),
        TableField("registered_by"),
    )
    return _table(
        "protocols", "Protocol versions that have judged", fields,
        models.ProtocolVersion.objects.defer("text", "sources"),
        str, "title", "sha256", "registered_at", "registered_by",
        key=("protocol",),
    )  # fmt: skip


def _sheets() -> ExportTable:
    names = ("stored", "unchanged", "corrected", "refused")
    fields = (
        TableField("sheet", "integer"),
        TableField("name"),
        TableField("sha256", "id", "of the file"),
        *(TableField(name, "integer", "rows") for name in names),
        TableField("imported_at", "datetime"),
        TableField("imported_by"),
    )
    return _table(
        "sheets", "Sheets that were brought in", fields,
        models.SheetImport.objects.defer("columns").order_by("id"),
        "id", "name", "sha256", *names, "imported_at", "imported_by",
        key=("sheet",),
    )  # fmt: skip


def _audit() -> ExportTable:
    fields = (
        TableField("at", "datetime"),
        TableField("by"),
        TableField("action"),
        TableField("kind", "text", "kind of record"),
        TableField("object_id", "id"),
        TableField("before", "text", "JSON of what differs"),
        TableField("after", "text", "JSON of what differs"),
    )
    return _table(
        "audit", "Who did what, and when", fields, models.AuditEntry.objects.order_by("id"),
        "at", "by", "action", "kind", "object_id", _json("before"), _json("after"),
    )  # fmt: skip


def _text(name: str) -> Callable[[Any], str]:
    return lambda row: str(getattr(row, name))


def _json(name: str) -> Callable[[Any], str]:
    return lambda row: json.dumps(getattr(row, name), ensure_ascii=False)


# --- Examinations ----------------------------------------------------------------------------


def examinations(flock_id: Ids) -> QuerySet[Any]:
    """Return the examinations of an export in the order in which they can be brought in again."""
    query = lookup.examination_rows().select_related("ram", "flock")
    query = query.filter(flock_id=flock_id) if flock_id else query
    return query.order_by("examined_on", "ram__tag", "id")


def _examination_tables(flock_id: Ids) -> Iterator[ExportTable]:
    """Yield a table for each protocol version, and one of the records that were replaced.

    What stands and what was replaced are kept apart, so that the first can be brought in again.
    """
    for version in models.ProtocolVersion.objects.all():
        query = examinations(flock_id).filter(protocol_version=version)
        for stands in (True, False):
            part = query.filter(newer_id__isnull=stands)
            if part.exists():
                yield _examinations(version, part, stands=stands)


def _examinations(
    version: models.ProtocolVersion, query: QuerySet[Any], *, stands: bool
) -> ExportTable:
    protocol = ready_version(version)
    # Two walks over the records: the first finds how many columns are needed.
    readings: dict[str, int] = {}
    remarks: set[str] = set()
    for row in query.iterator(chunk_size=_CHUNK):
        exam = mapping.examination_of(row)
        intake = IntakeRow(0, mapping.ram_of(row.ram), exam)
        for check_id, number in most_readings([intake]).items():
            readings[check_id] = max(readings.get(check_id, 1), number)
        remarks |= exam.remarks.keys() & protocol.checks.keys()
    fields = (
        *fields_for(protocol, readings=readings, remarks=sorted(remarks)),
        *_ABOUT_THE_RECORD,
    )
    kind = "examinations" if stands else "replaced-examinations"
    return ExportTable(
        name=f"{kind}-{version.protocol_id}-{version.version}",
        title=f"Examinations by {version.title}" + ("" if stands else " that were corrected"),
        fields=fields,
        rows=lambda: _examination_rows(query, protocol),
        primary_key=("exam_id",),
        foreign_keys={"ram_id": ("rams", "ram_id")},
    )


def _examination_rows(query: QuerySet[Any], protocol: ReadyProtocol) -> Iterator[Row]:
    proposals = query.filter(judgements__protocol_version_id=F("protocol_version_id")).annotate(
        proposal=F("judgements__outcome"),
        proposed_class=F("judgements__classed"),
        again_on=F("judgements__reexamine_on"),
        in_time=F("judgements__is_ready_in_time"),
    )
    rows = proposals.iterator(chunk_size=_CHUNK)
    while chunk := list(islice(rows, _CHUNK)):
        overrides = lookup.overrides_of(row.id for row in chunk)
        for row in chunk:
            own = overrides.get(row.id, [None])[0]
            ram = mapping.ram_then(row, mapping.ram_of(row.ram))
            if ram.ram_type == row.flock.ram_type:  # the flock's, and it says so itself
                ram = replace(ram, ram_type="")
            intake = IntakeRow(
                row=0,
                ram=ram,
                exam=mapping.examination_of(row),
                flock=row.flock.name,
                override=own.outcome if own else None,
                override_reason=own.reason if own else "",
            )
            yield values_of(intake, protocol) | _about_the_record(row)


def _about_the_record(row: Any) -> dict[str, Any]:
    values = (
        str(row.ram_id),
        row.mating_start_on,
        row.latitude_deg,
        row.protocol_named,
        row.proposal,
        row.proposed_class,
        row.again_on,
        row.in_time,
        str(row.replaces_id or ""),
        row.correction_reason,
        row.received_at,
        row.recorded_by,
        row.recorded_at,
        row.device,
        row.import_name or "",
    )
    return {f.name: value for f, value in zip(_ABOUT_THE_RECORD, values, strict=True)}

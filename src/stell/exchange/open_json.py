"""Examinations as one open JSON document, and back: nothing is lost and every number has a unit.

The shape is published as a JSON Schema (draft 2020-12) in ``schema/ram-examination.schema.json``
and explained in ``docs/open-json.md``. Readers are asked to ignore keys they do not know; this one
does.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from importlib import resources
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from stell.core.deeds import Deed, Medicine, TakenBack
from stell.core.errors import RecordError, SheetError
from stell.core.protocol.ready import ReadyProtocol
from stell.core.records import Born, Examination, Observed, Ram
from stell.core.units import UNITS
from stell.core.verdict import Outcome, Override

FORMAT = "ram-examination"
VERSION = 1
SCHEMA_ID = "urn:stell:ram-examination:1"
_UNKNOWN_UNIT = "fixed_units"
_UNIT_ENDINGS = tuple(sorted({u.fixed for u in UNITS.values()} | {_UNKNOWN_UNIT}, key=len))

Id = Annotated[str, Field(min_length=1, max_length=200)]
Slug = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*$")]
Text = Annotated[str, Field(max_length=20_000)]


class _Open(BaseModel):
    model_config = ConfigDict(extra="ignore", frozen=True)


class OpenBorn(_Open):
    """He was born on one of these days; equal when the day is known."""

    earliest: date
    latest: date

    @model_validator(mode="after")
    def _in_order(self) -> OpenBorn:
        if self.earliest > self.latest:
            raise ValueError("'earliest' lies after 'latest'")
        return self


class OpenRam(_Open):
    """One ram. Empty text: not known."""

    ram_id: Id
    flock: Text = ""
    tag: Text = ""
    name: Text = ""
    eid: Annotated[
        str,
        Field(pattern=r"^([0-9]{15})?$", description="ISO 11784 as 15 digits, country first"),
    ] = ""
    breed: Text = ""
    ram_type: Text = ""
    born: OpenBorn | None = None
    age_class: Annotated[
        Text, Field(description="an age class of the protocol, where the birth is not known")
    ] = ""
    age_class_on: date | None = None
    intended_use: Text = ""


class OpenOverride(_Open):
    """The vet's own verdict in place of the proposal."""

    outcome: Outcome
    reason: Annotated[str, Field(min_length=1)]
    by: Text = ""
    on: date


class OpenTakenBack(_Open):
    """The deed was marked by mistake."""

    reason: Annotated[str, Field(min_length=1)]
    by: Text = ""
    on: date


class OpenMedicine(_Open):
    """What he was given, as somebody entered it; nothing in it is reckoned."""

    product: Annotated[str, Field(min_length=1, max_length=200)]
    dose: Text = ""
    withdrawal: Text = ""
    not_for_slaughter_before: date | None = None


class OpenDeed(_Open):
    """One thing that the verdict asked for and somebody did."""

    deed_id: Id
    kind: Annotated[
        Literal["report", "isolate", "withdraw", "treat", "measure_again", "restrict"],
        Field(description="the kind of action that it settles"),
    ]
    rules: Annotated[list[Text], Field(description="the rules whose action it settles")] = []
    done_on: date
    done_by: Text = ""
    entered_by: Text = ""
    note: Text = ""
    medicine: OpenMedicine | None = None
    taken_back: OpenTakenBack | None = None


class OpenExamination(_Open):
    """One examination. A check that is in neither `found` nor `measured` was not examined."""

    exam_id: Id
    ram_id: Id
    examined_on: date
    examiner: Text = ""
    protocol: Annotated[Text, Field(description="id and version of the protocol it was made by")]
    found: Annotated[
        dict[Slug, Slug | list[Slug]],
        Field(description="check id to the id of the answer, or of several answers"),
    ] = {}
    measured: Annotated[
        dict[Slug, Annotated[list[int], Field(min_length=1)]],
        Field(
            description="check id and unit, as in circumference_mm or condition_hundredths, to "
            "readings as whole numbers of that unit"
        ),
    ] = {}
    remarks: dict[Slug, Text] = {}
    note: Text = ""
    circumstances: list[Slug] = []
    replaces: Annotated[Text, Field(description="exam_id that this one corrects")] = ""
    verdict: Annotated[
        dict[str, Any] | None,
        Field(description="the proposal when it was exported; for reading, never read back"),
    ] = None
    override: OpenOverride | None = None
    deeds: Annotated[
        list[OpenDeed], Field(description="what was done of what the verdict asked for")
    ] = []


class OpenDocument(_Open):
    """Rams and their examinations."""

    model_config = ConfigDict(extra="ignore", frozen=True, title="ram-examination")

    format: Literal["ram-examination"]
    format_version: Literal[1]
    rams: list[OpenRam]
    examinations: list[OpenExamination]


@dataclass(frozen=True, slots=True)
class OpenRecord:
    """One examination with its ram, as it goes into the document and comes out of it.

    Attributes
    ----------
    ram : Ram
    exam : Examination
        `ram_id` is the ram's.
    flock : str
    protocol : str
        ``id version`` of the protocol, as `ReadyProtocol.named`.
    verdict : mapping or None
        `Verdict.as_dict()`; goes out only.
    override : Override or None
    deeds : tuple of Deed
        What was done about it, and what of that was taken back.
    """

    ram: Ram
    exam: Examination
    flock: str = ""
    protocol: str = ""
    verdict: Mapping[str, Any] | None = None
    override: Override | None = None
    deeds: tuple[Deed, ...] = ()


def dump(
    records: Iterable[OpenRecord],
    protocols: Mapping[str, ReadyProtocol],
    rams: Iterable[tuple[Ram, str]] = (),
) -> dict[str, Any]:
    """Return the document as JSON-ready values.

    Parameters
    ----------
    records : iterable of OpenRecord
    protocols : mapping of ``id version`` to ReadyProtocol
        They tell the units; a reading whose check none of them knows ends in ``_fixed_units``.
    rams : iterable of (ram, flock)
        Further rams, that have no examination.
    """
    listed: dict[str, OpenRam] = {}
    examinations = []
    for record in records:
        listed.setdefault(record.ram.ram_id, _ram_out(record.ram, record.flock))
        examinations.append(_exam_out(record, protocols.get(record.protocol)))
    for ram, flock in rams:
        listed.setdefault(ram.ram_id, _ram_out(ram, flock))
    document = OpenDocument(
        format="ram-examination",
        format_version=1,
        rams=list(listed.values()),
        examinations=examinations,
    )
    return document.model_dump(mode="json")


def dumps(
    records: Iterable[OpenRecord],
    protocols: Mapping[str, ReadyProtocol],
    rams: Iterable[tuple[Ram, str]] = (),
) -> str:
    """Return the document as text, in UTF-8 letters and indented."""
    return json.dumps(dump(records, protocols, rams), ensure_ascii=False, indent=1) + "\n"


def _ram_out(ram: Ram, flock: str) -> OpenRam:
    born = OpenBorn(earliest=ram.born.earliest, latest=ram.born.latest) if ram.born else None
    return OpenRam(
        ram_id=ram.ram_id,
        flock=flock,
        tag=ram.tag,
        name=ram.name,
        eid=ram.eid,
        breed=ram.breed,
        ram_type=ram.ram_type,
        born=born,
        age_class=ram.age_class,
        age_class_on=ram.age_class_on,
        intended_use=ram.intended_use,
    )


def _exam_out(record: OpenRecord, protocol: ReadyProtocol | None) -> OpenExamination:
    exam, override = record.exam, record.override
    found: dict[str, str | list[str]] = {}
    measured: dict[str, list[int]] = {}
    for check_id, observed in exam.observations.items():
        readings = [v for v in observed if isinstance(v, int)]
        if readings:
            check = protocol.checks.get(check_id) if protocol else None
            unit = check.unit.fixed if check and check.unit else _UNKNOWN_UNIT
            measured[f"{check_id}_{unit}"] = readings
        else:
            found[check_id] = observed if isinstance(observed, str) else list(map(str, observed))
    return OpenExamination(
        exam_id=exam.exam_id,
        ram_id=record.ram.ram_id,
        examined_on=exam.examined_on,
        examiner=exam.examiner,
        protocol=record.protocol,
        found=found,
        measured=measured,
        remarks=dict(exam.remarks),
        note=exam.note,
        circumstances=list(exam.circumstances),
        replaces=exam.replaces,
        verdict=dict(record.verdict) if record.verdict is not None else None,
        override=(
            OpenOverride(
                outcome=override.outcome, reason=override.reason, by=override.by, on=override.on
            )
            if override
            else None
        ),
        deeds=[_deed_out(deed) for deed in record.deeds],
    )


def _deed_out(deed: Deed) -> OpenDeed:
    medicine, back = deed.medicine, deed.taken_back
    return OpenDeed(
        deed_id=deed.deed_id,
        kind=deed.kind,  # type: ignore[arg-type]
        rules=list(deed.rules),
        done_on=deed.done_on,
        done_by=deed.done_by,
        entered_by=deed.entered_by,
        note=deed.note,
        medicine=OpenMedicine(
            product=medicine.product,
            dose=medicine.dose,
            withdrawal=medicine.withdrawal,
            not_for_slaughter_before=medicine.withdrawal_until,
        )
        if medicine
        else None,
        taken_back=OpenTakenBack(reason=back.reason, by=back.by, on=back.on) if back else None,
    )


def _deed_in(deed: OpenDeed, exam_id: str) -> Deed:
    given, back = deed.medicine, deed.taken_back
    return Deed(
        deed_id=deed.deed_id,
        exam_id=exam_id,
        kind=deed.kind,
        rules=tuple(deed.rules),
        done_on=deed.done_on,
        done_by=deed.done_by,
        entered_by=deed.entered_by,
        note=deed.note,
        medicine=Medicine(
            given.product, given.dose, given.withdrawal, given.not_for_slaughter_before
        )
        if given
        else None,
        taken_back=TakenBack(back.reason, back.by, back.on) if back else None,
    )


def load(text: str, *, name: str = "document") -> list[OpenRecord]:
    """Return the examinations in a document.

    Raises
    ------
    SheetError
        `sheet.unreadable` when the text is no JSON.
    RecordError
        `record.refused`, with the place as a JSON Pointer (RFC 6901).
    """
    return list(_records(_document(text, name), name))


def load_rams(text: str, *, name: str = "document") -> list[tuple[Ram, str]]:
    """Return every ram in a document with his flock, also those without an examination."""
    return [(_ram_in(ram), ram.flock) for ram in _document(text, name).rams]


def _document(text: str, name: str) -> OpenDocument:
    try:
        return OpenDocument.model_validate_json(text, strict=True)
    except ValidationError as error:
        first = error.errors()[0]
        if first["type"] in ("json_invalid", "string_unicode") and not first["loc"]:
            raise _no_json(first["msg"], name) from None
        raise RecordError(
            "record.refused",
            f"the document does not fit its schema ({error.error_count()} places, this the first)",
            got=repr(first["input"])[:60],
            legal=first["msg"].removeprefix("Value error, "),
            example="see docs/open-json.md",
            where=f"{name}, {_pointer(first['loc'])}",
        ) from None
    except UnicodeEncodeError:
        raise _no_json("it holds half of a letter", name) from None


def _no_json(why: str, name: str) -> SheetError:
    return SheetError(
        "sheet.unreadable",
        f"the document is not JSON: {why}",
        legal=f"a JSON document of format {FORMAT!r}",
        example='{"format": "ram-examination", "format_version": 1, "rams": [], …}',
        where=name,
    )


def _pointer(path: Sequence[str | int]) -> str:
    parts = [str(p).replace("~", "~0").replace("/", "~1") for p in path]
    return "/" + "/".join(parts)


def _records(document: OpenDocument, name: str) -> Iterable[OpenRecord]:
    rams = {ram.ram_id: ram for ram in document.rams}
    for index, exam in enumerate(document.examinations):
        ram = rams.get(exam.ram_id)
        if ram is None:
            raise RecordError(
                "record.refused",
                "the examination is of a ram that is not in the document",
                got=exam.ram_id,
                legal="the ram_id of one of the document's rams",
                where=f"{name}, /examinations/{index}/ram_id",
            )
        yield _record_in(exam, ram, f"{name}, /examinations/{index}")


def _record_in(exam: OpenExamination, ram: OpenRam, where: str) -> OpenRecord:
    observed: dict[str, Observed] = {
        check_id: answer if isinstance(answer, str) else tuple(answer)
        for check_id, answer in exam.found.items()
    }
    for key, readings in exam.measured.items():
        observed[_without_unit(key, where)] = tuple(readings)
    override = exam.override
    return OpenRecord(
        ram=_ram_in(ram),
        exam=Examination(
            exam_id=exam.exam_id,
            ram_id=exam.ram_id,
            examined_on=exam.examined_on,
            observations=observed,
            examiner=exam.examiner,
            note=exam.note,
            remarks=exam.remarks,
            circumstances=tuple(exam.circumstances),
            replaces=exam.replaces,
        ),
        flock=ram.flock,
        protocol=exam.protocol,
        override=(
            Override(override.outcome, override.reason, override.by, override.on)
            if override
            else None
        ),
        deeds=tuple(_deed_in(deed, exam.exam_id) for deed in exam.deeds),
    )


def _without_unit(key: str, where: str) -> str:
    for unit in reversed(_UNIT_ENDINGS):
        if key.endswith(f"_{unit}"):
            return key[: -len(unit) - 1]
    raise RecordError(
        "record.refused",
        "a measured value does not name its unit",
        got=key,
        legal="a check id and one of: " + ", ".join(_UNIT_ENDINGS),
        example="circumference_mm",
        where=f"{where}/measured",
    )


def _ram_in(ram: OpenRam) -> Ram:
    return Ram(
        ram_id=ram.ram_id,
        tag=ram.tag,
        name=ram.name,
        eid=ram.eid,
        breed=ram.breed,
        ram_type=ram.ram_type,
        born=Born(ram.born.earliest, ram.born.latest) if ram.born else None,
        age_class=ram.age_class,
        age_class_on=ram.age_class_on,
        intended_use=ram.intended_use,
    )


def schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of the document, made from the models above."""
    made = _closed(OpenDocument.model_json_schema())
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": SCHEMA_ID,
        **made,
    }


def _closed(node: Any) -> Any:
    """Return a schema in which a table with a pattern for its keys has no other keys."""
    if isinstance(node, list):
        return [_closed(part) for part in node]
    if not isinstance(node, dict):
        return node
    closed = {key: _closed(value) for key, value in node.items()}
    return closed | {"additionalProperties": False} if "patternProperties" in closed else closed


@lru_cache(maxsize=1)
def shipped_schema() -> dict[str, Any]:
    """Return the published schema file."""
    file = resources.files("stell.exchange") / "schema" / "ram-examination.schema.json"
    found: dict[str, Any] = json.loads(file.read_text("utf-8"))
    return found

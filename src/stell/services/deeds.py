"""Put on record that something a verdict asks for was done, and take that back when it was not."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import Q

from stell.core.deeds import DONE_WORDS, Deed, Medicine, kind_named
from stell.core.errors import RecordError, ValueRefused
from stell.core.standing import settles, standing_actions
from stell.core.verdict import ACTION_KINDS, Action
from stell.services import lookup
from stell.services.correcting import refuse_replaced, require
from stell.services.gathering import Examined
from stell.services.mating import season_of_day
from stell.services.protocols import ready_version
from stell.services.rams import HistoryEntry
from stell.store import audit, identity, mapping, models
from stell.store.transactions import take_turn, writing

# No clock on earth is further ahead of UTC, so a day within it may have begun where he stands.
_FURTHEST_AHEAD = timedelta(hours=14)


def put_done(
    exam_id: str,
    kind: str,
    *,
    done_on: date,
    by: str,
    now: datetime,
    done_by: str = "",
    rule: str = "",
    note: str = "",
    medicine: Medicine | None = None,
    deed_id: uuid.UUID | None = None,
    recorded_at: datetime | None = None,
    device: str = "",
) -> Deed:
    """Put on record that what an examination's verdict asks for was done. The verdict stays.

    Parameters
    ----------
    exam_id : str
    kind : str
        What was done, as `core.deeds.kind_named` takes it.
    done_by : str
        Who did it, when it was not `by`, who puts it on record.
    rule : str
        The rule whose action it was. Without it: all of that kind that are open; for a treatment
        given once more, all of that kind.
    medicine : Medicine, optional
        What was given, for a treatment, in the words of whoever enters it.
    deed_id : UUID, optional
        Made by the device that recorded it; the same deed may then be handed in twice.
    recorded_at : datetime, optional
        By the clock of the device; without it `now`.

    Raises
    ------
    ValueRefused
        `value.choice` for a kind that is none, a rule that does not ask for it, or what no deed
        settles; `value.date` for a day on which it cannot have been done.
    RecordError
        `record.not_found`; `record.refused` when nothing of that kind is asked for, when it is done
        already, without a name, or for an examination that a correction has replaced.
    """
    kind = kind_named(kind)
    require(by, "what was done", "the name of who puts it on record", '--by "E. Quill"')
    given = _checked(medicine, kind, done_on)
    with writing():
        take_turn()
        known = models.Deed.objects.filter(id=deed_id).first() if deed_id else None
        if known is not None:
            return _handed_in_again(known, exam_id, kind)
        row = lookup.examination_row(exam_id)
        refuse_replaced(row)
        _refuse_day(done_on, row.examined_on, now)
        had = lookup.deeds_found(_of_examination(row)).of(row.id)
        deed = models.Deed(
            id=deed_id or identity.new_id(now),
            examination_id=row.id,
            kind=kind,
            rules=_rules(_asked(row), kind, rule, had),
            done_on=done_on,
            done_by=done_by.strip() or by.strip(),
            note=note.strip(),
            product=given.product,
            dose=given.dose,
            withdrawal=given.withdrawal,
            withdrawal_until=given.withdrawal_until,
            recorded_at=recorded_at or now,
            received_at=now,
            recorded_by=by.strip(),
            device=device,
        )
        put = mapping.deed_of(deed)
        _refuse_twice(put, had)
        deed.save()
        audit.note("done", "deed", deed.id, by=by, at=now, after=_said(put))
        return put


def take_back(deed_id: str, reason: str, *, by: str, now: datetime) -> Deed:
    """Put on record that a deed was marked by mistake; it is asked for again. Both stay.

    Raises
    ------
    RecordError
        `record.not_found`; `record.refused` without a reason or a name, or when it was taken back
        before.
    """
    require(reason, "taking a deed back", "a reason", '--reason "that was another ram"')
    require(by, "taking a deed back", "the name of who does it", '--by "E. Quill"')
    with writing():
        take_turn()
        row = _deed_row(deed_id)
        before = mapping.deed_of(row)
        if before.taken_back is not None:
            raise RecordError(
                "record.refused",
                "that was taken back before",
                got=before.sentence,
                legal="a deed that stands",
                example="stell history RAM",
            )
        back = models.DeedTakenBack(
            id=identity.new_id(now),
            deed=row,
            reason=reason.strip(),
            by=by.strip(),
            on=now.date(),
            recorded_at=now,
            received_at=now,
        )
        back.save()
        after = {"reason": back.reason}
        audit.note("not done", "deed", row.id, by=by, at=now, before=_said(before), after=after)
        return mapping.deed_of(row)


def deed_meant(
    entry: HistoryEntry, kind: str, *, rule: str = "", done_on: date | None = None
) -> Deed:
    """Return the one deed about an examination that fits, of those that stand.

    Raises
    ------
    RecordError
        `record.not_found`, naming those there are; `record.ambiguous`, naming the days.
    """
    kind = kind_named(kind)
    standing = [d for d in entry.deeds if d.stands]
    fitting = [
        deed
        for deed in standing
        if deed.kind == kind
        and (not rule or rule in deed.rules)
        and done_on in (None, deed.done_on)
    ]
    if len(fitting) == 1:
        return fitting[0]
    if not fitting:
        there = "; ".join(d.sentence for d in standing)
        raise RecordError(
            "record.not_found",
            "nothing of that kind is on record as done",
            got=ACTION_KINDS[kind],
            legal=there or "nothing is on record as done about this examination",
            example=f"stell not-done RAM {standing[0].kind}" if standing else "stell history RAM",
        )
    raise RecordError(
        "record.ambiguous",
        f"that was done {len(fitting)} times",
        got=ACTION_KINDS[kind],
        legal="; ".join(f"{d.sentence} (rules: {' '.join(d.rules)})" for d in fitting),
        example=f"--on {fitting[-1].done_on.isoformat()}, or --rule {' '.join(fitting[-1].rules)}",
    )


# --- What may be put on record ---------------------------------------------------------------


def _checked(medicine: Medicine | None, kind: str, done_on: date) -> Medicine:
    """Return what was given without needless blanks; refuse what does not fit together."""
    if medicine is None:
        return Medicine("")
    given = Medicine(
        medicine.product.strip(),
        medicine.dose.strip(),
        medicine.withdrawal.strip(),
        medicine.withdrawal_until,
    )
    if kind != "treat" and given != Medicine(""):
        raise ValueRefused(
            "value.choice",
            "product, dose and withdrawal belong to a treatment",
            got=ACTION_KINDS[kind],
            legal="treat, or another kind without a product",
            example=f"stell done RAM {kind}",
        )
    if not given.product and given != Medicine(""):
        raise ValueRefused(
            "value.choice",
            "a dose or a withdrawal is that of a product",
            got=given.sentence,
            legal="the product as well, as on its label",
            example='--product "as on the label"',
        )
    if given.withdrawal_until is not None and given.withdrawal_until < done_on:
        raise ValueRefused(
            "value.date",
            "a withdrawal cannot end before the treatment was given",
            got=given.withdrawal_until.isoformat(),
            legal=f"{done_on.isoformat()} or later, as the label or the prescription has it",
            example=f"--withdrawal-until {(done_on + timedelta(days=1)).isoformat()}",
        )
    return given


def _refuse_day(done_on: date, examined_on: date, now: datetime) -> None:
    latest = (now + _FURTHEST_AHEAD).date()
    if examined_on <= done_on <= latest:
        return
    early = done_on < examined_on
    raise ValueRefused(
        "value.date",
        "that was before the examination that asks for it" if early else "that day is yet to come",
        got=done_on.isoformat(),
        legal=f"{examined_on.isoformat()} to {now.date().isoformat()}",
        example=f"--on {max(examined_on, now.date()).isoformat()}",
    )


def _of_examination(row: Any) -> Q:
    """Return the condition for deeds that may count for an examination: all of its ram's."""
    return Q(examination__ram_id=row.ram_id)


def _asked(row: Any) -> list[Action]:
    """Return what stands of an examination's verdict: by what was known then, and is known now."""
    record = lookup.examination_record(row)
    protocol = ready_version(models.ProtocolVersion.objects.get(id=row.protocol_version_id))
    overrides = lookup.overrides_of([row.id]).get(row.id, [])
    examined = Examined(record, protocol, tuple(overrides))
    starts = models.MatingSeason.objects.filter(flock_id=row.ram.flock_id)
    days = season_of_day(row.examined_on, [s.start_on for s in starts])
    decisions = (examined.decision(), examined.decision(days.mating_start_on))
    return [action for decision in decisions for action in standing_actions(decision)]


def _rules(asked: Sequence[Action], kind: str, rule: str, had: Iterable[Deed]) -> list[str]:
    """Return the rules that a deed settles: the one named, else all that are open, else all."""
    of_kind = [a for a in asked if a.kind == kind]
    if not of_kind:
        raise _not_asked(asked, kind)
    if rule:
        known = list(dict.fromkeys(r for a in of_kind for r in a.rules))
        if rule not in known:
            raise ValueRefused(
                "value.choice",
                f"that rule does not ask for it ({ACTION_KINDS[kind]})",
                got=rule,
                legal=", ".join(known) or "none: no rule asks for it, so leave --rule out",
                example=f"--rule {known[0]}" if known else f"stell done RAM {kind}",
            )
        return [rule]
    done = tuple(had)
    still_open = [a for a in of_kind if not any(settles(d, a) for d in done)]
    return list(dict.fromkeys(r for a in still_open or of_kind for r in a.rules))


def _not_asked(asked: Iterable[Action], kind: str) -> RecordError:
    kinds = list(dict.fromkeys(a.kind for a in asked if a.kind in DONE_WORDS))
    return RecordError(
        "record.refused",
        "his latest verdict does not ask for that"
        if kinds
        else "his verdict asks for nothing that could be done",
        got=ACTION_KINDS[kind],
        legal=", ".join(f"{k} ({ACTION_KINDS[k]})" for k in kinds) or "nothing",
        example=f"stell done RAM {kinds[0]}" if kinds else "stell history RAM",
    )


def _refuse_twice(put: Deed, had: Iterable[Deed]) -> None:
    """Refuse what is on record as done; a treatment may be given again, on another day or else."""
    same = [d for d in had if d.stands and d.kind == put.kind and {*put.rules} <= {*d.rules}]
    if put.kind == "treat":
        same = [d for d in same if (d.done_on, d.medicine) == (put.done_on, put.medicine)]
    if same:
        raise RecordError(
            "record.refused",
            "that is on record as done",
            got=same[-1].sentence,
            legal="what is not done yet; what was marked by mistake is taken back first",
            example=f'stell not-done RAM {put.kind} --reason "that was another ram"',
        )


def _handed_in_again(known: models.Deed, exam_id: str, kind: str) -> Deed:
    if (str(known.examination_id), known.kind) == (exam_id, kind):
        return mapping.deed_of(known)
    raise RecordError(
        "record.refused",
        "another deed is on record under that id",
        got=str(known.id),
        legal="an id of its own for each deed",
        example=str(identity.new_id(known.received_at)),
    )


def _deed_row(deed_id: str) -> models.Deed:
    by_id = lookup.uuid_or_none(deed_id)
    row = models.Deed.objects.select_related("taken_back").filter(id=by_id).first()
    if by_id is None or row is None:
        raise RecordError(
            "record.not_found",
            "no deed of that id is on record",
            got=deed_id,
            legal="the id of a deed, as `stell history RAM --json` shows it",
            example="0199f3a2-5c00-7000-8000-000000000000",
        )
    return row


def _said(deed: Deed) -> dict[str, Any]:
    """Return a deed for the record of changes, JSON-ready."""
    said: dict[str, Any] = {
        "examination": deed.exam_id,
        "kind": deed.kind,
        "rules": list(deed.rules),
        "done_on": deed.done_on.isoformat(),
        "done_by": deed.done_by,
    }
    if deed.medicine is not None:
        said["medicine"] = deed.medicine.sentence
    return said

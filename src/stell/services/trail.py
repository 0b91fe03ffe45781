"""The audit trail: who did what, and when."""

from __future__ import annotations

from stell.services.records import AuditRecord
from stell.store import models
from stell.store.transactions import reading


def deeds(
    *, kind: str = "", object_id: str = "", limit: int = 200, offset: int = 0
) -> tuple[AuditRecord, ...]:
    """Return what was done, newest first.

    Parameters
    ----------
    kind : str
        Only to records of this kind: ``flock``, ``ram``, ``examination``, ``override``, ``sheet``,
        ``protocol`` or ``columns``.
    object_id : str
        Only to this record.
    """
    rows = models.AuditEntry.objects.order_by("-id")
    if kind:
        rows = rows.filter(kind=kind)
    if object_id:
        rows = rows.filter(object_id=object_id)
    with reading():
        return tuple(
            AuditRecord(r.at, r.by, r.action, r.kind, r.object_id, r.before, r.after)
            for r in rows[offset : offset + limit]
        )

"""Who did what to which record, and when."""

from __future__ import annotations

from django.db import models

from stell.store.models.permanent import Permanent


class AuditEntry(Permanent):
    """One thing done. `before` and `after` hold what differs, as JSON."""

    at = models.DateTimeField()
    by = models.CharField(max_length=200)
    action = models.CharField(max_length=60)
    kind = models.CharField(max_length=60)
    object_id = models.CharField(max_length=64)
    before = models.JSONField()
    after = models.JSONField()

    class Meta:
        verbose_name = "audit entry"
        ordering = ("id",)
        indexes = (models.Index(fields=("kind", "object_id"), name="audit_by_record"),)

    def __str__(self) -> str:
        return f"{self.at.isoformat()} {self.by}: {self.action} {self.kind}"

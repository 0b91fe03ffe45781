"""Protocol versions as they were when they judged, and runs that judge everything again."""

from __future__ import annotations

from django.db import models

from stell.store.models.permanent import Permanent


class ProtocolVersion(Permanent):
    """A protocol's whole text. An id and version never stand for two texts."""

    protocol_id = models.CharField(max_length=60)
    version = models.CharField(max_length=40)
    title = models.CharField(max_length=120)
    sha256 = models.CharField(max_length=64)
    text = models.TextField()
    sources = models.JSONField()  # the bibliography as it was, so that the text can always be read
    registered_at = models.DateTimeField()
    registered_by = models.CharField(max_length=200)

    class Meta:
        verbose_name = "protocol version"
        ordering = ("registered_at", "id")
        constraints = (
            models.UniqueConstraint(fields=("protocol_id", "version"), name="one_text_per_version"),
        )

    def __str__(self) -> str:
        return f"{self.protocol_id} {self.version}"


class RejudgeRun(models.Model):
    """How far judging everything again has come. `cursor` is the last examination done."""

    protocol_version = models.ForeignKey(ProtocolVersion, on_delete=models.PROTECT)
    started_at = models.DateTimeField()
    started_by = models.CharField(max_length=200)
    finished_at = models.DateTimeField(null=True, blank=True)
    cursor = models.UUIDField(null=True, blank=True)
    done = models.PositiveIntegerField(default=0)
    already = models.PositiveIntegerField(default=0)
    total = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ("id",)
        constraints = (
            models.UniqueConstraint(
                fields=("protocol_version",),
                condition=models.Q(finished_at__isnull=True),
                name="one_unfinished_run_per_version",
            ),
        )

    def __str__(self) -> str:
        return f"{self.protocol_version}: {self.done} of {self.total}"

"""Sheets that were brought in, and what their columns were taken to mean."""

from __future__ import annotations

from django.db import models

from stell.store.models.permanent import Permanent


class SheetImport(Permanent):
    """One sheet that was brought in: which bytes, how read, with what result."""

    name = models.CharField(max_length=255)
    sha256 = models.CharField(max_length=64, db_index=True)
    columns = models.JSONField()
    stored = models.PositiveIntegerField()
    unchanged = models.PositiveIntegerField()
    corrected = models.PositiveIntegerField()
    refused = models.PositiveIntegerField()
    imported_at = models.DateTimeField()
    imported_by = models.CharField(max_length=200)

    class Meta:
        verbose_name = "import of a sheet"
        ordering = ("-id",)

    def __str__(self) -> str:
        return self.name


class ColumnMapping(models.Model):
    """What a person said the columns of such a sheet mean; found again by its headers."""

    fingerprint = models.CharField(max_length=64, unique=True)
    columns = models.JSONField()
    saved_at = models.DateTimeField()
    saved_by = models.CharField(max_length=200)

    def __str__(self) -> str:
        return f"{len(self.columns)} columns"

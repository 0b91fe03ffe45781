"""Flocks, and the days on which their rams go in."""

from __future__ import annotations

from django.db import models


class Flock(models.Model):
    """A flock on the books."""

    id = models.UUIDField(primary_key=True, editable=False)
    slug = models.SlugField(max_length=80, unique=True)
    name = models.CharField(max_length=200)
    name_key = models.CharField(max_length=200, unique=True)  # folded, for looking up
    owner = models.CharField(max_length=200, blank=True, default="")
    latitude_deg = models.FloatField()
    ram_type = models.CharField(max_length=20, blank=True, default="")
    created_at = models.DateTimeField()

    class Meta:
        ordering = ("name_key",)

    def __str__(self) -> str:
        return self.name


class MatingSeason(models.Model):
    """A day on which a flock's rams go in."""

    flock = models.ForeignKey(Flock, on_delete=models.PROTECT, related_name="seasons")
    start_on = models.DateField()

    class Meta:
        ordering = ("flock", "start_on")
        constraints = (
            models.UniqueConstraint(fields=("flock", "start_on"), name="one_season_per_day"),
        )

    def __str__(self) -> str:
        return f"{self.flock}, {self.start_on.isoformat()}"

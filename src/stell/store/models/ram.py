"""Rams, and the marks they carry."""

from __future__ import annotations

from django.db import models

from stell.store.models.flock import Flock


class Ram(models.Model):
    """A ram as he is known today. What he was known as at an examination stands there."""

    id = models.UUIDField(primary_key=True, editable=False)
    flock = models.ForeignKey(Flock, on_delete=models.PROTECT, related_name="rams")
    # The marks he carries now; all he ever carried are identifiers.
    tag = models.CharField(max_length=60, blank=True, default="")
    eid = models.CharField(max_length=15, blank=True, default="")
    name = models.CharField(max_length=120, blank=True, default="")
    breed = models.CharField(max_length=80, blank=True, default="")
    ram_type = models.CharField(max_length=20, blank=True, default="")
    born_earliest = models.DateField(null=True, blank=True)
    born_latest = models.DateField(null=True, blank=True)
    age_class = models.CharField(max_length=60, blank=True, default="")
    age_class_on = models.DateField(null=True, blank=True)
    intended_use = models.CharField(max_length=20, blank=True, default="")
    left_on = models.DateField(null=True, blank=True)
    left_why = models.CharField(max_length=300, blank=True, default="")
    created_at = models.DateTimeField()

    class Meta:
        ordering = ("flock", "tag", "id")
        indexes = (models.Index(fields=("flock", "tag"), name="ram_by_flock_and_tag"),)

    def __str__(self) -> str:
        return " ".join(part for part in (self.tag or self.eid, self.name) if part) or str(self.id)


class Identifier(models.Model):
    """One mark of a ram, from a day until a day."""

    TAG, EID, NAME = "tag", "eid", "name"

    ram = models.ForeignKey(Ram, on_delete=models.PROTECT, related_name="identifiers")
    scheme = models.CharField(max_length=10)
    value = models.CharField(max_length=120)
    key = models.CharField(max_length=120)  # without spaces and case, for looking up
    from_on = models.DateField(null=True, blank=True)
    until_on = models.DateField(null=True, blank=True)
    source = models.CharField(max_length=200, blank=True, default="")

    class Meta:
        indexes = (models.Index(fields=("scheme", "key"), name="identifier_by_key"),)

    def __str__(self) -> str:
        return f"{self.scheme} {self.value}"

"""What was done about an examination, and what of that was marked by mistake. Written once."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from stell.store.models.examination import Examination
from stell.store.models.permanent import Permanent


class Deed(Permanent):
    """One thing that a verdict asked for and somebody did.

    `rules` holds the ids of the rules whose action it settles. Product, dose and withdrawal are in
    the words of whoever entered them.
    """

    id = models.UUIDField(primary_key=True, editable=False)
    examination = models.ForeignKey(Examination, on_delete=models.PROTECT, related_name="deeds")
    kind = models.CharField(max_length=20)
    rules = models.JSONField()
    done_on = models.DateField()
    done_by = models.CharField(max_length=200)
    note = models.TextField(blank=True, default="")
    # Of a treatment only.
    product = models.CharField(max_length=200, blank=True, default="")
    dose = models.CharField(max_length=200, blank=True, default="")
    withdrawal = models.CharField(max_length=300, blank=True, default="")
    withdrawal_until = models.DateField(null=True, blank=True)
    # How it came here.
    recorded_at = models.DateTimeField()  # by the clock of the device
    received_at = models.DateTimeField()  # by the clock of the store
    recorded_by = models.CharField(max_length=200)
    device = models.CharField(max_length=120, blank=True, default="")

    class Meta:
        verbose_name = "deed"
        ordering = ("done_on", "recorded_at", "id")
        indexes = (
            models.Index(
                fields=("withdrawal_until",),
                condition=Q(withdrawal_until__isnull=False),
                name="deed_by_withdrawal",
            ),
        )
        constraints = (
            models.CheckConstraint(
                condition=Q(kind="treat")
                | Q(product="", dose="", withdrawal="", withdrawal_until__isnull=True),
                name="only_a_treatment_has_a_product",
            ),
            models.CheckConstraint(
                condition=~Q(product="") | Q(dose="", withdrawal="", withdrawal_until__isnull=True),
                name="a_dose_is_of_a_product",
            ),
            models.CheckConstraint(
                condition=Q(withdrawal_until__isnull=True) | Q(withdrawal_until__gte=F("done_on")),
                name="a_withdrawal_ends_after_it_began",
            ),
        )

    def __str__(self) -> str:
        return f"{self.examination_id}: {self.kind} on {self.done_on.isoformat()}"


class DeedTakenBack(Permanent):
    """Says that a deed was marked by mistake, and why. Both stay."""

    id = models.UUIDField(primary_key=True, editable=False)
    deed = models.OneToOneField(Deed, on_delete=models.PROTECT, related_name="taken_back")
    reason = models.TextField()
    by = models.CharField(max_length=200)
    on = models.DateField()
    recorded_at = models.DateTimeField()
    received_at = models.DateTimeField()

    class Meta:
        verbose_name = "deed taken back"
        constraints = (
            models.CheckConstraint(condition=~Q(reason=""), name="taking_back_has_a_reason"),
        )

    def __str__(self) -> str:
        return f"{self.deed_id}: {self.reason}"

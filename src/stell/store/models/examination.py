"""Examinations, what was judged of them, and the vet's own word. All written once."""

from __future__ import annotations

from django.db import models

from stell.store.models.flock import Flock
from stell.store.models.intake import SheetImport
from stell.store.models.permanent import Permanent
from stell.store.models.protocol import ProtocolVersion, RejudgeRun
from stell.store.models.ram import Ram


class Examination(Permanent):
    """What was found on one ram on one day, and all that was known of him then.

    Everything the judge asks for stands in this row, so that a protocol version gives the same
    verdict at any time, whatever is learned about ram or flock later.
    """

    id = models.UUIDField(primary_key=True, editable=False)
    ram = models.ForeignKey(Ram, on_delete=models.PROTECT, related_name="examinations")
    flock = models.ForeignKey(
        Flock, on_delete=models.PROTECT, related_name="examinations", db_index=False
    )
    examined_on = models.DateField()
    examiner = models.CharField(max_length=200, blank=True, default="")
    observations = models.JSONField()
    remarks = models.JSONField()
    note = models.TextField(blank=True, default="")
    circumstances = models.JSONField()
    # The ram as known on that day.
    breed = models.CharField(max_length=80, blank=True, default="")
    ram_type = models.CharField(max_length=20, blank=True, default="")
    born_earliest = models.DateField(null=True, blank=True)
    born_latest = models.DateField(null=True, blank=True)
    age_class = models.CharField(max_length=60, blank=True, default="")
    age_class_on = models.DateField(null=True, blank=True)
    intended_use = models.CharField(max_length=20, blank=True, default="")
    # The season as known on that day.
    mating_start_on = models.DateField(null=True, blank=True)
    latitude_deg = models.FloatField(null=True, blank=True)
    # How it came here.
    recorded_at = models.DateTimeField()  # by the clock of the device
    received_at = models.DateTimeField()  # by the clock of the store
    recorded_by = models.CharField(max_length=200)
    device = models.CharField(max_length=120, blank=True, default="")
    sheet_import = models.ForeignKey(
        SheetImport,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="examinations",
        db_index=False,
    )
    replaces = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="replaced_by"
    )
    correction_reason = models.TextField(blank=True, default="")
    content_hash = models.CharField(max_length=64)
    protocol_version = models.ForeignKey(
        ProtocolVersion, on_delete=models.PROTECT, related_name="+", db_index=False
    )

    class Meta:
        verbose_name = "examination"
        indexes = (models.Index(fields=("flock", "examined_on"), name="exam_by_flock_and_day"),)
        constraints = (
            models.UniqueConstraint(
                fields=("ram", "examined_on", "content_hash"),
                condition=models.Q(replaces__isnull=True),
                name="same_contents_once",
            ),
            models.CheckConstraint(
                condition=models.Q(replaces__isnull=True) | ~models.Q(correction_reason=""),
                name="a_correction_has_a_reason",
            ),
        )

    def __str__(self) -> str:
        return f"{self.ram_id} on {self.examined_on.isoformat()}"


class Judgement(Permanent):
    """What a protocol version says of an examination, short: the judge gives the sentences again.

    `rules` holds ``[rule id, severity, days]`` for every rule that spoke, worst first; `missing`
    holds ``[check id, why]``.
    """

    examination = models.ForeignKey(
        Examination, on_delete=models.PROTECT, related_name="judgements", db_index=False
    )
    protocol_version = models.ForeignKey(
        ProtocolVersion, on_delete=models.PROTECT, related_name="judgements", db_index=False
    )
    outcome = models.CharField(max_length=16)
    classed = models.CharField(max_length=60, blank=True, default="")
    reexamine_on = models.DateField(null=True, blank=True)
    is_ready_in_time = models.BooleanField(null=True, blank=True)
    rules = models.JSONField()
    missing = models.JSONField()
    judged_at = models.DateTimeField()
    run = models.ForeignKey(
        RejudgeRun,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        db_index=False,
    )

    class Meta:
        verbose_name = "judgement"
        constraints = (
            models.UniqueConstraint(
                fields=("examination", "protocol_version"), name="one_judgement_per_version"
            ),
        )

    def __str__(self) -> str:
        return f"{self.examination_id}: {self.outcome}"


class VetOverride(Permanent):
    """The vet's own verdict beside the proposal. The last one counts; all of them stay."""

    id = models.UUIDField(primary_key=True, editable=False)
    examination = models.ForeignKey(Examination, on_delete=models.PROTECT, related_name="overrides")
    outcome = models.CharField(max_length=16)
    reason = models.TextField()
    by = models.CharField(max_length=200)
    on = models.DateField()
    at = models.DateTimeField()

    class Meta:
        verbose_name = "vet's own verdict"
        ordering = ("at", "id")
        constraints = (
            models.CheckConstraint(condition=~models.Q(reason=""), name="an_override_has_a_reason"),
        )

    def __str__(self) -> str:
        return f"{self.examination_id}: {self.outcome}"

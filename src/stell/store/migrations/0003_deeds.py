"""What was done about an examination: two tables whose rows are written once."""

import django.db.models.deletion
from django.db import migrations, models
from django.db.models import F, Q

from stell.store import guards

TABLES = ("store_deed", "store_deedtakenback")


def put_on(_apps, schema_editor):
    guards.install(schema_editor.connection, TABLES)


class Migration(migrations.Migration):
    dependencies = [("store", "0002_guards")]

    operations = [
        migrations.CreateModel(
            name="Deed",
            fields=[
                ("id", models.UUIDField(editable=False, primary_key=True, serialize=False)),
                ("kind", models.CharField(max_length=20)),
                ("rules", models.JSONField()),
                ("done_on", models.DateField()),
                ("done_by", models.CharField(max_length=200)),
                ("note", models.TextField(blank=True, default="")),
                ("product", models.CharField(blank=True, default="", max_length=200)),
                ("dose", models.CharField(blank=True, default="", max_length=200)),
                ("withdrawal", models.CharField(blank=True, default="", max_length=300)),
                ("withdrawal_until", models.DateField(blank=True, null=True)),
                ("recorded_at", models.DateTimeField()),
                ("received_at", models.DateTimeField()),
                ("recorded_by", models.CharField(max_length=200)),
                ("device", models.CharField(blank=True, default="", max_length=120)),
                (
                    "examination",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="deeds",
                        to="store.examination",
                    ),
                ),
            ],
            options={
                "verbose_name": "deed",
                "ordering": ("done_on", "recorded_at", "id"),
                "indexes": [
                    models.Index(
                        condition=Q(withdrawal_until__isnull=False),
                        fields=["withdrawal_until"],
                        name="deed_by_withdrawal",
                    )
                ],
                "constraints": [
                    models.CheckConstraint(
                        condition=Q(kind="treat")
                        | Q(product="", dose="", withdrawal="", withdrawal_until__isnull=True),
                        name="only_a_treatment_has_a_product",
                    ),
                    models.CheckConstraint(
                        condition=~Q(product="")
                        | Q(dose="", withdrawal="", withdrawal_until__isnull=True),
                        name="a_dose_is_of_a_product",
                    ),
                    models.CheckConstraint(
                        condition=Q(withdrawal_until__isnull=True)
                        | Q(withdrawal_until__gte=F("done_on")),
                        name="a_withdrawal_ends_after_it_began",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="DeedTakenBack",
            fields=[
                ("id", models.UUIDField(editable=False, primary_key=True, serialize=False)),
                ("reason", models.TextField()),
                ("by", models.CharField(max_length=200)),
                ("on", models.DateField()),
                ("recorded_at", models.DateTimeField()),
                ("received_at", models.DateTimeField()),
                (
                    "deed",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="taken_back",
                        to="store.deed",
                    ),
                ),
            ],
            options={
                "verbose_name": "deed taken back",
                "constraints": [
                    models.CheckConstraint(condition=~Q(reason=""), name="taking_back_has_a_reason")
                ],
            },
        ),
        migrations.RunPython(put_on, migrations.RunPython.noop),
    ]

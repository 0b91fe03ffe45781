"""The first tables."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True

    dependencies: list[tuple[str, str]] = []

    operations = [
        migrations.CreateModel(
            name="ColumnMapping",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("fingerprint", models.CharField(max_length=64, unique=True)),
                ("columns", models.JSONField()),
                ("saved_at", models.DateTimeField()),
                ("saved_by", models.CharField(max_length=200)),
            ],
        ),
        migrations.CreateModel(
            name="Flock",
            fields=[
                ("id", models.UUIDField(editable=False, primary_key=True, serialize=False)),
                ("slug", models.SlugField(max_length=80, unique=True)),
                ("name", models.CharField(max_length=200)),
                ("name_key", models.CharField(max_length=200, unique=True)),
                ("owner", models.CharField(blank=True, default="", max_length=200)),
                ("latitude_deg", models.FloatField()),
                ("ram_type", models.CharField(blank=True, default="", max_length=20)),
                ("created_at", models.DateTimeField()),
            ],
            options={
                "ordering": ("name_key",),
            },
        ),
        migrations.CreateModel(
            name="SheetImport",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(max_length=255)),
                ("sha256", models.CharField(db_index=True, max_length=64)),
                ("columns", models.JSONField()),
                ("stored", models.PositiveIntegerField()),
                ("unchanged", models.PositiveIntegerField()),
                ("corrected", models.PositiveIntegerField()),
                ("refused", models.PositiveIntegerField()),
                ("imported_at", models.DateTimeField()),
                ("imported_by", models.CharField(max_length=200)),
            ],
            options={
                "verbose_name": "import of a sheet",
                "ordering": ("-id",),
            },
        ),
        migrations.CreateModel(
            name="AuditEntry",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("at", models.DateTimeField()),
                ("by", models.CharField(max_length=200)),
                ("action", models.CharField(max_length=60)),
                ("kind", models.CharField(max_length=60)),
                ("object_id", models.CharField(max_length=64)),
                ("before", models.JSONField()),
                ("after", models.JSONField()),
            ],
            options={
                "verbose_name": "audit entry",
                "ordering": ("id",),
                "indexes": [models.Index(fields=["kind", "object_id"], name="audit_by_record")],
            },
        ),
        migrations.CreateModel(
            name="ProtocolVersion",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("protocol_id", models.CharField(max_length=60)),
                ("version", models.CharField(max_length=40)),
                ("title", models.CharField(max_length=120)),
                ("sha256", models.CharField(max_length=64)),
                ("text", models.TextField()),
                ("sources", models.JSONField()),
                ("registered_at", models.DateTimeField()),
                ("registered_by", models.CharField(max_length=200)),
            ],
            options={
                "verbose_name": "protocol version",
                "ordering": ("registered_at", "id"),
                "constraints": [
                    models.UniqueConstraint(
                        fields=("protocol_id", "version"), name="one_text_per_version"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Ram",
            fields=[
                ("id", models.UUIDField(editable=False, primary_key=True, serialize=False)),
                ("tag", models.CharField(blank=True, default="", max_length=60)),
                ("eid", models.CharField(blank=True, default="", max_length=15)),
                ("name", models.CharField(blank=True, default="", max_length=120)),
                ("breed", models.CharField(blank=True, default="", max_length=80)),
                ("ram_type", models.CharField(blank=True, default="", max_length=20)),
                ("born_earliest", models.DateField(blank=True, null=True)),
                ("born_latest", models.DateField(blank=True, null=True)),
                ("age_class", models.CharField(blank=True, default="", max_length=60)),
                ("age_class_on", models.DateField(blank=True, null=True)),
                ("intended_use", models.CharField(blank=True, default="", max_length=20)),
                ("left_on", models.DateField(blank=True, null=True)),
                ("left_why", models.CharField(blank=True, default="", max_length=300)),
                ("created_at", models.DateTimeField()),
                (
                    "flock",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="rams",
                        to="store.flock",
                    ),
                ),
            ],
            options={
                "ordering": ("flock", "tag", "id"),
            },
        ),
        migrations.CreateModel(
            name="Identifier",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("scheme", models.CharField(max_length=10)),
                ("value", models.CharField(max_length=120)),
                ("key", models.CharField(max_length=120)),
                ("from_on", models.DateField(blank=True, null=True)),
                ("until_on", models.DateField(blank=True, null=True)),
                ("source", models.CharField(blank=True, default="", max_length=200)),
                (
                    "ram",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="identifiers",
                        to="store.ram",
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Examination",
            fields=[
                ("id", models.UUIDField(editable=False, primary_key=True, serialize=False)),
                ("examined_on", models.DateField()),
                ("examiner", models.CharField(blank=True, default="", max_length=200)),
                ("observations", models.JSONField()),
                ("remarks", models.JSONField()),
                ("note", models.TextField(blank=True, default="")),
                ("circumstances", models.JSONField()),
                ("breed", models.CharField(blank=True, default="", max_length=80)),
                ("ram_type", models.CharField(blank=True, default="", max_length=20)),
                ("born_earliest", models.DateField(blank=True, null=True)),
                ("born_latest", models.DateField(blank=True, null=True)),
                ("age_class", models.CharField(blank=True, default="", max_length=60)),
                ("age_class_on", models.DateField(blank=True, null=True)),
                ("intended_use", models.CharField(blank=True, default="", max_length=20)),
                ("mating_start_on", models.DateField(blank=True, null=True)),
                ("latitude_deg", models.FloatField(blank=True, null=True)),
                ("recorded_at", models.DateTimeField()),
                ("received_at", models.DateTimeField()),
                ("recorded_by", models.CharField(max_length=200)),
                ("device", models.CharField(blank=True, default="", max_length=120)),
                ("correction_reason", models.TextField(blank=True, default="")),
                ("content_hash", models.CharField(max_length=64)),
                (
                    "replaces",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="replaced_by",
                        to="store.examination",
                    ),
                ),
                (
                    "flock",
                    models.ForeignKey(
                        db_index=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="examinations",
                        to="store.flock",
                    ),
                ),
                (
                    "protocol_version",
                    models.ForeignKey(
                        db_index=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="store.protocolversion",
                    ),
                ),
                (
                    "ram",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="examinations",
                        to="store.ram",
                    ),
                ),
                (
                    "sheet_import",
                    models.ForeignKey(
                        blank=True,
                        db_index=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="examinations",
                        to="store.sheetimport",
                    ),
                ),
            ],
            options={
                "verbose_name": "examination",
            },
        ),
        migrations.CreateModel(
            name="RejudgeRun",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("started_at", models.DateTimeField()),
                ("started_by", models.CharField(max_length=200)),
                ("finished_at", models.DateTimeField(blank=True, null=True)),
                ("cursor", models.UUIDField(blank=True, null=True)),
                ("done", models.PositiveIntegerField(default=0)),
                ("already", models.PositiveIntegerField(default=0)),
                ("total", models.PositiveIntegerField(default=0)),
                (
                    "protocol_version",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, to="store.protocolversion"
                    ),
                ),
            ],
            options={
                "ordering": ("id",),
            },
        ),
        migrations.CreateModel(
            name="Judgement",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("outcome", models.CharField(max_length=16)),
                ("classed", models.CharField(blank=True, default="", max_length=60)),
                ("reexamine_on", models.DateField(blank=True, null=True)),
                ("is_ready_in_time", models.BooleanField(blank=True, null=True)),
                ("rules", models.JSONField()),
                ("missing", models.JSONField()),
                ("judged_at", models.DateTimeField()),
                (
                    "examination",
                    models.ForeignKey(
                        db_index=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="judgements",
                        to="store.examination",
                    ),
                ),
                (
                    "protocol_version",
                    models.ForeignKey(
                        db_index=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="judgements",
                        to="store.protocolversion",
                    ),
                ),
                (
                    "run",
                    models.ForeignKey(
                        blank=True,
                        db_index=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="store.rejudgerun",
                    ),
                ),
            ],
            options={
                "verbose_name": "judgement",
            },
        ),
        migrations.CreateModel(
            name="VetOverride",
            fields=[
                ("id", models.UUIDField(editable=False, primary_key=True, serialize=False)),
                ("outcome", models.CharField(max_length=16)),
                ("reason", models.TextField()),
                ("by", models.CharField(max_length=200)),
                ("on", models.DateField()),
                ("at", models.DateTimeField()),
                (
                    "examination",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="overrides",
                        to="store.examination",
                    ),
                ),
            ],
            options={
                "verbose_name": "vet's own verdict",
                "ordering": ("at", "id"),
            },
        ),
        migrations.CreateModel(
            name="MatingSeason",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("start_on", models.DateField()),
                (
                    "flock",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="seasons",
                        to="store.flock",
                    ),
                ),
            ],
            options={
                "ordering": ("flock", "start_on"),
                "constraints": [
                    models.UniqueConstraint(fields=("flock", "start_on"), name="one_season_per_day")
                ],
            },
        ),
        migrations.AddIndex(
            model_name="ram",
            index=models.Index(fields=["flock", "tag"], name="ram_by_flock_and_tag"),
        ),
        migrations.AddIndex(
            model_name="identifier",
            index=models.Index(fields=["scheme", "key"], name="identifier_by_key"),
        ),
        migrations.AddConstraint(
            model_name="rejudgerun",
            constraint=models.UniqueConstraint(
                condition=models.Q(("finished_at__isnull", True)),
                fields=("protocol_version",),
                name="one_unfinished_run_per_version",
            ),
        ),
        migrations.AddConstraint(
            model_name="judgement",
            constraint=models.UniqueConstraint(
                fields=("examination", "protocol_version"), name="one_judgement_per_version"
            ),
        ),
        migrations.AddIndex(
            model_name="examination",
            index=models.Index(fields=["flock", "examined_on"], name="exam_by_flock_and_day"),
        ),
        migrations.AddConstraint(
            model_name="examination",
            constraint=models.UniqueConstraint(
                condition=models.Q(("replaces__isnull", True)),
                fields=("ram", "examined_on", "content_hash"),
                name="same_contents_once",
            ),
        ),
        migrations.AddConstraint(
            model_name="examination",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("replaces__isnull", True),
                    models.Q(("correction_reason", ""), _negated=True),
                    _connector="OR",
                ),
                name="a_correction_has_a_reason",
            ),
        ),
        migrations.AddConstraint(
            model_name="vetoverride",
            constraint=models.CheckConstraint(
                condition=models.Q(("reason", ""), _negated=True), name="an_override_has_a_reason"
            ),
        ),
    ]

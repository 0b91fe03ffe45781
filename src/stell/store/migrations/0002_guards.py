"""Rows that are written once stay as they are: triggers on their tables."""

from django.db import migrations

from stell.store import guards


def put_on(_apps, schema_editor):
    guards.install(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [("store", "0001_first_tables")]

    operations = [migrations.RunPython(put_on, migrations.RunPython.noop)]

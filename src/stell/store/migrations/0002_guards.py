"""Rows that are written once stay as they are: triggers on their tables."""

from django.db import migrations

from stell.store import guards

TABLES = (
    "store_examination",
    "store_judgement",
    "store_vetoverride",
    "store_auditentry",
    "store_protocolversion",
    "store_sheetimport",
)


def put_on(_apps, schema_editor):
    guards.install(schema_editor.connection, TABLES)


class Migration(migrations.Migration):
    dependencies = [("store", "0001_first_tables")]

    operations = [migrations.RunPython(put_on, migrations.RunPython.noop)]

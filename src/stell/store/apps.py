"""The store as a Django application."""

from django.apps import AppConfig


class StoreConfig(AppConfig):
    """Label ``store``: its tables are named ``store_…``."""

    name = "stell.store"
    label = "store"
    default_auto_field = "django.db.models.BigAutoField"

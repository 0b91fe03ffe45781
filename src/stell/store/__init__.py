"""Where records are kept: models, migrations and the mapping between rows and core.

Importing this package makes Django ready where nobody has done so: then it has no database until
`services.opening.open_store` names one. A site that sets ``DJANGO_SETTINGS_MODULE`` starts Django
itself.
"""

from __future__ import annotations

import os


def _make_django_ready() -> None:
    import django
    from django.conf import settings

    if settings.configured or os.environ.get("DJANGO_SETTINGS_MODULE"):
        return
    from stell.store.settings import base_settings

    settings.configure(**base_settings())
    django.setup()


_make_django_ready()

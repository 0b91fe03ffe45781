"""The site as a WSGI application: opens the store named by ``STELL_DATA`` and answers."""

from __future__ import annotations

import os

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "stell.web.settings")

import django
from django.core.handlers.wsgi import WSGIHandler

django.setup()

from django.urls import get_resolver  # noqa: E402

from stell.services.opening import data_folder, open_store  # noqa: E402

open_store(data_folder())
_ = get_resolver().url_patterns  # a page that cannot be loaded is to be known now, not when asked
application = WSGIHandler()

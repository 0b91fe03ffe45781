"""A site over a real store: one Django a process, so the store's is widened while these run."""

from __future__ import annotations

import importlib
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from tests.web import season

TODAY = season.TODAY


def site_settings() -> dict[str, Any]:
    """Return the site's settings, less what `open_store` sets for each folder."""
    from stell.web import settings

    own = {"DATABASES", "SECRET_KEY"}
    return {k: getattr(settings, k) for k in dir(settings) if k.isupper() and k not in own}


@pytest.fixture(scope="package")
def django_site() -> Iterator[None]:
    """Django with the site's applications, as `STELL_TODAY` of the test season."""
    from django.test import override_settings

    import stell.store  # noqa: F401  (makes Django ready)

    with override_settings(**site_settings() | {"STELL_TODAY": TODAY}):
        import axes.conf

        importlib.reload(axes.conf)  # its defaults go with the settings they were written to
        yield


@pytest.fixture(scope="package")
def store(django_site: None, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the test season and one account."""
    folder = tmp_path_factory.mktemp("site")
    season.fill(folder)
    return folder


@pytest.fixture
def opened(store: Path) -> Path:
    """The filled store, open."""
    from stell.services.opening import open_store

    open_store(store)
    return store


@pytest.fixture
def stranger(opened: Path) -> Any:
    """A browser that nobody has logged in with."""
    from django.test import Client

    return Client(SERVER_NAME="127.0.0.1")


@pytest.fixture
def vet(stranger: Any) -> Any:
    """A browser of the vet, logged in."""
    from django.contrib.auth import get_user_model

    stranger.force_login(
        get_user_model().objects.get(username=season.LOGIN),
        backend="django.contrib.auth.backends.ModelBackend",
    )
    return stranger


@pytest.fixture
def today() -> date:
    """The day on which the test season is looked at."""
    return TODAY

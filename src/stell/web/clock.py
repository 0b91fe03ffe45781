"""What day it is where this computer stands.

Django sets the process's time zone to ``TIME_ZONE``, so the computer's own has to be asked for
before that: a vet at eight in the morning in Wellington is not to see yesterday's work list.
"""

from __future__ import annotations

import os
from datetime import date, datetime, tzinfo
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

_LOCALTIME = Path("/etc/localtime")


def machine_zone() -> tzinfo:
    """Return the computer's time zone, by name where it has one; call it before Django starts.

    Returns
    -------
    tzinfo
        A `ZoneInfo`, or a fixed offset where the system does not tell the zone's name.
    """
    named = os.environ.get("TZ", "").removeprefix(":")
    if not named and _LOCALTIME.is_symlink():
        named = str(_LOCALTIME.resolve()).partition("zoneinfo/")[2]
    if named:
        try:
            return ZoneInfo(named)
        except (ZoneInfoNotFoundError, ValueError, OSError):
            pass  # a rule such as "CET-1CEST" is no name: the offset below has to do
    offset = datetime.now().astimezone().tzinfo
    assert offset is not None
    return offset


def today() -> date:
    """Return the day the desk shows: ``STELL_TODAY`` where it is set, else the computer's date."""
    from django.conf import settings

    return settings.STELL_TODAY or datetime.now(settings.STELL_ZONE).date()

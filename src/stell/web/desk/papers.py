"""Papers to print: each is made by the reports when it is asked for, and sent as a file.

The press and the charts take their time to load, so that is left until somebody asks for a paper.
"""

from __future__ import annotations

import re
import tempfile
from collections.abc import Callable
from pathlib import Path

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from stell.services import flocks, protocols
from stell.web.clock import today


@require_safe
def owner_report(_request: HttpRequest, slug: str) -> HttpResponse:
    """Send the owner's report on the current season."""
    from stell.services import reporting

    flock, day = flocks.find_flock(slug), today()
    return sent(
        f"{flock.slug}-report-{day.isoformat()}.pdf",
        lambda path: reporting.owner_report(flock, today=day, path=path),
    )


@require_safe
def run_sheet(_request: HttpRequest, slug: str) -> HttpResponse:
    """Send the run sheet for the yard: the flock's rams, ready to be filled in."""
    from stell.services import reporting

    flock, day = flocks.find_flock(slug), today()
    return sent(
        f"{flock.slug}-run-sheet-{day.isoformat()}.pdf",
        lambda path: reporting.run_sheet(flock, today=day, path=path),
    )


@require_safe
def blank_form(_request: HttpRequest, name: str, version: str) -> HttpResponse:
    """Send a blank form of a protocol on record."""
    from stell.services import reporting

    found = protocols.load_registered(f"{name} {version}")
    return sent(
        f"form-{found.id}-{found.version}.pdf", lambda path: reporting.blank_form(found, path)
    )


def sent(name: str, make: Callable[[Path], object]) -> HttpResponse:
    """Return a PDF that `make` writes to the path it is given; no copy stays on this computer."""
    with tempfile.TemporaryDirectory(prefix="stell-") as folder:
        path = Path(folder) / "paper.pdf"
        make(path)
        content = path.read_bytes()
    safe = re.sub(r"[^A-Za-z0-9._-]+", "-", name)
    return HttpResponse(
        content,
        content_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="{safe}"'},
    )

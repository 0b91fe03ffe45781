"""Photograph the desk for docs/pictures: the demo's pages on a screen, on a phone, in the dark.

    .venv/bin/python tools/desk_pictures.py [FOLDER]

Loads the demo into a folder of its own, serves it, logs in and writes desk-*.png. Needs the
system's Chromium and the packages that the tests need.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from datetime import date
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[1]
PICTURES = ROOT / "docs" / "pictures"
LOGIN = "vet"
# Name, size of the screen, light or dark, pages (none: all). [CSS px]
LOOKS = (
    ("screen", (1280, 860), "light", ()),
    ("phone", (360, 740), "light", ("home", "flock", "ram-override")),
    ("dark", (1280, 860), "dark", ("home", "flock")),
)
# What is shown of each page: a picture of the whole protocol would be 30 screens long.
MOST_TALL = {"screen": 1700, "phone": 1900, "dark": 1300}
SERVE = """
import sys
from datetime import date
from pathlib import Path
from stell.web.serving import serve
if __name__ == "__main__":
    serve(Path(sys.argv[1]), port=8400, today=date.fromisoformat(sys.argv[2]),
          ready=lambda at: print(at, flush=True))
"""


def main() -> None:
    """Write the pictures."""
    target = Path(sys.argv[1]) if len(sys.argv) > 1 else PICTURES
    target.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="stell-pictures-") as made:
        folder = Path(made)
        password, day = fill(folder)
        script = folder / "serve_it.py"
        script.write_text(SERVE)
        process = subprocess.Popen(
            [sys.executable, str(script), str(folder), day.isoformat()],
            stdout=subprocess.PIPE,
            text=True,
            env=os.environ | {"PYTHONPATH": str(ROOT / "src")},
        )
        assert process.stdout is not None
        try:
            address = process.stdout.readline().strip()
            assert address, "the site did not start"
            photograph(address, password, target)
        finally:
            process.terminate()
            process.wait()


def fill(folder: Path) -> tuple[str, date]:
    """Load the demo and make a log-in; return its password and the day to show."""
    from stell.services.demo import demo_day, load_demo
    from stell.services.opening import open_store
    from stell.web.serving import make_login

    day = demo_day()
    open_store(folder)
    load_demo(None, day)
    return make_login(LOGIN), day


def photograph(address: str, password: str, target: Path) -> None:
    """Open every page in every look and write its picture."""
    from playwright.sync_api import sync_playwright

    chromium = next(p for n in ("chromium", "google-chrome") if (p := shutil.which(n)))
    arguments = ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=arguments)
        for look, (width, height), scheme, wanted in LOOKS:
            context = browser.new_context(
                viewport={"width": width, "height": height},
                color_scheme=scheme,
                device_scale_factor=1.5 if look == "phone" else 1,
            )
            page = context.new_page()
            page.goto(address)
            if not wanted:
                picture(page, target / f"desk-log-in-{look}.png", MOST_TALL[look])
            page.fill("#id_username", LOGIN)
            page.fill("#id_password", password)
            page.click("main button")
            for name, place in places(page, address).items():
                if wanted and name not in wanted:
                    continue
                page.goto(place)
                picture(page, target / f"desk-{name}-{look}.png", MOST_TALL[look])
        browser.close()


def places(page: Any, address: str) -> dict[str, str]:
    """Return the pages to show; rams are found by what makes them worth seeing."""
    page.goto(f"{address}flocks/high-sallow/")
    found = {"flock": page.url}
    rows = page.locator("table.rams tbody tr")
    wanted = {"ram-deferred": "tr.deferred", "ram-override": "tr:has-text('own word')"}
    for name, selector in wanted.items():
        links = page.locator(f"table.rams {selector} th a")
        if links.count():
            found[name] = address.rstrip("/") + links.first.get_attribute("href")
    assert rows.count(), "the demo's flock has no rams"
    return {
        "home": address,
        **found,
        "mating": f"{address}flocks/wether-holm/",
        "work": f"{address}due/",
        "protocol": f"{address}protocol/",
    }


def picture(page: Any, path: Path, most_tall: int) -> None:
    """Write a page's picture from its top, cut off where it becomes too long."""
    page.evaluate("document.fonts.ready.then(() => true)")
    size = page.viewport_size
    tall = page.evaluate("document.documentElement.scrollHeight")
    clip = {"x": 0, "y": 0, "width": size["width"], "height": min(tall, most_tall)}
    page.screenshot(path=path, full_page=True, clip=clip)
    print(path.name)


if __name__ == "__main__":
    main()

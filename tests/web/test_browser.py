"""The desk in a real browser: nothing in anybody's way, nothing refused, all of it by keyboard."""

import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.web import season

pytestmark = pytest.mark.browser

AXE = (Path(__file__).parents[1] / "browser" / "vendor" / "axe.min.js").read_text(encoding="utf-8")
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
LEAST_TARGET = 44  # our own floor, WCAG 2.2 success criterion 2.5.5 (AAA) [CSS px]
SERVE = """
import sys
from datetime import date
from pathlib import Path
from stell.web.serving import serve
if __name__ == "__main__":
    serve(Path(sys.argv[1]), port=8300, ready=lambda at: print(at, flush=True),
          today=date.fromisoformat(sys.argv[2]))
"""
SIZES = {"desk": (1280, 900), "phone": (360, 740), "narrow": (320, 640)}
# Boxes of everything that can be pressed and seen, with what is written on it.
TARGETS = """() => [...document.querySelectorAll('a[href], button, input, summary')]
  .filter(e => e.type !== 'hidden' && !e.closest('.skip') && !e.classList.contains('skip'))
  .map(e => [e.outerHTML.slice(0, 120), e.getBoundingClientRect()])
  .filter(([, box]) => box.width > 0)
  .map(([html, box]) => [html, box.width, box.height])"""


@pytest.fixture(scope="module")
def site(store: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of the test season's site."""
    script = tmp_path_factory.mktemp("serve") / "serve_it.py"
    script.write_text(SERVE)
    process = subprocess.Popen(
        [sys.executable, str(script), str(store), season.TODAY.isoformat()],
        stdout=subprocess.PIPE,
        text=True,
        env=os.environ | {"PYTHONPATH": os.pathsep.join(p for p in sys.path if p)},
    )
    assert process.stdout is not None
    address = process.stdout.readline().strip()
    assert address, "the site did not start"
    yield address
    process.terminate()
    process.communicate(timeout=20)


@pytest.fixture(scope="module")
def browser(site: str, chromium: Path) -> Iterator[Any]:
    """The system's browser. Started after the site: Django refuses to work beside its loop."""
    from playwright.sync_api import sync_playwright

    arguments = ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=str(chromium), args=arguments)
        yield running
        running.close()


def log_in(page: Any, site: str) -> None:
    page.goto(site)
    page.fill("#id_username", season.LOGIN)
    page.fill("#id_password", season.PASSWORD)
    page.click("main button")
    page.wait_for_selector("h1:has-text('Flocks')")


@pytest.fixture(scope="module")
def known(browser: Any, site: str) -> dict[str, Any]:
    """The cookies of the vet who is logged in."""
    context = browser.new_context()
    log_in(context.new_page(), site)
    state = context.storage_state()
    context.close()
    return state


@pytest.fixture(scope="module")
def addresses(browser: Any, site: str, known: dict[str, Any]) -> dict[str, str]:
    """Every kind of page, rams found by the links of their flock."""
    context = browser.new_context(storage_state=known)
    page = context.new_page()
    page.goto(f"{site}flocks/larch-rigg/")
    links = page.locator("th a").all()
    rams = {link.inner_text()[:4]: link.get_attribute("href") for link in links}
    context.close()
    assert set(rams) == {f"LR {n}" for n in range(1, 7)}, rams
    return {
        "flocks": "",
        "flock": "flocks/larch-rigg/",
        "flock without a start": "flocks/stone-b-fold-b-co/",
        "ram with a reason": rams["LR 2"].lstrip("/"),
        "ram with the vet's word": rams["LR 4"].lstrip("/"),
        "ram with a correction": rams["LR 5"].lstrip("/"),
        "work list": "due/",
        "protocol": "protocol/",
        "refused": "flocks/nowhere/",
        "nothing": "nowhere/",
    }


@pytest.mark.slow
@pytest.mark.parametrize(
    ("scheme", "size"), [("light", "desk"), ("dark", "desk"), ("light", "narrow")]
)
def test_no_barrier_is_found(browser, site, known, addresses, scheme, size) -> None:
    width, height = SIZES[size]
    context = browser.new_context(
        storage_state=known,
        color_scheme=scheme,
        viewport={"width": width, "height": height},
        bypass_csp=True,
    )
    page = context.new_page()
    found = {}
    for name, address in addresses.items():
        page.goto(site + address)
        for summary in page.locator("summary").all():
            summary.click()
        page.evaluate(AXE)
        result = page.evaluate(f"axe.run(document, {{runOnly: {json.dumps(RULES)}}})")
        assert len(result["passes"]) > 10, f"axe looked at nothing on {name}"
        for violation in result["violations"]:
            places = [node["html"][:150] for node in violation["nodes"][:3]]
            found[f"{name}: {violation['id']}"] = places
    context.close()
    assert not found, json.dumps(found, indent=1)


def test_axe_sees_a_barrier(browser) -> None:
    page = browser.new_page()
    page.set_content("<html lang=en><title>x</title><main><h1>x</h1><img src=x></main>")
    page.evaluate(AXE)
    result = page.evaluate(f"axe.run(document, {{runOnly: {json.dumps(RULES)}}})")
    assert "image-alt" in {v["id"] for v in result["violations"]}, "the check checks nothing"
    page.close()


@pytest.mark.parametrize("size", list(SIZES))
def test_pages_fit_and_targets_can_be_hit(browser, site, known, addresses, size) -> None:
    width, height = SIZES[size]
    context = browser.new_context(
        storage_state=known, viewport={"width": width, "height": height}, has_touch=size != "desk"
    )
    page = context.new_page()
    small = {}
    for name, address in addresses.items():
        page.goto(site + address)
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert wide <= width, f"{name} is {wide} px wide on a screen of {width} px"
        for html, _, tall in page.evaluate(TARGETS):
            if tall < LEAST_TARGET - 0.5:
                small[html] = f"{name}: {tall:.1f} px"
    context.close()
    assert not small, json.dumps(small, indent=1)


def test_nothing_is_refused_by_the_policy(browser, site, known, addresses) -> None:
    context = browser.new_context(storage_state=known)
    page = context.new_page()
    said: list[str] = []
    asked: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.on("request", lambda request: asked.append(request.url))
    for address in addresses.values():
        page.goto(site + address)
    fonts = page.evaluate("""document.fonts.check('16px "Atkinson Hyperlegible"')""")
    context.close()
    complaints = [s for s in said if "404" not in s]  # the two pages that are not there
    assert not complaints, complaints
    assert all(url.startswith(site) for url in asked), "the desk asks nobody else"
    assert any(url.endswith(".woff2") for url in asked), "the type was fetched"
    assert fonts, "and is used"


def test_everything_works_without_scripts(browser, site) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    log_in(page, site)
    page.click("h2 >> text=Larch Rigg")
    page.click("th >> text=LR 2 Bramble")
    page.click("summary >> nth=0")
    assert page.locator("dt:has-text('Breathing') >> nth=0").is_visible(), "it opens"
    assert page.locator("main script").count() == 0
    context.close()


def test_keyboard_alone_leads_through(browser, site) -> None:
    context = browser.new_context()
    page = context.new_page()
    page.goto(site)
    page.wait_for_selector("#id_username:focus")  # by itself: nobody has to look for it
    page.keyboard.type(season.LOGIN)
    page.keyboard.press("Tab")
    page.keyboard.type(season.PASSWORD)
    page.keyboard.press("Enter")
    page.wait_for_selector("h1:has-text('Flocks')")
    page.keyboard.press("Tab")
    skip = page.locator(":focus")
    assert skip.inner_text() == "Skip to the page", "the first stop of the tabulator"
    assert skip.bounding_box()["y"] >= 0, "it is seen when it has the focus"
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('main') !== null"), "past the head"
    outline = page.evaluate("getComputedStyle(document.activeElement).outlineWidth")
    assert outline == "3px", f"where the focus is cannot be seen: {outline}"
    context.close()


def test_verdicts_are_told_without_colour(browser, site, known) -> None:
    context = browser.new_context(storage_state=known, forced_colors="active")
    page = context.new_page()
    page.goto(f"{site}flocks/larch-rigg/")
    told = [row.inner_text() for row in page.locator("table.rams td .verdict").all()]
    assert sorted(told) == [
        "deferred", "deferred", "satisfactory", "satisfactory", "unsatisfactory", "unsatisfactory",
    ], told  # fmt: skip
    shapes = {
        re.sub(r"\s+", " ", svg.inner_html()) for svg in page.locator("td .verdict svg").all()
    }
    assert len(shapes) == 3, f"three verdicts, three shapes: {shapes}"
    context.close()


def test_print_leaves_out_what_paper_cannot_do(browser, site, known) -> None:
    context = browser.new_context(storage_state=known)
    page = context.new_page()
    page.goto(f"{site}flocks/larch-rigg/")
    page.emulate_media(media="print")
    for hidden in ("nav", ".papers", ".order", ".skip"):
        assert not page.locator(hidden).first.is_visible(), f"{hidden} is printed"
    assert page.locator("table.rams").is_visible(), "the rams are"
    assert page.evaluate("getComputedStyle(document.body).color") == "rgb(0, 0, 0)"
    context.close()

"""Dossiers in a real browser: on a screen, on A4 and on Letter, without a script or a request."""

from __future__ import annotations

import re

import pytest
from axe_playwright_python.sync_playwright import Axe

from ledger.handing_over import Wanted, hand_over
from ledger.holdings import sample_data
from ledger.record.store import Ledger
from ledger.workflow import record_files

pytestmark = pytest.mark.browser

WHEN = "2026-03-02T10:00:00Z"
WANTED = (
    Wanted("dunnock-lap-steel", "report", WHEN),
    Wanted("dunnock-lap-steel", "dating", WHEN),
    Wanted("dunnock-lap-steel", "challenge", WHEN, "another-steel"),
)
# ISO 216 and ANSI/ASME Y14.1, in CSS pixels of 1/96 inch; margins as the style sheet has them.
SHEETS = {"A4": (793.7, 1122.5), "Letter": (816.0, 1056.0)}
SIDES, TOP_AND_BOTTOM = 2 * 17 / 25.4 * 96, (19 + 18) / 25.4 * 96


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    """The file of each dossier of the lap steel, by its purpose."""
    folder = tmp_path_factory.mktemp("dossiers")
    path = folder / "ledger.db"
    record_files(path, sorted(sample_data().glob("*.yaml")), "examiner", WHEN)
    with Ledger.open(path, read_only=True) as ledger:
        for wanted in WANTED:
            file = folder / f"{wanted.purpose}.html"
            file.write_text(hand_over(ledger, wanted).page, encoding="utf-8")
    return {wanted.purpose: folder / f"{wanted.purpose}.html" for wanted in WANTED}


@pytest.fixture
def browser(kept_browser):
    return kept_browser


PURPOSES = [wanted.purpose for wanted in WANTED]


@pytest.mark.parametrize("purpose", PURPOSES)
@pytest.mark.parametrize("width", [1280, 390], ids=["wide", "narrow"])
def test_a_dossier_fits_a_screen_asks_for_nothing_and_can_be_used_by_all(
    browser, pages, purpose, width
):
    page = browser.new_page(viewport={"width": width, "height": 900})
    asked, complaints = [], []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: complaints.append(message.text))
    page.goto(pages[purpose].as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.evaluate("[...document.images].every(i => i.naturalWidth > 0)")
    assert [url for url in asked if not url.startswith("data:")] == [pages[purpose].as_uri()]
    assert complaints == []
    found = Axe().run(page).response["violations"]
    assert [each["id"] for each in found if each["impact"] in ("serious", "critical")] == []
    page.close()


@pytest.mark.parametrize("purpose", PURPOSES)
def test_without_scripts_it_reads_the_same(browser, pages, purpose):
    told = []
    for is_on in (True, False):
        context = browser.new_context(java_script_enabled=is_on)
        page = context.new_page()
        page.goto(pages[purpose].as_uri())
        told.append(page.locator("main").inner_text())
        context.close()
    assert told[0] == told[1]


@pytest.mark.parametrize("sheet", SHEETS)
@pytest.mark.parametrize("purpose", PURPOSES)
def test_it_prints_on_either_sheet_and_no_drawing_is_cut(browser, pages, purpose, sheet):
    width, height = SHEETS[sheet]
    page = browser.new_page(viewport={"width": round(width - SIDES), "height": 900})
    page.goto(pages[purpose].as_uri())
    printed = page.pdf(format=sheet, print_background=True)
    assert printed.startswith(b"%PDF-")
    assert 3 <= len(re.findall(rb"/Type\s*/Page\b", printed)) <= 30
    box = re.search(rb"/MediaBox\s*\[\s*0\s+0\s+([\d.]+)\s+([\d.]+)\s*\]", printed)
    points = [float(each) for each in box.groups()]
    assert points == pytest.approx([width * 0.75, height * 0.75], abs=1.5)
    page.emulate_media(media="print")
    assert page.evaluate("document.documentElement.scrollWidth") <= round(width - SIDES) + 1
    tall = page.evaluate(
        "[...document.querySelectorAll('figure')].map(f => f.getBoundingClientRect().height)"
    )
    assert max(tall, default=0) <= height - TOP_AND_BOTTOM
    wide = page.evaluate(
        "[...document.querySelectorAll('figure svg, table')].map(f => f.getBoundingClientRect().right)"
    )
    assert max(wide) <= width - SIDES + 1
    page.close()

"""The pages in a real browser. A missing browser is a failure, not a reason to pass them by."""

from __future__ import annotations

import re
import threading
from contextlib import closing

import pytest
import uvicorn
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from ledger.publish.site import datasette_for, open_socket
from ledger.publish.sitedb import publish_site

pytestmark = pytest.mark.browser

WIDTHS = (1280, 390)
PAGES = {
    "front": "/",
    "instrument": "/instrument/corbel-lap-steel",
    "finding": "/instrument/corbel-lap-steel/finding/state/pot.volume",
    "questions": "/questions",
    "question": "/questions/rests-on-reference",
    "question-without-answer": "/questions/open-matters?instrument=nobody",
    "search": "/search",
    "hits": "/search?q=pot",
    "words": "/words",
    "references": "/references",
    "reference": "/reference/corbel/pan",
    "source": "/instrument/corbel-lap-steel/source/bench",
    "mark": "/marks",
    "mark-read": "/marks?text=3047612",
    "plotted-question": "/questions/likeliest-swaps?most=100",
    "range-question": "/questions/hard-to-tell",
    "years-question": "/questions/completed-by-year",
    "finding-with-decisive-path": "/instrument/corbel-lap-steel/finding/bound/pot",
    "tables": "/witnessmark",
    "table": "/witnessmark/line",
    "filtered-table": "/witnessmark/line?section=marks&_sort_desc=title",
    "row": "/witnessmark/finding/corbel-lap-steel~2Fbound~2Fpot",
    "reference-row": "/witnessmark/reference/corbel~2Fpan",
    "answer-of-the-server": "/witnessmark/open-matters?instrument=",
    "missing": "/not-here",
}


@pytest.fixture
def address(tmp_path, publication):
    """Where the hand-made site is served while the test runs."""
    app = datasette_for(publish_site(tmp_path / "site", publication)).app()
    with closing(open_socket(18_731)) as listener:
        server = uvicorn.Server(uvicorn.Config(app, log_level="warning", ws="none"))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
        thread.start()
        yield f"http://127.0.0.1:{listener.getsockname()[1]}"
        server.should_exit = True
        thread.join(20)


def watched(page, address):
    """Lists that fill with what the console complains of and with requests that leave."""
    complaints, elsewhere = [], []
    page.on(
        "console",
        lambda message: complaints.append(message.text) if message.type == "error" else None,
    )
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on(
        "request",
        lambda request: (
            None if request.url.startswith((address, "data:")) else elsewhere.append(request.url)
        ),
    )
    return complaints, elsewhere


@pytest.mark.parametrize("width", WIDTHS, ids=["wide", "narrow"])
def test_every_kind_of_page_fits_complains_of_nothing_and_can_be_used_by_all(
    browser, address, width
):
    page = browser.new_page(viewport={"width": width, "height": 900})
    complaints, elsewhere = watched(page, address)
    for kind, path in PAGES.items():
        answer = page.goto(f"{address}{path}")
        is_missing = kind == "missing"
        assert answer.status == (404 if is_missing else 200), kind
        assert page.evaluate("document.documentElement.scrollWidth") <= width, kind
        assert page.locator("h1").count() == 1, kind
        assert all(
            page.evaluate("[...document.images].map(i => !i.complete || i.naturalWidth > 0)")
        ), kind
        found = Axe().run(page).response["violations"]
        grave = [
            (each["id"], [node["html"] for node in each["nodes"]])
            for each in found
            if each["impact"] in ("serious", "critical")
        ]
        assert grave == [], kind
        # A browser itself complains of a page that is not there.
        assert [text for text in complaints if not (is_missing and "404" in text)] == [], kind
    assert elsewhere == []


def test_everything_works_without_scripts(browser, address):
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{address}/")
    page.get_by_label("Search").fill('"volume pot"')
    page.get_by_role("button", name="Search").click()
    page.get_by_role("link", name="Mark on the volume pot").first.click()
    expect(page).to_have_url(re.compile("/instrument/"))

    page.goto(f"{address}/questions")
    page.get_by_role("link", name="What is still open").click()
    page.get_by_label("Only this instrument").select_option("corbel-lap-steel")
    page.get_by_role("button", name="Ask").click()
    expect(page.locator("tbody tr")).to_have_count(2)

    page.goto(f"{address}/witnessmark/line")
    page.get_by_text("Filter the rows").click()
    page.get_by_label("Column").select_option("section")
    page.get_by_label("Value").fill("works")
    page.get_by_role("button", name="Apply").click()
    expect(page.locator("tbody tr")).to_have_count(2)
    page.locator("thead").get_by_role("link", name="title").click()
    expect(page).to_have_url(re.compile("_sort=title"))
    context.close()


def test_every_page_can_be_reached_by_keyboard_from_the_skip_link(browser, address):
    page = browser.new_page()
    page.goto(f"{address}/witnessmark/line")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.getAttribute('href')") == "#main"
    page.keyboard.press("Enter")
    expect(page).to_have_url(re.compile("#main$"))
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('main') !== null")


def test_a_sentence_opens_the_chain_down_to_a_ledger_entry(browser, address):
    page = browser.new_page()
    page.goto(f"{address}/instrument/corbel-lap-steel")
    page.locator("a[href*='/finding/']").first.click()
    expect(page).to_have_url(re.compile("/finding/"))
    page.goto(f"{address}/instrument/corbel-lap-steel/finding/state/pot.volume")
    told = page.locator("main").inner_text()
    for step in ("Completed not before 14 March 1976.", "3047612", "entry 2", "invented for this"):
        assert step in told


def test_the_curve_and_what_closes_it_stand_on_one_axis_at_both_widths(browser, address):
    for width, place in ((1280, ".for-wide"), (390, ".for-narrow")):
        page = browser.new_page(viewport={"width": width, "height": 900})
        page.goto(f"{address}/instrument/corbel-lap-steel")
        drawing = page.locator(f"{place} svg.drawing-bounds, {place} svg.drawing-bounds-narrow")
        expect(drawing.first).to_be_visible()
        curve = drawing.first.locator(".curve-line").bounding_box()
        grid = drawing.first.locator(".grid").bounding_box()
        assert grid["x"] - 60 <= curve["x"]
        assert curve["x"] + curve["width"] <= grid["x"] + grid["width"] + 60
        assert curve["width"] > 20


def test_chances_stand_beside_states_and_weights_unfold_by_keyboard(browser, address):
    page = browser.new_page()
    page.goto(f"{address}/instrument/corbel-lap-steel")
    row = page.locator("#position-jack")
    expect(row).to_contain_text("likelier not the first")
    expect(row.locator("svg.chance-bar")).to_have_count(1)
    row.get_by_role("link", name="chance 4.0").click()
    expect(page).to_have_url(re.compile("/finding/state/jack"))

    page.goto(f"{address}/instrument/corbel-lap-steel")
    summary = page.locator("#weights > summary")
    weight = page.get_by_text("42 to 1 for")
    expect(weight).to_be_hidden()
    summary.focus()
    page.keyboard.press("Enter")
    expect(weight).to_be_visible()


def test_a_mark_is_read_without_scripts(browser, address):
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{address}/marks")
    page.get_by_label("The mark, glyph for glyph").fill("no such mark at all")
    page.get_by_role("button", name="Read it").click()
    expect(page.get_by_text("No row of this site reads it.")).to_be_visible()
    context.close()


def test_from_a_source_to_what_falls_without_it_by_keyboard(browser, address):
    page = browser.new_page()
    page.goto(f"{address}/instrument/corbel-lap-steel/source/bench")
    link = page.get_by_role("link", name="Completed not before 14 March 1976.").first
    link.focus()
    page.keyboard.press("Enter")
    expect(page).to_have_url(re.compile("/finding/bound/pot"))
    folded = page.get_by_text("The whole chain as a drawing")
    folded.focus()
    page.keyboard.press("Enter")
    expect(page.locator("svg.drawing-chain")).to_be_visible()


def test_a_table_on_a_narrow_screen_is_read_row_by_row_without_scrolling_sideways(browser, address):
    page = browser.new_page(viewport={"width": 390, "height": 900})
    for path in ("/questions/open-matters", "/witnessmark/line", "/reference/corbel/pan"):
        page.goto(f"{address}{path}")
        table = page.locator("table.browse").first
        room = page.locator(".scrolled", has=table).first
        assert room.evaluate("box => box.scrollWidth <= box.clientWidth"), path
        label = table.locator("td").first.evaluate(
            "cell => getComputedStyle(cell, '::before').content"
        )
        assert label.strip('"').endswith(": "), path
    page.goto(f"{address}/witnessmark/line")
    expect(page.locator("thead").get_by_role("link", name="title")).to_be_visible()

"""The form in a real browser. A missing browser is a failure, not a reason to pass it by."""

from __future__ import annotations

import os
import re
import shutil
import signal
import socket
import sqlite3
import subprocess
import sys
import threading
import urllib.error
import urllib.request
from contextlib import closing
from pathlib import Path

import pytest
import uvicorn
from axe_playwright_python.sync_playwright import Axe
from click.testing import CliRunner
from playwright.sync_api import expect

from ledger.bench.form_app import application
from ledger.bench.form_entering import near_address
from ledger.cli import main
from ledger.publish.site import open_socket
from ledger.record.store import Ledger

pytestmark = pytest.mark.browser

ROOT = Path(__file__).resolve().parent.parent.parent
WIDTHS = (1280, 390)
HOSTS = frozenset({"127.0.0.1", "localhost", "[::1]"})
# What is filled in, form by form: the kind, what the address brings, the fields by their names.
FILLED = (
    ("source", "kind=testimony", {"title": "What the owner told", "by": "the owner",
                                  "date": "2026-03-03", "withhold": "by"}),
    ("source", "kind=document", {"title": "Receipt of the first sale", "date": "1938-12-20"}),
    ("measurement", "position=body&look=weight", {"quantity": "weight", "value": "3.42 kg",
                                                  "uncertainty": "0.01 kg", "source": "bench"}),
    ("feature", "position=tailpiece", {"feature": "outline", "value": "square",
                                       "source": "bench"}),
    ("trace", "positions=pot.1,jack", {"trace": "reworked-joint", "method": "ten times magnified",
                                       "source": "bench"}),
    ("nothing", "positions=serial", {"what": "a number", "value": "searched, not found",
                                     "method": "head and back", "source": "bench"}),
    ("part", "position=pot.1", {"name": "The control that came out", "kept": "elsewhere"}),
    ("work", "positions=pot.1", {"action": "replaced", "date": "[1961..1964]", "by": "workshop",
                                 "destroyed": "The first solder", "removed": "pot.1-the-control-that-came-out",
                                 "retained": "yes", "source": "what-the-owner-told"}),
    ("custody", "", {"holder": "Somebody", "begins": "1938-12", "ends": "1970~",
                     "place": "A town", "consent": "given", "source": "what-the-owner-told"}),
    ("sighting", "", {"date": "1948", "same_instrument": "yes", "matched_by": "A knot",
                      "shows.0.position": "tailpiece", "shows.0.feature": "outline",
                      "shows.0.value": "square", "shows.0.same_as_now": "yes",
                      "source": "what-the-owner-told"}),
    ("paper", "", {"paper": "Receipt", "says": "One lap steel\nwith its case",
                   "names_this_object": "cannot be told", "event": "first sold",
                   "date": "1938-12-20", "source": "receipt-of-the-first-sale"}),
    ("testimony", "question=When was it new?", {"says": "At Christmas", "dated_by": "the move",
                                                "event": "first sold", "date": "1938-12",
                                                "source": "what-the-owner-told"}),
)  # fmt: skip
SHEET = """\
bench_sheet: 1
instrument:
  id: steel
  kind: lap-steel
  name: A lap steel without its number
  invented: yes
  collected: yes
sources:
  - {id: bench, kind: examination, title: Back plate off, by: examiner A, date: 2026-03-02~}
  - {id: what-the-owner-told, kind: testimony, title: What the owner told, by: the owner,
     date: 2026-03-03, withhold: [by]}
  - {id: receipt-of-the-first-sale, kind: document, title: Receipt of the first sale,
     date: 1938-12-20}
exhibits:
  - {id: %(exhibit)s, file: %(file)s, caption: Potentiometer, positions: [pot.1],
     date: 2026-03-02, withhold: [note],
     note: "Taken at 14:03:11 by the clock of the camera, which nobody has checked."}
parts:
  - {id: pot.1-the-control-that-came-out, position: pot.1, name: The control that came out,
     kept: elsewhere}
marks:
  - {id: pot.1-source-date-code, source: bench, position: pot.1, text: "912 82[83]",
     legibility: partial, exhibits: [%(exhibit)s]}
measurements:
  - {id: weight, source: bench, position: body, quantity: weight, value: 3.42 kg,
     uncertainty: 0.01 kg}
features:
  - {id: tailpiece-outline, source: bench, position: tailpiece, feature: outline, value: square}
traces:
  - {id: pot.1-reworked-joint, source: bench, trace: reworked-joint, positions: [pot.1, jack],
     method: ten times magnified}
works:
  - {id: replaced-pot.1, source: what-the-owner-told, action: replaced, positions: [pot.1],
     date: "[1961..1964]", by: workshop, destroyed: The first solder,
     removed: [pot.1-the-control-that-came-out], retained: yes}
custody:
  - {id: 1938-12-custody, source: what-the-owner-told, holder: Somebody, begins: 1938-12,
     ends: 1970~, place: A town, consent: given}
sightings:
  - id: 1948-seen
    source: what-the-owner-told
    date: 1948
    same_instrument: yes
    matched_by: A knot
    shows:
      - {position: tailpiece, feature: outline, value: square, same_as_now: yes}
papers:
  - id: receipt
    source: receipt-of-the-first-sale
    paper: Receipt
    says: |-
      One lap steel
      with its case
    event: first sold
    date: 1938-12-20
    names_this_object: cannot be told
testimony:
  - {id: when-was-it-new-first-sold, source: what-the-owner-told, says: At Christmas,
     question: "When was it new?", event: first sold, date: 1938-12, dated_by: the move}
non_values:
  - {id: serial-a-number, source: bench, positions: [serial], value: "searched, not found",
     what: a number, method: head and back}
"""


@pytest.fixture
def address(bench):
    """Where the form is served while the test runs, with a token to enter by."""
    with closing(open_socket(18_801)) as listener:
        bench.near = f"http://127.0.0.1:{listener.getsockname()[1]}/"
        config = uvicorn.Config(
            application(bench, HOSTS), log_level="warning", ws="none", lifespan="off"
        )
        server = uvicorn.Server(config)
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
        thread.start()
        yield near_address(bench)
        server.should_exit = True
        thread.join(20)


def entered(browser, address, **more):
    """A page of somebody who was let in, and the address of the bench."""
    page = browser.new_context(**more).new_page()
    page.goto(address)
    page.get_by_role("button", name="Enter").click()
    home = address.partition("enter")[0]
    expect(page).to_have_url(home)
    return page, home


def begin(page):
    page.locator("#name").fill("A lap steel without its number")
    page.locator("#kind").select_option("lap-steel")
    page.get_by_text("More", exact=True).click()
    page.locator("#id").fill("steel")
    page.get_by_label("invented example").check()
    page.get_by_label("sold by collectors").check()
    page.get_by_role("button", name="Begin").click()
    expect(page).to_have_url(re.compile("/object/steel$"))


def fill(page, fields):
    for name, text in fields.items():
        field = page.locator(f'.line-form [name="{name}"]')
        kind = field.first.evaluate("e => e.type || e.tagName")
        if name == "withhold":
            page.get_by_text("More", exact=True).click()
        if kind in ("radio", "checkbox"):
            page.locator(f'.line-form [name="{name}"][value="{text}"]').check()
        elif kind == "select-one":
            field.select_option(text)
        else:
            field.fill(text)


def save(page):
    page.get_by_role("button", name="Save").last.click()


def sitting(page, home):
    page.goto(f"{home}object/steel/new/source?kind=examination")
    fill(page, {"title": "Back plate off", "by": "examiner A", "date": "2026-03-02"})
    save(page)
    expect(page).to_have_url(re.compile(r"/object/steel\?done=saved$"))


def clean(page, width):
    """Fits into the width, and nothing that axe finds wrong."""
    page.wait_for_load_state("load")  # the style sheets are there
    wide = page.evaluate(
        "w => [...document.querySelectorAll('main *')]"
        ".filter(e => e.getBoundingClientRect().right > w + 1).map(e => e.outerHTML.slice(0, 90))",
        width,
    )
    assert page.evaluate("document.documentElement.scrollWidth") <= width, (page.url, wide)
    assert page.locator("h1").count() == 1, page.url
    found = Axe().run(page).response["violations"]
    assert [(v["id"], [n["html"] for n in v["nodes"]]) for v in found] == [], page.url


def bodies(ledger_path):
    """What a ledger holds, withheld values in their places."""
    with Ledger.open(ledger_path, read_only=True) as ledger:
        opened = ledger.opened()
        found = {}
        for entry in ledger.entries():
            body = {
                name: ("withheld", opened[value["withheld"]])
                if isinstance(value, dict) and set(value) == {"withheld"}
                else value
                for name, value in entry.body.items()
            }
            found[entry.section, entry.line] = (entry.act, body)
        return found


def sitting_in_plain_words(page, width):
    """The sitting, with a day in plain words of which the form says what it will record."""
    page.get_by_role("link", name="Begin with the sitting").click()
    fill(page, {"title": "Back plate off", "by": "examiner A", "date": "about 2 March 2026"})
    save(page)
    expect(page.locator("#date-fault")).to_contain_text("What of this should be recorded?")
    clean(page, width)
    page.locator("#date-fault").get_by_role("button", name="Record 2026-03-02~").click()
    expect(page).to_have_url(re.compile("/object/steel$"))


def picture_taken(page, width, content):
    """A picture of the first control."""
    page.get_by_role("link", name="Pictures", exact=True).click()
    page.locator("#positions").fill("pot.1")
    page.locator("#files").set_input_files(
        {"name": "IMG_0001.jpg", "mimeType": "image/jpeg", "buffer": content}
    )
    page.get_by_role("button", name="Take them").click()
    expect(page.get_by_role("status")).to_contain_text("taken as photographs/pot.1-")
    clean(page, width)


def mark_read(page, home, width):
    """The mark on it: its position from the map, a glyph doubted with a tap."""
    page.goto(f"{home}object/steel")
    page.get_by_role("link", name=re.compile(r"^14\. potentiometer")).click()
    clean(page, width)
    page.get_by_role("link", name="Record mark: source-date code").click()
    page.locator("#text").press_sequentially("912 828")
    page.get_by_role("button", name="Glyph 7, 8: clear").click()
    expect(page.locator("#text")).to_have_value("912 82[83]")
    fill(page, {"legibility": "partial"})
    page.get_by_label("Potentiometer").check()
    clean(page, width)
    save(page)
    expect(page.get_by_role("heading", name="What it may mean")).to_be_visible()
    clean(page, width)


def assert_same_as_typed(desk, tmp_path):
    """The same typed as a sheet gives the same entries, and the written sheet adds none to them."""
    (file,) = (desk.folder / "photographs").iterdir()
    names = {"file": f"photographs/{file.name}", "exhibit": file.stem}
    typed = desk.folder / "typed"
    typed.mkdir()
    shutil.copytree(desk.folder / "photographs", typed / "photographs")
    (typed / "steel.yaml").write_text(SHEET % names, encoding="utf-8")
    other = tmp_path / "other.db"
    words = ["record", str(typed / "steel.yaml"), "--ledger", str(other)]
    result = CliRunner().invoke(main, words)
    assert result.exit_code == 0, result.output
    assert bodies(desk.ledger_path) == bodies(other)
    words = ["record", str(desk.folder / "steel.yaml"), "--ledger", str(other)]
    assert "nothing new" in CliRunner().invoke(main, words).output


@pytest.mark.parametrize("width", WIDTHS, ids=["wide", "narrow"])
def test_from_an_empty_folder_to_a_published_instrument_through_the_form_alone(
    browser, address, desk, picture, tmp_path, width
):
    page, home = entered(browser, address, viewport={"width": width, "height": 900})
    complaints = []
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on(
        "console",
        lambda said: (
            complaints.append(said.text)
            if said.type == "error" and "422" not in said.text
            else None
        ),
    )
    clean(page, width)
    begin(page)
    clean(page, width)
    sitting_in_plain_words(page, width)
    content = picture(taken="2026:03:02 14:03:11", place=(51.0, 30.0, 0.0))
    picture_taken(page, width, content)
    mark_read(page, home, width)
    for kind, query, fields in FILLED:
        page.goto(f"{home}object/steel/new/{kind}?{query}")
        fill(page, fields)
        before = page.url
        save(page)
        expect(page).not_to_have_url(before)
        expect(page.locator("#faults")).to_have_count(0)
    page.goto(f"{home}object/steel/review")
    expect(page.get_by_role("heading", name="This is what will be recorded")).to_be_visible()
    expect(page.locator(".review-line")).to_have_count(4 + len(FILLED))
    clean(page, width)
    page.get_by_role("button", name="Record this for good").click()
    expect(page.get_by_role("heading", name="Recorded")).to_be_visible()
    clean(page, width)
    page.get_by_role("button", name="Publish").click()
    expect(page.locator("main")).to_contain_text("Published to")
    clean(page, width)
    assert complaints == []

    with closing(sqlite3.connect(f"file:{desk.site / 'witnessmark.db'}?mode=ro", uri=True)) as site:
        assert site.execute("SELECT name FROM instrument").fetchall() == [
            ("A lap steel without its number",)
        ]
    assert_same_as_typed(desk, tmp_path)


def test_everything_can_be_done_without_scripts(browser, address, desk):
    page, home = entered(browser, address, java_script_enabled=False)
    begin(page)
    sitting(page, home)
    page.goto(f"{home}object/steel/new/mark?position=pot.1&look=code")
    fill(page, {"text": "134 4?8"})
    save(page)
    expect(page.get_by_role("heading", name="Saved")).to_be_visible()
    page.goto(f"{home}object/steel/new/sighting")
    fill(page, {"date": "before June 1957", "same_instrument": "yes"})
    save(page)
    page.get_by_role("button", name="Record [..1957-05]").click()
    expect(page).to_have_url(re.compile("done=saved"))
    page.get_by_role("button", name=re.compile("^Undo")).click()
    page.get_by_role("link", name=re.compile("^Review")).first.click()
    expect(page.locator(".review-line")).to_have_count(3)
    expect(page.locator("main")).to_contain_text("Not finished, and so not recorded yet")
    page.get_by_role("button", name="Record this for good").click()
    expect(page.get_by_role("heading", name="Recorded")).to_be_visible()
    assert [entry.line for entry in desk.entries()] == ["instrument", "bench", "code"]


def test_everything_can_be_done_by_keyboard(browser, address, desk):
    page, home = entered(browser, address)
    begin(page)
    sitting(page, home)
    page.goto(f"{home}object/steel")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.getAttribute('href')") == "#main"
    page.keyboard.press("Enter")

    def tab_to(sought):
        for _ in range(150):
            page.keyboard.press("Tab")
            found = page.evaluate(
                "[document.activeElement.getAttribute('aria-label') || '',"
                " document.activeElement.textContent, document.activeElement.id]"
            )
            if any(re.search(sought, text) for text in found):
                return
        raise AssertionError(f"{sought} cannot be reached")

    tab_to(r"^14\. potentiometer")
    assert page.evaluate(
        "const s = getComputedStyle(document.activeElement); s.outlineStyle !== 'none'"
    )
    page.keyboard.press("Enter")
    expect(page).to_have_url(re.compile("/at/pot$"))
    tab_to("^Record mark")
    page.keyboard.press("Enter")
    expect(page).to_have_url(re.compile("/new/mark"))
    tab_to("^text$")
    page.keyboard.type("912 818")
    tab_to("^Glyph 7")
    page.keyboard.press("Space")
    page.keyboard.press("Space")
    assert "cannot be read" in page.evaluate("document.activeElement.getAttribute('aria-label')")
    page.locator("#text").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Saved")).to_be_visible()
    page.goto(f"{home}object/steel/review")
    tab_to("^Record this for good$")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Recorded")).to_be_visible()
    with Ledger.open(desk.ledger_path, read_only=True) as ledger:
        assert ledger.entries()[-1].body["text"] == "912 81?"


def test_a_tap_goes_round_from_clear_to_either_to_unreadable_and_back(browser, address):
    page, home = entered(browser, address)
    begin(page)
    page.goto(f"{home}object/steel/new/mark?position=pot.1")
    page.locator("#text").press_sequentially("83")
    for expected in ("8[38]", "8?", "83"):
        page.locator('.glyph-row [data-at="1"]').click()
        expect(page.locator("#text")).to_have_value(expected)


def test_a_date_is_told_in_words_as_it_is_typed_and_changed_only_when_picked(browser, address):
    page, home = entered(browser, address)
    begin(page)
    page.goto(f"{home}object/steel/new/sighting")
    page.locator("#date").fill("about 1955")
    words = page.locator('[data-words-of="date"]')
    expect(words).to_contain_text("some day from 1955-01-01 to 1955-12-31, and it says about")
    expect(page.locator("#date")).to_have_value("about 1955")
    words.get_by_role("button", name="Record 1955~").click()
    expect(page.locator("#date")).to_have_value("1955~")
    expect(words).to_contain_text("Records 1955~")


def test_faults_are_at_their_fields_and_the_list_above_leads_to_them(browser, address):
    page, home = entered(
        browser, address, viewport={"width": 390, "height": 800}, color_scheme="dark"
    )
    begin(page)
    sitting(page, home)
    clean(page, 390)
    page.goto(f"{home}object/steel/new/measurement")
    fill(page, {"position": "knee", "quantity": "weight", "value": "rather heavy"})
    save(page)
    expect(page.locator("#faults")).to_be_focused()
    expect(page.locator("#position")).to_have_attribute("aria-invalid", "true")
    expect(page.locator("#value-fault")).to_contain_text("a figure with its unit")
    expect(page.locator("#value")).to_have_value("rather heavy")
    page.locator("#faults").get_by_role("link", name="Figure and unit").click()
    expect(page.locator("#ask-value")).to_be_in_viewport()
    clean(page, 390)


def test_a_second_tab_is_told_and_overwrites_nothing(browser, address, desk):
    page, home = entered(browser, address)
    begin(page)
    page.goto(f"{home}object/steel/new/question")
    fill(page, {"question": "Why?"})
    save(page)
    (key,) = (line.key for line in desk.drafts.read("steel").lines)
    other = page.context.new_page()
    for each in (page, other):
        each.goto(f"{home}object/steel/line/{key}")
    page.locator("#question").fill("Why is it so?")
    expect(page.locator("[data-kept-status]")).to_have_text("Kept in the draft.")
    other.locator("#question").fill("Why at all?")
    expect(other.locator("[data-kept-status]")).to_contain_text("changed in another tab")
    save(other)
    expect(other.locator("#faults")).to_contain_text("Nothing was overwritten")
    expect(other.locator("#faults")).to_contain_text("Why is it so?")
    expect(other.locator("#question")).to_have_value("Why at all?")
    clean(other, 1280)
    (line,) = desk.drafts.read("steel").lines
    assert line.fields["question"] == "Why is it so?"


def test_a_second_reading_is_asked_for_blind(browser, address):
    page, home = entered(browser, address)
    begin(page)
    sitting(page, home)
    page.goto(f"{home}object/steel/new/mark?position=pot.1&look=code")
    fill(page, {"text": "912 8277"})
    assert "week 27" not in page.content()
    save(page)
    page.get_by_role("link", name="second, blind").click()
    expect(page.get_by_role("heading", name="Read it again, blind")).to_be_visible()
    assert "8277" not in page.content()
    clean(page, 1280)
    fill(page, {"text": "912 8217", "reader": "examiner B"})
    save(page)
    expect(page.locator("td.differs")).to_have_text(["7", "1"])
    clean(page, 1280)


# --- the whole thing, as it is started ---------------------------------------------------------------


def free_port():
    with closing(socket.socket()) as found:
        found.bind(("127.0.0.1", 0))
        return found.getsockname()[1]


class Started:
    """The command, run by itself, and the address that it prints."""

    def __init__(self, folder, port):
        self.process = subprocess.Popen(
            [sys.executable, "-m", "ledger", "bench", str(folder), "--port", str(port)],
            cwd=ROOT,
            env={**os.environ, "PYTHONUNBUFFERED": "1", "PYTHONDONTWRITEBYTECODE": "1"},
            stdout=subprocess.PIPE,
            text=True,
            encoding="utf-8",
        )
        self.address = re.search(r"http://\S+", self.process.stdout.readline())[0]

    def end(self, how):
        self.process.send_signal(how)
        self.process.wait(20)
        self.process.stdout.close()


@pytest.fixture
def started(tmp_path):
    """Starts the command in a folder of its own; whatever still runs is ended."""
    port, running = free_port(), []

    def _started():
        running.append(Started(tmp_path / "killed", port))
        return running[-1]

    yield _started
    for each in running:
        if each.process.poll() is None:
            each.end(signal.SIGKILL)


def test_a_draft_survives_a_killed_server_and_a_closed_browser(browser, started):
    first = started()
    page, home = entered(browser, first.address)
    begin(page)
    page.goto(f"{home}object/steel/new/testimony")
    fill(page, {"says": "My aunt had it from new"})
    expect(page.locator("[data-kept-status]")).to_have_text("Kept in the draft.")
    first.end(signal.SIGKILL)
    # What is typed while nobody answers is told as not kept, and the page keeps it.
    page.locator("#dated_by").fill("the move")
    expect(page.locator("[data-kept-status]")).to_contain_text("does not answer")
    page.context.close()
    second = started()
    page, home = entered(browser, second.address)
    page.get_by_role("link", name=re.compile("A lap steel without its number")).click()
    page.get_by_role("link", name="not saved yet").click()
    expect(page.locator("#says")).to_have_value("My aunt had it from new")
    page.context.close()
    second.end(signal.SIGINT)


def asked(address, headers=None, typed=None):
    """The status of an answer to somebody without a browser."""
    request = urllib.request.Request(address, data=typed, headers=headers or {})  # noqa: S310 - ours
    opener = urllib.request.build_opener(NoRedirect)
    try:
        with closing(opener.open(request, timeout=20)) as answer:
            return answer.status
    except urllib.error.HTTPError as error:
        with closing(error):
            return error.code


class NoRedirect(urllib.request.HTTPRedirectHandler):
    def redirect_request(self, *_, **__):
        return None


def test_a_request_without_token_of_another_site_or_by_another_name_is_refused(browser, started):
    running = started()
    page, home = entered(browser, running.address)
    begin(page)
    (cookie,) = page.context.cookies()
    assert cookie["httpOnly"]
    assert cookie["sameSite"] == "Strict"
    carried = {"Cookie": f"{cookie['name']}={cookie['value']}"}
    ours = {"Origin": home.rstrip("/")}
    page.goto(f"{home}object/steel/new/question")
    token = page.locator('input[name="form_token"]').first.get_attribute("value")
    typed = f"form_token={token}".encode()
    undo = f"{home}object/steel/undo"
    assert asked(f"{home}object/steel") == 303  # no session: to the door
    assert asked(undo, ours, typed) == 403
    assert asked(undo, carried | ours, b"form_token=") == 403
    assert asked(undo, carried | {"Origin": "http://shop.example"}, typed) == 403
    assert asked(undo, carried | {"Origin": "null"}, typed) == 403
    assert asked(undo, carried, typed) == 403
    assert asked(home, carried | {"Host": "rebound.example"}) == 421
    assert asked(undo, carried | ours, typed) == 303
    assert asked(running.address) == 200
    other = browser.new_context().new_page()
    other.goto(running.address)
    other.get_by_role("button", name="Enter").click()
    expect(other.get_by_role("status")).to_contain_text("used already")

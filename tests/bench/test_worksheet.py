from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest
from axe_playwright_python.sync_playwright import Axe

from ledger.bench.forms import PARTS
from ledger.bench.plan import plan
from ledger.bench.steps import STAGES, interview
from ledger.bench.worksheet import worksheet
from ledger.models import Instrument, Mark

KINDS = ("lap-steel", "valve-amplifier")
ABOUT = Instrument(id="i-1", kind="lap-steel", name="<b>One</b> & only", maker="Corbel")
PAPERS = {"A4": (794, 1123), "Letter": (816, 1056)}  # in CSS pixels of 1/96 inch (CSS 2.1, 4.3.2)
MARGINS_PX = 98  # 13 mm on either side


def page_of(packs, kind="lap-steel", parts=PARTS, about=None, recorded=()):
    return worksheet(plan(kind, packs, recorded), packs.catalogue(kind), parts, about)


class _Text(HTMLParser):
    def __init__(self):
        super().__init__()
        self.said = []
        self.tags = []

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data):
        self.said.append(data)


def read(page):
    parser = _Text()
    parser.feed(page)
    return " ".join(" ".join(parser.said).split()), parser.tags


@pytest.mark.parametrize("kind", KINDS, ids=KINDS)
def test_the_form_asks_every_look_of_the_plan_in_its_order(packs, kind):
    said, _ = read(page_of(packs, kind))
    at = 0
    for stage in STAGES:
        looks = plan(kind, packs).of(stage)
        if looks:
            at = said.index(stage.capitalize(), at)
        for look in looks:
            assert look.look_for in said[at:]


def test_the_form_needs_no_other_file_and_runs_nothing(packs):
    page = page_of(packs)
    _, tags = read(page)
    assert not {tag for tag, _ in tags} & {"script", "link", "img", "iframe", "object", "a"}
    assert not re.search(r"url\(|@import|https?://", page)
    assert not any(name.startswith("on") for _, attributes in tags for name in attributes)


def test_what_can_hurt_stands_on_the_form_with_whose_word_is_the_last(packs):
    said, _ = read(page_of(packs, "valve-amplifier"))
    for row in plan("valve-amplifier", packs).cautions:
        assert " ".join(row.row.says.split()) in said
        assert row.row.defer_to in said
    assert said.index("What can hurt you") < said.index("Before touching")


def test_a_gate_stands_before_each_stage_that_costs_something(packs):
    said, _ = read(page_of(packs, "valve-amplifier", ("bench",)))
    opened = said.index("Opened Covers, plates")
    assert said.index("Gate Only after the stages above", opened) - opened < 200
    assert "made safe: by whom, when, how shown" in said[opened : opened + 900]


def test_the_four_nothings_are_told_apart_and_can_be_ticked_on_every_line(packs):
    page = page_of(packs, parts=("bench",))
    said, _ = read(page)
    for words in ("searched, not found", "not examined", "not legible", "not applicable"):
        assert words in said
    looks = len(plan("lap-steel", packs).looks)
    assert page.count('<td class="tick">') == 4 * looks


def test_the_interview_asks_open_questions_in_order_and_is_read_back_and_signed(packs):
    said, _ = read(page_of(packs, parts=("people",)))
    places = [said.index(question.ask) for question in interview().questions]
    assert places == sorted(places)
    for words in (
        "Do not offer a year",
        "Dated by what else happened",
        "was told, by",
        "Read back",
    ):
        assert words in said
    assert said.index("The teller, and the day") > places[-1]
    assert "Before touching" not in said


def test_papers_custody_and_registers_have_their_forms(packs):
    said, _ = read(page_of(packs, parts=("papers",)))
    for words in (
        "Does it name this very object?",
        "Consent",
        'is not "not stolen"',
        "no match found",
    ):
        assert words in said


def test_the_form_for_works_asks_for_the_record_before_and_what_is_lost(packs):
    said, _ = read(page_of(packs, parts=("works",)))
    before = said.index("Recorded before the work")
    assert before < said.index("What was done") < said.index("Recorded after the work")
    assert "seals: paint, wax or dirt" in said[before:]
    assert "What evidence it destroyed" in said


def test_names_are_written_as_they_are_and_readings_not_at_all(packs):
    recorded = [Mark(id="m", source="bench", position="pot.tone", text="912 82?")]
    page = page_of(packs, about=ABOUT, recorded=recorded)
    said, tags = read(page)
    assert "<b>One</b> & only" in said
    assert "pot.tone" in said
    assert "912 82?" not in said
    assert "recorded before: 1 mark" in said
    assert ("title", {}) in tags


@pytest.mark.browser
@pytest.mark.parametrize("paper", PAPERS, ids=PAPERS)
def test_the_form_prints_on_either_paper_with_nothing_cut_off(packs, kept_browser, tmp_path, paper):
    file = tmp_path / "form.html"
    file.write_text(page_of(packs), encoding="utf-8")
    width, height = PAPERS[paper]
    page = kept_browser.new_page(viewport={"width": width - MARGINS_PX, "height": height})
    page.emulate_media(media="print")
    page.goto(file.as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") <= width - MARGINS_PX
    tallest = page.evaluate(
        "Math.max(...[...document.querySelectorAll('.place:not(.long), .form, .gate, .ask')]"
        ".map(each => each.offsetHeight))"
    )
    assert tallest < height - 120  # a block that is not to be broken has to fit on a page
    pages = page.pdf(format=paper).count(b"/Type /Page\n")
    assert 8 <= pages <= 20
    page.close()


@pytest.mark.browser
@pytest.mark.parametrize("width", [390, 1280], ids=["telephone", "desk"])
def test_the_form_can_be_read_on_a_screen_by_anybody(packs, kept_browser, tmp_path, width):
    file = tmp_path / "form.html"
    file.write_text(page_of(packs), encoding="utf-8")
    page = kept_browser.new_page(viewport={"width": width, "height": 900})
    page.goto(file.as_uri())
    found = Axe().run(page).response["violations"]
    assert [(each["id"], each["nodes"][0]["html"][:120]) for each in found] == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.close()

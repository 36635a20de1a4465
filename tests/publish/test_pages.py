from __future__ import annotations

import re
from dataclasses import asdict, replace
from html.parser import HTMLParser
from importlib.resources import files
from urllib.parse import unquote
from xml.etree import ElementTree as ET

import pytest
from jinja2 import Environment, FileSystemLoader, StrictUndefined

from ledger.advice import Advice, Foreseen
from ledger.findings import Account, EventDating, Finding, Further, Look, Report, TimelineItem
from ledger.publish.drawings import chain_svg, time_axis_svg
from ledger.publish.evidence import Evidence, finding_href, short_hash
from ledger.publish.originality import state_words
from ledger.publish.pages import finding_page, front_page, instrument_page
from ledger.publish.support import MOST_NODES_DRAWN, chain_of, unfold

# Invented throughout.
HOSTILE = '"><script>alert("x")</script><b>&'
VOID = {"meta", "link", "img", "input", "br", "hr", "path", "rect", "circle", "stop"}


class Reading(HTMLParser):
    """A page as a browser takes it: ids, links, and whether every element is closed."""

    def __init__(self, page):
        super().__init__(convert_charrefs=True)
        self.ids, self.hrefs, self.open, self.elements, self.attributes = [], [], [], set(), set()
        self.words = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.handle_startendtag(tag, attrs)
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        found = dict(attrs)
        self.elements.add(tag)
        self.attributes |= set(found)
        self.ids += [found["id"]] if "id" in found else []
        self.hrefs += [found["href"]] if tag == "a" else []

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.words.append(data)

    @property
    def said(self):
        return " ".join(" ".join(self.words).split())


@pytest.fixture(scope="module")
def render():
    """Templates as the site renders them, but refusing any name that is not there."""

    class Named(StrictUndefined):
        pass

    templates = Environment(
        loader=FileSystemLoader(str(files("ledger.publish") / "templates")), autoescape=True
    )
    templates.undefined = Named

    def rendered(template, context):
        given = {"static": "/static", "is_invented": False, **context}
        return Reading(templates.get_template(template).render(given))

    return rendered


@pytest.fixture
def hostile(report) -> Report:
    return replace(
        report,
        name=HOSTILE,
        maker=HOSTILE,
        conclusion=(HOSTILE, "bound/pot", "Completed not before 14 March 1976."),
        questions=(HOSTILE * 40,),
        taken_for_granted=(HOSTILE, "reference:corbel/source-304"),
        looks=(Look("jack", "open", HOSTILE, HOSTILE), Look("gone", "alter", HOSTILE)),
        accounts=(
            *report.accounts,
            Account(
                "account-3", HOSTILE, ("sound:rewired", HOSTILE), is_leading=True, odds_note=HOSTILE
            ),
        ),
        datings=(*report.datings, replace(report.datings[0], account="account-3")),
    )


@pytest.fixture
def empty(report) -> Report:
    nothing = {name: () for name, value in asdict(report).items() if isinstance(value, tuple)}
    return replace(report, **nothing, completeness="")


@pytest.fixture(params=["report", "hostile", "empty"])
def page(request, render):
    report = asdict(request.getfixturevalue(request.param))
    return render("instrument.html", instrument_page(report))


def test_an_instrument_page_closes_what_it_opens_and_names_nothing_twice(page):
    assert page.open == []
    assert len(page.ids) == len(set(page.ids))


def test_an_instrument_page_holds_nothing_that_a_strict_policy_blocks(page):
    assert "script" not in page.elements
    assert "style" not in page.elements | page.attributes
    assert not [name for name in page.attributes if name.startswith("on")]


def test_every_link_within_an_instrument_page_has_its_target(page, report):
    home = f"/instrument/{report.instrument}#"
    wanted = [
        href.removeprefix(home).removeprefix("#")
        for href in page.hrefs
        if href.startswith(("#", home))
    ]
    assert wanted
    assert [name for name in wanted if name not in page.ids] == []


def test_every_word_that_a_page_links_to_is_explained(page, render, report):
    words = render("words.html", {"rules": [], "states": state_words()})
    finding = render("finding.html", finding_page(asdict(report), "bound/pot"))
    asked = {
        href.removeprefix("/words#")
        for href in (*page.hrefs, *finding.hrefs)
        if href.startswith("/words#") and not href.startswith("/words#rule-")
    }
    assert {"completed", "bound", "conflict", "account"} <= asked
    assert asked <= set(words.ids)


def test_every_finding_link_leads_to_a_finding_of_the_report(page, report):
    start = f"/instrument/{report.instrument}/finding/"
    known = {finding.id for finding in report.findings}
    led = {unquote(href.removeprefix(start)) for href in page.hrefs if href.startswith(start)}
    assert led <= known | {position.finding for position in report.positions}


def test_an_instrument_of_which_nothing_is_known_is_told_so(render, empty):
    said = render("instrument.html", instrument_page(asdict(empty))).said
    assert said.count("No lower bound known, no upper bound known.") == 3
    assert "Nothing can be concluded" in said
    assert "That is not proof that all of it is so." in said


def test_each_end_of_a_date_is_shown_with_its_partner(render, report):
    completed = instrument_page(asdict(report))["events"][0]
    (lower,), (upper,) = completed["lower"], completed["upper"]
    assert lower["words"] == "not before 19 March 1976"
    assert upper["words"] == "no upper bound known"
    assert lower["moves"] == ["Without it no lower bound is left."]
    assert "No upper bound known" in render("instrument.html", instrument_page(asdict(report))).said


def test_ends_conflicts_and_changes_stand_on_the_page_in_this_order(render, report):
    dating = report.datings[0]
    more = Further("first-fitted:jack", "1976-08-01", "If also the jack is the first: August.")
    dated = replace(dating, not_before=replace(dating.not_before, further=(more,)))
    sold = replace(dating, event="first sold", not_before=dating.not_before)
    page = instrument_page(asdict(replace(report, datings=(dated, sold))))
    said = render("instrument.html", page).said
    order = [
        "Supposing that The volume pot left the works with it.",
        more.sentence,
        "Not before 19 March 1976 , since it was completed no earlier",
        "2 conflicts with one statement",
        "Conflict 1",
        "Recorded changes",
        "Account 1",
    ]
    assert sorted(order, key=said.index) == order


def test_a_conclusion_opens_its_finding_whether_told_by_id_or_in_words(hostile):
    by_words = instrument_page(asdict(hostile))["conclusion"]
    assert by_words[0] == {"sentence": HOSTILE, "href": ""}
    assert by_words[1] == by_words[2]
    assert by_words[1]["href"] == finding_href(hostile.instrument, "bound/pot")


def test_hostile_text_is_shown_as_text(render, hostile):
    page = render("instrument.html", instrument_page(asdict(hostile)))
    assert HOSTILE in page.said
    assert "b" not in page.elements


def test_leading_accounts_are_marked_in_words(render, report):
    said = render("instrument.html", instrument_page(asdict(report))).said
    assert "Account 1 leading account" in said
    assert "Account 2 not leading" in said


def test_all_readings_of_a_mark_are_shown_with_their_standing_those_not_used_too(render, report):
    page = instrument_page(asdict(report))
    standings = [
        (each["is_used"], each["standing"]) for m in page["marks"] for each in m["standings"]
    ]
    assert standings == [(True, ""), (False, "Agrees with the rest.")]
    assert "not used Agrees with the rest." in render("instrument.html", page).said


def test_readings_that_stand_alike_share_the_words_and_a_common_reason_is_told_once(report):
    first = report.readings[0]
    readings = [
        replace(first, id=f"r{n}", reading=f"week {n}", standing="Agrees." if n < 2 else "Cannot.")
        for n in range(4)
    ]
    (mark,) = instrument_page(asdict(replace(report, readings=tuple(readings))))["marks"]
    assert [(s["standing"], len(s["readings"])) for s in mark["standings"]] == [
        ("Agrees.", 2),
        ("Cannot.", 2),
    ]
    assert [(each["readings"], each["reason"]) for each in mark["reasons"]] == [
        ("", "As it stands.")
    ]


def test_a_caution_is_told_in_full_once_and_linked_from_every_look(render, report):
    concerned = tuple(replace(position, cautions=("solder",)) for position in report.positions)
    looks = (Look("jack", "open", "Look."), Look("jack", "remove", "Look again."))
    changed = replace(report, positions=(*concerned, *more_jacks(concerned[2])), looks=looks)
    page = instrument_page(asdict(changed))
    assert [[c["id"] for c in look["cautions"]] for look in page["looks"]] == [["solder"]] * 2
    (caution,) = page["cautions"]
    assert (caution["about"], caution["about_more"]) == ("Body, Volume pot, Jack", 2)
    shown = render("instrument.html", page)
    assert shown.said.count("Old solder holds lead.") == 1
    assert shown.hrefs.count("#caution-solder") >= len(looks)


def more_jacks(jack):
    return [replace(jack, position=f"jack.{n}", name=f"Jack {n}") for n in range(2)]


def test_the_record_and_what_was_not_examined_are_folded_with_their_counts(render, report):
    bare = replace(
        report.positions[0], position="nut", name="Nut", states=("not examined",), lines=()
    )
    changed = replace(report, positions=(*report.positions, bare))
    shown = render("instrument.html", instrument_page(asdict(changed)))
    assert f"{len(report.lines)} lines as recorded" in shown.said
    assert "nothing is on record of 1 position" in shown.said
    assert "position-nut" in shown.ids


def test_a_position_with_the_reasons_of_another_refers_to_it_by_number(report):
    body = replace(report.positions[0], fitting_event="one")
    twin = replace(body, position="neck", name="Neck")
    (first, *_, second) = instrument_page(
        asdict(replace(report, positions=(body, *report.positions[1:], twin)))
    )["positions"]
    assert (first["as_number"], second["as_number"]) == (0, 1)
    assert second["as_anchor"] == first["anchor"]
    assert second["fitted_with"] == [1]


def test_a_report_read_back_from_json_gives_the_same_page(report):
    def listed(value):
        if isinstance(value, dict):
            return {name: listed(each) for name, each in value.items()}
        return [listed(each) for each in value] if isinstance(value, (list, tuple)) else value

    assert instrument_page(listed(asdict(report))) == instrument_page(asdict(report))


def test_the_front_page_tells_both_ends_for_every_instrument(render, report, empty):
    page = render("front.html", front_page([asdict(report), asdict(empty)]))
    assert "not before 19 March 1976, no upper bound known." in page.said
    assert "Completed not before 19 March 1976; no upper bound is known." not in page.said
    assert "The jack did not leave the works with it." in page.said
    assert "no lower bound known, no upper bound known." in page.said
    assert f"/instrument/{report.instrument}" in page.hrefs


def test_a_front_page_without_instruments_says_so(render):
    assert "No instrument has been published yet." in render("front.html", front_page([])).said


def test_an_unknown_finding_has_no_page(report):
    assert finding_page(asdict(report), "no such finding") is None


@pytest.mark.parametrize("name", ["reading/pot", "bound/pot", "state/body", "state/jack"])
def test_a_finding_page_is_whole_and_its_drawing_well_formed(render, report, name):
    context = finding_page(asdict(report), name)
    page = render("finding.html", context)
    assert context["page_title"].endswith(f": {report.name}")
    assert page.open == []
    assert len(page.ids) == len(set(page.ids))
    assert [h for h in page.hrefs if h.startswith("#") and h[1:] not in page.ids] == []
    ET.fromstring(context["chain_svg"])  # noqa: S314 - our own text


def test_support_unfolds_to_entries_with_their_hashes_and_rows_with_their_sources(report):
    unfolded = unfold(Evidence(asdict(report)), "bound/pot")
    (reading,) = unfolded["beneath"]
    line, reference = reading["beneath"]
    assert (line["kind"], line["entry"]) == ("line", 2)
    assert line["short_hash"] == short_hash(report.lines[1].hash)
    assert line["exhibits"][0]["href"].startswith("/exhibit/")
    assert (reference["source"], reference["confidence"]) == ("invented for this example", "high")
    assert unfolded["suppositions"] == ["The volume pot left the works with it."]


def test_the_suppositions_of_a_finding_are_those_of_everything_beneath_it(report):
    page = finding_page(asdict(report), "state/pot.volume")
    assert [each["sentence"] for each in page["suppositions"]] == [
        "The volume pot left the works with it.",
        "The pan row holds.",
    ]
    assert finding_page(asdict(report), "bound/pot")["leads_to"][0]["sentence"] == (
        "The volume pot is first-fitted."
    )


def test_a_premise_that_is_not_in_the_report_is_named_as_such(report):
    lost = Finding("lost", "bound", "It rests on nothing here.", "rule", ("line:gone", "gone"))
    unfolded = unfold(Evidence(asdict(replace(report, findings=(lost,)))), "lost")
    assert [each["kind"] for each in unfolded["beneath"]] == ["unknown", "unknown"]


def test_findings_that_rest_on_each_other_in_a_circle_are_unfolded_once(report):
    two = (
        Finding("a", "bound", "A.", "rule", ("b",)),
        Finding("b", "bound", "B.", "rule", ("a",)),
    )
    evidence = Evidence(asdict(replace(report, findings=two)))
    unfolded = unfold(evidence, "a")
    assert unfolded["beneath"][0]["beneath"][0]["is_repeat"]
    ET.fromstring(chain_svg(*chain_of(evidence, "a")[:2]))  # noqa: S314 - our own text


def test_a_very_deep_chain_is_cut_and_says_so(report, render):
    deep = tuple(
        Finding(f"f{n}", "bound", f"Step {n}.", "rule", (f"f{n + 1}",) if n < 199 else ())
        for n in range(200)
    )
    context = finding_page(asdict(replace(report, findings=deep)), "f0")
    said = render("finding.html", context).said
    assert "is unfolded on its own page" in said
    assert f"{200 - MOST_NODES_DRAWN} boxes farther down are not drawn" in said


def test_no_account_of_the_report_is_left_without_its_name(report):
    dating = EventDating(
        "completed",
        "unheard-of",
        report.datings[0].not_before,
        report.datings[0].not_after,
        (),
    )
    (shown,) = instrument_page(asdict(replace(report, datings=(dating,))))["events"][0]["lower"]
    assert shown["under"] == "unheard-of"


def test_the_pages_speak_no_forbidden_words(render, report):
    pages = (
        render("instrument.html", instrument_page(asdict(report))),
        render("finding.html", finding_page(asdict(report), "bound/pot")),
        render("front.html", front_page([asdict(report)])),
    )
    said = " ".join(page.said for page in pages).lower()
    for word in ("all-original", "original", "untouched", "mint", "genuine", "rare", "confirmed"):
        assert not re.search(rf"\b{word}\b", said)


@pytest.mark.parametrize(
    ("finding", "heading"),
    [("account-1", "What it gives up"), ("conflict-1", "What cannot all hold")],
    ids=["account", "conflict"],
)
def test_what_an_account_gives_up_is_not_said_to_have_to_hold(report, finding, heading):
    told = Finding(finding, finding.partition("-")[0], "Said.", "rule", (), ("first-fitted:jack",))
    with_it = replace(report, findings=(*report.findings, told))
    words = finding_page(asdict(with_it), finding)["supposed_words"]
    assert words["heading"] == heading
    assert "needed" not in words["hint"]


def test_a_chance_is_not_said_to_rest_on_nothing(render, report):
    told = Finding("chance/jack", "chance", "The jack: chance 4 %.", "weighed", ("line:rewired",))
    with_it = replace(report, findings=(*report.findings, told))
    said = render("finding.html", finding_page(asdict(with_it), "chance/jack")).said
    assert "Nothing is supposed on the way" not in said
    assert "from starting values of practice" in said


def test_a_line_that_stands_beneath_twice_is_told_in_full_once(render, report):
    twice = Finding("both", "state", "Both.", "state", ("reading/pot", "again"))
    again = Finding("again", "reading", "It reads so again.", "mark", ("line:pot-code",))
    with_them = replace(report, findings=(*report.findings, twice, again))
    beneath = unfold(Evidence(asdict(with_them)), "both")["beneath"]
    first, second = (each["beneath"][0] for each in beneath)
    assert (first["is_repeat"], second["is_repeat"]) == (False, True)
    assert first["anchor"] == second["anchor"]
    said = render("finding.html", finding_page(asdict(with_them), "both"))
    assert said.said.count("told in full above") == 1


def test_the_page_says_what_to_examine_next_with_what_it_can_lose(render, report):
    advised = Advice(
        id="read-pan",
        positions=("tuner-pan",),
        reach="open",
        what="read the pan",
        loses="the paint seal breaks",
        date_bits=0.5,
        state_bits=0.25,
        outcomes=(Foreseen("it is read", 0.5, "If it is read (50 %): the date narrows."),),
        sentence="Read the pan: expected to take 0.5 bits from the date. The paint seal breaks.",
        cautions=("solder",),
    )
    said = render(
        "instrument.html", instrument_page(asdict(replace(report, advice=(advised,))))
    ).said
    assert "What to examine next" in said
    assert said.count("he paint seal breaks") == 1
    assert "If it is read (50 %): the date narrows." in said


def test_a_gap_in_custody_is_not_drawn_as_a_holder(report):
    gap = TimelineItem(
        "time.gap.1979", "custody", "Gap: nobody is recorded", "1979-05-02", "1983-12-31"
    )
    svg = time_axis_svg(asdict(replace(report, timeline=(*report.timeline, gap))))
    assert svg.count('class="bar gap"') == 1

"""The pages of a dossier, drawn from a report by hand."""

from __future__ import annotations

import re
from dataclasses import asdict, replace
from html.parser import HTMLParser
from typing import get_args

import pytest

from ledger.advice import Advice, Foreseen
from ledger.basis.hashing import sha256_hex
from ledger.dossier import FORMAT, AsOf, ClaimsThen, Dossier, HandedExhibit, Signing
from ledger.findings import State
from ledger.publish.dossier import css_text, dossier_page
from ledger.publish.dossier_drawings import events_drawings, inward, turned_inwards
from ledger.publish.dossier_lines import lines_told, rows_told
from ledger.publish.evidence import Evidence
from ledger.publish.originality import MEANINGS, meaning_of

VOID = {"meta", "img", "br"}
BLOCKS = {"p", "li", "td", "th", "h1", "h2", "h3", "h4", "dt", "dd", "figcaption", "br", "text"}
LEAVES = re.compile(r"(?:https?:)?//(?!www\.w3\.org/2000/svg)|url\((?!#)", re.IGNORECASE)
# Words that the house does not use without a definition.
TOO_MUCH = re.compile(
    r"\b(authentic\w*|genuine|untouched|mint|all-original|confirmed|rare|certif(?:y|ies|ied))\b",
    re.IGNORECASE,
)


class Reading(HTMLParser):
    """A document as a browser takes it: what is open, what is named, what is said."""

    def __init__(self, page):
        super().__init__(convert_charrefs=True)
        self.ids, self.links, self.elements, self.words, self.open = [], [], [], [], []
        self.feed(page)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        self.handle_startendtag(tag, attrs)
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        given = dict(attrs)
        self.words += [" "] if tag in BLOCKS else []
        assert len(given) == len(attrs)
        self.elements.append((tag, given))
        self.ids += [given["id"]] if "id" in given else []
        self.links += [given["href"]] if "href" in given else []

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if not {"style", "script"} & set(self.open):
            self.words.append(data)

    @property
    def said(self):
        return " ".join("".join(self.words).split())


@pytest.fixture
def dossier(report, picture_bytes):
    """Makes a dossier of the report for a purpose."""

    def made(purpose="report", **more):
        challenge = "other-pot" if purpose == "challenge" else ""
        picture = HandedExhibit(
            sha256_hex(picture_bytes), "The back of the volume pot", ("photo",), 1
        )
        given = {
            "format": FORMAT,
            "purpose": purpose,
            "challenge": challenge,
            "made_at": "2026-03-05T09:00:00Z",
            "by": "",
            "as_of": AsOf(report.sequence, "ab" * 32, "2026-03-02T10:00:00Z"),
            "report": report,
            "exhibits": (replace(picture, media_type="image/png", thumbnail="iVBORw0="),),
        }
        return Dossier(**{**given, **more})

    return made


PURPOSES = ("report", "dating", "challenge")


@pytest.mark.parametrize("purpose", PURPOSES)
def test_a_dossier_is_one_whole_document_that_asks_for_nothing(dossier, purpose):
    page = dossier_page(dossier(purpose), "")
    read = Reading(page)
    assert page.startswith("<!DOCTYPE html>")
    assert len(read.ids) == len(set(read.ids))
    assert {link.removeprefix("#") for link in read.links} <= set(read.ids)
    assert all(link.startswith("#") for link in read.links)
    assert LEAVES.search(re.sub(r'(xmlns|src)="[^"]*"', "", page)) is None
    sources = [given["src"] for tag, given in read.elements if tag == "img"]
    assert all(source.startswith("data:image/") for source in sources)
    names = {tag for tag, _ in read.elements}
    assert names.isdisjoint({"script", "link", "iframe", "object", "form", "input", "button"})
    attributes = {name for _, given in read.elements for name in given}
    assert not [name for name in attributes if name.startswith("on") or name == "style"]
    policy = next(g["content"] for t, g in read.elements if "http-equiv" in g)
    assert policy.startswith("default-src 'none'")
    assert [tag for tag, _ in read.elements].count("h1") == 1


@pytest.mark.parametrize("purpose", PURPOSES)
def test_a_dossier_claims_no_more_than_the_report(dossier, purpose):
    said = Reading(dossier_page(dossier(purpose), "")).said
    assert TOO_MUCH.search(said) is None
    assert "%" in said or purpose != "dating" or "not weighed" in said
    assert "Invented example." in said


def test_text_from_outside_stays_text(dossier, hostile, report):
    made = dossier("challenge", by=hostile, report=replace(report, name=f"</style>{hostile}"))
    page = dossier_page(made, "")
    read = Reading(page)
    assert hostile in read.said
    assert "<script" not in page
    assert page.count("</style>") == 1


def test_the_report_tells_each_position_with_its_state_and_what_was_recorded(dossier):
    said = Reading(dossier_page(dossier(), "")).said
    for words in (
        "On the volume pot stands 3047612. (entry 2; exhibit 1)",
        "presumed first-fitted",
        "Searched, not found: a date in pencil, by raking light over the whole cavity.",
        "Nothing explains the fourth screw.",
        "Who put in the fourth screw?",
        "Old solder holds lead.",
        "It gives no value",
        "EN 16095",
        "by whom is not stated",
    ):
        assert words in said
    assert said.index("Old solder holds lead.") < said.index("Look at the joints of the jack.")
    assert "No work is on record" not in said


def test_what_would_tell_most_comes_with_its_cautions_and_what_it_loses(dossier, report):
    seen = Foreseen("it is read", 0.6, "If it is read (60 %): the date narrows.")
    advice = tuple(
        Advice(
            f"look-{number}",
            ("jack",),
            "open",
            "the joints",
            "the first joint" if number == 0 else "",
            0.5 if number == 0 else 0.0,
            0.1,
            (seen,),
            f"Look at the joints, {number}.",
            is_to_be_had=number != 1,
            cautions=("solder",),
        )
        for number in range(14)
    )
    advised = replace(report, advice=advice)
    told = Reading(dossier_page(dossier(report=advised), "")).said
    assert "Look at the joints, 0. This would lose: the first joint. Caution: solder." in told
    assert "Look at the joints, 1." not in told
    assert "3 more are in the JSON" in told
    assert "the date narrows" not in told
    dating = Reading(dossier_page(dossier("dating", report=advised), "")).said
    assert dating.count("If it is read (60 %): the date narrows.") == 1


def test_every_line_of_the_record_is_told_with_its_entry_and_hash(dossier, report):
    said = Reading(dossier_page(dossier(), "")).said
    for line in report.lines:
        assert line.sentence in said
        assert line.hash[:12] in said


def test_the_dating_statement_tells_both_ends_of_every_event(dossier, report):
    said = Reading(dossier_page(dossier("dating"), "")).said
    assert "Completed" in said
    for dating in report.datings:
        for end in (dating.not_before, dating.not_after):
            assert end.date is None or end.date[:4] in said
    assert said.count("o upper bound known") >= 1
    assert "not a certificate" in said
    assert "Pots were used within five years." in said


def test_an_event_of_which_nothing_is_known_has_two_open_ends(dossier, report):
    undated = replace(report, datings=(), timeline=(), chances=None)
    said = Reading(dossier_page(dossier("dating", report=undated), "")).said
    assert said.count("No lower bound known, no upper bound known.") == 3
    assert "The evidence was not weighed." in said


def test_an_answer_goes_from_the_claim_to_what_would_change_it(dossier):
    then = (ClaimsThen(3, ("The pot was there in 1981.",)),)
    said = Reading(dossier_page(dossier("challenge", claims_then=then), "")).said
    places = [
        said.index(heading)
        for heading in (
            "The challenge “",
            "Nobody has answered it on record.",
            "Claims challenged",
            "Conceded",
            "If the challenger is right",
            "What falls then",
            "What stands all the same",
            "What was observed",
            "Rival explanations",
            "What would change this answer",
            "After entry 3",
        )
    ]
    assert places == sorted(places)
    assert "Raised by somebody who is not named here" in said
    assert "withheld, 2026" not in said
    assert "doubted by the challenger" in said
    assert "as the challenger has it" in said


def test_an_exhibit_that_is_kept_back_is_told_and_not_shown(dossier):
    kept = HandedExhibit("cd" * 32, "The plate", ("photo",), kept_back="kept back")
    page = dossier_page(dossier(exhibits=(kept,)), "")
    read = Reading(page)
    assert "Not shown: kept back." in read.said
    assert "cd" * 32 in read.said
    assert not [tag for tag, _ in read.elements if tag == "img"]


def test_masked_fields_are_counted_beneath_the_picture(dossier):
    assert "(1 field painted over)" in Reading(dossier_page(dossier(), "")).said


SIGNING = Signing(10, "ef" * 32, "2026-03-03T10:00:00Z", "abcdefabcdefabcd", (2, 3), is_whole=True)


@pytest.mark.parametrize(
    ("signing", "told", "not_told"),
    [
        (None, "Nothing here is signed.", "witnessmark verify"),
        (SIGNING, "a change of any byte of it is found", "itself is not signed"),
        (replace(SIGNING, is_whole=False), "The file itself is not signed.", "change of any byte"),
        (
            replace(SIGNING, unproved=(12, 13)),
            "Not under any signature yet: entries 12, 13,",
            "Nothing here is signed",
        ),
    ],
    ids=["nothing", "whole", "entries", "later"],
)
def test_what_is_signed_is_told_plainly(dossier, signing, told, not_told):
    said = Reading(dossier_page(dossier(signing=signing), "")).said
    assert told in said
    assert not_told not in said


UNDER_NONE = replace(SIGNING, proved=(), unproved=(12, 13))


@pytest.mark.parametrize(
    ("signing", "told", "not_told"),
    [
        pytest.param(
            UNDER_NONE, "none of the entries it shows is under a signature", "and the entries",
            id="whole-without-entries",
        ),
        pytest.param(
            replace(UNDER_NONE, is_whole=False),
            "neither the dossier itself nor any of the entries it shows", "entries are proved",
            id="nothing-under-it",
        ),
        pytest.param(
            replace(SIGNING, unproved=(12,)), "2 of the 3 entries it shows", "and the entries",
            id="some",
        ),
        pytest.param(SIGNING, "and the entries it shows", "none of the entries", id="all"),
    ],
)  # fmt: skip
def test_the_head_says_how_many_of_the_entries_shown_are_signed(dossier, signing, told, not_told):
    said = Reading(dossier_page(dossier(signing=signing), "")).said
    assert told in said
    assert not_told not in said


def test_the_proof_stands_once_where_there_is_one(dossier):
    page = dossier_page(dossier(signing=SIGNING), "<b>here</b>")
    assert page.count("<b>here</b>") == 1
    assert "<b>here</b>" not in dossier_page(dossier(signing=SIGNING), "")


def test_the_head_of_every_sheet_names_the_instrument_and_cannot_end_the_style():
    assert css_text("</style>\n\"'\\") == r'"\3c \2f style\3e \a \22 \27 \5c "'


def test_paper_gets_no_broken_figures_and_tables_with_their_heads(dossier):
    style = re.search(r"<style>(.*?)</style>", dossier_page(dossier(), ""), re.DOTALL)[1]
    assert "thead { display: table-header-group; }" in style
    assert re.search(r"figure \{[^}]*break-inside: avoid", style)
    assert "@page" in style
    assert re.search(r"[ {;]size:", style) is None  # the sheet is the printer's to choose


def test_a_dating_statement_tells_only_the_lines_that_bear_on_dates(report):
    evidence = Evidence(asdict(report))
    dating = lines_told(evidence, "dating")
    assert set(dating) <= set(lines_told(evidence, "report"))
    assert "rewired" in dating  # it bounds the completion, by what was told
    assert "no-pencil" not in dating
    assert rows_told(evidence, "challenge", "other-pot") == ("corbel/source-304",)
    assert lines_told(evidence, "challenge", "other-pot") != lines_told(evidence, "report")


def test_links_of_drawings_lead_inwards_or_nowhere():
    svg = '<svg role="group"><a href="/instrument/a#line-b" class="x"><g/></a></svg>'
    assert 'href="#line-b"' in turned_inwards(svg, {"line-b"})
    bare = turned_inwards(svg, ())
    assert bare == '<svg role="img"><g class="x"><g/></g></svg>'
    assert inward("", {"line-b"}) == ""


def test_events_are_drawn_over_one_axis_however_many_drawings_they_take(report):
    data = asdict(report)
    lanes = ("made", "work", "custody", "paper")
    data["timeline"] = [
        {**data["timeline"][0], "id": f"{lane}-{n}", "lane": lane, "label": f"{lane} {n}"}
        for lane in lanes
        for n in range(6)
    ]
    drawn = events_drawings(data, ())
    assert len(drawn) == 4
    ticks = [re.findall(r'<text[^>]*class="tick"[^>]*>([^<]*)<', svg) for svg in drawn]
    assert len({tuple(dict.fromkeys(each)) for each in ticks}) == 1
    assert sum(svg.count("work 3<") > 0 for svg in drawn) == 1


def test_every_state_has_a_meaning_and_none_is_a_share():
    assert set(MEANINGS) == set(get_args(State))
    assert "One of these" in meaning_of(
        ("period replacement", "modern replacement"), "period or modern replacement"
    )
    assert meaning_of(("not examined",), "not applicable").startswith("By what is recorded")
    assert meaning_of((), "something else") == ""

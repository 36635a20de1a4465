"""How lines and rows are put into words; what is withheld never is."""

from __future__ import annotations

import pytest

from ledger.basis.spans import EVER, NO_DAY, Span, Spans, day_number, span_of_year
from ledger.knowledge.packs import Packs, built_in_packs
from ledger.models import SECTIONS, BenchSheet
from ledger.reason.reasoner import reason
from ledger.reason.wording import (
    counted,
    days_as_when,
    days_in_words,
    line_name,
    line_sentence,
    listing,
    soundness,
)
from ledger.record.case import WITHHELD_TEXT, Case, Recorded, withheld_fields
from ledger.reporting import report_json

FIRST = day_number(1970, 1, 1)
BENCH = {"id": "bench", "kind": "examination", "title": "Sitting", "date": "2026-01-05"}
OLD = {"id": "old", "position": "pot.1", "name": "old pot"}
POT = {"source": "bench", "position": "pot.1"}
SHOWN = {"position": "pot.1", "feature": "knob", "value": "SECRET", "same_as_now": "no"}
# A line of every section with everything in words that it can carry.
LINES = {
    "sources": {"kind": "document", "title": "a title", "by": "a writer", "date": "1960"},
    "exhibits": {"file": "f.jpg", "caption": "a caption"},
    "parts": {"position": "pot.1", "name": "a name"},
    "identity": {"source": "bench", "what": "serial", "value": "a value"},
    "marks": {**POT, "text": "HATCH", "method": "by lamp"},
    "measurements": {
        **POT,
        "quantity": "resistance",
        "value": "250 k",
        "uncertainty": "3 %",
        "instrument": "meter",
        "temperature": "20 C",
        "circuit": "isolated",
    },
    "features": {**POT, "feature": "shaft", "value": "split"},
    "traces": {"source": "bench", "trace": "overspray", "positions": ["pot.1"], "method": "by eye"},
    "works": {
        "source": "bench",
        "action": "replaced",
        "positions": ["pot.1"],
        "removed": ["old"],
        "destroyed": "joints",
        "materials": "solder",
    },
    "custody": {"source": "bench", "holder": "a holder", "place": "a place", "begins": "1960"},
    "sightings": {
        "source": "bench",
        "date": "1960",
        "same_instrument": "yes",
        "matched_by": "dings",
        "shows": [SHOWN],
    },
    "papers": {
        "source": "bench",
        "paper": "receipt",
        "says": "sold",
        "event": "first sold",
        "date": "1960",
        "names_this_object": "yes",
    },
    "testimony": {"source": "bench", "says": "a tale", "event": "first sold", "date": "1960"},
    "non_values": {
        "source": "bench",
        "positions": ["pot.1"],
        "value": "not examined",
        "what": "a mark",
        "method": "by eye",
        "why": "sealed",
    },
    "questions": {"question": "a question"},
    "register_searches": {
        "register_name": "a register",
        "date": "2026",
        "asked": "maker",
        "result": "no answer",
    },
    "challenges": {
        "raised": "in public",
        "by": "a column",
        "date": "2026",
        "says": "a doubt",
        "instead": "another tale",
        "positions": ["pot.1"],
    },
    "answers": {
        "challenge": "x",
        "by": "an examiner",
        "date": "2026",
        "says": "an answer",
        "corrects": "a slip",
    },
}
TEXTS = {
    "sources": ("title", "by", "note"),
    "exhibits": ("caption", "note"),
    "parts": ("name", "note"),
    "identity": ("value", "note"),
    "marks": ("text", "method", "note"),
    "measurements": ("quantity", "value", "instrument", "temperature", "circuit", "note"),
    "features": ("feature", "value", "note"),
    "traces": ("method", "note"),
    "works": ("destroyed", "materials", "note"),
    "custody": ("holder", "place", "note"),
    "sightings": ("matched_by", "shows", "note"),
    "papers": ("paper", "says", "note"),
    "testimony": ("says", "question", "dated_by", "note"),
    "non_values": ("what", "method", "why", "note"),
    "questions": ("question", "note"),
    "register_searches": ("asked", "answer", "reference", "by", "note"),
    "challenges": ("by", "says", "instead", "note"),
    "answers": ("by", "says", "corrects", "told", "note"),
}
FIGURES = {"value": "512.7 k"}


def case_with(section, line):
    """A case of one line beside what every case needs."""
    head = {"id": "made-up", "kind": "solid-body-electric", "name": "Made up", "invented": "yes"}
    sheet = {"bench_sheet": "1", "instrument": head, "sources": [BENCH], "parts": [OLD]}
    sheet[section] = [*sheet.get(section, []), {"id": "x", **line}]
    read = BenchSheet.model_validate(sheet)
    lines = {}
    for name in SECTIONS:
        for each in getattr(read, name):
            hiding = withheld_fields(name, each)
            lines[each.id] = Recorded(each, name, len(lines) + 2, "0" * 64, hiding)
    return Case(read.instrument, len(lines) + 1, lines)


@pytest.mark.parametrize(
    ("section", "field"),
    [(section, field) for section, fields in TEXTS.items() for field in fields],
    ids=lambda given: given,
)
def test_a_text_that_is_withheld_is_nowhere_in_the_report(section, field):
    secret = FIGURES.get(field, "SECRET") if section == "measurements" else "SECRET"
    given_texts = {} if field == "shows" else {field: secret}
    shown = () if field == "shows" else {"shows": []} if section == "sightings" else {}
    case = case_with(section, {**LINES[section], **dict(shown), **given_texts, "withhold": [field]})
    report = report_json(reason(case, Packs.of(built_in_packs())))
    assert secret not in report


@pytest.mark.parametrize("section", SECTIONS)
def test_every_kind_of_line_has_a_sentence_and_a_clause(section):
    recorded = case_with(section, LINES[section]).lines["x"]
    said = line_sentence(recorded, lambda place: f"<{place}>")
    assert said
    assert WITHHELD_TEXT not in said.replace("(name withheld)", "")
    assert not soundness(recorded, lambda place: f"<{place}>").endswith(".")


def test_the_holder_of_an_instrument_is_withheld_unasked():
    recorded = case_with("custody", LINES["custody"]).lines["x"]
    said = line_sentence(recorded, str)
    assert said == "Held by a person (name withheld) from 1960 to a day not known."


def test_what_a_work_took_out_is_named_with_whether_it_was_kept():
    work = {**LINES["works"], "retained": "no", "date": "1961", "replacement": "service"}
    said = line_sentence(case_with("works", work).lines["x"], lambda place: f"<{place}>")
    assert said == (
        "<pot.1> replaced by an unknown hand (1961), as a service part. "
        "Taken out: <part/old> (not kept). It destroyed: joints."
    )


def test_an_empty_position_is_told_by_its_presence():
    feature = {**POT, "feature": "presence", "value": "missing"}
    said = line_sentence(case_with("features", feature).lines["x"], lambda place: place)
    assert said == "Pot.1: missing."


@pytest.mark.parametrize(
    ("spans", "words"),
    [
        (EVER, "any day"),
        (NO_DAY, "no day"),
        (Spans.of([span_of_year(1956)]), "1956"),
        (Spans.of([span_of_year(1946), span_of_year(1956)]), "1946 or 1956"),
        (Spans.between(day_number(1956, 3, 1), None), "1956-03-01 or later"),
        (Spans.between(None, day_number(1956, 3, 1)), "1956-03-01 or earlier"),
        (Spans.of([Span(day_number(1956, 3, 1), day_number(1956, 3, 1))]), "1956-03-01"),
        (
            Spans.between(day_number(1956, 3, 1), day_number(1957, 3, 1)),
            "1956-03-01 to 1957-03-01",
        ),
    ],
    ids=lambda given: given if isinstance(given, str) else "",
)
def test_days_are_told_no_closer_than_they_are_known(spans, words):
    assert days_in_words(spans) == words


def test_lists_and_counts_read_as_a_person_would_write_them():
    assert [listing(names) for names in ([], ["nut"], ["nut", "bridge"])] == [
        "",
        "nut",
        "nut and bridge",
    ]
    assert [counted(n, "entry", "entries") for n in (0, 1, 2)] == [
        "0 entries",
        "1 entry",
        "2 entries",
    ]


def _recorded(section, **fields):
    line = SECTIONS[section].model_validate({"id": "one", **fields})
    return Recorded(line, section, 1, "0" * 64)


@pytest.mark.parametrize(
    ("section", "fields", "said"),
    [
        pytest.param(
            "parts", {**OLD, "kept": "lost"}, "Old pot, formerly pot.1; now lost.", id="lost"
        ),
        pytest.param(
            "parts",
            {**OLD, "kept": "elsewhere"},
            "Old pot, formerly pot.1; kept elsewhere.",
            id="kept",
        ),
        pytest.param(
            "features",
            {**POT, "feature": "label", "value": "1956-07-12 in ink"},
            "Pot.1: label, “1956-07-12 in ink”.",
            id="the words of a feature are somebody's own",
        ),
    ],
)
def test_a_line_is_said_in_a_sentence(section, fields, said):
    assert line_sentence(_recorded(section, **fields), lambda name: name) == said


def test_what_was_told_is_not_called_an_account():
    told = _recorded("testimony", source="bench", says="My uncle had it")
    assert soundness(told, str) == "what was told is true (Told: “My uncle had it”)"
    assert "account" not in line_name(told, str)


def test_a_place_that_is_named_with_its_feature_does_not_name_it_twice():
    lettering = _recorded("features", **{**POT, "feature": "lettering", "value": "engraved"})
    assert line_name(lettering, lambda _: "panel and its lettering") == "lettering of the panel"


@pytest.mark.parametrize(
    ("spans", "said"),
    [
        pytest.param([Span(FIRST, FIRST + 9)], "between 1970-01-01 and 1970-01-10", id="run"),
        pytest.param([Span(FIRST, FIRST)], "on 1970-01-01", id="day"),
        pytest.param([span_of_year(1956)], "in 1956", id="year"),
        pytest.param([Span(None, FIRST)], "on 1970-01-01 or earlier", id="open-below"),
        pytest.param(
            [Span(FIRST, FIRST + 9), Span(FIRST + 99, None)],
            "between 1970-01-01 and 1970-01-10 or on 1970-04-10 or later",
            id="two",
        ),
    ],
)
def test_days_stand_behind_a_verb_with_the_word_that_leads_them_in(spans, said):
    assert days_as_when(Spans.of(spans)) == said


def _sentences(found):
    return " ".join(finding.sentence for finding in found.report.findings)


def test_what_was_seen_then_and_is_another_now_is_said_alike_of_one_and_of_several(weigh_sheet):
    shown = {"position": "knobs", "feature": "colour", "value": "white", "same_as_now": "no"}
    seen = {"id": "seen", "date": "1951-07", "same_instrument": "yes", "shows": [shown]}
    said = _sentences(weigh_sheet(sightings=[seen]))
    assert "What was seen then as knobs was another, so what is there now was fitted after" in said
    assert "knobs: colour “white”" in said


def test_a_label_puts_the_completion_between_its_days(weigh_sheet):
    label = {"id": "label", "position": "label", "text": "passed 1931", "reads": "1931-02",
             "bears_on": "completed"}  # fmt: skip
    said = _sentences(weigh_sheet(kind="mandolin", marks=[label]))
    assert "puts the completion between 1930-02-01 and 1932-02-28, allowing 365 days" in said

"""Candidate readings in print and as plain values."""

import json

from ledger.basis.spans import Span, Spans, day_number
from ledger.knowledge.marks import read_mark, read_value
from ledger.knowledge.readings import bound_in_words, readings_as_dict, readings_as_text


def test_what_a_reading_bounds_is_told_with_both_ends():
    day = day_number(1956, 7, 15)
    assert bound_in_words(Spans.between(day, day)) == "1956-07-15"
    assert bound_in_words(Spans.between(None, day)) == "no lower bound; not after 1956-07-15"
    assert bound_in_words(Spans.between(None, None)) == "no bound on either side"
    both = Spans.of([Span(day, day + 1), Span(day + 9, day + 9)])
    assert bound_in_words(both) == "not before 1956-07-15, not after 1956-07-16 or 1956-07-24"
    assert bound_in_words(Spans(())) == "gives no date"


def test_the_plain_form_can_be_written_as_json_and_holds_every_candidate(packs):
    readings, values = read_mark("K4", packs), read_value("K4", packs)
    told = json.loads(json.dumps(readings_as_dict("K4", readings, values)))
    assert told["mark"] == "K4"
    assert [r["reading"] for r in told["readings"]] == ["1978-04", "1998-04", "2018-04"]
    assert told["readings"][0]["days"] == [["1978-04-01", "1978-04-30"]]
    assert told["readings"][0]["is_used"] is False
    assert (told["values"][0]["value"], told["values"][0]["unit"]) == ("400", "Ω")


def test_the_printed_form_names_use_reason_and_source(packs):
    text = readings_as_text("912 658", read_mark("912 658", packs))
    assert "Candidates that no date is drawn from" in text
    assert "No year has a week 58" in text
    assert "Source: Register of source and date codes" in text
    used = readings_as_text("137-423", read_mark("137-423", packs))
    assert "1954, week 23: not before 1954-06-06, not after 1954-06-12 (made)" in used
    assert used.count("Source:") == 1


def test_a_mark_that_nothing_reads_is_said_to_be_that(packs):
    text = readings_as_text("J. Smith", read_mark("J. Smith", packs), read_value("J. Smith", packs))
    assert "Nothing at hand reads it" in text


def test_a_value_is_printed_with_its_limits(packs):
    text = readings_as_text("4K7J", (), read_value("4K7J", packs))
    assert "4.7 kΩ ±5 %" in text

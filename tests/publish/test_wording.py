"""How sentences of a report are worded for a page: days as people write them, names for ids."""

from __future__ import annotations

import json
from dataclasses import asdict

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.publish.percentages import GAP
from ledger.publish.shortening import shortened
from ledger.publish.wording import origin_words, spelled, worded, worded_report

ROWS = {"calder/pan": "Pan: pressed, from 1950-02 to 1953-01 (n=4)."}


@pytest.mark.parametrize(
    ("told", "read"),
    [
        ("fitted not before 1954-02-09;", "fitted not before 9 February 1954;"),
        ("Seen 1951-07: this one", "Seen July 1951: this one"),
        ("made 1945-12-23 to 1946-01-05", "made 23 December 1945 to 5 January 1946"),
        ("made 1945-07-01 to 1945-07-14", "made 1 to 14 July 1945"),
        ("1946-03/1947-02 to 1948-12", "between March 1946 and February 1947 to December 1948"),
        ("in 1951.", "in 1951."),
    ],
    ids=["day", "month", "run-over-two-years", "run-in-a-month", "interval", "year-alone"],
)
def test_a_date_in_a_sentence_is_spelled(told, read):
    assert spelled(told) == read


@pytest.mark.parametrize(
    "kept",
    [
        "the mark “1951-07-03” on the lid",
        "photo-1951-07 and line:1951-07",
        "at 2026-03-02T10:00:00Z",
        "number 1951-0712, part 1951-13",
        "see /instrument/1951-07-03/x",
    ],
    ids=["on-the-object", "id", "moment", "number", "address"],
)
def test_what_is_no_date_or_stands_on_the_object_is_left_alone(kept):
    assert spelled(kept) == kept


def test_a_row_of_a_pack_is_called_by_what_it_says():
    assert worded("that the reference “calder/pan” holds (Pan: pressed (tin), n=4)") == (
        "that the reference row “Pan: pressed (tin), 4 examples” holds"
    )
    assert worded("Leave out the reference “calder/pan” and it falls.", ROWS) == (
        "Leave out the reference row “Pan: pressed, from February 1950 to January 1953 "
        "(4 examples)” and it falls."
    )
    assert worded("the reference “calder/other” is out", ROWS) == (
        "the reference “calder/other” is out"
    )


def test_a_withheld_mark_is_not_told_as_if_it_read_withheld():
    assert worded("Chassis bears “withheld”, partial.") == "Chassis bears a withheld mark, partial."
    assert worded("Completed, by the mark “withheld”.") == "Completed, by the withheld mark."


def test_shares_are_told_as_percentages_and_only_shares():
    said = worded("“Chosen to match” (share; practice/mix) is taken as 0.2 (between 0.1 and 0.4).")
    assert said == f"“Chosen to match” is taken as 20{GAP}% (between 10{GAP}% and 40{GAP}%)."
    weeks = "“Completed to dispatched” (weeks; practice/lag) is taken as 6 (between 0 and 13)."
    assert worded(weeks) == "“Completed to dispatched” (weeks) is taken as 6 (between 0 and 13)."
    assert worded("gives it a chance of 0.04: no") == f"gives it a chance of 4.0{GAP}%: no"


def test_where_a_starting_value_is_from_is_told_without_an_id():
    for told in ("catalogue-mandolin/mandolin at 97 years", "practice/sound-worn-mark, and so"):
        assert "/" not in origin_words(told)


def test_a_worded_report_keeps_ids_dates_and_hashes(report):
    whole = json.loads(json.dumps(asdict(report)))
    shown = worded_report(whole)
    assert [each["id"] for each in shown["findings"]] == [each["id"] for each in whole["findings"]]
    assert shown["datings"][0]["not_before"]["date"] == whole["datings"][0]["not_before"]["date"]
    assert [each["hash"] for each in shown["lines"]] == [each["hash"] for each in whole["lines"]]
    assert [each["source"] for each in shown["lines"]] == [
        each["source"] for each in whole["lines"]
    ]
    assert shown["timeline"][0]["begins"] == whole["timeline"][0]["begins"]


def test_a_worded_report_says_what_it_said_in_one_wording(report):
    whole = json.loads(json.dumps(asdict(report)))
    whole["lines"][0]["sentence"] = "Looked at on 1976-03-14."
    assert worded_report(whole)["lines"][0]["sentence"] == "Looked at on 14 March 1976."


def test_long_lists_of_days_are_counted_in_either_wording():
    iso = "Made 1945-07-01 to 1945-07-14 or 1955-07-03 to 1955-07-09 or 1965-07 or 1975-07."
    told = shortened(spelled(iso))
    assert told == "Made 1 to 14 July 1945 or 3 to 9 July 1955 or 2 more runs of days."
    assert shortened(iso).endswith("or 2 more runs of days.")


@settings(max_examples=200)
@given(st.text(alphabet=" “”()-/:;.%n=1950-12abcthereference", max_size=60))
def test_wording_a_text_again_changes_nothing_more(text):
    once = worded(text)
    assert worded(once) == once


def test_a_name_that_holds_a_date_stays_as_it_is_written(report):
    whole = json.loads(json.dumps(asdict(report)))
    whole["name"] = "A 1956-07-12 thing"
    assert worded_report(whole)["name"] == "A 1956-07-12 thing"

from __future__ import annotations

import json
from dataclasses import asdict, replace
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.publish.chance_drawing import chance_bar
from ledger.publish.chance_sections import chances, chances_by_position
from ledger.publish.curve_drawing import Curve
from ledger.publish.drawings import date_bounds_svg
from ledger.publish.evidence import Evidence
from ledger.publish.percentages import percent, percent_range
from ledger.publish.time_rows import NARROW_UNITS, WIDE_UNITS


def evidence_of(report):
    return Evidence(json.loads(json.dumps(asdict(report))))


@pytest.fixture
def told(report):
    return chances(evidence_of(report))


def test_the_headline_tells_the_likeliest_weeks_with_their_widest_ends(told):
    sentence = told["headline"]["sentence"]
    assert (
        "95\xa0% of the chance puts its completion between 14 March and 9 October 1976" in sentence
    )
    assert "between 24 October 1976 and 1 January 1978" in sentence
    assert "1 March 1978" in sentence
    assert told["headline"]["href"].endswith("/finding/bound/pot")


def test_where_nothing_explains_the_evidence_only_that_is_said(report):
    weighed = replace(report.chances, is_possible=False, note="Nothing explains it.")
    found = chances(evidence_of(replace(report, chances=weighed)))
    assert found["headline"] == {"sentence": "Nothing explains it.", "href": ""}


def test_a_report_that_was_not_weighed_says_nothing_of_chances(report):
    plain = evidence_of(replace(report, chances=None))
    assert chances(plain) is None
    assert chances_by_position(plain) == {}
    assert "How likely" not in date_bounds_svg(asdict(replace(report, chances=None)))


def test_a_chance_stands_with_its_range_verdict_and_finding(report):
    shown = chances_by_position(evidence_of(report))["jack"]
    assert shown["chance"] == "4.0\xa0%"
    assert shown["range"] == "under 0.1\xa0% to 14\xa0%"
    assert shown["verdict"] == "likelier not the first"
    assert shown["ways"] == "in ordinary repair 67\xa0%; chosen to match 19\xa0%"
    assert shown["href"].endswith("/finding/state/jack")


def test_of_parts_fitted_as_one_the_chance_is_told_once(report):
    shown = chances_by_position(evidence_of(report))
    assert shown["body"]["as_position"] == ""
    assert shown["pot.volume"]["as_position"] == "position-body"
    assert shown["body"]["verdict"] == "cannot be told (the 2 as one)"


def test_a_part_that_is_no_longer_in_place_is_told_apart(told):
    assert [part["name"] for part in told["parts"]] == ["The part part/old-jack"]


def test_weights_are_told_by_statement_for_and_against(told):
    first, second = told["weights"]
    assert (first["weights"][0]["ratio"], first["weights"][0]["words"]) == (
        "42 to 1 for",
        "moderate support for it",
    )
    assert first["weights"][0]["without"] == "Without it the chance would be 3 %."
    assert second["weights"][0]["ratio"] == "50 to 1 against"
    assert second["weights"][0]["is_together"]
    assert told["weights_count"] == 2


@given(st.floats(0, 1), st.floats(0, 1))
def test_no_chance_is_rounded_to_certainty(one, other):
    for words in (percent(one), percent_range(min(one, other), max(one, other))):
        figures = words.replace("\xa0%", "").replace("to", " ").split()
        assert "100" not in figures
        assert "0" not in figures or "under" in figures


@given(st.floats(0, 1), st.floats(0, 1), st.floats(0, 1))
def test_a_bar_is_an_image_that_says_what_it_shows(chance, low, high):
    low, high = min(low, high), max(low, high)
    root = ET.fromstring(chance_bar(chance, low, high, "chance <told>"))  # noqa: S314 - our own
    assert root.get("role") == "img"
    assert root[0].text == "chance <told>"


@pytest.mark.parametrize("width", [WIDE_UNITS, NARROW_UNITS], ids=["wide", "narrow"])
def test_the_curve_is_told_in_words_and_marks_every_end_of_the_likeliest_weeks(report, width):
    plain = asdict(report)
    root = ET.fromstring(date_bounds_svg(plain, width=width))  # noqa: S314 - our own
    classes = [node.get("class") for node in root.iter()]
    assert classes.count("curve-fence") == 4
    assert classes.count("curve-region") == 2
    assert classes.count("curve-median") == 1
    description = "".join(node.text or "" for node in root if node.tag.endswith("desc"))
    assert "95\xa0% of the chance lies in" in description


def test_the_area_under_the_curve_keeps_within_its_room(report):
    curve = Curve.of_event(asdict(report), "completed", lambda _: "")
    assert curve is not None
    first, last = curve.outer_days
    assert all(first <= day <= last for span in curve.region for day in span)
    assert curve.most == max(chance for _, chance in curve.weeks)

"""Chains under the findings of a report: down to the lines, their sources and exhibits."""

from __future__ import annotations

from dataclasses import replace

import pytest

from ledger.errors import UnknownName
from ledger.findings import Finding
from ledger.reason.explain import explain

CODE = {"id": "code", "position": "pot.1", "text": "912-6614", "exhibits": ["photo"]}
PHOTO = {"id": "photo", "file": "pot.jpg", "caption": "Back of the pot"}


@pytest.fixture
def report(weigh_sheet):
    return weigh_sheet(marks=[CODE], exhibits=[PHOTO]).report


def nodes(node):
    yield node
    for below in node.below:
        yield from nodes(below)


def test_the_date_of_completion_comes_down_to_the_mark_its_source_and_its_exhibit(report):
    end = next(d.not_before for d in report.datings if d.event == "completed")
    found = explain(report, end.finding)
    seen = {node.id: node for node in nodes(found.top)}
    assert found.top.text == end.sentence
    line = seen["line:code"]
    assert [(node.kind, node.id) for node in line.below] == [
        ("source", "line:bench"),
        ("exhibit", "line:photo"),
    ]
    assert all(node.place.startswith("entry ") for node in (line, *line.below))
    assert {s.id for s in found.supposes} >= {"first-fitted:pot.1", "sound:code"}


def test_a_row_of_a_pack_is_told_with_its_source_and_how_sure_it_is(weigh_sheet):
    row = {
        "id": "early",
        "position": "body",
        "feature": "shape",
        "value": "early",
        "begins": "1955",
        "ends": "1957",
        "n": 12,
    }
    feature = {"id": "shape", "position": "body", "feature": "shape", "value": "early"}
    found = weigh_sheet(features=[feature], pack={"timelines": [row]}).report
    end = next(d.not_after for d in found.datings if d.event == "completed")
    told = {node.id: node for node in nodes(explain(found, end.finding).top)}
    node = told["reference:tiny-pack/early"]
    assert node.kind == "reference"
    assert "common practice, no source" in node.place
    assert node.place.endswith("confidence high, n=12")


def test_a_source_that_is_not_in_the_report_is_passed_over(report):
    lines = tuple(
        replace(line, source="gone", exhibits=("gone",)) if line.id == "code" else line
        for line in report.lines
    )
    end = next(d.not_before for d in report.datings if d.event == "completed")
    found = explain(replace(report, lines=lines), end.finding)
    line = next(node for node in nodes(found.top) if node.id == "line:code")
    assert line.below == ()


def test_a_finding_that_rests_on_itself_is_told_as_a_circle(report):
    one = Finding("one", "bound", "One.", "a rule", ("two",), ("sound:code",))
    two = Finding("two", "bound", "Two.", "a rule", ("one",), ("sound:code",))
    found = explain(replace(report, findings=(one, two)), "one")
    kinds = [(node.id, node.kind) for node in nodes(found.top)]
    assert kinds == [("one", "bound"), ("two", "bound"), ("one", "circle")]
    assert [s.id for s in found.supposes] == ["sound:code"]


def test_a_premise_that_is_not_there_is_said_to_be_missing(report):
    premises = ("line:gone", "reference:pack/gone", "gone")
    one = Finding("one", "bound", "One.", "a rule", premises)
    found = explain(replace(report, findings=(one,)), "one")
    assert [(node.id, node.kind) for node in found.top.below] == [(p, "missing") for p in premises]


def test_a_finding_that_the_report_does_not_have_is_refused_by_name(report):
    with pytest.raises(UnknownName, match=r"completed\.not-befor"):
        explain(report, "completed.not-befor")

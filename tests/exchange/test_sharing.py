"""Whether two lines of support have anything to do with one another."""

from __future__ import annotations

import pytest

from ledger.exchange.sharing import pairs_of_supports, shared_by, shared_by_findings


@pytest.fixture
def two(small_graph):
    """Two statements on a line and a row each, of two sources."""
    graph = small_graph(
        {"S0": [("L0", "R0", "P0")], "S1": [("L1", "R1", "P1")]}, {"L0": "C0", "L1": "C1"}
    )
    for row in ("reference:R0", "reference:R1"):
        graph.nodes[row]["source"] = f"the list of {row}"
    for source in ("line:C0", "line:C1"):
        graph.nodes[source]["source_kind"] = "examination"
    return graph


def test_two_chains_that_share_nothing_are_independent(two):
    shared = shared_by_findings(two, "S0", "S1")
    assert shared.is_independent
    assert shared.sources == shared.sittings == ()


def test_two_sources_of_one_examiner_on_one_day_are_one_sitting(two):
    for source in ("line:C0", "line:C1"):
        two.nodes[source].update(by="examiner A", date="2026-01-05")
    shared = shared_by_findings(two, "S0", "S1")
    assert shared.sittings == ("examiner A, 2026-01-05",)
    assert not shared.is_independent


def test_one_examiner_on_two_days_is_told_and_is_no_dependence(two):
    two.nodes["line:C0"].update(by="examiner A", date="2026-01-05")
    two.nodes["line:C1"].update(by="examiner A", date="2026-02-05")
    shared = shared_by_findings(two, "S0", "S1")
    assert shared.examiners == ("examiner A",)
    assert shared.is_independent


@pytest.mark.parametrize("by", ["withheld", "unknown"])
def test_two_sources_of_nobody_named_are_not_one_sitting(two, by):
    for source in ("line:C0", "line:C1"):
        two.nodes[source].update(by=by, date="2026-01-05")
    assert shared_by_findings(two, "S0", "S1").is_independent


def test_copies_of_one_paper_are_one(small_graph):
    graph = small_graph(
        {"S0": [("L0",)], "S1": [("L1",)]},
        {"L0": "C0", "L1": "C1"},
        {"C0": "C2", "C1": "C2"},
    )
    shared = shared_by_findings(graph, "S0", "S1")
    assert shared.origins == ("line:C2",)
    assert not shared.is_independent


def test_two_rows_of_one_publication_are_not_independent(two):
    for row in ("reference:R0", "reference:R1"):
        two.nodes[row]["source"] = "one list"
    assert shared_by_findings(two, "S0", "S1").publications == ("one list",)
    for row in ("reference:R0", "reference:R1"):
        two.nodes[row]["source"] = "Common practice, no source"
    assert shared_by_findings(two, "S0", "S1").is_independent


def test_a_shared_row_line_or_supposition_is_named(small_graph):
    graph = small_graph({"S0": [("L0", "R0", "P0")], "S1": [("L0", "R0", "P0")]})
    shared = shared_by(graph, ["line:L0", "reference:R0", "supposition:P0"], ["line:L0"])
    assert (shared.lines, shared.references, shared.suppositions) == (("line:L0",), (), ())
    shared = shared_by_findings(graph, "S0", "S1")
    assert shared.references == ("reference:R0",)
    assert shared.suppositions == ("supposition:P0",)


def test_two_marks_read_at_one_sitting_are_two_chains_and_not_independent(weigh_lines):
    codes = [
        {"id": "one", "position": "pot.1", "text": "912-5614"},
        {"id": "two", "position": "pot.2", "text": "912-5614"},
    ]
    found = weigh_lines(marks=codes)
    end = next(d.not_before for d in found.report.datings if d.event == "completed")
    (pair,) = pairs_of_supports(found.graph, end.finding)
    assert not pair.shared.is_independent
    assert pair.shared.sources == ("line:bench",)
    assert pair.shared.lines == ()
    assert len(pair.shared.references) == 1

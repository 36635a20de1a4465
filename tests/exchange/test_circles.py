"""Circles: premises that run round, rows built on this instrument, one paper twice."""

from __future__ import annotations

import networkx as nx
from hypothesis import given
from hypothesis import strategies as st

from ledger.exchange.circles import circles

NAMES = ("S0", "S1", "S2")
STEPS = st.fixed_dictionaries(
    {
        name: st.lists(
            st.lists(st.sampled_from((*NAMES, "L0")), max_size=2, unique=True).map(tuple),
            min_size=1,
            max_size=2,
        )
        for name in NAMES
    }
)


@given(STEPS)
def test_statements_in_a_circle_are_those_on_a_cycle_of_networkx(small_graph, steps):
    graph = small_graph(steps)
    ways = nx.DiGraph((t, h) for t, h, data in graph.edges(data=True) if data["bears"])
    on_cycles = {node for cycle in nx.simple_cycles(ways) for node in cycle}
    found = circles(graph)
    assert {node for circle in found for node in circle.nodes} == on_cycles
    assert all(circle.kind == "premises" for circle in found)


def test_the_samples_have_no_circle_of_premises(sample):
    assert not any(circle.kind == "premises" for circle in circles(sample.graph))


def test_a_row_with_this_instrument_among_its_examples_is_told(samples):
    graph = samples["whinchat-mandolin"].graph
    (circle,) = [each for each in circles(graph) if each.kind == "own example"]
    row, line = circle.nodes
    assert row.startswith("reference:calverock/")
    assert line.startswith("line:")
    assert graph.has_edge(row, line, key="built on")
    assert "only as far as it stands without it" in circle.sentence


TIMELINE = {
    "id": "early",
    "position": "body",
    "feature": "shape",
    "value": "early",
    "begins": "1955",
    "ends": "1957",
    "n": 12,
}
FEATURE = {"id": "shape", "position": "body", "feature": "shape", "value": "early"}


def test_a_row_and_a_line_of_one_paper_are_told_as_one_author(weigh_lines):
    paper = {"id": "book", "kind": "publication", "title": "The Book of Corners"}
    row = {**TIMELINE, "source": "the book of corners, second printing, page 4"}
    found = weigh_lines(
        pack={"timelines": [row]}, sources=[paper], features=[{**FEATURE, "source": "book"}]
    )
    (circle,) = circles(found.graph)
    assert circle.kind == "one paper"
    assert circle.nodes == ("reference:tiny-pack/early", "line:book")
    assert circle.findings


def test_a_row_whose_source_names_the_instrument_is_told(weigh_lines):
    row = {**TIMELINE, "source": "drawn up from five, a tiny case among them"}
    found = weigh_lines(pack={"timelines": [row]}, features=[FEATURE])
    assert [circle.kind for circle in circles(found.graph)] == ["names this instrument"]


def test_a_row_of_another_source_is_no_circle(weigh_lines):
    row = {**TIMELINE, "source": "a survey of dated examples"}
    assert circles(weigh_lines(pack={"timelines": [row]}, features=[FEATURE]).graph) == ()

"""What rests on a line, a source, an examiner or a row."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.errors import UnknownName
from ledger.exchange.resting import (
    examiners,
    load_bearing,
    named_thing,
    resting_on,
    sources_by,
)
from ledger.exchange.support import decisive, minimal_supports

NAMES = ("S0", "S1", "S2")
NEEDS = st.lists(st.sampled_from((*NAMES, "L0", "L1", "R0", "P0")), max_size=2, unique=True)
STEPS = st.fixed_dictionaries(
    {name: st.lists(NEEDS.map(tuple), min_size=1, max_size=2) for name in NAMES}
)


@given(STEPS)
def test_what_falls_with_a_line_is_what_has_it_in_every_support(small_graph, steps):
    graph = small_graph({**steps, "S9": [("L0",), ("L1",)]})
    resting = resting_on(graph, ["line:L0"])
    for name in (*NAMES, "S9"):
        supports = minimal_supports(graph, name).found
        falls = bool(supports) and all("line:L0" in support for support in supports)
        assert (f"finding:{name}" in resting.falls) == falls
        assert falls == ("line:L0" in decisive(graph, name))
        uses = any("line:L0" in support for support in supports)
        assert not uses or f"finding:{name}" in (*resting.falls, *resting.weakened)


def test_a_statement_with_another_chain_is_weakened_and_does_not_fall(small_graph):
    resting = resting_on(small_graph({"S0": [("L0",), ("L1",)], "S1": [("L0",)]}), ["line:L0"])
    assert resting.falls == ("finding:S1",)
    assert resting.weakened == ("finding:S0",)


def test_what_rests_on_all_that_one_examiner_saw_is_asked_by_their_sources(small_graph):
    graph = small_graph({"S0": [("L0",)], "S1": [("L1",)]}, {"L0": "C0", "L1": "C1"})
    graph.nodes["line:C0"]["by"] = graph.nodes["line:C1"]["by"] = "examiner A"
    assert sources_by(graph, "examiner A") == ("line:C0", "line:C1")
    resting = resting_on(graph, sources_by(graph, "examiner A"))
    assert resting.falls == ("finding:S0", "finding:S1")


@pytest.mark.parametrize("by", ["withheld", "", "unknown", "Unknown hand"])
def test_nobody_can_be_asked_for_by_a_name_that_is_none(small_graph, by):
    graph = small_graph({"S0": [("L0",)]}, {"L0": "C0"})
    graph.nodes["line:C0"]["by"] = by
    assert examiners(graph) == {}
    with pytest.raises(UnknownName, match="no examiner named"):
        sources_by(graph, by)


def test_the_lines_that_bear_most_come_first_and_those_that_bear_nothing_not_at_all(small_graph):
    graph = small_graph({"S0": [("L0",)], "S1": [("L0", "L1")], "S2": [("L2",), ("L3",)]})
    for name in NAMES:
        graph.nodes[f"finding:{name}"]["is_told"] = True
    loads = load_bearing(graph)
    assert [(load.on, load.told) for load in loads] == [
        ("line:L0", ("finding:S0", "finding:S1")),
        ("line:L1", ("finding:S1",)),
    ]


def test_what_a_line_bears_is_what_rests_on_it(sample):
    for load in load_bearing(sample.graph, ("assertion", "reference statement"))[::4]:
        resting = resting_on(sample.graph, [load.on])
        assert load.falls == resting.falls
        assert load.told == resting.falls_told(sample.graph)


def test_lines_and_rows_are_named_as_in_the_report(samples):
    graph = samples["dunnock-lap-steel"].graph
    assert named_thing(graph, "old-volume-code") == "line:old-volume-code"
    row = "calverock/dunnock-underside"
    assert named_thing(graph, row) == f"reference:{row}"
    with pytest.raises(UnknownName, match="Did you mean 'old-volume-code'"):
        named_thing(graph, "old-volume-cod")

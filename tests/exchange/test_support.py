"""What a statement stands on: held against every subset, networkx, and the report's own chains."""

from __future__ import annotations

from itertools import chain, combinations

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.errors import UnknownName
from ledger.exchange.support import (
    above,
    bearing,
    beneath,
    decisive,
    falling,
    grounds_of,
    minimal_supports,
    standing,
    suppositions_beneath,
)
from ledger.reason.explain import explain

STATEMENTS = ("S0", "S1", "S2", "S3")
GROUNDS = ("L0", "L1", "R0", "P0", "P1")
NEEDS = st.lists(st.sampled_from(STATEMENTS + GROUNDS), max_size=3, unique=True).map(tuple)
STEPS = st.fixed_dictionaries(
    {name: st.lists(NEEDS, min_size=1, max_size=3) for name in STATEMENTS}
)


def subsets(names):
    given = sorted(names)
    return chain.from_iterable(combinations(given, size) for size in range(len(given) + 1))


def stands_by_trying(steps, grounds):
    """Which statements can be built up from the grounds: round after round, until none is new."""
    known = set(grounds)
    while True:
        fresh = {
            name
            for name, given in steps.items()
            if name not in known and any(set(needs) <= known for needs in given)
        }
        if not fresh:
            return known - set(grounds)
        known |= fresh


def short(node):
    return node.partition(":")[2]


def minimal_by_trying(steps, statement):
    found = []
    for subset in subsets(GROUNDS):
        is_enough = statement in stands_by_trying(steps, subset)
        if is_enough and not any(set(each) <= set(subset) for each in found):
            found.append(subset)
    return {frozenset(each) for each in found}


@given(STEPS)
def test_minimal_supports_are_those_found_by_trying_every_subset(small_graph, steps):
    graph = small_graph(steps)
    for name in STATEMENTS:
        supports = minimal_supports(graph, name)
        assert supports.is_complete
        told = [frozenset(map(short, each)) for each in supports.found]
        assert len(told) == len(set(told))
        assert set(told) == minimal_by_trying(steps, name)


@given(STEPS)
def test_decisive_grounds_are_those_in_every_minimal_support(small_graph, steps):
    graph = small_graph(steps)
    for name in STATEMENTS:
        found = minimal_by_trying(steps, name)
        common = frozenset.intersection(*found) if found else frozenset()
        assert frozenset(map(short, decisive(graph, name))) == common


@given(STEPS, st.sets(st.sampled_from(GROUNDS + STATEMENTS)))
def test_what_falls_is_what_cannot_be_built_up_again(small_graph, steps, gone):
    graph = small_graph(steps)
    left = {name: given for name, given in steps.items() if name not in gone}
    before = stands_by_trying(steps, GROUNDS)
    after = stands_by_trying(left, set(GROUNDS) - gone)
    named = [node for node in graph if short(node) in gone and not node.startswith("step:")]
    assert {short(node) for node in falling(graph, named)} == before - after


@given(STEPS)
def test_all_that_is_beneath_is_what_networkx_reaches_on_bearing_edges(small_graph, steps):
    graph = small_graph(steps)
    bears = nx.DiGraph((t, h) for t, h, data in graph.edges(data=True) if data["bears"])
    bears.add_nodes_from(graph)
    for node in graph:
        assert beneath(graph, node) == nx.descendants(bears, node) - {node}
        assert above(graph, [node]) == nx.ancestors(bears, node) - {node}


ONE_NEED = st.fixed_dictionaries(
    {
        name: st.lists(st.sampled_from(STATEMENTS + GROUNDS).map(lambda n: (n,)), min_size=1)
        for name in STATEMENTS
    }
)


@given(ONE_NEED, st.sampled_from(GROUNDS))
def test_where_every_step_needs_one_thing_standing_is_a_way_down_in_networkx(
    small_graph, steps, gone
):
    graph = small_graph(steps)
    ways = nx.DiGraph(graph)
    ways.remove_nodes_from([node for node in graph if short(node) == gone])
    stood = standing(graph, [node for node in graph if short(node) == gone])
    for name in STATEMENTS:
        down = nx.descendants(ways, f"finding:{name}")
        assert (f"finding:{name}" in stood) == any(short(node) in GROUNDS for node in down)


def test_a_line_falls_with_its_source_and_with_what_the_source_was_copied_from(small_graph):
    graph = small_graph({"S0": [("L0",)]}, {"L0": "C0"}, {"C0": "C1"})
    for gone in ("line:L0", "line:C0", "line:C1"):
        assert falling(graph, [gone]) == {"finding:S0"}
    assert minimal_supports(graph, "S0").found == (("line:L0",),)


def test_a_statement_with_two_chains_names_the_reported_one_first(small_graph):
    graph = small_graph({"S0": [("L1", "P1", "P0"), ("L0", "P0")]})
    assert minimal_supports(graph, "S0").found == (
        ("line:L1", "supposition:P0", "supposition:P1"),
        ("line:L0", "supposition:P0"),
    )
    assert decisive(graph, "S0") == ("supposition:P0",)
    assert grounds_of(graph, "finding:S0", reported=True) == (
        "line:L1",
        "supposition:P0",
        "supposition:P1",
    )


def test_statements_that_only_hold_one_another_up_do_not_stand(small_graph):
    graph = small_graph({"S0": [("S1",)], "S1": [("S0",), ("L0", "S0")]})
    assert minimal_supports(graph, "S0").found == ()
    assert decisive(graph, "S0") == ()
    assert "finding:S1" not in standing(graph)


def test_a_statement_that_needs_nothing_has_the_empty_support(small_graph):
    assert minimal_supports(small_graph({"S0": [()]}), "S0").found == ((),)


def test_where_there_are_more_supports_than_asked_for_it_is_said(small_graph):
    graph = small_graph({"S0": [("L0",), ("L1",), ("R0",)]})
    supports = minimal_supports(graph, "S0", at_most=2)
    assert (len(supports.found), supports.is_complete) == (2, False)
    assert minimal_supports(graph, "S0", at_most=3).is_complete


@pytest.mark.parametrize("ask", [minimal_supports, decisive, suppositions_beneath])
def test_a_finding_that_is_not_there_is_refused_by_name(small_graph, ask):
    with pytest.raises(UnknownName, match="Did you mean 'S0'"):
        ask(small_graph({"S0": [()]}), "S01")


# -- the samples -------------------------------------------------------------------------------


def explained(node):
    """The explanation's nodes by the names of the graph, with their children."""
    own = node.id if node.id.startswith(("line:", "reference:")) else f"finding:{node.id}"
    yield own, tuple(below.id for below in node.below)
    for below in node.below:
        yield from explained(below)


def through_steps(graph, node):
    """What stands directly under a statement in the chain that is reported, by its edges."""
    for head in bearing(graph, node, reported=True):
        if graph.nodes[head]["kind"] == "rule application":
            for taken in graph.out_edges(head, data=True):
                if taken[2]["kind"] == "takes":
                    yield taken[2]["place"], taken[1]


def test_the_chain_of_every_finding_is_the_one_that_the_report_explains(sample):
    for finding in sample.report.findings:
        top = explain(sample.report, finding.id).top
        for node, below in explained(top):
            if not node.startswith("finding:"):
                continue
            told = [
                name.removeprefix("finding:")
                for _, name in sorted(through_steps(sample.graph, node))
            ]
            assert tuple(told) == below


def test_what_is_beneath_a_finding_is_what_the_explanation_unfolds(sample):
    pictures = {n for n, data in sample.graph.nodes(data=True) if data["kind"] == "exhibit"}
    for finding in sample.report.findings:
        unfolded = {name for name, _ in explained(explain(sample.report, finding.id).top)}
        found = beneath(sample.graph, f"finding:{finding.id}", reported=True)
        told = {name for name in found if not name.startswith(("step:", "supposition:"))}
        copied = {
            head for _, head, data in sample.graph.edges(data=True) if data["kind"] == "copied from"
        }
        assert unfolded - pictures - {f"finding:{finding.id}"} <= told
        assert told - unfolded <= copied


def test_what_is_supposed_beneath_a_finding_is_what_the_explanation_says(sample):
    for finding in sample.report.findings:
        told = {each.id for each in explain(sample.report, finding.id).supposes}
        assert set(suppositions_beneath(sample.graph, finding.id)) == told


def test_the_lines_and_rows_an_end_falls_without_are_those_that_the_report_says_move_it(sample):
    ends = [e for d in sample.report.datings for e in (d.not_before, d.not_after) if e.finding]
    assert ends
    for end in ends:
        needed = {n for n in decisive(sample.graph, end.finding) if not n.startswith("supp")}
        assert needed == {shift.without for shift in end.shifts}


def test_every_finding_of_the_samples_stands(sample):
    stood = standing(sample.graph)
    assert all(f"finding:{finding.id}" in stood for finding in sample.report.findings)

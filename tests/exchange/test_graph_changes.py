"""What is in one graph and not in another."""

from __future__ import annotations

import networkx as nx
from hypothesis import given
from hypothesis import strategies as st

from ledger.exchange.graph_changes import changes_between

NODES = st.dictionaries(st.sampled_from("abcd"), st.integers(0, 2))


@st.composite
def graphs(draw):
    graph = nx.MultiDiGraph()
    for name, value in draw(NODES).items():
        graph.add_node(name, value=value)
    ends = st.sampled_from(sorted(graph) or ["a"])
    for tail, head, place in draw(st.lists(st.tuples(ends, ends, st.integers(1, 2)), max_size=5)):
        graph.add_edge(tail, head, key="takes", place=place)
    return graph


@given(graphs(), graphs())
def test_making_the_changes_turns_the_one_into_the_other(before, after):
    changes = changes_between(before, after)
    made = before.copy()
    made.remove_edges_from(changes.edges_removed)
    made.remove_nodes_from(changes.nodes_removed)
    for name in (*changes.nodes_added, *changes.nodes_changed):
        made.add_node(name)
        made.nodes[name].clear()
        made.nodes[name].update(after.nodes[name])
    for tail, head, key in (*changes.edges_added, *changes.edges_changed):
        made.add_edge(tail, head, key=key, **after.edges[tail, head, key])
    assert nx.utils.graphs_equal(made, after)
    assert changes.is_empty == nx.utils.graphs_equal(before, after)


@given(graphs(), graphs())
def test_the_changes_back_are_the_changes_turned_round(before, after):
    there, back = changes_between(before, after), changes_between(after, before)
    assert (there.nodes_added, there.edges_added) == (back.nodes_removed, back.edges_removed)
    assert (there.nodes_changed, there.edges_changed) == (back.nodes_changed, back.edges_changed)

"""What is in one evidence graph and not in another.

Nodes are the same if they have the same name, edges if they have the same ends and kind; those
whose fields differ are changed. The graphs need not be of one instrument.
"""

from __future__ import annotations

from dataclasses import dataclass

from ledger.exchange.graph import EvidenceGraph

EdgeName = tuple[str, str, str]


@dataclass(frozen=True, slots=True)
class GraphChanges:
    """Names of nodes and edges (tail, head, kind) that came, went or changed, each sorted."""

    nodes_added: tuple[str, ...]
    nodes_removed: tuple[str, ...]
    nodes_changed: tuple[str, ...]
    edges_added: tuple[EdgeName, ...]
    edges_removed: tuple[EdgeName, ...]
    edges_changed: tuple[EdgeName, ...]

    @property
    def is_empty(self) -> bool:
        """Whether the two graphs are the same but for what is said of the whole."""
        return not (
            self.nodes_added
            or self.nodes_removed
            or self.nodes_changed
            or self.edges_added
            or self.edges_removed
            or self.edges_changed
        )


def changes_between(before: EvidenceGraph, after: EvidenceGraph) -> GraphChanges:
    """What came, went and changed from one graph to the other.

    >>> import networkx as nx
    >>> one, other = nx.MultiDiGraph(), nx.MultiDiGraph()
    >>> one.add_node("a", sentence="x")
    >>> other.add_node("a", sentence="y")
    >>> changes_between(one, other).nodes_changed
    ('a',)
    """
    nodes = {name: before.nodes[name] for name in before}
    new_nodes = {name: after.nodes[name] for name in after}
    edges = {
        (tail, head, kind): data for tail, head, kind, data in before.edges(keys=True, data=True)
    }
    new_edges = {
        (tail, head, kind): data for tail, head, kind, data in after.edges(keys=True, data=True)
    }
    return GraphChanges(
        tuple(sorted(new_nodes.keys() - nodes.keys())),
        tuple(sorted(nodes.keys() - new_nodes.keys())),
        tuple(sorted(n for n in nodes.keys() & new_nodes.keys() if nodes[n] != new_nodes[n])),
        tuple(sorted(new_edges.keys() - edges.keys())),
        tuple(sorted(edges.keys() - new_edges.keys())),
        tuple(sorted(e for e in edges.keys() & new_edges.keys() if edges[e] != new_edges[e])),
    )

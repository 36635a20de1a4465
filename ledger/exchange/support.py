"""What does a statement stand on: altogether, at the least, and without what does it fall?

A statement *stands* while one of its rule applications does; a rule application stands while all
its premises and suppositions do; a line stands while its source does, and a source while the one
it was copied from does; everything else stands by itself. Whatever is taken away falls, and what
cannot be built up again from the bottom falls with it: statements that only hold one another up
do not stand (the least fixed point; Dowling and Gallier, "Linear-time algorithms for testing the
satisfiability of propositional Horn formulae", Journal of Logic Programming 1, 1984).

The *grounds* of a statement are the lines, rows of packs and suppositions beneath it. A *support*
is a set of grounds on which the statement stands though every other ground be taken away; a
*minimal support* is one of which no ground can be spared; a ground is *decisive* if the statement
falls without it, which is to say that it is in every minimal support.

What falls here has lost all its chains. That a date would then move, and to where, is for the
report to say; this module does not reason.
"""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass

import networkx as nx

from ledger.errors import UnknownName
from ledger.exchange.graph import FINDING, EvidenceGraph
from ledger.exchange.terms import LINES, STATEMENTS, SUPPOSING_EDGES

MOST_SUPPORTS = 100
GROUND_KINDS = frozenset((*LINES, "reference statement", "supposition", "missing"))


@dataclass(frozen=True, slots=True)
class Supports:
    """The minimal supports of a statement; ``is_complete`` false where there are more.

    The first is the one within the chain that the report shows; the rest go from the fewest
    grounds to the most. Each is a sorted tuple of nodes.
    """

    found: tuple[tuple[str, ...], ...]
    is_complete: bool


def statement(graph: EvidenceGraph, finding: str) -> str:
    """The node of a finding of the report.

    Raises:
        UnknownName: the graph has no such finding.
    """
    name = finding if finding.startswith(FINDING) else f"{FINDING}{finding}"
    if name not in graph:
        known = [node.removeprefix(FINDING) for node in graph if node.startswith(FINDING)]
        raise UnknownName("finding", finding.removeprefix(FINDING), known)
    return name


def kind_of(graph: EvidenceGraph, node: str) -> str:
    """Which kind of node it is."""
    return str(graph.nodes[node]["kind"])


def bearing(graph: EvidenceGraph, node: str, *, reported: bool = False) -> Iterator[str]:
    """The nodes that ``node`` directly stands on, in the order of the report.

    With ``reported`` only through the rule applications that the report shows.
    """
    edges = [edge for edge in graph.out_edges(node, data=True) if edge[2]["bears"]]
    for _, head, data in sorted(edges, key=lambda edge: (edge[2]["kind"], edge[2]["place"])):
        if data["kind"] == "follows by" and reported and not graph.nodes[head]["is_reported"]:
            continue
        yield head


def beneath(graph: EvidenceGraph, node: str, *, reported: bool = False) -> frozenset[str]:
    """Everything the node stands on in any of its chains, sources included, itself not.

    With ``reported`` only what the report and the site unfold beneath it.

    >>> import networkx as nx
    >>> graph = nx.MultiDiGraph()
    >>> for name in ("a", "b", "c"):
    ...     graph.add_node(name, kind="assertion")
    >>> _ = graph.add_edge("a", "b", key="told by", kind="told by", bears=True, place=1)
    >>> _ = graph.add_edge("b", "c", key="about", kind="about", bears=False, place=1)
    >>> sorted(beneath(graph, "a"))
    ['b']
    """
    seen, waiting = {node}, [node]
    while waiting:
        for head in bearing(graph, waiting.pop(), reported=reported):
            if head not in seen:
                seen.add(head)
                waiting.append(head)
    return frozenset(seen - {node})


def above(graph: EvidenceGraph, nodes: Iterable[str]) -> frozenset[str]:
    """Everything that stands on any of the nodes in any of its chains, they themselves not."""
    given = [node for node in nodes if node in graph]
    seen, waiting = set(given), list(given)
    while waiting:
        for tail, _, data in graph.in_edges(waiting.pop(), data=True):
            if data["bears"] and tail not in seen:
                seen.add(tail)
                waiting.append(tail)
    return frozenset(seen - set(given))


def grounds_of(graph: EvidenceGraph, node: str, *, reported: bool = False) -> tuple[str, ...]:
    """The lines, rows and suppositions that the node takes in any of its chains, sorted.

    Sources are not among them: a line carries its own.
    """
    steps = (node, *beneath(graph, node, reported=reported))
    taken = {
        head
        for tail in steps
        if kind_of(graph, tail) == "rule application"
        for head in bearing(graph, tail)
    }
    return tuple(sorted(name for name in taken if kind_of(graph, name) in GROUND_KINDS))


def standing(graph: EvidenceGraph, without: Iterable[str] = ()) -> frozenset[str]:
    """Every node that still stands when those are taken away."""
    return frozenset(_stood(graph, without))


def _stood(graph: EvidenceGraph, without: Iterable[str]) -> dict[str, str]:
    """Every node that stands, with the one whose standing was the last that it waited for."""
    gone = frozenset(without)
    missing: Counter[str] = Counter()
    tails: dict[str, list[str]] = {node: [] for node in graph}
    for tail, head, data in graph.edges(data=True):
        if data["bears"]:
            tails[head].append(tail)
            missing[tail] += 1
    found = {node: node for node in graph if not missing[node] and node not in gone}
    waiting = deque(found)
    while waiting:
        head = waiting.popleft()
        for tail in tails[head]:
            missing[tail] -= 1
            # Of a statement's rule applications one is enough.
            is_borne = kind_of(graph, tail) in STATEMENTS or missing[tail] == 0
            if is_borne and tail not in found and tail not in gone:
                found[tail] = head
                waiting.append(tail)
    return found


def _grounds_used(graph: EvidenceGraph, node: str, stood: Mapping[str, str]) -> frozenset[str]:
    """The grounds of one way in which a node stands: of each statement one rule application."""
    seen, waiting = {node}, [node]
    taken: set[str] = set()
    while waiting:
        at = waiting.pop()
        is_statement = kind_of(graph, at) in STATEMENTS and stood[at] != at
        heads = [stood[at]] if is_statement else list(bearing(graph, at))
        if kind_of(graph, at) == "rule application":
            taken.update(head for head in heads if kind_of(graph, head) in GROUND_KINDS)
        fresh = [head for head in heads if head not in seen]
        seen.update(fresh)
        waiting += fresh
    return frozenset(taken)


def falling(graph: EvidenceGraph, without: Iterable[str]) -> frozenset[str]:
    """The statements that stand now and no longer do when those are taken away."""
    lost = standing(graph) - standing(graph, without)
    return frozenset(node for node in lost if kind_of(graph, node) in STATEMENTS)


def is_standing(graph: EvidenceGraph, node: str, without: Collection[str]) -> bool:
    """Whether the node still stands when those are taken away."""
    return node in standing(graph, without)


def decisive(graph: EvidenceGraph, finding: str) -> tuple[str, ...]:
    """The grounds without any one of which the finding falls, sorted.

    Raises:
        UnknownName: the graph has no such finding.
    """
    node = statement(graph, finding)
    small = _beneath_alone(graph, node)
    if node not in standing(small):
        return ()
    return tuple(
        ground for ground in grounds_of(graph, node) if not is_standing(small, node, (ground,))
    )


def minimal_supports(graph: EvidenceGraph, finding: str, at_most: int = MOST_SUPPORTS) -> Supports:
    """All minimal supports of the finding, or ``at_most`` of them and that there are more.

    A statement that stands on nothing (that completion comes before dispatch) has one support,
    the empty one; one that cannot stand at all has none.

    Every other minimal support lacks some ground of each one known; so, beginning with that of
    the reported chain, each ground in turn is left out and another support looked for.

    Raises:
        UnknownName: the graph has no such finding.
    """
    node = statement(graph, finding)
    small = _beneath_alone(graph, node)
    grounds = frozenset(grounds_of(graph, node))
    reported = frozenset(grounds_of(graph, node, reported=True))
    found: list[frozenset[str]] = []
    waiting: deque[frozenset[str]] = deque([frozenset()])
    tried = {frozenset[str]()}
    while waiting:
        left_out = waiting.popleft()
        known = next((support for support in found if not left_out & support), None)
        if known is None:
            stood = _stood(small, left_out)
            if node not in stood:
                continue
            if len(found) == at_most:
                return Supports(_in_order(found), is_complete=False)
            start = reported - left_out
            if not is_standing(small, node, grounds - start):
                start = _grounds_used(small, node, stood)
            known = _fewest(small, node, grounds, start)
            found.append(known)
        for ground in sorted(known):
            wider = left_out | {ground}
            if wider not in tried:
                tried.add(wider)
                waiting.append(wider)
    return Supports(_in_order(found), is_complete=True)


def _fewest(
    graph: EvidenceGraph, node: str, grounds: frozenset[str], start: frozenset[str]
) -> frozenset[str]:
    """A support within ``start`` of which no ground can be spared; later names go first."""
    kept = start
    for ground in sorted(start, reverse=True):
        if is_standing(graph, node, grounds - (kept - {ground})):
            kept -= {ground}
    return kept


def _in_order(found: list[frozenset[str]]) -> tuple[tuple[str, ...], ...]:
    told = [tuple(sorted(support)) for support in found]
    return (*told[:1], *sorted(told[1:], key=lambda support: (len(support), support)))


def _beneath_alone(graph: EvidenceGraph, node: str) -> EvidenceGraph:
    """The part of the graph that bears the node."""
    return nx.MultiDiGraph(graph.subgraph((node, *sorted(beneath(graph, node)))))


def suppositions_beneath(graph: EvidenceGraph, finding: str) -> tuple[str, ...]:
    """The ids of everything supposed in the chain that the report shows, sorted.

    Raises:
        UnknownName: the graph has no such finding.
    """
    node = statement(graph, finding)
    steps = beneath(graph, node, reported=True)
    return tuple(
        sorted(
            {
                head.removeprefix("supposition:")
                for tail, head, data in graph.out_edges(steps, data=True)
                if data["kind"] in SUPPOSING_EDGES
            }
        )
    )

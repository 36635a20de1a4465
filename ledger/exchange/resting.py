"""What rests on a line, a source, an examiner or a row, and which lines bear the most?

Of what is taken away it is asked which statements of the graph fall and which only lose a chain
and stand by another (:mod:`ledger.exchange.support` says what *stand* means). That a source is
taken away takes its lines, and the sources that were copied from it with theirs. That an examiner
is taken away takes all their sources; a withheld or unknown name is nobody's and cannot be asked for.

A statement falls here when it can no longer be said as it stands; a conclusion that sums up many
parts is to be said otherwise when one of them falls.

Cost: one pass of the graph for each thing taken away.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ledger.errors import UnknownName
from ledger.exchange.graph import LINE, REFERENCE, EvidenceGraph
from ledger.exchange.support import above, falling, kind_of
from ledger.exchange.terms import LINES, STATEMENTS
from ledger.record.case import WITHHELD_TEXT


@dataclass(frozen=True, slots=True)
class Resting:
    """What becomes of the statements when something is taken away, each list in graph order.

    ``falls``: no chain is left. ``weakened``: one of their chains goes, another stands.
    """

    without: tuple[str, ...]
    falls: tuple[str, ...]
    weakened: tuple[str, ...]

    def falls_told(self, graph: EvidenceGraph) -> tuple[str, ...]:
        """Those that fall and that the report gives to its reader, not only as steps."""
        return tuple(name for name in self.falls if graph.nodes[name].get("is_told"))


def resting_on(graph: EvidenceGraph, things: Iterable[str]) -> Resting:
    """What falls and what is weakened when those nodes are taken away."""
    without = tuple(dict.fromkeys(things))
    fallen = falling(graph, without)
    touched = {
        name
        for name in above(graph, without)
        if kind_of(graph, name) in STATEMENTS and name not in fallen
    }
    return Resting(
        without,
        tuple(name for name in graph if name in fallen),
        tuple(name for name in graph if name in touched),
    )


def named_thing(graph: EvidenceGraph, name: str) -> str:
    """The node of a line, source or row of a pack by the id it has there.

    Raises:
        UnknownName: the graph has neither.
    """
    for node in (f"{LINE}{name}", f"{REFERENCE}{name}"):
        if node in graph:
            return node
    known = [
        node.removeprefix(LINE).removeprefix(REFERENCE)
        for node in graph
        if kind_of(graph, node) in (*LINES, "reference statement")
    ]
    raise UnknownName("line, source or row", name, known)


def examiner_of(graph: EvidenceGraph, source: str) -> str:
    """Who examined, told or wrote a source; empty where nobody is named.

    Two sources by "unknown" are not by one person.
    """
    by = str(graph.nodes[source].get("by", ""))
    return "" if by == WITHHELD_TEXT or by.casefold().startswith("unknown") else by


def examiners(graph: EvidenceGraph) -> dict[str, tuple[str, ...]]:
    """Everyone who is named for examining, telling or writing, with the nodes of their sources."""
    found: dict[str, list[str]] = {}
    for node in graph:
        if kind_of(graph, node) == "source" and (by := examiner_of(graph, node)):
            found.setdefault(by, []).append(node)
    return {by: tuple(nodes) for by, nodes in sorted(found.items())}


def sources_by(graph: EvidenceGraph, examiner: str) -> tuple[str, ...]:
    """The sources by one examiner.

    Raises:
        UnknownName: nobody of that name is told of.
    """
    known = examiners(graph)
    if examiner not in known:
        raise UnknownName("examiner", examiner, tuple(known))
    return known[examiner]


@dataclass(frozen=True, slots=True)
class Load:
    """What one line or row bears: everything that falls with it, and what of that is told."""

    on: str
    falls: tuple[str, ...]
    told: tuple[str, ...]


def load_bearing(graph: EvidenceGraph, kinds: Iterable[str] = ("assertion",)) -> tuple[Load, ...]:
    """The nodes of those kinds with all that falls with each, the most told statements first.

    A node that bears nothing is left out. Ties keep the order of all that falls, then of names.
    """
    wanted = frozenset(kinds)
    found: list[Load] = []
    for node in graph:
        if kind_of(graph, node) in wanted:
            lost = falling(graph, (node,))
            falls = tuple(name for name in graph if name in lost)
            told = tuple(name for name in falls if graph.nodes[name].get("is_told"))
            if falls:
                found.append(Load(node, falls, told))
    return tuple(sorted(found, key=lambda load: (-len(load.told), -len(load.falls), load.on)))

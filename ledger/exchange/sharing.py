"""Do two lines of support have anything to do with one another?

Two chains count as two only where nothing is under both: no line, no source, no sitting, no paper
of which both are copies, no row, no publication, no supposition. What both have in common is
listed by its kind, so that a reader sees why they are not two.

A *sitting* is what one examiner saw on one day, whatever the number of sources it was written
down in; of any other source it is the source itself. The *origin* of a source is the one that a
row of copies starts from. A publication is known by what the pack says of a row's source; rows of
common practice have none. That the same person examined on two days is told, and is no dependence.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import combinations

from ledger.exchange.graph import SUPPOSITION, EvidenceGraph
from ledger.exchange.resting import examiner_of
from ledger.exchange.support import beneath, grounds_of, kind_of, minimal_supports, statement
from ledger.exchange.terms import LINES

NO_PUBLICATION = "common practice"


@dataclass(frozen=True, slots=True)
class Shared:
    """What is under both of two supports, each sorted; ``examiners`` alone is no dependence."""

    lines: tuple[str, ...]
    sources: tuple[str, ...]
    sittings: tuple[str, ...]
    origins: tuple[str, ...]
    references: tuple[str, ...]
    publications: tuple[str, ...]
    suppositions: tuple[str, ...]
    examiners: tuple[str, ...]

    @property
    def is_independent(self) -> bool:
        """Whether nothing is shared but, at most, a person."""
        return not (
            self.lines
            or self.sources
            or self.sittings
            or self.origins
            or self.references
            or self.publications
            or self.suppositions
        )


@dataclass(frozen=True, slots=True)
class Pair:
    """Two minimal supports of one finding and what they share."""

    one: tuple[str, ...]
    other: tuple[str, ...]
    shared: Shared


def shared_by_findings(graph: EvidenceGraph, one: str, other: str) -> Shared:
    """What is under both of two findings, in any of their chains.

    Raises:
        UnknownName: the graph has no such finding.
    """
    return shared_by(
        graph,
        grounds_of(graph, statement(graph, one)),
        grounds_of(graph, statement(graph, other)),
    )


def shared_by(graph: EvidenceGraph, one: Iterable[str], other: Iterable[str]) -> Shared:
    """What is under both of two sets of grounds."""
    here, there = _Footing(graph, one), _Footing(graph, other)
    return Shared(
        lines=_both(here.lines, there.lines),
        sources=_both(here.sources, there.sources),
        sittings=_both(here.sittings, there.sittings),
        origins=_both(here.origins, there.origins),
        references=_both(here.references, there.references),
        publications=_both(here.publications, there.publications),
        suppositions=_both(here.suppositions, there.suppositions),
        examiners=_both(here.examiners, there.examiners),
    )


def pairs_of_supports(graph: EvidenceGraph, finding: str) -> tuple[Pair, ...]:
    """Every two minimal supports of a finding with what they share.

    Raises:
        UnknownName: the graph has no such finding.
    """
    found = minimal_supports(graph, finding).found
    return tuple(
        Pair(one, other, shared_by(graph, one, other)) for one, other in combinations(found, 2)
    )


def _both(one: set[str], other: set[str]) -> tuple[str, ...]:
    return tuple(sorted(one & other))


class _Footing:
    """What a set of grounds stands on, by kind."""

    def __init__(self, graph: EvidenceGraph, grounds: Iterable[str]) -> None:
        given = list(grounds)
        deeper = {head for ground in given for head in beneath(graph, ground)}
        self.suppositions = {ground for ground in given if ground.startswith(SUPPOSITION)}
        self.references = {g for g in given if kind_of(graph, g) == "reference statement"}
        self.lines = {ground for ground in given if kind_of(graph, ground) in LINES}
        self.sources = {node for node in deeper if kind_of(graph, node) == "source"}
        self.origins = {
            node
            for node in self.sources
            if not any(
                data["kind"] == "copied from" for _, _, data in graph.out_edges(node, data=True)
            )
        }
        self.publications = {
            source
            for row in self.references
            for source in (str(graph.nodes[row]["source"]),)
            if not source.casefold().startswith(NO_PUBLICATION)
        }
        self.sittings = {_sitting(graph, node) for node in self.sources}
        self.examiners = {by for node in self.sources if (by := examiner_of(graph, node))}


def _sitting(graph: EvidenceGraph, source: str) -> str:
    data = graph.nodes[source]
    by, date = examiner_of(graph, source), str(data.get("date", ""))
    if data.get("source_kind") == "examination" and by and date:
        return f"{by}, {date}"
    return source

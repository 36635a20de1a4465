"""Is anything proved by itself?

Four kinds of circle are looked for. A circle of premises: statements that follow from one
another; the reasoner makes none, a report from elsewhere could. A row whose examples include
this very instrument, held against a line of it: the report recomputes such a row without it,
and says so. A row and a line of one paper: what is said of the kind and what is said of the
instrument have one author. A row whose source names this instrument: it may have been drawn up
from it ("typical of the year" then proves the year that made it typical).

The last two compare wordings and can be wrong either way; they ask for a look, no more.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from typing import Literal

import networkx as nx

from ledger.exchange.graph import LINE, EvidenceGraph
from ledger.exchange.support import bearing, kind_of
from ledger.exchange.terms import STATEMENTS

FEWEST_GLYPHS = 8  # a shorter title is found by chance

CircleKind = Literal["premises", "own example", "one paper", "names this instrument"]


@dataclass(frozen=True, slots=True)
class Circle:
    """One circle or suspected circle: what is in it, what it touches, and a sentence."""

    kind: CircleKind
    nodes: tuple[str, ...]
    findings: tuple[str, ...]
    sentence: str


@dataclass(frozen=True, slots=True)
class _Taken:
    """What each step takes, found once for all rows."""

    steps: tuple[tuple[str, frozenset[str]], ...]

    def with_row(self, row: str, lines: Collection[str] | None) -> tuple[str, ...]:
        """The statements that follow at once from the row and one of the lines, or any line."""
        found = (
            statement
            for statement, taken in self.steps
            if row in taken
            and any(each.startswith(LINE) and (lines is None or each in lines) for each in taken)
        )
        return tuple(dict.fromkeys(found))


def circles(graph: EvidenceGraph) -> tuple[Circle, ...]:
    """Every circle found, circles of premises first, each kind in the order of the graph."""
    taken = _taken(graph)
    return (
        *_of_premises(graph),
        *_of_own_examples(graph, taken),
        *_of_one_paper(graph, taken),
        *_of_the_instrument_named(graph, taken),
    )


def _of_premises(graph: EvidenceGraph) -> Iterator[Circle]:
    bears = [(tail, head) for tail, head, data in graph.edges(data=True) if data["bears"]]
    found = [
        component
        for component in nx.strongly_connected_components(nx.DiGraph(bears))
        if len(component) > 1
    ]
    for component in sorted(found, key=min):
        nodes = tuple(sorted(component))
        findings = tuple(node for node in nodes if kind_of(graph, node) in STATEMENTS)
        told = " · ".join(str(graph.nodes[node]["sentence"]) for node in findings or nodes)
        yield Circle("premises", nodes, findings, f"These rest on one another: {told}")


def _of_own_examples(graph: EvidenceGraph, taken: _Taken) -> Iterator[Circle]:
    built = {row: line for row, line, data in graph.edges(data=True) if data["kind"] == "built on"}
    for row, line in built.items():
        findings = taken.with_row(row, (line,))
        yield Circle(
            "own example",
            (row, line),
            findings,
            f"The row “{graph.nodes[row]['sentence']}” has this instrument among its examples; "
            "the report uses it only as far as it stands without it.",
        )


def _of_one_paper(graph: EvidenceGraph, taken: _Taken) -> Iterator[Circle]:
    lines_of: dict[str, list[str]] = {}
    for line, source, data in graph.edges(data=True):
        if data["kind"] == "told by":
            lines_of.setdefault(source, []).append(line)
    for row in _rows(graph):
        said = _plain(str(graph.nodes[row]["source"]))
        for source, lines in lines_of.items():
            title = _plain(str(graph.nodes[source].get("title", "")))
            findings = taken.with_row(row, lines) if len(title) >= FEWEST_GLYPHS else ()
            if findings and title in said:
                yield Circle(
                    "one paper",
                    (row, source),
                    findings,
                    f"The row “{graph.nodes[row]['sentence']}” and what is held against it seem "
                    f"to be from one paper, “{graph.nodes[source]['title']}”: one author is not "
                    "two witnesses.",
                )


def _of_the_instrument_named(graph: EvidenceGraph, taken: _Taken) -> Iterator[Circle]:
    names = [_plain(str(graph.graph.get(key, ""))) for key in ("instrument", "name")]
    names = [name for name in names if len(name) >= FEWEST_GLYPHS]
    for row in _rows(graph):
        said = _plain(str(graph.nodes[row]["source"]))
        findings = taken.with_row(row, None)
        if findings and any(name in said for name in names):
            yield Circle(
                "names this instrument",
                (row,),
                findings,
                f"The source of the row “{graph.nodes[row]['sentence']}” names this instrument: "
                f"“{graph.nodes[row]['source']}”. If the row was drawn up from it, the row proves "
                "nothing about it.",
            )


def _rows(graph: EvidenceGraph) -> list[str]:
    return [node for node in graph if kind_of(graph, node) == "reference statement"]


def _plain(text: str) -> str:
    return " ".join(re.findall(r"\w+", text.casefold()))


def _taken(graph: EvidenceGraph) -> _Taken:
    return _Taken(
        tuple(
            (node, frozenset(bearing(graph, step)))
            for node in graph
            if kind_of(graph, node) in STATEMENTS
            for step in bearing(graph, node)
        )
    )

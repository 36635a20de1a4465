"""The evidence graph as a file: GraphML, and JSON that networkx reads back in one call.

Both are written in sorted order with sorted fields: the same graph gives the same bytes. The JSON
is of the node-link form (``networkx.node_link_graph(data, edges="edges")``) and described by
``schema/graph.schema.json``, which is made from :mod:`ledger.exchange.terms`. GraphML keeps
everything but glyphs that XML has no place for; what had to be left out is told.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from typing import Any, Final

import networkx as nx

from ledger.exchange.graph import EvidenceGraph
from ledger.exchange.terms import EDGE_TERMS, GRAPH_FORMAT, NODE_TERMS

DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"
# XML 1.0, production 2 (Char): what may stand in a document.
_NO_XML: Final = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_REPLACED: Final = "\ufffd"


@dataclass(frozen=True, slots=True)
class Exported:
    """The text of a file, and what the format could not carry, one sentence each."""

    text: str
    losses: tuple[str, ...] = ()


def graph_json(graph: EvidenceGraph) -> Exported:
    """The graph as JSON of the published schema."""
    data = {
        "directed": True,
        "multigraph": True,
        "graph": dict(graph.graph),
        "nodes": [{"id": name, **graph.nodes[name]} for name in sorted(graph)],
        "edges": [
            {"source": tail, "target": head, "key": key, **fields}
            for tail, head, key, fields in _edges(graph)
        ],
    }
    return Exported(json.dumps(data, indent=1, ensure_ascii=False, sort_keys=True) + "\n")


def graph_graphml(graph: EvidenceGraph) -> Exported:
    """The graph as GraphML; an edge's id is its number in sorted order."""
    losses: list[str] = []
    plain: EvidenceGraph = nx.MultiDiGraph(**_sorted_fields(graph.graph, "the graph", losses))
    for name in sorted(graph):
        fields = _sorted_fields(graph.nodes[name], name, losses)
        plain.add_node(_xml_text(name, name, losses), **fields)
    for number, (tail, head, _, fields) in enumerate(_edges(graph), 1):
        ends = (_xml_text(tail, tail, []), _xml_text(head, head, []))
        kept = _sorted_fields(fields, f"the edge from {tail} to {head}", losses)
        plain.add_edge(*ends, key=f"e{number}", **kept)
    text = "\n".join(nx.generate_graphml(plain, named_key_ids=True))
    return Exported(f"<?xml version='1.0' encoding='utf-8'?>\n{text}\n", tuple(losses))


def _edges(graph: EvidenceGraph) -> list[tuple[str, str, str, dict[str, Any]]]:
    return sorted(graph.edges(keys=True, data=True), key=lambda edge: edge[:3])


def _sorted_fields(fields: dict[str, Any], place: str, losses: list[str]) -> dict[str, Any]:
    return {
        name: _xml_text(value, f"{name} of {place}", losses) if isinstance(value, str) else value
        for name, value in sorted(fields.items())
    }


def _xml_text(text: str, place: str, losses: list[str]) -> str:
    found = _NO_XML.sub(_REPLACED, text)
    if found != text:
        losses.append(f"Glyphs that XML has no place for stand as {_REPLACED} in {place!r}.")
    return found


def graph_schema() -> dict[str, Any]:
    """The JSON Schema of the JSON file, with what each kind of node and edge means."""
    nodes = [_node_schema(kind) for kind in NODE_TERMS]
    edges = [_edge_schema(kind) for kind in EDGE_TERMS]
    return {
        "$schema": DIALECT,
        "$comment": "Made from the terms of the graph; do not edit.",
        "title": "Evidence graph",
        "description": (
            "Edges run from what stands to what it stands on. A reading, finding, conflict or "
            "account stands while one of its rule applications does; a rule application while "
            "everything that it bears on does."
        ),
        "type": "object",
        "required": ["directed", "multigraph", "graph", "nodes", "edges"],
        "additionalProperties": False,
        "properties": {
            "directed": {"const": True},
            "multigraph": {"const": True},
            "graph": {
                "type": "object",
                "required": ["format", "instrument", "name", "sequence", "invented"],
                "additionalProperties": False,
                "properties": {
                    "format": {"const": GRAPH_FORMAT},
                    "instrument": {"type": "string"},
                    "name": {"type": "string"},
                    "sequence": {"type": "integer"},
                    "invented": {"type": "boolean"},
                },
            },
            "nodes": {"type": "array", "items": {"oneOf": nodes}},
            "edges": {"type": "array", "items": {"oneOf": edges}},
        },
    }


def graph_schema_text() -> str:
    """The text of ``schema/graph.schema.json``."""
    return json.dumps(graph_schema(), indent=2, ensure_ascii=False, sort_keys=True) + "\n"


def _node_schema(kind: str) -> dict[str, Any]:
    term = NODE_TERMS[kind]
    fields = {name.rstrip("?"): {"type": of} for name, of in term.fields.items()}
    required = [name for name in term.fields if not name.endswith("?")]
    return {
        "description": term.says,
        "type": "object",
        "required": sorted(["id", "kind", "sentence", *required]),
        "additionalProperties": False,
        "properties": {
            "id": {"type": "string"},
            "kind": {"const": kind},
            "sentence": {"type": "string"},
            **fields,
        },
    }


def _edge_schema(kind: str) -> dict[str, Any]:
    term = EDGE_TERMS[kind]
    said = f"{term.says}; from {_any_of(term.tails)} to {_any_of(term.heads)}"
    return {
        "description": said,
        "type": "object",
        "required": ["bears", "key", "kind", "place", "source", "target"],
        "additionalProperties": False,
        "properties": {
            "source": {"type": "string"},
            "target": {"type": "string"},
            "key": {"const": kind},
            "kind": {"const": kind},
            "bears": {"const": term.bears},
            "place": {"type": "integer", "minimum": 1},
        },
    }


def _any_of(kinds: tuple[str, ...]) -> str:
    return " or ".join(kinds)

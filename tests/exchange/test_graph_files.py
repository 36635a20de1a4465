"""The graph as a file: read back whole, by the published schema, the same bytes every time."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
from pathlib import Path

import networkx as nx
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from ledger.exchange.formats import FORMATS
from ledger.exchange.graph_files import graph_graphml, graph_json, graph_schema_text
from ledger.holdings import schema_file

ROOT = Path(__file__).resolve().parent.parent.parent


def as_sets(graph):
    """Nodes and edges with their fields, whatever their order and keys."""
    nodes = {name: dict(data) for name, data in graph.nodes(data=True)}
    edges = [(tail, head, sorted(data.items())) for tail, head, data in graph.edges(data=True)]
    return nodes, sorted(edges, key=repr)


def test_networkx_reads_the_json_back_in_one_call(sample):
    data = json.loads(graph_json(sample.graph).text)
    back = nx.node_link_graph(data, edges="edges")
    assert as_sets(back) == as_sets(sample.graph)
    assert back.graph == sample.graph.graph


def test_networkx_reads_the_graphml_back_whole(sample):
    exported = graph_graphml(sample.graph)
    back = nx.read_graphml(io.BytesIO(exported.text.encode()), force_multigraph=True)
    assert exported.losses == ()
    assert as_sets(back) == as_sets(sample.graph)
    assert back.graph["format"] == sample.graph.graph["format"]


def test_the_json_is_of_the_published_schema(samples):
    sample = samples["whinchat-mandolin"]
    schema = json.loads(schema_file("graph.schema.json").read_text(encoding="utf-8"))
    Draft202012Validator.check_schema(schema)
    data = json.loads(graph_json(sample.graph).text)
    assert list(Draft202012Validator(schema).iter_errors(data)) == []
    data["nodes"][0]["colour"] = "red"
    assert not Draft202012Validator(schema).is_valid(data)


def test_the_published_schema_is_the_one_made_from_the_terms():
    text = schema_file("graph.schema.json").read_text(encoding="utf-8")
    assert text == graph_schema_text(), "remake schema/graph.schema.json from graph_schema_text()"


@given(st.randoms(use_true_random=False), st.sampled_from(["json", "graphml"]))
def test_the_order_in_which_a_graph_was_built_does_not_show(small_graph, draw, name):
    steps = {"S0": [("L0", "P0"), ("S1",)], "S1": [("L1", "R0")], "S2": [("S0", "S1")]}
    graph = small_graph(steps, {"L0": "C0"})
    shuffled = nx.MultiDiGraph(**graph.graph)
    nodes, edges = list(graph.nodes(data=True)), list(graph.edges(keys=True, data=True))
    draw.shuffle(nodes)
    draw.shuffle(edges)
    shuffled.add_nodes_from(nodes)
    shuffled.add_edges_from(edges)
    write = {"json": graph_json, "graphml": graph_graphml}[name]
    assert write(shuffled) == write(graph)


def test_glyphs_that_xml_has_no_place_for_are_told_as_lost(small_graph):
    graph = small_graph({"S0": [("L0",)]})
    graph.nodes["line:L0"]["sentence"] = "a\x00b\ud800c"
    exported = graph_graphml(graph)
    assert exported.losses == (
        "Glyphs that XML has no place for stand as \ufffd in 'sentence of line:L0'.",
    )
    back = nx.read_graphml(io.BytesIO(exported.text.encode()))
    assert back.nodes["line:L0"]["sentence"] == "a\ufffdb\ufffdc"


def test_both_formats_give_the_same_bytes_for_any_hash_seed(sample_ledger):
    words = f"['export', 'whinchat-mandolin', '--ledger', {str(sample_ledger)!r}, '--format']"
    code = (
        "from ledger.cli import main\n"
        "for name in ('graphml', 'json'):\n"
        f"    main([*{words}, name], standalone_mode=False)"
    )
    texts = [
        subprocess.run(
            [sys.executable, "-c", code],
            check=True,
            capture_output=True,
            cwd=ROOT,
            env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONHASHSEED": seed},
        ).stdout
        for seed in ("1", "2")
    ]
    assert texts[0] == texts[1]
    assert b"</graphml>" in texts[0]


def test_every_format_writes_every_sample(sample):
    for name in ("graphml", "json"):
        assert FORMATS[name].write(sample.report, sample.case).text
        assert FORMATS[name].suffix.startswith(".")
        assert FORMATS[name].says

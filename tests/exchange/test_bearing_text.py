"""What is printed of supports and of what rests on what."""

from __future__ import annotations

from ledger.exchange.bearing_text import bears_most, resting_text, support_text
from ledger.exchange.resting import load_bearing, resting_on

CODES = [
    {"id": "one", "position": "pot.1", "text": "912-5614"},
    {"id": "two", "position": "pot.2", "text": "912-5614"},
]


def test_an_end_with_one_chain_is_told_by_what_it_falls_without(samples):
    graph = samples["dunnock-lap-steel"].graph
    lines = list(support_text(graph, "completed.not-before.account.1"))
    assert lines[0].startswith("Completed not before 1949-04-17, supposing")
    assert lines[2] == "As it is said it needs each of these:"
    named = "  - “914 916” on the volume control from the envelope (old-volume-code, entry "
    assert any(line.startswith(named) for line in lines)


def test_of_what_is_needed_it_is_told_what_would_be_said_without(small_graph):
    graph = small_graph({"S0": [("L0", "L1", "P0")]})
    said = {"line:L0": "", "line:L1": "it would be: S9"}
    lines = list(support_text(graph, "S0", said.get))
    told = {line.partition(" (")[0].strip(" -"): line for line in lines[3:]}
    assert told["L0"].endswith("the same would be said.")
    assert told["L1"].endswith("it would be: S9.")
    assert any(line.endswith("this cannot be left out.") for line in lines)


def test_an_end_with_two_chains_tells_both_and_what_they_share(weigh_lines):
    found = weigh_lines(marks=CODES)
    end = next(d.not_before for d in found.report.datings if d.event == "completed")
    text = "\n".join(support_text(found.graph, end.finding))
    assert "Besides, it needs one of these, and no more:" in text
    assert "2 minimal supports in all." in text
    assert "Two of them share" in text
    assert "the source On the bench (bench, entry 2)" in text
    assert "they are not independent." in text


def test_two_chains_that_share_nothing_are_said_to_be_two(small_graph):
    graph = small_graph({"S0": [("L0",), ("L1",)]})
    assert "Two of them share nothing: they are two lines of support." in support_text(graph, "S0")


def test_a_statement_in_a_circle_is_said_to_have_nothing_that_holds_it(small_graph):
    text = list(support_text(small_graph({"S0": [("S1",)], "S1": [("S0",)]}), "S0"))
    assert "Nothing holds it up: what it follows from rests on it in turn." in text
    assert text[-1].startswith("Mind the circle: These rest on one another")


def test_more_supports_than_are_told_are_said(small_graph):
    ways = [(f"L{number:03}",) for number in range(101)]
    text = "\n".join(support_text(small_graph({"S0": ways}), "S0"))
    assert "100 minimal supports in all; there are more than are listed." in text


def test_what_falls_without_a_thing_is_counted_and_listed(samples):
    graph = samples["dunnock-lap-steel"].graph
    resting = resting_on(graph, ["line:envelope"])
    lines = list(resting_text(graph, resting))
    assert lines[0].startswith("Without Envelope in the case")
    count = len(resting.falls_told(graph))
    assert lines[1] == f"Of the report {count} statements can no longer be made as now:"
    assert any(line.endswith("[state.pot.volume]") for line in lines)


def test_where_nothing_told_falls_it_is_said(samples):
    graph = samples["dunnock-lap-steel"].graph
    lines = list(resting_text(graph, resting_on(graph, ["line:price-leaf"])))
    assert lines[1] == "No statement that the report makes needs it as it is said."


def test_what_would_be_made_all_the_same_is_told_apart_from_what_would_be_otherwise(small_graph):
    graph = small_graph({"S0": [("L0",)], "S1": [("L0",)]})
    for name in ("S0", "S1"):
        graph.nodes[f"finding:{name}"]["is_told"] = True
    said = {"finding:S0": "", "finding:S1": "nothing of it would be said"}
    lines = list(resting_text(graph, resting_on(graph, ["line:L0"]), said.__getitem__))
    assert lines[1:] == [
        "Of the report 1 statement would be otherwise:",
        "  - S1 [S1]: nothing of it would be said",
        "1 statement would be made all the same, though something beneath it goes:",
        "  - S0 [S0]",
    ]


def test_what_stands_by_another_chain_is_told(small_graph):
    graph = small_graph({"S0": [("L0",), ("L1",)]})
    lines = list(resting_text(graph, resting_on(graph, ["line:L0"])))
    assert lines[-2:] == ["1 statement would stand by another chain alone:", "  - S0 [S0]"]


def test_the_lines_that_bear_most_are_listed(samples):
    lines = list(bears_most(samples["dunnock-lap-steel"].graph))
    first = load_bearing(samples["dunnock-lap-steel"].graph)[0]
    assert f"({first.on.removeprefix('line:')}, entry " in lines[1]
    assert lines[1].endswith(f"): {len(first.told)} statements")
    assert lines[-1].endswith("more that bear less")


def test_where_no_line_bears_anything_told_it_is_said(small_graph):
    assert list(bears_most(small_graph({"S0": [("L0",)]}))) == [
        "No statement of the report needs a single line."
    ]

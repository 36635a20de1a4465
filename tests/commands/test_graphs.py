"""The commands that ask the evidence graph and give it out."""

from __future__ import annotations

import json

import networkx as nx
import pytest
from click.testing import CliRunner

from ledger import workflow
from ledger.cli import main
from ledger.exchange import formats
from ledger.exchange.formats import Format
from ledger.exchange.graph_files import Exported
from ledger.holdings import sample_data


def run(*words, status=0):
    """What a command prints; it has to end by itself, with that status."""
    result = CliRunner().invoke(main, [str(word) for word in words])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    assert result.exit_code == status, result.output
    assert "Traceback" not in result.output
    return result.output


@pytest.fixture(scope="module")
def recorded(tmp_path_factory):
    """A ledger with all the sample data. No test adds to it."""
    path = tmp_path_factory.mktemp("ledger") / "ledger.db"
    workflow.record_files(
        path, sorted(sample_data().glob("*.yaml")), "examiner", "2026-03-02T10:00:00Z"
    )
    return path


def test_the_graph_is_printed_or_written_the_same(recorded, tmp_path):
    words = ("export", "whinchat-mandolin", "--ledger", recorded, "--format")
    printed = run(*words, "json")
    out = tmp_path / "graph.json"
    assert run(*words, "json", "--out", out) == f"Written to {out}.\n"
    assert out.read_text(encoding="utf-8") == printed
    assert json.loads(printed)["graph"]["instrument"] == "whinchat-mandolin"
    run(*words, "graphml", "--out", tmp_path / "graph.graphml")
    assert len(nx.read_graphml(tmp_path / "graph.graphml")) == len(json.loads(printed)["nodes"])


def test_an_earlier_state_is_given_out_by_its_entry(recorded):
    words = ("export", "dunnock-lap-steel", "--ledger", recorded, "--format", "json", "--at")
    earlier = json.loads(run(*words, 60))
    assert earlier["graph"]["sequence"] == 60
    assert max(node.get("sequence", 0) for node in earlier["nodes"]) == 60


def test_a_file_that_cannot_be_written_is_told(recorded, tmp_path):
    words = ("export", "whinchat-mandolin", "--ledger", recorded, "--format", "json")
    said = run(*words, "--out", tmp_path / "nowhere" / "graph.json", status=1)
    assert said.startswith("Error: ")
    assert "cannot be written" in said


def test_what_a_format_cannot_carry_is_said_beside_the_file(recorded, monkeypatch):
    lossy = Format("lossy", ".x", lambda _report, _case: Exported("text\n", ("No pictures.",)))
    monkeypatch.setitem(formats.FORMATS, "json", lossy)
    words = ("export", "whinchat-mandolin", "--ledger", recorded, "--format", "json")
    result = CliRunner().invoke(main, [str(word) for word in words])
    assert (result.stdout, result.stderr) == ("text\n", "No pictures.\n")


def test_a_finding_is_told_with_what_it_needs_and_what_would_be_said_without(recorded):
    said = run("support", "dunnock-lap-steel/completed.not-after.account.1", "--ledger", recorded)
    assert "As it is said it needs each of these. Were one of them left out" in said
    assert "(underside, entry " in said
    assert "it would be: " in said
    assert all(len(line) <= 100 for line in said.splitlines())


def test_a_finding_named_without_its_instrument_is_refused_with_an_example(recorded):
    said = run("support", "completed", "--ledger", recorded, status=1)
    assert "Say INSTRUMENT/FINDING" in said
    said = run("support", "dunnock-lap-steel/completed", "--ledger", recorded, status=1)
    assert "There is no finding named 'completed'" in said


def test_what_rests_on_sources_rows_and_an_examiner_is_told(recorded):
    words = ("rests-on", "dunnock-lap-steel", "--ledger", recorded)
    said = run(*words, "envelope", "calverock/dunnock-underside", "--examiner", "examiner A")
    assert "(envelope, entry " in said
    assert "(calverock/dunnock-underside)" in said
    assert "(bench-2025, entry " in said
    assert "[completed.not-after.account.1]" in said


def test_what_loses_a_premise_and_would_be_said_all_the_same_is_not_said_to_fall(recorded):
    words = ("dunnock-lap-steel", "--ledger", recorded)
    said = run("rests-on", *words, "photo-1951")
    other, _, same = said.partition("would be made all the same")
    assert "[state.knobs]" in other
    for finding in ("[state.serial]", "[state.fret-scale]"):
        assert finding in same
        assert finding not in other
    # As the report without it has it, too.
    supposed = run("suppose", *words, "--leave-out", "photo-1951")
    fallen, _, stands = supposed.partition("What stands all the same")
    assert "Knobs: was" in fallen
    assert "fret scale overlay" in stands


def test_without_a_name_the_lines_that_bear_most_are_told(recorded):
    said = run("rests-on", "dunnock-lap-steel", "--ledger", recorded)
    assert said.startswith("The lines that bear most")


@pytest.mark.parametrize(
    ("name", "said"),
    [
        (("--examiner", "nobody"), "no examiner named 'nobody'"),
        (("nothing",), "no line, source or row named 'nothing'"),
    ],
    ids=["examiner", "thing"],
)
def test_a_name_that_nothing_has_is_refused(recorded, name, said):
    words = ("rests-on", "whinchat-mandolin", "--ledger", recorded)
    assert said in run(*words, *name, status=1)

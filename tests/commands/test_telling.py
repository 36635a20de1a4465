"""Telling, asking, checking and taking in, as a person meets them."""

from __future__ import annotations

import json
import sys

import pytest
from click.testing import CliRunner

from ledger import workflow
from ledger.cli import main
from ledger.holdings import sample_data


@pytest.fixture(scope="module")
def ledger(tmp_path_factory):
    """A ledger with one sample."""
    path = tmp_path_factory.mktemp("telling") / "ledger.db"
    files = [sample_data() / name for name in ("calverock-pack.yaml", "whinchat-mandolin.yaml")]
    workflow.record_files(path, files, "examiner", "2026-03-02T10:00:00Z")
    return path


@pytest.fixture(scope="module")
def other(ledger, tmp_path_factory):
    """The same, told by somebody else."""
    path = tmp_path_factory.mktemp("other") / "harbour.trig"
    run("tell", "--ledger", ledger, "--base", "https://harbour.example/", "--out", path)
    return path


def run(*words, code=0):
    result = CliRunner().invoke(main, [str(word) for word in words])
    assert result.exit_code == code, result.output
    return result


def test_telling_says_what_the_format_cannot_carry(ledger):
    told = run("tell", "whinchat-mandolin", "--ledger", ledger, "--format", "turtle")
    assert "Not in it: named graphs" in told.stderr
    assert "Not in it: withheld values" in told.stderr
    assert told.stdout.startswith("@prefix")
    assert "'viola'" in run("tell", "viola", "--ledger", ledger, code=1).output


def test_terms_can_be_told_under_an_address_of_ones_own(ledger, tmp_path):
    terms, path = "https://harbour.example/term/", tmp_path / "own.nq"
    run("tell", "--ledger", ledger, "--terms", terms, "--format", "n-quads", "--out", path)
    assert f"<{terms}Mark>" in path.read_text(encoding="utf-8")
    assert run("check-graph", path).stdout == "No fault found.\n"


def test_a_place_that_cannot_be_written_is_told(ledger, tmp_path):
    words = ("tell", "--ledger", ledger, "--out", tmp_path / "no" / "x.trig")
    assert "cannot be written" in run(*words, code=1).output


def test_a_question_is_answered_as_a_table(ledger):
    words = ("ask", "without-a-reference", "--param", "without=calverock/design-311774")
    said = run(*words, "--ledger", ledger).output
    assert said.splitlines()[0].split()[:2] == ["without", "instrument"]
    assert "1930-05-12" in said
    assert "No rows." in run("ask", "one-object-twice", "--ledger", ledger).output


def test_a_question_is_answered_as_json_from_a_file(other):
    said = run("ask", "who-tells", "--graph", other, "--json").stdout
    (row,) = json.loads(said)
    assert (row["base"], row["instruments"]) == ("https://harbour.example/", "1")


def test_questions_are_listed_with_their_parameters(ledger):
    said = run("ask", "--ledger", ledger).output
    assert "rival-accounts [instrument] [leading]  Rival accounts" in said


def test_a_question_of_ones_own_is_asked(ledger, tmp_path):
    path = tmp_path / "own.rq"
    path.write_text(
        "# title: T\n# description: D\n# for: dealer\n# column n: n\n# samples: s\n"
        "SELECT (COUNT(*) AS ?n) WHERE { ?mark a wm:Mark }\n",
        encoding="utf-8",
    )
    assert run("ask", path, "--ledger", ledger, "--json").stdout == '[\n  {\n    "n": "5"\n  }\n]\n'


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        pytest.param(("ask", "open-maters"), 1, "Did you mean 'open-matters'", id="question"),
        pytest.param(("ask", "nowhere.rq"), 1, "There is no file nowhere.rq", id="file"),
        pytest.param(("ask", "who-tells", "--param", "x"), 2, "name=value", id="parameter"),
        pytest.param(("ask", "who-tells", "--graph", "no.nq"), 1, "cannot be read", id="graph"),
        pytest.param(("check-graph", "no.nq"), 1, "cannot be read", id="check"),
    ],
)
def test_what_is_asked_wrongly_is_told(ledger, words, code, said):
    more = ("--ledger", ledger) if words[0] == "ask" else ()
    assert said in run(*words, *more, code=code).output


def test_what_another_ledger_tells_is_kept_apart_and_can_be_asked(ledger, other):
    before = ledger.read_bytes()
    kept = run("take-in", other, "--as", "harbour", "--ledger", ledger).output
    assert "none is in your ledger" in kept
    assert ledger.read_bytes() == before
    both = json.loads(run("ask", "who-tells", "--theirs", "--json", "--ledger", ledger).stdout)
    assert [row["base"] for row in both] == [
        "https://harbour.example/",
        "https://witnessmark.example/",
    ]
    (mine,) = json.loads(run("ask", "who-tells", "--json", "--ledger", ledger).stdout)
    assert mine["base"] == "https://witnessmark.example/"


def test_a_graph_with_faults_is_neither_sound_nor_taken_in(ledger, other, tmp_path):
    path = tmp_path / "bad.trig"
    path.write_text(
        other.read_text(encoding="utf-8").replace('wm:legibility "clear"', 'wm:legibility "good"'),
        encoding="utf-8",
    )
    said = run("check-graph", path, code=1).output
    assert "A mark may have clear, worn or partial, once." in said
    run("take-in", path, "--as", "quay", "--ledger", ledger, code=1)


def test_without_the_extra_a_command_says_what_to_install(monkeypatch):
    for name in ("ledger.commands.others", "ledger.exchange.checking"):
        monkeypatch.delitem(sys.modules, name, raising=False)
    monkeypatch.setitem(sys.modules, "pyshacl", None)
    said = run("check-graph", "x.nq", code=1).output
    assert "pip install 'witnessmark[graph]'" in said

"""The command that says what to examine next."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner

from ledger import workflow
from ledger.advice import Advice, Proposal
from ledger.cli import main
from ledger.holdings import sample_data
from ledger.reason.examination import REACHES


def run(*words, status=0):
    """What the command prints; it has to end by itself, with that status."""
    result = CliRunner().invoke(main, ["examine-next", *map(str, words)])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    assert result.exit_code == status, result.output
    return result.output


@pytest.fixture(scope="module")
def ledger(tmp_path_factory):
    path = tmp_path_factory.mktemp("advice") / "ledger.db"
    files = sorted(sample_data().glob("*.yaml"))
    workflow.record_files(path, files, "examiner", "2026-03-02T10:00:00Z")
    return path


def words_of(text):
    """The text without its line ends, which fall where they may."""
    return " ".join(text.split())


def test_an_amplifier_is_told_what_to_examine_next_with_its_cautions(ledger):
    said = words_of(run("garganey-amplifier", "--ledger", ledger))
    assert "To be seen without opening anything" in said
    assert "To be seen once it is opened" in said
    assert said.index("without opening anything") < said.index("once it is opened")
    assert "bits from the date" in said
    assert "Caution:" in said
    # The number struck on the chassis invites theft and is in no part of the advice.
    assert "1624" not in said


def test_a_question_is_answered_first(ledger):
    said = words_of(run("dunnock-lap-steel", "--settle", "date", "--ledger", ledger))
    assert "the date to within a year" in said.partition("To be seen")[0]
    said = words_of(run("garganey-amplifier", "--settle", "chassis", "--ledger", ledger))
    assert said.startswith("The chassis is what the instrument of this case is known by.")


def test_a_position_that_is_not_there_is_refused_in_a_sentence(ledger):
    said = run("garganey-amplifier", "--settle", "fretboard", "--ledger", ledger, status=1)
    assert "no position of the valve amplifier named 'fretboard'" in said


def test_the_whole_advice_is_given_as_json(ledger):
    said = json.loads(run("whinchat-mandolin", "--settle", "date", "--json", "--ledger", ledger))
    assert said["format"] == "witnessmark advice 1"
    advice = [Advice(**{**each, "outcomes": ()}) for each in said["advice"]]
    assert advice
    assert {each.reach for each in advice} <= set(REACHES)
    assert Proposal(**said["proposal"]).question == "date"
    assert all(0 < o["chance"] <= 1 for each in said["advice"] for o in each["outcomes"])


def test_all_is_more_than_the_first_of_each(ledger):
    few = run("garganey-amplifier", "--ledger", ledger)
    whole = run("garganey-amplifier", "--all", "--ledger", ledger)
    assert "which tell less" in few
    assert "which tell less" not in whole
    assert len(whole) > len(few)

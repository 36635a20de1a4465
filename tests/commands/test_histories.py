"""The command that tells how a record grew and what each recording changed."""

from __future__ import annotations

import shutil

import pytest
from click.testing import CliRunner

from ledger import workflow
from ledger.cli import main
from ledger.commands import histories
from ledger.exchange.differing import Change, Difference
from ledger.holdings import sample_data
from ledger.record.store import Ledger


def run(*words, status=0):
    """What a command prints; it has to end by itself, with that status."""
    result = CliRunner().invoke(main, [str(word) for word in words])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    assert result.exit_code == status, result.output
    return result.output


def words_of(text):
    """The text without its line ends, which fall where they may."""
    return " ".join(text.split())


@pytest.fixture(scope="module")
def grown(tmp_path_factory):
    """A ledger of three recordings: the samples, a mark read again, a row of the pack changed.

    With it comes the last entry of the first recording.
    """
    folder = tmp_path_factory.mktemp("grown")
    own = shutil.copytree(sample_data(), folder / "own")
    path = folder / "ledger.db"

    def record(name, hour):
        files = sorted(own.glob(name))
        workflow.record_files(path, files, "examiner", f"2026-03-02T{hour}:00:00Z")

    def edit(name, old, new):
        text = (own / name).read_text(encoding="utf-8")
        assert old in text
        (own / name).write_text(text.replace(old, new), encoding="utf-8")

    record("*.yaml", 10)
    with Ledger.open(path, read_only=True) as ledger:
        many = len(ledger.entries())
    edit("dunnock-lap-steel.yaml", "914 916", "914 816")
    record("dunnock*.yaml", 11)
    edit("calverock-pack.yaml", "ends: 1950-10", "ends: 1950-08")
    record("calverock*.yaml", 12)
    return path, many


def test_the_first_batch_tells_what_could_be_said_then(grown):
    path, _ = grown
    said = words_of(run("history", "dunnock-lap-steel", "--ledger", path))
    assert "by examiner, 2026-03-02T10:00:00Z: of this instrument " in said
    assert "What could be said then: - Completed not before 1949-04-17" in said


def test_each_batch_tells_what_was_recorded_and_what_follows_otherwise(grown):
    path, many = grown
    said = words_of(run("history", "dunnock-lap-steel", "--ledger", path, "--from", many + 1))
    assert said.startswith(
        f"Entry {many + 1}, by examiner, 2026-03-02T11:00:00Z: of this instrument"
    )
    assert (
        "The earliest day of the completion moves earlier, from 1949-04-17 to 1948-04-11." in said
    )
    assert "Beneath it changed: “914 816” on the volume control from the envelope." in said
    assert "Row calverock/dunnock-underside changed" in said
    assert "The latest day of the completion moves earlier, from 1950-12-30 to 1950-10-30." in said


def test_a_batch_that_changes_nothing_says_so(grown):
    path, many = grown
    said = run("history", "whinchat-mandolin", "--ledger", path, "--from", many + 2)
    assert "Nothing follows otherwise." in said


def test_batches_after_the_last_asked_for_are_left_out(grown):
    path, many = grown
    said = run("history", "dunnock-lap-steel", "--ledger", path, "--to", many)
    assert "2026-03-02T10" in said
    assert "2026-03-02T11" not in said


def test_a_long_list_is_cut_and_all_of_it_shown_when_asked():
    changes = tuple(Change("line", f"Added: {number}.") for number in range(20))
    found = Difference(changes, (), {})
    cut = list(histories.difference_told(found, is_whole=False))
    assert cut[-2:] == ["    and 8 more; --all shows them", "  Nothing follows otherwise."]
    whole = list(histories.difference_told(found, is_whole=True))
    assert [line for line in whole if "Added" in line] == [f"    - {c.sentence}" for c in changes]


def test_an_unknown_instrument_is_refused_by_name(grown):
    path, _ = grown
    said = run("history", "dunnock", "--ledger", path, status=1)
    assert "There is no instrument named 'dunnock'" in said

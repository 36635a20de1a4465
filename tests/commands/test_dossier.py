"""Handing an instrument's file over, from the command line."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner

from ledger.cli import main
from ledger.errors import PublicationError
from ledger.holdings import sample_data
from ledger.publish.dossier_files import put_files

MANDOLIN = "whinchat-mandolin"


def run(*words, status=0):
    result = CliRunner().invoke(main, [str(word) for word in words])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    assert result.exit_code == status, result.output
    return " ".join(result.output.split())


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A folder with a ledger whose head is signed, and the keys."""
    folder = tmp_path_factory.mktemp("dossier")
    ledger = ("--ledger", folder / "ledger.db")
    run("record", *sorted(sample_data().glob("*.yaml")), *ledger, "--recorder", "examiner A")
    run("key", "new", *ledger, "--keys", folder / "keys", "--recorder", "examiner A")
    run("checkpoint", *ledger, "--keys", folder / "keys")
    return folder


def handed(folder, *words, status=0):
    given = ("--ledger", folder / "ledger.db", "--keys", folder / "keys", "--out", folder / "out")
    return run("dossier", MANDOLIN, *words, *given, status=status)


def test_it_writes_a_page_and_json_that_are_verified_and_says_how(folder):
    said = handed(folder, "--for", "challenge:never-keyed", "--by", "examiner A")
    page = folder / "out" / f"{MANDOLIN}-challenge-never-keyed.html"
    assert f"Written to {page}" in said
    assert "It is signed as a whole by the key" in said
    assert "with their notes, the names of files and the name of whoever recorded them" in said
    (key,) = (folder / "keys").glob("*.public.pem")
    for path in (page, page.with_suffix(".json")):
        told = run("verify", path, "--public-key", key)
        assert "No fault found." in told
    page.write_text(page.read_text("utf-8").replace("examiner A", "examiner B"), "utf-8")
    assert "it was changed" in run("verify", page, "--public-key", key, status=1)


def test_it_says_where_the_key_is_not_at_hand(folder, tmp_path):
    words = ("--ledger", folder / "ledger.db", "--keys", tmp_path, "--out", tmp_path / "out")
    said = run("dossier", MANDOLIN, "--for", "challenge:never-keyed", *words)
    assert "It is not signed as a whole" in said


def test_a_report_is_what_it_hands_over_unasked_and_nothing_else_is_left_beside_it(
    folder, tmp_path
):
    words = ("--ledger", folder / "ledger.db", "--keys", folder / "keys", "--out", tmp_path / "o")
    run("dossier", MANDOLIN, *words)
    names = sorted(path.name for path in (tmp_path / "o").iterdir())
    assert names == [f"{MANDOLIN}-report.html", f"{MANDOLIN}-report.json"]
    given = json.loads((tmp_path / "o" / names[1]).read_text("utf-8"))
    assert given["purpose"] == "report"


@pytest.mark.parametrize("purpose", ["sale", "challenge", "challenge:", "report:all", ""])
def test_any_other_purpose_is_refused(folder, purpose):
    said = handed(folder, "--for", purpose, status=2)
    assert "is none of report, dating and challenge:ID" in said


def test_a_challenge_may_be_named_in_full_and_an_unknown_one_is_told(folder):
    assert "Written to" in handed(folder, "--for", f"challenge:{MANDOLIN}/never-keyed")
    said = handed(folder, "--for", "challenge:never-kayed", status=1)
    assert "Did you mean 'never-keyed'?" in said


def test_what_cannot_be_written_leaves_what_was_there(tmp_path):
    (tmp_path / "a.json").write_text("before", "utf-8")
    (tmp_path / "b.html").mkdir()
    with pytest.raises(PublicationError, match="cannot be written"):
        put_files(tmp_path / "a.json", {"x": "y"})
    with pytest.raises(PublicationError, match="cannot be written"):
        put_files(tmp_path, {"b.html": "page", "a.json": "data"})
    assert (tmp_path / "a.json").read_text("utf-8") == "before"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.json", "b.html"]

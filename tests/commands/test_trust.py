"""The commands by which a record can be trusted, from the outside."""

from __future__ import annotations

import json
import shutil
import sqlite3
from pathlib import Path

import pytest
from click.testing import CliRunner

from ledger.cli import main
from ledger.record.keys import key_id, read_public_key
from ledger.record.proofs import make_proof
from ledger.record.store import Ledger

GOLDEN = Path(__file__).parents[1] / "record" / "golden" / "format-2.db"


@pytest.fixture
def run(tmp_path):
    """Runs a command on a ledger of its own, with keys of its own."""
    shutil.copy(GOLDEN, tmp_path / "ledger.db")
    environment = {
        "WITNESSMARK_LEDGER": str(tmp_path / "ledger.db"),
        "WITNESSMARK_KEYS": str(tmp_path / "keys"),
    }

    def _run(*words, status=0):
        result = CliRunner().invoke(main, [str(word) for word in words], env=environment)
        assert result.exit_code == status, result.output
        assert "Traceback" not in result.output
        return result.output

    return _run


@pytest.fixture
def key(run, tmp_path):
    """The file with the public half of the ledger's key, which has signed a checkpoint."""
    run("key", "new", "--recorder", "me")
    run("checkpoint", "--to", tmp_path / "kept.json")
    (path,) = (tmp_path / "keys").glob("*.public.pem")
    return path


def test_a_ledger_is_verified_and_the_exit_status_says_so(run, key, tmp_path):
    said = run("verify", "--public-key", key, "--kept", tmp_path / "kept.json")
    assert "No fault found." in said
    assert "Entries 1 to 13 are signed for." in said
    assert "note:" not in said
    told = json.loads(run("verify", "--json"))
    assert told["is_whole"] is True
    assert [step["name"] for step in told["steps"]][:3] == ["file", "tables", "chain"]
    connection = sqlite3.connect(tmp_path / "ledger.db", isolation_level=None)
    connection.execute("DROP TRIGGER entry_is_never_changed")
    connection.execute("UPDATE entry SET recorder = 'x' WHERE sequence = 5")
    connection.close()
    said = run("verify", "--public-key", key, status=1)
    assert "FAULT entry 5: expected the hash" in said
    assert "FAULT the trigger entry_is_never_changed" in said
    assert "3 faults found." in said
    assert json.loads(run("verify", "--json", status=1))["is_whole"] is False


def test_a_key_is_never_printed_and_kept_for_its_owner_alone(run, tmp_path):
    said = run("key", "new", "--recorder", "me")
    (private,) = [path for path in (tmp_path / "keys").iterdir() if ".public" not in path.name]
    secret = private.read_text().splitlines()[1]
    assert private.stat().st_mode & 0o777 == 0o600
    said += (
        run("key", "new", status=1) + run("checkpoint") + run("key", "rotate", "--recorder", "me")
    )
    said += run("verify", "--json") + run("key", "--help")
    assert secret not in said
    assert secret.encode() not in (tmp_path / "ledger.db").read_bytes()
    assert "Rotate it" in said


def test_after_a_rotation_the_first_public_key_still_verifies(run, key):
    run("key", "rotate", "--recorder", "me")
    assert "Entries 14 to 15 are under no checkpoint" in run("verify", "--public-key", key)
    run("checkpoint")
    assert "Entries 1 to 15 are signed for." in run("verify", "--public-key", key)


def test_a_revoked_key_counts_no_further(run, key):
    name = key_id(read_public_key(str(key)))
    said = run("key", "revoke", name, "--reason", "the disk was taken", "--trusted-until", 5)
    assert "counts for the first 5 entries" in said
    assert "expected one by the key" in run("verify", "--public-key", key, status=1)
    assert "No key signs for this ledger" in run("checkpoint", status=1)
    assert "is revoked already" in run("key", "revoke", name, "--reason", "again", status=1)
    run("key", "new", "--recorder", "me")
    assert "14 entries" not in run("checkpoint")


def test_an_owner_is_forgotten(run, tmp_path):
    before = (tmp_path / "ledger.db").read_bytes()
    assert b"Somebody in particular" in before
    words = ("erase", "alder-mandolin/first-holder", "--reason", "asked for")
    assert "Aborted" in CliRunner().invoke(main, words, input="n\n").output
    said = run(*words, "--yes")
    assert "Erased: 6." in said
    after = b"".join(path.read_bytes() for path in tmp_path.glob("ledger.db*"))
    assert b"Somebody in particular" not in after
    assert b"Another town" not in after
    assert "No fault found." in run("verify")
    said = run(*words, "--yes", status=1)
    assert "There is no place with withheld matter" in said


SHEET = """\
bench_sheet: 1
instrument: {id: knot, kind: mandolin, name: A mandolin, invented: yes}
sources: [{id: bench, kind: examination, title: On the bench}]
custody: [{id: k1, source: bench, holder: Somebody else}]
"""


def test_what_was_erased_does_not_come_back_without_a_word(run, tmp_path):
    (tmp_path / "knot.yaml").write_text(SHEET)
    assert "erased on" not in run("record", tmp_path / "knot.yaml", "--recorder", "me")
    run("erase", "knot/k1/holder", "--reason", "asked for", "--yes", "--recorder", "me")
    said = run("check", tmp_path / "knot.yaml")
    assert "Notice: knot/k1: its holder was erased on 20" in said
    assert "once more" in said
    said = run("record", tmp_path / "knot.yaml", "--recorder", "me")
    assert "1 superseded" in said
    assert "its holder was erased on 20" in said
    assert "erased on" not in run("check", tmp_path / "knot.yaml"), "it is back already"
    run("erase", "knot/k1", "--reason", "asked for again", "--yes", "--recorder", "me")
    assert "its holder was erased on 20" in run("check", tmp_path / "knot.yaml")
    (tmp_path / "knot.yaml").write_text(SHEET.replace("Somebody else", "not told"))
    assert "its holder was erased on 20" in run("check", tmp_path / "knot.yaml")


def test_the_history_of_an_instrument_tells_what_was_erased(run, tmp_path):
    (tmp_path / "knot.yaml").write_text(SHEET)
    run("record", tmp_path / "knot.yaml", "--recorder", "me")
    run("erase", "knot/k1/holder", "--reason", "asked for", "--yes", "--recorder", "me")
    said = " ".join(run("history", "knot").split())
    assert "erased for good: k1, holder." in said
    assert "Somebody else" not in said


def test_a_file_is_forgotten(run, tmp_path):
    run("erase", "--exhibit", "alder-mandolin/plate", "--reason", "asked for", "--yes")
    assert "Files kept: 0." in run("verify")
    assert "nothing to erase" in run(
        "erase", "--exhibit", "alder-mandolin/plate", "--reason", "again", "--yes", status=1
    )
    run("publish", "--site", tmp_path / "site")
    assert "No fault found." in run("verify", tmp_path / "site")


def test_a_ledger_is_copied(run, tmp_path):
    assert "Copied 12 entries" in run("copy", tmp_path / "copy.db")
    assert "No fault found." in run("verify", tmp_path / "copy.db")
    assert "there already" in run("copy", tmp_path / "copy.db", status=1)


def test_a_site_its_seal_a_checkpoint_and_a_proof_are_verified(run, key, tmp_path):
    site = tmp_path / "site"
    run("publish", "--site", site)
    for path in (site, site / "witnessmark.db", next(site.glob("seal-*.json"))):
        said = run("verify", path, "--public-key", key)
        assert "published site" in said
        assert "Signed as a whole." in said
    assert "signature: as it should be" in run(
        "verify", tmp_path / "kept.json", "--public-key", key
    )
    assert "note: Whose key" in run("verify", tmp_path / "kept.json")
    with Ledger.open(tmp_path / "ledger.db", read_only=True) as ledger:
        (tmp_path / "proof.json").write_text(json.dumps(make_proof(ledger, [3, 4])))
    assert "Entries proved: 3." in run("verify", tmp_path / "proof.json", "--public-key", key)


def test_a_checkpoint_by_another_or_changed_is_told(run, key, tmp_path):
    kept = json.loads((tmp_path / "kept.json").read_text())
    (tmp_path / "kept.json").write_text(json.dumps({**kept, "size": 12}))
    assert "a signature of the key" in run("verify", tmp_path / "kept.json", status=1)
    said = run("verify", tmp_path / "kept.json", "--public-key", "00" * 32, status=1)
    assert "expected the key that is trusted" in said


def test_what_cannot_be_verified_is_told_in_a_sentence(run, tmp_path):
    assert "There is nothing at" in run("verify", tmp_path / "none", status=1)
    empty = tmp_path / "folder"
    empty.mkdir()
    assert "neither a ledger nor a published site" in run("verify", empty, status=1)
    (empty / "note.txt").write_text("a note")
    assert "nothing to verify" in run("verify", empty / "note.txt", status=1)
    assert "is no public key" in run("verify", "--public-key", "mine", status=1)
    assert "cannot be read" in run("verify", "--kept", tmp_path / "none", status=1)
    (empty / "page.html").write_text("<p>nothing</p>")
    assert "nothing in it is signed" in run("verify", empty / "page.html", status=1)


def test_a_folder_with_a_ledger_is_verified_as_the_ledger(run, tmp_path):
    said = run("verify", tmp_path)
    assert said.startswith(f"Verifying the ledger {tmp_path / 'ledger.db'}")
    assert "No fault found." in said


def test_of_several_databases_in_a_folder_one_has_to_be_named(run, tmp_path):
    shutil.copy(GOLDEN, tmp_path / "another.db")
    said = run("verify", tmp_path, status=1)
    assert f"{tmp_path / 'another.db'} (a ledger)" in said
    assert "Name the one to verify" in said


@pytest.mark.parametrize(
    ("name", "content"),
    [
        pytest.param("contra.yaml", b"bench_sheet: 1\n", id="a-sheet"),
        pytest.param("contra.xlsx", b"PK\x03\x04\x00\x00", id="a-spreadsheet"),
        pytest.param("back.jpg", b"\xff\xd8\xff\xe0\x00\x10JFIF\x00", id="a-picture"),
    ],
)
def test_what_is_neither_a_ledger_nor_a_site_is_not_called_one(run, tmp_path, name, content):
    (tmp_path / name).write_bytes(content)
    said = run("verify", tmp_path / name, status=1)
    assert "Verifying" not in said
    assert "neither a ledger, nor a published site" in said


def test_a_ledger_whose_beginning_is_damaged_is_still_looked_at_as_one(run, tmp_path):
    content = bytearray((tmp_path / "ledger.db").read_bytes())
    content[:16] = b"x" * 16
    (tmp_path / "renamed.old").write_bytes(content)
    assert "Verifying the ledger" in run("verify", tmp_path / "renamed.old", status=1)


def test_a_key_that_is_elsewhere_is_asked_for(run, key, tmp_path):
    (tmp_path / "keys").rename(tmp_path / "moved")
    assert "Say with --keys in which folder it is" in run("checkpoint", status=1)
    run("checkpoint", "--keys", tmp_path / "moved")

"""A published site, sealed, and what is told of one that was changed."""

from __future__ import annotations

import json
import random
import secrets
import shutil
import sqlite3
from pathlib import Path

import pytest

from ledger.errors import LedgerError
from ledger.publish.placing import DATABASE_FILE, METADATA_FILE, SETTINGS_FILE
from ledger.publishing import publish
from ledger.record.audit import Trust
from ledger.record.changes import Book, Change
from ledger.record.checkpoints import sign_checkpoint
from ledger.record.keys import introduction, key_file, new_key, signing_key
from ledger.record.seals import audit_site, seal_name
from ledger.record.store import Ledger

TIME = "2026-03-02T10:00:00Z"
GOLDEN = Path(__file__).parent / "golden" / "format-2.db"
FLIPS = 40


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """A ledger with a key and a checkpoint, and its site, sealed; the trust that goes with it."""
    folder = tmp_path_factory.mktemp("sealed")
    shutil.copy(GOLDEN, folder / "ledger.db")
    with Ledger.open(folder / "ledger.db") as ledger:
        key = new_key(folder / "keys", secrets.token_bytes)
        ledger.append(introduction(key, {}), recorder="me", recorded_at=TIME)
        sign_checkpoint(ledger, key, TIME)
        publish(ledger, folder / "site", keys=folder / "keys")
    return folder, Trust(key.public_key)


@pytest.fixture
def site(made, tmp_path):
    """A copy of the site, and the trust."""
    folder, trust = made
    shutil.copytree(folder / "site", tmp_path / "site")
    return tmp_path / "site" / DATABASE_FILE, trust


def _told(database, trust):
    return [
        (step.name, str(fault))
        for step in audit_site(database, trust).steps
        for fault in step.faults
    ]


def _steps(database, trust):
    return sorted({name for name, _ in _told(database, trust)})


def test_a_site_as_it_was_published_has_no_fault(site):
    database, trust = site
    found = audit_site(database, trust)
    assert found.faults == ()
    assert not any(step.notes for step in found.steps)
    (seal,) = database.parent.glob("seal-*.json")
    assert set(json.loads(seal.read_text())["files"]) == {
        DATABASE_FILE,
        METADATA_FILE,
        SETTINGS_FILE,
    }


def test_the_site_carries_hashes_and_no_content_of_entries(site):
    database, _ = site
    (seal,) = database.parent.glob("seal-*.json")
    told = seal.read_text() + database.read_bytes().decode("latin-1")
    assert "Somebody in particular" not in told
    shown = [each["content"] for each in json.loads(seal.read_text())["proof"]["entries"]]
    assert all('"section":"keys"' in each for each in shown)


def test_a_flipped_byte_anywhere_is_found(site):
    database, trust = site
    dice = random.Random(6962)  # noqa: S311 - dice, no key
    for path in (database, *database.parent.glob("*.json")):
        content = path.read_bytes()
        for _ in range(FLIPS if path == database else 12):
            at = dice.randrange(len(content))
            flipped = bytearray(content)
            flipped[at] ^= dice.randrange(1, 256)
            path.write_bytes(flipped)
            is_seal = path.name.startswith("seal-")
            # White space between the parts of a seal says nothing.
            if is_seal and _is_same(bytes(flipped), content):
                continue
            assert not audit_site(database, trust).is_whole, (path.name, at)
        path.write_bytes(content)
    assert audit_site(database, trust).is_whole


def _is_same(one, other):
    try:
        return json.loads(one) == json.loads(other)
    except ValueError:
        return False


def _change(database, *statements):
    connection = sqlite3.connect(database, isolation_level=None)
    connection.execute("PRAGMA foreign_keys = OFF")
    for statement in statements:
        connection.execute(statement)
    connection.close()


@pytest.mark.parametrize(
    ("statement", "steps"),
    [
        ("UPDATE line SET sentence = 'otherwise'", ["seal"]),
        ("UPDATE line SET hash = replace(hash, 'a', 'b')", ["lines", "seal"]),
        (
            "UPDATE entry SET hash = replace(hash, 'a', 'b') WHERE sequence = 4",
            ["entries", "lines", "seal"],
        ),
        ("DELETE FROM entry WHERE sequence = 13", ["entries", "seal"]),
        ("DELETE FROM entry WHERE sequence = 3", ["entries", "seal"]),
        ("UPDATE head SET hash = replace(hash, 'a', 'b')", ["entries", "seal"]),
        ("DELETE FROM proof", ["seal"]),
        ("DROP TABLE entry", ["database", "seal"]),
        ("UPDATE report SET body = replace(body, '1919', '1909')", ["seal"]),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_what_was_done_to_a_site_is_told(site, statement, steps):
    database, trust = site
    _change(database, statement)
    assert _steps(database, trust) == steps


def test_a_site_that_was_sealed_anew_is_told_by_the_public_key(made, site):
    folder, trust = made
    database, _ = site
    thief = signing_key(bytes([7] * 32))
    shutil.copy(folder / "ledger.db", database.parent.parent / "ledger.db")
    with Ledger.open(database.parent.parent / "ledger.db") as ledger:
        keys = database.parent.parent / "keys"
        new_key(keys, lambda _: bytes([7] * 32))
        sign_checkpoint(ledger, thief, TIME)
        publish(ledger, database.parent, keys=keys)
    # A checkpoint by a key that the ledger does not note counts for nothing: the old one is used.
    assert audit_site(database, trust).is_whole
    assert _steps(database, Trust(thief.public_key)) == ["signature"]


def test_a_site_without_seal_key_or_checkpoint_says_what_it_is_without(site, tmp_path):
    database, trust = site
    (seal,) = database.parent.glob("seal-*.json")
    seal.unlink()
    found = audit_site(database, trust)
    assert found.is_whole
    assert "no seal beside" in found.steps[0].notes[0]
    shutil.copy(GOLDEN, tmp_path / "ledger.db")
    with Ledger.open(tmp_path / "ledger.db", read_only=True) as ledger:
        publish(ledger, tmp_path / "bare", keys=tmp_path / "none")
    found = audit_site(tmp_path / "bare" / DATABASE_FILE)
    assert found.is_whole
    assert found.steps[-1].notes == (
        "The site carries no signed checkpoint: who published it cannot be told.",
    )


def test_entries_after_the_checkpoint_are_said_to_be_under_none(made, tmp_path):
    folder, trust = made
    shutil.copy(folder / "ledger.db", tmp_path / "ledger.db")
    with Ledger.open(tmp_path / "ledger.db") as ledger:
        change = Change("record", Book("instrument", "b"), "marks", "m", {"id": "m"})
        ledger.append([change], recorder="me", recorded_at=TIME)
        publish(ledger, tmp_path / "site", keys=folder / "keys")
    found = audit_site(tmp_path / "site" / DATABASE_FILE, trust)
    assert found.is_whole
    assert [note for step in found.steps for note in step.notes] == [
        "Entries 14 to 14 are under no checkpoint."
    ]


def test_publishing_again_leaves_one_seal_and_the_old_one_until_then(made, site):
    folder, trust = made
    database, _ = site
    (old,) = database.parent.glob("seal-*.json")
    stale = database.parent / seal_name("f" * 64)
    shutil.copy(old, stale)
    assert audit_site(database, trust).is_whole
    with Ledger.open(folder / "ledger.db", read_only=True) as ledger:
        publish(ledger, database.parent, keys=folder / "keys")
    assert len(list(database.parent.glob("seal-*.json"))) == 1
    assert audit_site(database, trust).is_whole


def test_a_key_that_others_may_read_does_not_seal(made, tmp_path):
    folder, _ = made
    shutil.copytree(folder / "keys", tmp_path / "keys")
    with Ledger.open(folder / "ledger.db", read_only=True) as ledger:
        name = json.loads(ledger.checkpoints()[0].content)["key"]
        key_file(tmp_path / "keys", name).chmod(0o644)
        with pytest.raises(LedgerError, match="chmod 600"):
            publish(ledger, tmp_path / "site", keys=tmp_path / "keys")
    assert not (tmp_path / "site").exists()


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"witnessmark_seal": 2, "files": {}}'], ids=str)
def test_a_seal_that_is_none_is_told(site, text):
    database, trust = site
    (seal,) = database.parent.glob("seal-*.json")
    seal.write_text(text)
    assert "seal" in _steps(database, trust)


def test_a_file_that_is_missing_is_told(site):
    database, trust = site
    (database.parent / SETTINGS_FILE).unlink()
    assert _told(database, trust)[0][1].endswith("found nothing that can be read")
    database.unlink()
    assert _steps(database, trust) == ["database", "seal"]

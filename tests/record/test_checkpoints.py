from __future__ import annotations

import json
from dataclasses import replace

import pytest

from ledger.basis.merkle import verify_consistency
from ledger.errors import LedgerError
from ledger.record.changes import Book, Change
from ledger.record.checkpoints import (
    entry_tree,
    read_checkpoint,
    sealed_checkpoint,
    sign_checkpoint,
    write_checkpoint,
)
from ledger.record.keys import introduction, signing_key
from ledger.record.store import Sealed

TIME = "2026-03-02T10:00:00Z"
KEY = signing_key(bytes(32))


def _append(ledger, name):
    change = Change("record", Book("instrument", "a"), "marks", name, {"id": name})
    ledger.append([change], recorder="me", recorded_at=TIME)


@pytest.fixture
def signed(ledger):
    ledger.append(introduction(KEY, {}), recorder="me", recorded_at=TIME)
    return ledger, sign_checkpoint(ledger, KEY, TIME)


def test_a_checkpoint_says_the_size_the_root_and_the_last_hash(signed):
    ledger, made = signed
    assert made.is_good()
    assert made.checkpoint.size == 1
    assert made.checkpoint.head == ledger.head().hash
    assert made.checkpoint.root == entry_tree(ledger.hashes(1)).root().hex()
    (sealed,) = ledger.checkpoints()
    assert sealed_checkpoint(sealed) == made.checkpoint
    assert sealed.signature == made.signature


def test_the_same_entries_are_signed_once_by_the_same_key(signed):
    ledger, made = signed
    assert sign_checkpoint(ledger, KEY, "2027-03-02T10:00:00Z") == made
    assert len(ledger.checkpoints()) == 1


def test_a_later_checkpoint_goes_on_from_the_one_before(signed):
    ledger, made = signed
    for name in "bcdefg":
        _append(ledger, name)
    later = sign_checkpoint(ledger, KEY, TIME)
    tree = entry_tree(ledger.hashes(7))
    proof = tree.consistency_proof(1, 7)
    first, second = (bytes.fromhex(each.checkpoint.root) for each in (made, later))
    assert verify_consistency(1, 7, first, second, proof)


def test_nothing_is_signed_where_something_is_wrong(ledger, tmp_path):
    with pytest.raises(LedgerError, match="empty"):
        sign_checkpoint(ledger, KEY, TIME)
    _append(ledger, "x")
    _append(ledger, "y")
    with pytest.raises(LedgerError, match="not a time"):
        sign_checkpoint(ledger, KEY, "yesterday")
    ledger._connection.execute("DROP TRIGGER entry_is_never_changed")
    ledger._connection.execute("UPDATE entry SET recorder = 'x' WHERE sequence = 2")
    with pytest.raises(LedgerError, match="Entry 2"):
        sign_checkpoint(ledger, KEY, TIME)
    assert ledger.checkpoints() == ()


@pytest.mark.parametrize("content", ["{}", "[]", "x", '{"a":1}'], ids=str)
def test_nothing_is_signed_beside_a_checkpoint_that_cannot_be_read(signed, content):
    ledger, _ = signed
    ledger._connection.execute("DROP TRIGGER checkpoint_is_never_changed")
    ledger._connection.execute("PRAGMA ignore_check_constraints = ON")
    ledger._connection.execute("UPDATE checkpoint SET content = ?", [content])
    with pytest.raises(LedgerError, match="cannot be read"):
        sign_checkpoint(ledger, KEY, TIME)


def test_nothing_is_signed_that_does_not_go_on_from_a_checkpoint(signed):
    ledger, made = signed
    other = replace(made.checkpoint, root="00" * 32)
    content = sealed_text(other)
    ledger._connection.execute("DROP TRIGGER checkpoint_is_never_changed")
    ledger._connection.execute("UPDATE checkpoint SET content = ?", [content])
    with pytest.raises(LedgerError, match="does not go on"):
        sign_checkpoint(ledger, KEY, TIME)


def sealed_text(checkpoint):
    return json.dumps(checkpoint.said(), sort_keys=True, separators=(",", ":"))


def test_a_checkpoint_that_was_kept_is_read_again(signed, tmp_path):
    _, made = signed
    path = tmp_path / "kept.json"
    write_checkpoint(made, path)
    assert read_checkpoint(path) == made
    assert "private" not in path.read_text()
    with pytest.raises(LedgerError, match="can be written"):
        write_checkpoint(made, tmp_path / "none" / "kept.json")
    with pytest.raises(LedgerError, match="cannot be read"):
        read_checkpoint(tmp_path / "none.json")


@pytest.mark.parametrize(
    "edit",
    [
        lambda _: [],
        lambda _: {},
        lambda given: {**given, "more": 1},
        lambda given: {**given, "size": "1"},
        lambda given: {**given, "size": 0},
        lambda given: {**given, "size": True},
        lambda given: {**given, "root": "zz"},
        lambda given: {**given, "head": 5},
        lambda given: {**given, "signature": 5},
        lambda given: {**given, "witnessmark_checkpoint": 2},
        lambda _: "x" * 20_000,
    ],
    ids=[
        "list",
        "empty",
        "more",
        "text",
        "none",
        "true",
        "root",
        "head",
        "signature",
        "format",
        "long",
    ],
)
def test_what_is_no_checkpoint_is_refused(signed, tmp_path, edit):
    _, made = signed
    path = tmp_path / "kept.json"
    path.write_text(json.dumps(edit(made.document())), encoding="utf-8")
    with pytest.raises(LedgerError, match="no checkpoint"):
        read_checkpoint(path)


def test_a_checkpoint_whose_words_were_changed_is_not_good(signed):
    _, made = signed
    for name, value in (("size", 2), ("root", "00" * 32), ("signed_at", "x"), ("key", "0" * 16)):
        changed = replace(made, checkpoint=replace(made.checkpoint, **{name: value}))
        assert not changed.is_good()
    assert not replace(made, public_key="zz").is_good()


def test_the_database_itself_refuses_a_second_or_a_hollow_checkpoint(signed):
    ledger, made = signed
    sealed = Sealed(sealed_text(made.checkpoint), made.signature)
    with pytest.raises(LedgerError, match="never replaced"):
        ledger.add_checkpoint(1, KEY.id, sealed)
    with pytest.raises(LedgerError, match="entries that are there"):
        ledger.add_checkpoint(2, KEY.id, sealed)
    for statement in ("UPDATE checkpoint SET size = 2", "DELETE FROM checkpoint"):
        with pytest.raises(Exception, match="never"):
            ledger._connection.execute(statement)

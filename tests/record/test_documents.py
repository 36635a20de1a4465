"""A dossier and its proof, checked with nothing but the dossier and a public key."""

from __future__ import annotations

import copy
import json
import random
import sqlite3

import pytest

from ledger.basis.hashing import sha256_hex
from ledger.errors import LedgerError
from ledger.record.audit import Trust
from ledger.record.changes import LEDGER_BOOK
from ledger.record.checkpoints import sign_checkpoint
from ledger.record.documents import (
    PROOF_MEMBER,
    audit_document,
    proof_element,
    read_document,
    rest_sha256,
)
from ledger.record.keys import introduction, last_note, rotation, signing_key
from ledger.record.proofs import latest_checkpoint, make_proof, read_proof, with_document

TIME = "2026-03-02T10:00:00Z"
KEY = signing_key(bytes(32))
SECOND = signing_key(bytes([1] * 32))
THIEF = signing_key(bytes([7] * 32))
TRUST = Trust(KEY.public_key)
FLIPS = 1000


@pytest.fixture
def signed(ledger, record, mandolin):
    """A ledger of seven entries, the first of which notes the key that signed for them."""
    ledger.append(introduction(KEY, {}), recorder="me", recorded_at=TIME)
    record(ledger, mandolin)
    sign_checkpoint(ledger, KEY, TIME)
    return ledger


@pytest.fixture
def dossier(signed):
    """A dossier in JSON, signed as a whole, that shows every entry of the instrument."""
    (row,) = signed._connection.execute(
        "SELECT commitment, salt FROM withheld WHERE field = 'place'"
    )
    opened = [{"commitment": row[0], "salt": row[1], "field": "place", "value": "A town"}]
    rest = {"title": "A mandolin <b>", "says": ["completed not before 1917"], "n": 1.5}
    proof = with_document(make_proof(signed, range(2, 7), opened), rest_sha256(rest), KEY)
    return {**rest, PROOF_MEMBER: proof}


def _told(found):
    return [(step.name, str(fault)) for step in found.steps for fault in step.faults]


def _steps(dossier, trust=TRUST):
    document = read_document(json.dumps(dossier).encode())
    return sorted({name for name, _ in _told(read_proof(document.proof, trust, document.sha256))})


def test_a_dossier_as_it_was_handed_out_has_no_fault(dossier, signed, tmp_path):
    path = tmp_path / "dossier.json"
    path.write_text(json.dumps(dossier), encoding="utf-8")
    found, read = audit_document(path, TRUST)
    assert found.faults == ()
    assert not any(step.notes for step in found.steps)
    assert list(read.entries) == [1, 2, 3, 4, 5, 6]
    assert [read.entries[at] for at in range(1, 7)] == list(signed.entries())
    assert list(read.opened.values()) == ["A town"]
    assert read.signed.checkpoint.size == 6


def test_the_proof_holds_the_commitments_and_not_what_is_withheld(dossier):
    text = json.dumps(dossier)
    assert "Somebody" not in text
    assert '\\"withheld\\"' in text


def test_the_same_in_html(dossier, tmp_path):
    proof = dict(dossier[PROOF_MEMBER])
    del proof["document"]
    page = "<!doctype html>\n<title>A dossier</title>\n<p>completed not before 1917 é</p>{}\n<p>end"
    bare = page.format(proof_element({}).replace("{}", "")).encode()
    element = proof_element(with_document(proof, sha256_hex(bare), KEY))
    path = tmp_path / "dossier.html"
    path.write_text(page.format(element), encoding="utf-8")
    found, read = audit_document(path, TRUST)
    assert found.faults == ()
    assert len(read.entries) == 6
    path.write_text(page.format(element).replace("1917", "1907", 1), encoding="utf-8")
    (fault,) = _told(audit_document(path, TRUST)[0])
    assert fault[0] == "document"
    assert "it was changed" in fault[1]
    for text in (page.format(""), page.format(element + element), page.format(element[:-9])):
        path.write_text(text, encoding="utf-8")
        assert [name for name, _ in _told(audit_document(path, TRUST)[0])] == ["proof"]


def test_a_dossier_that_is_not_signed_as_a_whole_says_so(dossier):
    del dossier[PROOF_MEMBER]["document"]
    document = read_document(json.dumps(dossier).encode())
    read = read_proof(document.proof, TRUST, document.sha256)
    assert _told(read) == []
    assert "what else it says is not" in read.steps[-1].notes[0]
    assert read_proof(document.proof, TRUST).steps[-1].notes == ()


def test_without_a_public_key_it_is_said_that_whose_it_is_was_not_looked_at(dossier):
    document = read_document(json.dumps(dossier).encode())
    read = read_proof(document.proof, Trust(), document.sha256)
    assert _told(read) == []
    assert "you have it from elsewhere" in read.steps[1].notes[0]


def _set(*path):
    """Sets what lies at the end of the path, up to its last part, which is the value."""

    def _do(dossier):
        *way, last, value = path
        for part in way:
            dossier = dossier[part]
        dossier[last] = value(dossier[last]) if callable(value) else value

    return _do


def _each_content(change):
    def _do(dossier):
        for each in dossier["proof"]["entries"]:
            each["content"] = change(each["content"])

    return _do


SECOND_ENTRY = ("proof", "entries", 1)
EDITS = {
    "another word outside": (_set("title", "Another"), ["document"]),
    "a word more outside": (lambda dossier: dossier.update(more=1), ["document"]),
    "an entry edited": (
        _each_content(lambda text: text.replace("May 1917", "May 1907")),
        ["entries"],
    ),
    "an entry dropped that another needs": (
        lambda dossier: dossier["proof"]["entries"].pop(0),
        ["signature"],
    ),
    "entries swapped": (
        lambda dossier: dossier["proof"]["entries"].reverse(),
        ["entries", "signature"],
    ),
    "an entry twice": (
        lambda dossier: dossier["proof"]["entries"].insert(1, dossier["proof"]["entries"][1]),
        ["entries"],
    ),
    "a proof of another entry": (
        lambda dossier: dossier["proof"]["entries"][1].update(
            proof=dossier["proof"]["entries"][2]["proof"]
        ),
        ["entries"],
    ),
    "a proof cut short": (_set(*SECOND_ENTRY, "proof", lambda proof: proof[:-1]), ["entries"]),
    "a proof in capitals": (_set(*SECOND_ENTRY, "proof", 0, str.upper), ["entries"]),
    "a proof with spaces": (_set(*SECOND_ENTRY, "proof", 0, lambda text: text + " "), ["entries"]),
    "content written otherwise": (
        _set(*SECOND_ENTRY, "content", lambda text: text.replace(",", ", ")),
        ["entries"],
    ),
    "content that is no entry": (_set(*SECOND_ENTRY, "content", "{}"), ["entries"]),
    "content that is no text": (_set(*SECOND_ENTRY, "content", 5), ["entries"]),
    "an entry that is none": (_set(*SECOND_ENTRY, None), ["entries"]),
    "a smaller checkpoint": (
        _set("proof", "checkpoint", "size", 5),
        ["document", "entries", "opened", "signature"],
    ),
    "another root": (
        _set("proof", "checkpoint", "root", "00" * 32),
        ["document", "entries", "opened", "signature"],
    ),
    "a root that is none": (_set("proof", "checkpoint", "root", "x"), ["proof"]),
    "another time": (
        _set("proof", "checkpoint", "signed_at", "2027-01-01T00:00:00Z"),
        ["signature"],
    ),
    "another key": (
        _set("proof", "checkpoint", "public_key", THIEF.public_key),
        ["document", "signature"],
    ),
    "a checkpoint that is none": (_set("proof", "checkpoint", None), ["proof"]),
    "an opened value edited": (_set("proof", "opened", 0, "value", "Another town"), ["opened"]),
    "an opened value of no entry": (_set("proof", "opened", 0, "field", "holder"), ["opened"]),
    "an opened value with other parts": (
        _set("proof", "opened", 0, "field", ["place"]),
        ["opened"],
    ),
    "another format": (_set("proof", "witnessmark_proof", 2), ["proof"]),
    "true for one": (_set("proof", "witnessmark_proof", bool), ["proof"]),
    "a part more": (lambda dossier: dossier["proof"].update(more=1), ["proof"]),
    "a part less": (lambda dossier: dossier["proof"].pop("opened"), ["proof"]),
    "parts of another kind": (_set("proof", "entries", {}), ["proof"]),
    "a proof that is none": (_set("proof", []), ["proof"]),
    "a signature of its own dropped": (
        lambda dossier: dossier["proof"]["document"].pop("signature"),
        ["document"],
    ),
}


@pytest.mark.parametrize("name", EDITS)
def test_what_was_done_to_a_dossier_is_told(dossier, name):
    edit, steps = EDITS[name]
    edited = copy.deepcopy(dossier)
    edit(edited)
    assert _steps(edited) == steps


def test_a_dossier_signed_by_another_is_told_by_the_public_key(signed, dossier):
    assert _steps(dossier, Trust(THIEF.public_key)) == ["signature"]


def test_whoever_trusts_an_earlier_key_can_follow_to_the_one_that_signed(signed):
    last = last_note(signed.entries(LEDGER_BOOK), KEY.id)
    signed.append(rotation(KEY, SECOND, last), recorder="me", recorded_at=TIME)
    sign_checkpoint(signed, SECOND, TIME)
    proof = make_proof(signed, [2])
    assert _told(read_proof(proof, TRUST)) == []
    assert _told(read_proof(proof, Trust(SECOND.public_key))) == []
    without = {
        **proof,
        "entries": [each for each in proof["entries"] if "endorsement" not in each["content"]],
    }
    assert {name for name, _ in _told(read_proof(without, TRUST))} == {"signature"}


def test_a_kept_checkpoint_of_the_same_size_has_to_have_the_same_root(signed):
    proof = make_proof(signed, [2])
    kept = latest_checkpoint(signed)
    assert _told(read_proof(proof, Trust(KEY.public_key, (kept,)))) == []
    forked = type(kept)(
        type(kept.checkpoint)(6, "00" * 32, kept.checkpoint.head, TIME, KEY.id), "", KEY.public_key
    )
    assert len(_told(read_proof(proof, Trust(KEY.public_key, (forked,))))) == 1
    older = type(kept)(
        type(kept.checkpoint)(5, "00" * 32, kept.checkpoint.head, TIME, KEY.id), "", KEY.public_key
    )
    read = read_proof(proof, Trust(KEY.public_key, (older,)))
    assert "only the ledger tells" in read.steps[1].notes[0]


def test_what_is_under_no_checkpoint_cannot_be_proved(signed, ledger, record, mandolin):
    record(signed, mandolin.replace("1917", "1918"))
    with pytest.raises(LedgerError, match="witnessmark checkpoint"):
        make_proof(signed, [7])
    assert make_proof(signed, [])["checkpoint"]["size"] == 6
    with pytest.raises(LedgerError, match="witnessmark checkpoint"):
        make_proof(signed, [1], until=5)
    with pytest.raises(LedgerError, match="is signed by the key"):
        with_document(make_proof(signed, [1]), "00" * 32, THIEF)


def test_a_ledger_that_is_not_what_its_checkpoint_says_proves_nothing(signed):
    signed._connection.execute("DROP TRIGGER entry_is_never_changed")
    signed._connection.execute("UPDATE entry SET hash = previous WHERE sequence = 3")
    with pytest.raises(LedgerError, match="not what its checkpoint says"):
        make_proof(signed, [1])


def test_a_thousand_flipped_bytes_of_a_dossier_are_each_found_or_without_effect(dossier):
    content = json.dumps(dossier).encode()
    dice = random.Random(9162)  # noqa: S311 - dice, no key
    unseen = []
    for _ in range(FLIPS):
        at, mask = dice.randrange(len(content)), dice.randrange(1, 256)
        flipped = bytearray(content)
        flipped[at] ^= mask
        try:
            document = read_document(bytes(flipped))
            read = read_proof(document.proof, TRUST, document.sha256)
        except ValueError:
            continue
        if _told(read) == [] and json.loads(flipped) != dossier:
            unseen.append((at, mask))
    assert unseen == []


@pytest.mark.parametrize(
    "data",
    [b"", b"[]", b"{", b"<html>", b"\xff\xfe", b'{"proof": 1, "proof": 2}', b"[" * 100_000, b"5", b"null"],
    ids=["empty", "list", "open", "page", "no-text", "twice", "deep", "number", "null"],
)  # fmt: skip
def test_what_is_no_dossier_is_told(tmp_path, data):
    path = tmp_path / "dossier.json"
    path.write_bytes(data)
    found, read = audit_document(path, TRUST)
    assert [name for name, _ in _told(found)] == ["proof"]
    assert read.entries == {}
    with pytest.raises(LedgerError, match="cannot be read"):
        audit_document(tmp_path / "none.json", TRUST)


def test_a_proof_alone_is_a_document_too(signed, tmp_path):
    path = tmp_path / "proof.json"
    path.write_text(json.dumps(make_proof(signed, [2, 3])), encoding="utf-8")
    found, read = audit_document(path, TRUST)
    assert found.is_whole
    assert sorted(read.entries) == [1, 2, 3]


def test_a_value_that_was_erased_can_no_longer_be_opened_from_the_ledger(signed, erase):
    erase(signed)
    assert signed._connection.execute("SELECT count(*) FROM withheld").fetchone() == (0,)
    assert isinstance(signed._connection, sqlite3.Connection)
    assert _told(read_proof(make_proof(signed, [2]), TRUST)) == []

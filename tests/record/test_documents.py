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


def _edited(name, dossier):
    proof = dossier[PROOF_MEMBER]
    entries = proof["entries"]
    match name:
        case "another word outside":
            dossier["title"] = "Another"
        case "a word more outside":
            dossier["more"] = 1
        case "an entry edited":
            for each in entries:
                each["content"] = each["content"].replace("May 1917", "May 1907")
        case "an entry dropped that another needs":
            del entries[0]
        case "entries swapped":
            entries[1], entries[2] = entries[2], entries[1]
        case "an entry twice":
            entries.insert(1, entries[1])
        case "a proof of another entry":
            entries[1]["proof"] = entries[2]["proof"]
        case "a proof cut short":
            entries[1]["proof"].pop()
        case "a proof in capitals":
            entries[1]["proof"][0] = entries[1]["proof"][0].upper()
        case "a proof with spaces":
            entries[1]["proof"][0] += " "
        case "content written otherwise":
            entries[1]["content"] = entries[1]["content"].replace(",", ", ")
        case "content that is no entry":
            entries[1]["content"] = "{}"
        case "content that is no text":
            entries[1]["content"] = 5
        case "an entry that is none":
            entries[1] = None
        case "a smaller checkpoint":
            proof["checkpoint"]["size"] = 5
        case "another root":
            proof["checkpoint"]["root"] = "00" * 32
        case "a root that is none":
            proof["checkpoint"]["root"] = "x"
        case "another time":
            proof["checkpoint"]["signed_at"] = "2027-01-01T00:00:00Z"
        case "another key":
            proof["checkpoint"]["public_key"] = THIEF.public_key
        case "a checkpoint that is none":
            proof["checkpoint"] = None
        case "an opened value edited":
            proof["opened"][0]["value"] = "Another town"
        case "an opened value of no entry":
            proof["opened"][0]["field"] = "holder"
        case "an opened value with other parts":
            proof["opened"][0]["field"] = ["place"]
        case "another format":
            proof["witnessmark_proof"] = 2
        case "true for one":
            proof["witnessmark_proof"] = True
        case "a part more":
            proof["more"] = 1
        case "a part less":
            del proof["opened"]
        case "parts of another kind":
            proof["entries"] = {}
        case "a proof that is none":
            dossier[PROOF_MEMBER] = []
        case "a signature of its own dropped":
            proof["document"] = {"sha256": proof["document"]["sha256"]}
        case _:
            raise LookupError(name)
    return dossier


@pytest.mark.parametrize(
    ("name", "steps"),
    [
        ("another word outside", ["document"]),
        ("a word more outside", ["document"]),
        ("an entry edited", ["entries"]),
        ("an entry dropped that another needs", ["signature"]),
        ("entries swapped", ["entries"]),
        ("an entry twice", ["entries"]),
        ("a proof of another entry", ["entries"]),
        ("a proof cut short", ["entries"]),
        ("a proof in capitals", ["entries"]),
        ("a proof with spaces", ["entries"]),
        ("content written otherwise", ["entries"]),
        ("content that is no entry", ["entries"]),
        ("content that is no text", ["entries"]),
        ("an entry that is none", ["entries"]),
        ("a smaller checkpoint", ["document", "entries", "opened", "signature"]),
        ("another root", ["document", "entries", "opened", "signature"]),
        ("a root that is none", ["proof"]),
        ("another time", ["signature"]),
        ("another key", ["document", "signature"]),
        ("a checkpoint that is none", ["proof"]),
        ("an opened value edited", ["opened"]),
        ("an opened value of no entry", ["opened"]),
        ("an opened value with other parts", ["opened"]),
        ("another format", ["proof"]),
        ("true for one", ["proof"]),
        ("a part more", ["proof"]),
        ("a part less", ["proof"]),
        ("parts of another kind", ["proof"]),
        ("a proof that is none", ["proof"]),
        ("a signature of its own dropped", ["document"]),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_what_was_done_to_a_dossier_is_told(dossier, name, steps):
    assert _steps(_edited(name, copy.deepcopy(dossier))) == steps


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
    dice = random.Random(9162)
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

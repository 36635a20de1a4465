"""Keys and signatures, held to RFC 8032, section 7.1 (from memory; each reproduced)."""

from __future__ import annotations

import secrets
from dataclasses import replace

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from ledger.errors import LedgerError, UnknownName
from ledger.record import keys
from ledger.record.changes import LEDGER_BOOK, Change
from ledger.record.keys import (
    current_key,
    introduction,
    is_signed,
    key_file,
    keys_in,
    last_note,
    load_key,
    new_key,
    public_file,
    read_public_key,
    revocation,
    rotation,
    signing_key,
    statement,
    trusted_keys,
)

TIME = "2026-03-02T10:00:00Z"
# Seed, public key, message, signature.
PUBLISHED = {
    "test-1": (
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
    ),
    "test-2": (
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
    ),
    "test-3": (
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
    ),
    "test-sha-abc": (
        "833fe62409237b9d62ec77587520911e9a759cec1d19755b7da901b96dca3d42",
        "ec172b93ad5e563bf4932c70e1245034c35467ef2efd4d64ebf819683467e2bf",
        "ddaf35a193617abacc417349ae20413112e6fa4e89a97ea20a9eeee64b55d39a2192992a274fc1a836ba3c23a3feebbd454d4423643ce80e2a9ac94fa54ca49f",
        "dc2a4459e7369633a52b1bf277839a00201009a3efbf3ecb69bea2186c26b58909351fc9ac90b3ecfdfbc7c66431e0303dca179c138ac17ad9bef1177331a704",
    ),
}


@pytest.mark.parametrize("name", PUBLISHED)
def test_the_published_signatures(name, monkeypatch):
    seed, public_key, message, signature = PUBLISHED[name]
    monkeypatch.setattr(keys, "statement", lambda _purpose, said: bytes.fromhex(said))
    key = signing_key(bytes.fromhex(seed))
    assert key.public_key == public_key
    assert key.sign("document", message) == signature
    assert is_signed(public_key, "document", message, signature)
    assert not is_signed(public_key, "document", message + "00", signature)


def test_what_is_signed_says_what_it_is():
    assert statement("checkpoint", {"b": 1, "a": "é"}) == (
        'witnessmark checkpoint 1\n{"a":"é","b":1}'.encode()
    )
    key = signing_key(bytes(32))
    signature = key.sign("checkpoint", {"a": 1})
    assert is_signed(key.public_key, "checkpoint", {"a": 1}, signature)
    assert not is_signed(key.public_key, "document", {"a": 1}, signature)
    assert not is_signed(key.public_key, "checkpoint", {"a": 2}, signature)
    assert not is_signed(key.public_key, "checkpoint", {"a": 1}, signature.upper())
    assert not is_signed("zz", "checkpoint", {"a": 1}, signature)
    assert not is_signed("ff" * 32, "checkpoint", {"a": 1}, signature)


def test_a_key_is_kept_for_its_owner_alone_and_shows_in_no_text(tmp_path):
    folder = tmp_path / "keys"
    key = new_key(folder, secrets.token_bytes)
    path = key_file(folder, key.id)
    assert (path.stat().st_mode & 0o777, folder.stat().st_mode & 0o777) == (0o600, 0o700)
    assert load_key(folder, key.id) == key
    private = key._private.private_bytes_raw()
    assert private.hex() not in repr(key)
    assert repr(key) == f"SigningKey(public_key='{key.public_key}')"
    for given in (key.public_key, key.public_key.upper(), str(public_file(folder, key.id))):
        assert read_public_key(given) == key.public_key


def test_a_key_that_others_may_read_is_not_used(tmp_path):
    key = new_key(tmp_path, secrets.token_bytes)
    key_file(tmp_path, key.id).chmod(0o640)
    with pytest.raises(LedgerError, match="chmod 600"):
        load_key(tmp_path, key.id)


def test_what_is_no_key_of_that_name_is_refused(tmp_path):
    with pytest.raises(LedgerError, match="cannot be read"):
        load_key(tmp_path, "0" * 16)
    other = new_key(tmp_path, secrets.token_bytes)
    path = key_file(tmp_path, "0" * 16)
    path.write_bytes(key_file(tmp_path, other.id).read_bytes())
    path.chmod(0o600)
    with pytest.raises(LedgerError, match="is not the signing key"):
        load_key(tmp_path, "0" * 16)
    path.write_bytes(b"nothing of the kind")
    with pytest.raises(LedgerError, match="is not a signing key"):
        load_key(tmp_path, "0" * 16)
    with pytest.raises(LedgerError, match="No key can be kept"):
        new_key(path / "below", secrets.token_bytes)
    for given in ("", "abc", str(path), str(key_file(tmp_path, other.id)), "a\0b"):
        with pytest.raises(LedgerError, match="no public key"):
            read_public_key(given)


def _note(ledger, changes):
    return ledger.append(changes, recorder="me", recorded_at=TIME)


def _notes(ledger):
    return keys_in(ledger.entries(LEDGER_BOOK))


@pytest.fixture
def two_keys(ledger):
    """A ledger in which a second key took the place of the first."""
    first, second = signing_key(bytes(32)), signing_key(bytes([1] * 32))
    _note(ledger, introduction(first, {}))
    _note(ledger, rotation(first, second, last_note(ledger.entries(), first.id)))
    return ledger, first, second


def test_a_key_is_noted_once_and_signs_until_it_is_rotated(two_keys):
    ledger, first, second = two_keys
    noted = _notes(ledger)
    assert [key.status for key in noted.values()] == ["retired", "current"]
    assert current_key(noted) == second.id
    assert [noted[first.id].may_sign(size) for size in (0, 1, 2)] == [False, True, False]
    assert [noted[second.id].may_sign(size) for size in (2, 3, 99)] == [False, True, True]
    assert not any(key.doubts for key in noted.values())
    with pytest.raises(LedgerError, match="Rotate it"):
        introduction(signing_key(bytes([2] * 32)), noted)


def test_who_trusts_the_first_key_can_follow_to_the_last(two_keys):
    ledger, first, second = two_keys
    noted = _notes(ledger)
    assert trusted_keys(noted, first.public_key) == {first.public_key, second.public_key}
    assert trusted_keys(noted, second.public_key) == {second.public_key}


def test_a_revoked_key_counts_up_to_an_entry_and_leads_no_further(two_keys):
    ledger, first, second = two_keys
    changes = revocation(
        first.id, _notes(ledger), "taken", 1, last_note(ledger.entries(), first.id)
    )
    _note(ledger, changes)
    noted = _notes(ledger)
    assert noted[first.id].status == "revoked"
    assert [noted[first.id].may_sign(size) for size in (1, 2)] == [True, False]
    assert trusted_keys(noted, first.public_key) == {first.public_key}
    with pytest.raises(LedgerError, match="already"):
        revocation(first.id, noted, "again", 1, 4)
    with pytest.raises(UnknownName):
        revocation("0" * 16, noted, "why", 1, 4)
    with pytest.raises(LedgerError, match="why"):
        revocation(second.id, noted, " ", 1, 4)


def test_after_a_revocation_a_new_key_is_noted_that_nobody_signed_for(ledger):
    first, second = signing_key(bytes(32)), signing_key(bytes([1] * 32))
    _note(ledger, introduction(first, {}))
    _note(ledger, revocation(first.id, _notes(ledger), "lost", 1, 1))
    _note(ledger, introduction(second, _notes(ledger)))
    noted = _notes(ledger)
    assert current_key(noted) == second.id
    assert trusted_keys(noted, first.public_key) == {first.public_key}


def test_a_key_that_is_put_in_by_force_is_doubted(two_keys):
    ledger, first, second = two_keys
    thief = signing_key(bytes([7] * 32))
    (introduced,) = introduction(thief, {})
    forged = dict(introduced.body, replaces=second.id, endorsement="00" * 64)
    _note(ledger, [replace(introduced, body=forged)])
    stolen = dict(introduced.body, public_key=first.public_key)
    _note(ledger, [replace(introduced, body=stolen, act="supersede", replaces=4)])
    noted = _notes(ledger)
    assert thief.public_key not in trusted_keys(noted, second.public_key)
    assert len(noted[thief.id].doubts) == 4


def test_an_endorsement_by_a_key_that_was_not_just_retired_is_none(ledger):
    # Whoever has a key that was retired long ago signs for one of his own.
    first, second = signing_key(bytes(32)), signing_key(bytes([1] * 32))
    thief = signing_key(bytes([7] * 32))
    _note(ledger, introduction(first, {}))
    _note(ledger, rotation(first, second, 1))
    _, introduced = rotation(first, thief, 2)
    _note(ledger, [introduced])
    noted = _notes(ledger)
    assert not noted[thief.id].is_endorsed
    assert thief.public_key not in trusted_keys(noted, first.public_key)


def test_a_key_that_was_exchanged_under_the_same_short_name_leads_nowhere(ledger):
    # Noted under the short name of the trusted key: another, by which a third is signed for; then
    # the trusted one itself, whose own signature for itself anybody can copy from its ledger.
    trusted, thief = signing_key(bytes(32)), signing_key(bytes([7] * 32))
    third = signing_key(bytes([8] * 32))
    (genuine,) = introduction(trusted, {})
    (foreign,) = introduction(thief, {})
    retired, _ = rotation(thief, third, 1)
    body = rotation(thief, third, 1)[1].body | {
        "replaces": trusted.id,
        "endorsement": thief.sign("endorsement", {"new": third.public_key, "old": trusted.id}),
    }
    _note(ledger, [replace(foreign, line=trusted.id)])
    _note(
        ledger,
        [replace(retired, line=trusted.id), Change("record", LEDGER_BOOK, "keys", third.id, body)],
    )
    _note(ledger, [replace(genuine, act="supersede", replaces=2)])
    noted = _notes(ledger)
    assert noted[trusted.id].public_key == trusted.public_key
    assert third.public_key not in trusted_keys(noted, trusted.public_key)


def test_two_keys_of_one_short_name_are_told_apart(monkeypatch, two_keys):
    # A short name that is the same for every key stands for two that were made to have the same.
    monkeypatch.setattr(keys, "key_id", lambda _: "5" * 16)
    _, first, _ = two_keys
    other = signing_key(bytes([9] * 32))
    assert other.id == first.id
    noted = {first.id: keys.Noted(first.public_key, 1)}
    assert trusted_keys(noted, other.public_key) == {other.public_key}


def test_a_note_about_a_key_that_was_never_noted_is_doubted(ledger):
    key = signing_key(bytes(32))
    retired, _ = rotation(key, signing_key(bytes([1] * 32)), 0)
    _note(ledger, [replace(retired, act="record")])
    assert "never noted" in _notes(ledger)[key.id].doubts[0]


def test_a_key_of_another_kind_is_refused(tmp_path):
    from_elsewhere = Ed25519PrivateKey.generate().public_key()
    assert read_public_key(from_elsewhere.public_bytes_raw().hex())

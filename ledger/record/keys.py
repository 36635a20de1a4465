"""Signing keys: made here, kept outside the ledger, and what the ledger notes about them.

A key is Ed25519 (RFC 8032). Its private half is a file of its own that only its owner may read,
and never stands in a ledger or in anything printed. The ledger notes the public half, when
another key takes its place and when it is not to be trusted any more: each is an entry. A key
shows that it was there when it was noted by signing that note; the key that it takes the place
of signs for it, so that whoever trusts the first can follow to the last.

Whatever is signed begins with the words for what it is: a signature on the one is none on the
other.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final, Literal

from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    PublicFormat,
    load_pem_private_key,
    load_pem_public_key,
)

from ledger.basis.hashing import canonical_json, sha256_hex
from ledger.errors import LedgerError, UnknownName
from ledger.record.changes import LEDGER_BOOK, Change
from ledger.record.entries import Entry

KEYS: Final = "keys"
KEY_ID_LENGTH: Final = 16

Purpose = Literal["checkpoint", "document", "possession", "endorsement"]
Status = Literal["current", "retired", "revoked"]

_PUBLIC_KEY: Final = re.compile(r"[0-9a-f]{64}", re.ASCII)
_SIGNATURE: Final = re.compile(r"[0-9a-f]{128}", re.ASCII)


def key_id(public_key: str) -> str:
    """The short name of a public key: the beginning of its SHA-256.

    >>> key_id("d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a")
    '21fe31dfa154a261'
    """
    return sha256_hex(bytes.fromhex(public_key))[:KEY_ID_LENGTH]


def statement(purpose: Purpose, said: object) -> bytes:
    """The bytes that are signed when ``said`` is said for that purpose."""
    return f"witnessmark {purpose} 1\n".encode() + canonical_json(said)


@dataclass(frozen=True, slots=True)
class SigningKey:
    """A key that can sign. Its private half shows in no text made of it."""

    public_key: str
    _private: Ed25519PrivateKey = field(repr=False, compare=False)

    @property
    def id(self) -> str:
        """Its short name."""
        return key_id(self.public_key)

    def sign(self, purpose: Purpose, said: object) -> str:
        """The signature under ``said``, in hexadecimal."""
        return self._private.sign(statement(purpose, said)).hex()


def is_signed(public_key: str, purpose: Purpose, said: object, signature: str) -> bool:
    """Whether the signature is that key's, under those very words."""
    if not (_PUBLIC_KEY.fullmatch(public_key) and _SIGNATURE.fullmatch(signature)):
        return False
    try:
        verifier = Ed25519PublicKey.from_public_bytes(bytes.fromhex(public_key))
        verifier.verify(bytes.fromhex(signature), statement(purpose, said))
    except (InvalidSignature, ValueError):
        return False
    return True


def signing_key(seed: bytes) -> SigningKey:
    """The key of a seed of 32 bytes (RFC 8032, 5.1.5)."""
    return _signing_key(Ed25519PrivateKey.from_private_bytes(seed))


def new_key(folder: Path, random_bytes: Callable[[int], bytes]) -> SigningKey:
    """A new key, kept in a file of its own in ``folder``, for its owner's eyes alone.

    Raises:
        LedgerError: it cannot be written there.
    """
    key = signing_key(random_bytes(32))
    path = key_file(folder, key.id)
    text = key._private.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())  # noqa: SLF001 - its own file
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(descriptor, "wb") as file:
            file.write(text)
            file.flush()
            os.fsync(descriptor)
        public_file(folder, key.id).write_text(public_text(key.public_key), encoding="ascii")
    except OSError as error:
        raise LedgerError(f"No key can be kept in {folder}: {error.strerror}.") from error
    return key


def key_file(folder: Path, name: str) -> Path:
    """Where the key of that short name is kept."""
    return folder / f"{name}.pem"


def public_file(folder: Path, name: str) -> Path:
    """Where its public half lies, to be handed out."""
    return folder / f"{name}.public.pem"


def load_key(folder: Path, name: str) -> SigningKey:
    """The key of that short name.

    Raises:
        LedgerError: it is not in the folder, others may read it, or it is no such key.
    """
    path = key_file(folder, name)
    try:
        mode = path.stat().st_mode
        data = path.read_bytes()
    except OSError as error:
        raise LedgerError(
            f"The key {name} cannot be read at {path} ({error.strerror}). Say with --keys in "
            "which folder it is."
        ) from error
    if os.name == "posix" and mode & 0o077:
        raise LedgerError(
            f"Others than its owner may read {path}. Close it (chmod 600), and consider whether "
            "the key has to be revoked."
        )
    try:
        private = load_pem_private_key(data, password=None)
    except (TypeError, ValueError, UnsupportedAlgorithm) as error:
        raise LedgerError(f"{path} is not a signing key of this program.") from error
    if not isinstance(private, Ed25519PrivateKey) or _signing_key(private).id != name:
        raise LedgerError(f"{path} is not the signing key {name}.")
    return _signing_key(private)


def public_text(public_key: str) -> str:
    """A public key as it is handed out (PEM)."""
    key = Ed25519PublicKey.from_public_bytes(bytes.fromhex(public_key))
    return key.public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo).decode("ascii")


def read_public_key(given: str) -> str:
    """The public key that was given: as 64 hexadecimal figures, or as the name of its file.

    Raises:
        LedgerError: it is neither.
    """
    text = given.strip()
    if _PUBLIC_KEY.fullmatch(text.lower()):
        return text.lower()
    with suppress(OSError, ValueError, UnsupportedAlgorithm):
        key = load_pem_public_key(Path(text).read_bytes())
        if isinstance(key, Ed25519PublicKey):
            return key.public_bytes(Encoding.Raw, PublicFormat.Raw).hex()
    raise LedgerError(
        f"{given!r} is no public key: neither 64 hexadecimal figures nor the name of a file with "
        "an Ed25519 public key in it (PEM)."
    )


@dataclass(frozen=True, slots=True)
class Noted:
    """What the ledger notes about a key.

    From entry ``since`` on it signed, up to entry ``until`` (None: it still may). What it signed
    over more than ``trusted_until`` entries does not count. ``endorsed_by`` is the whole public
    half of the key whose place it took and which signed for that; ``doubts`` are what is wrong with
    the notes themselves.
    """

    public_key: str
    since: int
    until: int | None = None
    trusted_until: int | None = None
    status: Status = "current"
    replaces: str = ""
    endorsed_by: str = ""
    doubts: tuple[str, ...] = ()

    @property
    def is_endorsed(self) -> bool:
        """Whether the key whose place it took signed for it."""
        return bool(self.endorsed_by)

    def may_sign(self, size: int) -> bool:
        """Whether a checkpoint of that many entries counts when this key signed it."""
        return (
            size >= self.since
            and (self.until is None or size < self.until)
            and (self.trusted_until is None or size <= self.trusted_until)
        )


def keys_in(entries: Iterable[Entry]) -> dict[str, Noted]:
    """What the entries note about each key, by its short name, in the order of their noting."""
    found: dict[str, Noted] = {}
    for entry in entries:
        if (entry.book_kind, entry.section) == (LEDGER_BOOK.kind, KEYS) and entry.body:
            found[entry.line] = _noted(entry, entry.body, found)
    return found


def current_key(noted: Mapping[str, Noted]) -> str | None:
    """The short name of the key that signs now; None where there is none."""
    return next((name for name, key in noted.items() if key.status == "current"), None)


def trusted_keys(noted: Mapping[str, Noted], public_key: str) -> frozenset[str]:
    """The whole public keys that whoever trusts ``public_key`` may trust, those that it leads to.

    Short names only find the notes: two keys can be made to have the same one, and what is noted
    under a name can be exchanged. A key about which the notes do not agree leads no further.
    """
    trusted = {public_key}
    for key in noted.values():
        former = noted.get(key.replaces)
        if former is None or former.doubts or former.public_key not in trusted:
            continue
        if key.endorsed_by != former.public_key or key.doubts:
            continue
        if former.trusted_until is None or key.since <= former.trusted_until:
            trusted.add(key.public_key)
    return frozenset(trusted)


def introduction(key: SigningKey, noted: Mapping[str, Noted]) -> tuple[Change, ...]:
    """What notes a ledger's first key, or one after the last was revoked.

    Raises:
        LedgerError: there is one that signs.
    """
    if (current := current_key(noted)) is not None:
        raise LedgerError(f"The key {current} signs for this ledger. Rotate it, or revoke it.")
    return (Change("record", LEDGER_BOOK, KEYS, key.id, _introduced(key)),)


def rotation(old: SigningKey, new: SigningKey, last: int) -> tuple[Change, ...]:
    """What notes that ``new`` takes the place of ``old``, whose last note is entry ``last``."""
    body = _introduced(new)
    body["replaces"] = old.id
    body["endorsement"] = old.sign("endorsement", _endorsed(old.id, new.public_key))
    retired = {"public_key": old.public_key, "status": "retired"}
    return (
        Change("supersede", LEDGER_BOOK, KEYS, old.id, retired, replaces=last),
        Change("record", LEDGER_BOOK, KEYS, new.id, body),
    )


def revocation(
    name: str, noted: Mapping[str, Noted], reason: str, trusted_until: int, last: int
) -> tuple[Change, ...]:
    """What notes that a key is not to be trusted over more than ``trusted_until`` entries.

    Raises:
        UnknownName: the ledger knows no such key.
        LedgerError: it is revoked already, or no reason is given.
    """
    if name not in noted:
        raise UnknownName("key of this ledger", name, list(noted))
    if noted[name].status == "revoked":
        raise LedgerError(f"The key {name} is revoked already.")
    if not reason.strip():
        raise LedgerError("Nothing was recorded: it has to be said why the key is revoked.")
    body = {
        "public_key": noted[name].public_key,
        "reason": reason,
        "status": "revoked",
        "trusted_until": trusted_until,
    }
    return (Change("supersede", LEDGER_BOOK, KEYS, name, body, replaces=last),)


def last_note(entries: Iterable[Entry], name: str) -> int:
    """The number of the last entry about the key; 0 where there is none."""
    return max(
        (
            entry.sequence
            for entry in entries
            if (entry.book_kind, entry.section, entry.line) == (LEDGER_BOOK.kind, KEYS, name)
        ),
        default=0,
    )


def _signing_key(private: Ed25519PrivateKey) -> SigningKey:
    return SigningKey(
        private.public_key().public_bytes(Encoding.Raw, PublicFormat.Raw).hex(), private
    )


def _introduced(key: SigningKey) -> dict[str, Any]:
    return {
        "possession": key.sign("possession", {"public_key": key.public_key}),
        "public_key": key.public_key,
        "status": "current",
    }


def _endorsed(old: str, new_public_key: str) -> dict[str, str]:
    return {"new": new_public_key, "old": old}


def _noted(entry: Entry, body: Mapping[str, Any], before: Mapping[str, Noted]) -> Noted:
    public_key, status = str(body.get("public_key")), str(body.get("status"))
    known = before.get(entry.line)
    doubts = list(known.doubts) if known else []
    if not _PUBLIC_KEY.fullmatch(public_key) or key_id(public_key) != entry.line:
        doubts.append(f"entry {entry.sequence} gives the key {entry.line} another public half")
    if status == "current":
        if known is not None:
            doubts.append(f"entry {entry.sequence} lets the key {entry.line} sign a second time")
        said = {"public_key": public_key}
        if not is_signed(public_key, "possession", said, str(body.get("possession"))):
            doubts.append(f"entry {entry.sequence} notes a key that did not sign for itself")
        replaces = str(body.get("replaces", ""))
        former = before.get(replaces)
        is_endorsed = (
            former is not None
            # It has just been retired for this very one, and by nothing else.
            and (former.until, former.status) == (entry.sequence - 1, "retired")
            and is_signed(
                former.public_key,
                "endorsement",
                _endorsed(replaces, public_key),
                str(body.get("endorsement")),
            )
        )
        if former is None or not is_endorsed:
            former = None
        if replaces and former is None:
            doubts.append(
                f"entry {entry.sequence}: the key {replaces} did not sign for the new one"
            )
        return Noted(
            public_key,
            entry.sequence,
            replaces=replaces,
            endorsed_by="" if former is None else former.public_key,
            doubts=tuple(doubts),
        )
    if known is None:
        doubts.append(f"entry {entry.sequence} speaks of a key that was never noted")
        known = Noted(public_key, entry.sequence)
    limit = body.get("trusted_until")
    return Noted(
        known.public_key,
        known.since,
        entry.sequence if known.until is None else known.until,
        limit if type(limit) is int else known.trusted_until,
        "revoked" if status == "revoked" else "retired",
        known.replaces,
        known.endorsed_by,
        tuple(doubts),
    )

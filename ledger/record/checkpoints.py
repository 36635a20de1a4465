"""Checkpoints: the head of the ledger, signed, to be kept where the ledger is not.

A checkpoint says how many entries there were, the root of the Merkle tree over them (RFC 9162)
and the hash of the last. Whoever keeps one can tell whether a ledger that is shown later still
begins with those entries. It is signed only over a ledger in which everything is what it was
recorded as, and which goes on from every checkpoint before.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final

from ledger.basis.hashing import canonical_json
from ledger.basis.merkle import MerkleTree, leaf_hash
from ledger.errors import LedgerError
from ledger.record.keys import SigningKey, is_signed, key_id
from ledger.record.store import Ledger, Sealed
from ledger.record.turns import check_time

CHECKPOINT_FORMAT: Final = 1
_FORMAT: Final = "witnessmark_checkpoint"
_SIGNED: Final = frozenset((_FORMAT, "head", "key", "root", "signed_at", "size"))
_HASH: Final = re.compile(r"[0-9a-f]{64}", re.ASCII)
_GREATEST_FILE_BYTES: Final = 10_000


@dataclass(frozen=True, slots=True)
class Checkpoint:
    """What is signed: the first ``size`` entries have this root, and the last of them this hash."""

    size: int
    root: str
    head: str
    signed_at: str
    key: str

    def said(self) -> dict[str, Any]:
        """The words that are signed."""
        return {_FORMAT: CHECKPOINT_FORMAT, **asdict(self)}


@dataclass(frozen=True, slots=True)
class Signed:
    """A checkpoint with its signature, and the public half of the key that it says is its own."""

    checkpoint: Checkpoint
    signature: str
    public_key: str

    def document(self) -> dict[str, Any]:
        """It as it is handed out."""
        return {
            **self.checkpoint.said(),
            "public_key": self.public_key,
            "signature": self.signature,
        }

    def is_good(self) -> bool:
        """Whether that key signed those words. Whose key it is, it does not tell."""
        return self.checkpoint.key == _id_of(self.public_key) and is_signed(
            self.public_key, "checkpoint", self.checkpoint.said(), self.signature
        )


def checkpoint_of(said: Mapping[str, Any]) -> Checkpoint:
    """The checkpoint that was signed in these words.

    Raises:
        ValueError: it is none.
    """
    given = dict(said)
    if given.keys() != _SIGNED or given.pop(_FORMAT) != CHECKPOINT_FORMAT:
        raise ValueError(f"it is not a checkpoint of format {CHECKPOINT_FORMAT}")
    size = given.pop("size")
    if type(size) is not int or size < 1 or not all(isinstance(x, str) for x in given.values()):
        raise ValueError("a part of it is not what a checkpoint has there")
    if not (_HASH.fullmatch(given["root"]) and _HASH.fullmatch(given["head"])):
        raise ValueError("its root or head is no SHA-256")
    return Checkpoint(size=size, **given)


def sealed_checkpoint(sealed: Sealed) -> Checkpoint:
    """A checkpoint as the ledger keeps it, read.

    Raises:
        ValueError: it is none.
    """
    said = json.loads(sealed.content)
    if not isinstance(said, dict):
        raise ValueError("it is not a checkpoint")  # noqa: TRY004 - read, and not of our making
    found = checkpoint_of(said)
    if canonical_json(found.said()).decode("utf-8") != sealed.content:
        raise ValueError("it is not canonical JSON (RFC 8785)")
    return found


def signed_of(document: object) -> Signed:
    """A checkpoint as it was handed out, read.

    Raises:
        ValueError: it is none.
    """
    if not isinstance(document, dict):
        raise ValueError("it is not a checkpoint")  # noqa: TRY004 - as above
    said = {name: value for name, value in document.items() if name in _SIGNED}
    rest = {name: value for name, value in document.items() if name not in _SIGNED}
    if rest.keys() != {"public_key", "signature"}:
        raise ValueError("it has other parts than a checkpoint")
    if not all(isinstance(value, str) for value in rest.values()):
        raise ValueError("its key or signature is no text")
    return Signed(checkpoint_of(said), rest["signature"], rest["public_key"])


def read_checkpoint(path: Path) -> Signed:
    """The checkpoint that was kept in a file.

    Raises:
        LedgerError: it cannot be read, or is none.
    """
    try:
        with path.open("rb") as file:
            data = file.read(_GREATEST_FILE_BYTES + 1)
        if len(data) > _GREATEST_FILE_BYTES:
            raise LedgerError(f"{path} is no checkpoint: it is too large for one.")
        return signed_of(json.loads(data))
    except OSError as error:
        raise LedgerError(f"{path} cannot be read: {error.strerror}.") from error
    except (ValueError, RecursionError) as error:
        raise LedgerError(f"{path} is no checkpoint: {error}.") from error


def write_checkpoint(signed: Signed, path: Path) -> None:
    """Keep a checkpoint in a file of its own.

    Raises:
        LedgerError: it cannot be written there.
    """
    text = json.dumps(signed.document(), indent=2, sort_keys=True) + "\n"
    try:
        path.write_text(text, encoding="ascii")
    except OSError as error:
        raise LedgerError(f"No checkpoint can be written at {path}: {error.strerror}.") from error


def entry_tree(hashes: Iterable[str]) -> MerkleTree:
    """The tree over entries with these hashes, in order."""
    return MerkleTree(leaf_hash(bytes.fromhex(each)) for each in hashes)


def sign_checkpoint(ledger: Ledger, key: SigningKey, signed_at: str) -> Signed:
    """A checkpoint of the whole ledger, signed and kept in it.

    Where the same key has signed for the same entries before, that one is returned.

    Raises:
        LedgerError: the ledger is not what was recorded, does not go on from an earlier
            checkpoint, or is empty.
    """
    check_time(signed_at)
    head = ledger.verify_chain()
    if not head.sequence:
        raise LedgerError("There is nothing to sign: the ledger is empty.")
    tree = entry_tree(ledger.hashes(head.sequence))
    for sealed in ledger.checkpoints():
        try:
            kept = sealed_checkpoint(sealed)
        except ValueError as error:
            raise LedgerError(f"A checkpoint in the ledger cannot be read: {error}.") from error
        if kept.size > tree.size or tree.root(kept.size).hex() != kept.root:
            raise LedgerError(
                f"The ledger does not go on from the checkpoint of {kept.size} entries that was "
                f"signed at {kept.signed_at}. Nothing was signed; run witnessmark verify."
            )
        if (kept.size, kept.key) == (head.sequence, key.id):
            return Signed(kept, sealed.signature, key.public_key)
    made = Checkpoint(head.sequence, tree.root().hex(), head.hash, signed_at, key.id)
    signature = key.sign("checkpoint", made.said())
    content = canonical_json(made.said()).decode("utf-8")
    ledger.add_checkpoint(made.size, key.id, Sealed(content, signature))
    return Signed(made, signature, key.public_key)


def _id_of(public_key: str) -> str:
    try:
        return key_id(public_key)
    except ValueError:
        return ""

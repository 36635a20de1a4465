"""Proofs to hand over: chosen entries, and what shows that a signed ledger holds them.

A proof is one JSON object, meant to be embedded in a document or to lie beside it. Whoever has it
and a public key can check it without the ledger and without a network::

    {
      "witnessmark_proof": 1,
      "checkpoint": {              as a checkpoint is handed out
        "witnessmark_checkpoint": 1, "size": 41, "root": "<hex>", "head": "<hex>",
        "signed_at": "2026-03-02T10:00:00Z", "key": "<id>", "public_key": "<hex>",
        "signature": "<hex>"
      },
      "entries": [                 in order of their numbers
        {
          "content": "{...}",      the entry's canonical JSON (RFC 8785) as text; what is
                                   withheld stands in it as its commitment
          "proof": ["<hex>", ...]  its inclusion proof (RFC 9162) in the tree of the checkpoint
        }
      ],
      "opened": [                  withheld values that their owner chose to show; may be empty
        {"commitment": "<hex>", "salt": "<hex>", "field": "holder", "value": "..."}
      ],
      "document": {                only where the document around it is signed as a whole
        "sha256": "<hex>",         over the document without its proof
        "signature": "<hex>"       by the key of the checkpoint, under the words
      }                            {"sha256": ..., "size": ..., "root": ...}
    }

Among the entries are always those that note keys, so that whoever trusts an earlier key can
follow to the one that signed. Nothing else may stand in it: what is not checked is not carried.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, TypeGuard

from ledger.basis.merkle import MerkleTree, leaf_hash, verify_inclusion
from ledger.errors import LedgerError
from ledger.record.audit import Finding, Step, Trust
from ledger.record.changes import LEDGER_BOOK, commitment
from ledger.record.checkpoints import Signed, entry_tree, sealed_checkpoint, signed_of
from ledger.record.entries import Entry, entry_content, entry_from_content
from ledger.record.erasing import commitments_in
from ledger.record.keys import KEYS, SigningKey, is_signed, keys_in, trusted_keys
from ledger.record.store import Ledger

PROOF_FORMAT: Final = 1
PROOF_NAME: Final = "witnessmark_proof"

_PARTS: Final = frozenset((PROOF_NAME, "checkpoint", "entries", "opened"))
_OPENED: Final = frozenset(("commitment", "salt", "field", "value"))


@dataclass(frozen=True, slots=True)
class ReadProof:
    """A proof that was looked at: the steps taken, and the entries that it proves."""

    steps: tuple[Step, ...]
    entries: Mapping[int, Entry] = field(default_factory=dict)
    opened: Mapping[str, Any] = field(default_factory=dict)
    signed: Signed | None = None


def latest_checkpoint(ledger: Ledger, until: int | None = None) -> Signed | None:
    """The checkpoint of most entries (up to ``until``) that counts; None where there is none."""
    noted = keys_in(ledger.entries(LEDGER_BOOK))
    for sealed in reversed(ledger.checkpoints()):
        checkpoint = sealed_checkpoint(sealed)
        key = noted.get(checkpoint.key)
        if until is not None and checkpoint.size > until:
            continue
        if key is not None and key.may_sign(checkpoint.size):
            return Signed(checkpoint, sealed.signature, key.public_key)
    return None


def make_proof(
    ledger: Ledger,
    sequences: Iterable[int],
    opened: Sequence[Mapping[str, Any]] = (),
    until: int | None = None,
) -> dict[str, Any]:
    """The proof of the entries with these numbers, by the ledger's latest checkpoint.

    Args:
        ledger: from which they are.
        sequences: the numbers of the entries; those that note keys are added.
        opened: withheld values to show, each with commitment, salt, field and value.
        until: the greatest number of entries that the checkpoint may be of.

    Raises:
        LedgerError: there is no checkpoint, or not of all these entries.
    """
    signed = latest_checkpoint(ledger, until)
    wanted = sorted(set(sequences))
    if signed is None or (wanted and wanted[-1] > signed.checkpoint.size):
        reach = signed.checkpoint.size if signed else 0
        raise LedgerError(
            f"The ledger's checkpoint is of {reach} entries; entry {wanted[-1] if wanted else 1} "
            "is under none. Sign one first: witnessmark checkpoint."
        )
    size = signed.checkpoint.size
    tree = entry_tree(ledger.hashes(size))
    if tree.size != size or tree.root().hex() != signed.checkpoint.root:
        raise LedgerError("The ledger is not what its checkpoint says. Run witnessmark verify.")
    numbers = set(wanted)
    proved = [
        entry
        for entry in ledger.entries()
        if entry.sequence <= size and (entry.sequence in numbers or entry.section == KEYS)
    ]
    return {
        PROOF_NAME: PROOF_FORMAT,
        "checkpoint": signed.document(),
        "entries": [_proved(entry, tree) for entry in proved],
        "opened": [dict(each) for each in opened],
    }


def with_document(
    proof: Mapping[str, Any], document_sha256: str, key: SigningKey
) -> dict[str, Any]:
    """The proof, and the signature under the document around it.

    Raises:
        LedgerError: the key is not that of the checkpoint.
    """
    signed = signed_of(proof["checkpoint"])
    if signed.public_key != key.public_key:
        raise LedgerError(
            f"The checkpoint is signed by the key {signed.checkpoint.key} and not by {key.id}. "
            "Sign a new one: witnessmark checkpoint."
        )
    signature = key.sign("document", _document_said(document_sha256, signed))
    return {**proof, "document": {"sha256": document_sha256, "signature": signature}}


def read_proof(given: object, trust: Trust, document_sha256: str | None = None) -> ReadProof:
    """The proof, looked at step by step.

    Args:
        given: the JSON object.
        trust: the public key that is trusted, and checkpoints that were kept elsewhere.
        document_sha256: of the document around it without the proof; None where it stands alone.
    """
    form = _form_faults(given)
    if form or not isinstance(given, dict):
        return ReadProof((Step("proof", "Its form.", tuple(form)),))
    signed = signed_of(given["checkpoint"])
    entries, faults = _proved_entries(given["entries"], signed)
    opened, opened_faults = _opened(given["opened"], entries)
    steps = (
        Step("proof", f"A proof of format {PROOF_FORMAT}."),
        _signer_step(signed, entries, trust),
        Step("entries", f"Entries proved: {len(entries)}.", tuple(faults)),
        Step("opened", f"Withheld values shown: {len(opened)}.", tuple(opened_faults)),
        _document_step(given.get("document"), signed, document_sha256),
    )
    return ReadProof(steps, entries, opened, signed)


def _proved(entry: Entry, tree: MerkleTree) -> dict[str, Any]:
    proof = tree.inclusion_proof(entry.sequence - 1)
    return {
        "content": entry_content(entry).decode("utf-8"),
        "proof": [each.hex() for each in proof],
    }


def _document_said(sha256: str, signed: Signed) -> dict[str, Any]:
    return {"root": signed.checkpoint.root, "sha256": sha256, "size": signed.checkpoint.size}


def _form_faults(given: object) -> list[Finding]:
    where = "the proof"
    if not isinstance(given, dict):
        return [Finding(where, "a JSON object", "something else")]
    if given.get(PROOF_NAME) != PROOF_FORMAT or type(given.get(PROOF_NAME)) is not int:
        return [Finding(where, f"format {PROOF_FORMAT}", str(given.get(PROOF_NAME)))]
    if not _PARTS <= given.keys() <= {*_PARTS, "document"}:
        return [Finding(where, f"the parts {', '.join(sorted(_PARTS))}", ", ".join(sorted(given)))]
    if not isinstance(given["entries"], list) or not isinstance(given["opened"], list):
        return [Finding(where, "lists of entries and of opened values", "something else")]
    try:
        signed_of(given["checkpoint"])
    except ValueError as error:
        return [Finding("the checkpoint", "a signed checkpoint", str(error))]
    return []


def _proved_entries(
    given: Sequence[object], signed: Signed
) -> tuple[dict[int, Entry], list[Finding]]:
    found: dict[int, Entry] = {}
    faults: list[Finding] = []
    root, size, last = bytes.fromhex(signed.checkpoint.root), signed.checkpoint.size, 0
    for at, each in enumerate(given, 1):
        where = f"entry {at} of the proof"
        try:
            entry, proof = _read_entry(each)
        except ValueError as error:
            faults.append(Finding(where, "an entry with its inclusion proof", str(error)))
            continue
        leaf = leaf_hash(bytes.fromhex(entry.hash))
        if not verify_inclusion(leaf, entry.sequence - 1, size, proof, root):
            expected = f"a proof that entry {entry.sequence} is under the checkpoint as it stands"
            faults.append(Finding(where, expected, "one that does not lead to its root"))
        elif entry.sequence <= last:
            faults.append(Finding(where, "entries in order, each once", str(entry.sequence)))
        else:
            found[entry.sequence] = entry
            last = entry.sequence
            if entry.sequence == size and entry.hash != signed.checkpoint.head:
                faults.append(Finding(where, "the last hash of the checkpoint", entry.hash))
    return found, faults


def _read_entry(given: object) -> tuple[Entry, list[bytes]]:
    if not isinstance(given, dict) or given.keys() != {"content", "proof"}:
        raise ValueError("it has other parts")
    content, proof = given["content"], given["proof"]
    if not isinstance(content, str) or not isinstance(proof, list):
        raise ValueError("its content is no text, or its proof no list")  # noqa: TRY004 - read from a file
    if not all(isinstance(each, str) and each == each.lower() for each in proof):
        raise ValueError("its proof is not in hexadecimal figures")
    hashes = [bytes.fromhex(each) for each in proof]
    if [each.hex() for each in hashes] != proof:
        raise ValueError("its proof is not in hexadecimal figures alone")
    return entry_from_content(content.encode("utf-8")), hashes


def _opened(
    given: Sequence[object], entries: Mapping[int, Entry]
) -> tuple[dict[str, Any], list[Finding]]:
    named = {
        (name, field_name)
        for entry in entries.values()
        for field_name, name in commitments_in(entry)
    }
    found: dict[str, Any] = {}
    faults: list[Finding] = []
    for at, each in enumerate(given, 1):
        where = f"opened value {at} of the proof"
        if not _is_opened(each):
            faults.append(Finding(where, "commitment, salt, field and value", "other parts"))
            continue
        try:
            made = commitment(each["salt"], each["field"], each["value"])
        except ValueError as error:
            faults.append(Finding(where, "a value that can be hashed", str(error)))
            continue
        if made != each["commitment"]:
            faults.append(Finding(where, f"the value behind {each['commitment']}", "another"))
        elif (made, each["field"]) not in named:
            faults.append(Finding(where, "an entry shown here that withholds it", "none"))
        else:
            found[made] = each["value"]
    return found, faults


def _is_opened(given: object) -> TypeGuard[dict[str, Any]]:
    return (
        isinstance(given, dict)
        and given.keys() == _OPENED
        and all(isinstance(given[name], str) for name in ("commitment", "salt", "field"))
    )


def _signer_step(signed: Signed, entries: Mapping[int, Entry], trust: Trust) -> Step:
    checkpoint = signed.checkpoint
    faults: list[Finding] = []
    notes: list[str] = []
    if not signed.is_good():
        faults.append(Finding("the checkpoint", f"a signature of {checkpoint.key}", "another"))
    noted = keys_in(entries.values())
    key = noted.get(checkpoint.key)
    if key is None:
        faults.append(
            Finding("the checkpoint", f"an entry that notes the key {checkpoint.key}", "none")
        )
    elif key.public_key != signed.public_key or not key.may_sign(checkpoint.size) or key.doubts:
        doubt = "; ".join(key.doubts) or "another, or one that was retired or revoked by then"
        faults.append(Finding("the checkpoint", "a key that may sign for these entries", doubt))
    if not trust.public_key:
        notes.append(
            f"Whose key {checkpoint.key} is was not looked at: give the public key of the person "
            "whose ledger it is, as you have it from elsewhere."
        )
    elif signed.public_key not in trusted_keys(noted, trust.public_key):
        expected = f"the key {trust.public_key}, or one that it leads to"
        faults.append(Finding("the checkpoint", expected, f"the key {signed.public_key}"))
    for kept in trust.kept:
        if (kept.checkpoint.size, kept.checkpoint.root) == (checkpoint.size, checkpoint.root):
            continue
        if kept.checkpoint.size == checkpoint.size:
            where = f"the kept checkpoint of {checkpoint.size} entries"
            faults.append(Finding(where, f"the root {kept.checkpoint.root}", checkpoint.root))
        else:
            notes.append(
                f"The kept checkpoint is of {kept.checkpoint.size} entries and this proof of "
                f"{checkpoint.size}: whether the one goes on from the other only the ledger tells."
            )
    says = (
        f"{checkpoint.size} entries, signed at {checkpoint.signed_at} by the key {checkpoint.key}."
    )
    return Step("signature", says, tuple(faults), tuple(notes))


def _document_step(given: object, signed: Signed, document_sha256: str | None) -> Step:
    where = "the document"
    if given is None:
        note = (
            "The document is not signed as a whole: its entries are proved, what else it says is "
            "not."
        )
        notes = () if document_sha256 is None else (note,)
        return Step("document", "Not signed as a whole.", (), notes)
    if not isinstance(given, dict) or given.keys() != {"sha256", "signature"}:
        return Step("document", "", (Finding(where, "a SHA-256 and a signature", "other parts"),))
    faults: list[Finding] = []
    said = _document_said(str(given["sha256"]), signed)
    if not is_signed(signed.public_key, "document", said, str(given["signature"])):
        faults.append(Finding(where, f"a signature of the key {signed.checkpoint.key}", "another"))
    if document_sha256 is not None and document_sha256 != given["sha256"]:
        found = f"one with {document_sha256}: it was changed"
        faults.append(Finding(where, f"a document with the SHA-256 {given['sha256']}", found))
    return Step("document", "Signed as a whole.", tuple(faults))

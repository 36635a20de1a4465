"""The seal of a published site, and the verification of the site by it.

The seal is a small document beside the published files: the SHA-256 of each, and the proof of the
ledger's latest checkpoint. Where the key was at hand the seal is signed as a whole, and then
whoever changes one byte of a published file is found out. The published database itself carries
the hash of every entry, so that the chain and the tree over all of them can be computed from it
alone, and the same proof, for those who have nothing but the database.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Mapping
from contextlib import closing, suppress
from hashlib import file_digest
from pathlib import Path
from typing import Any, Final

from ledger.basis.merkle import MerkleTree
from ledger.record.audit import Audit, Finding, Step, Trust, unreadable
from ledger.record.checkpoints import Signed, entry_tree
from ledger.record.connections import connected
from ledger.record.documents import PROOF_MEMBER, NoProof, read_document, rest_sha256
from ledger.record.entries import FIRST_PREVIOUS
from ledger.record.keys import SigningKey
from ledger.record.proofs import ReadProof, read_proof, with_document

SEAL_FORMAT: Final = 1
SEAL_NAME: Final = "witnessmark_seal"


def seal_name(database_sha256: str) -> str:
    """The name of the file that seals the database with that SHA-256.

    The one before and the one after can lie beside each other: whenever a publication is broken
    off, the database that is in place has its seal.
    """
    return f"seal-{database_sha256[:16]}.json"


def seal_text(
    files: Mapping[str, str], proof: Mapping[str, Any] | None, key: SigningKey | None
) -> str:
    """The seal over files, given by name with their SHA-256; signed where there is a key."""
    seal: dict[str, Any] = {SEAL_NAME: SEAL_FORMAT, "files": dict(files)}
    if proof is not None:
        is_signed = key is not None
        seal[PROOF_MEMBER] = (
            with_document(proof, rest_sha256(seal), key) if is_signed and key else dict(proof)
        )
    return json.dumps(seal, indent=1, sort_keys=True) + "\n"


def audit_site(database: Path, trust: Trust | None = None) -> Audit:
    """What is to be said about a published site, given by its database; nothing is changed.

    The other files are looked for beside it.
    """
    trust = trust or Trust()
    seal, read = _read_seal(database, trust)
    steps: list[Step] = [seal]
    try:
        with closing(connected(database, "ro")) as connection:
            steps.append(_file_step(connection))
            inner = _inner_proof(connection, trust)
            read = read or inner
            steps += read.steps if read else ()
            steps.append(_entries_step(connection, read.signed if read else None))
            steps.append(_lines_step(connection))
    except (sqlite3.Error, ValueError, TypeError) as error:
        steps.append(unreadable("database", str(database), error))
    if read is None or read.signed is None:
        note = "The site carries no signed checkpoint: who published it cannot be told."
        steps.append(Step("signature", "Not signed.", (), (note,)))
    return Audit(f"the published site {database}", tuple(steps))


def _read_seal(database: Path, trust: Trust) -> tuple[Step, ReadProof | None]:
    """Whether the published files are those that were sealed, and the proof in the seal."""
    folder = database.parent
    try:
        digest = _sha256_of(database)
        here = sorted(folder.glob("seal-*.json"))
    except OSError as error:
        return unreadable("seal", str(database), error), None
    named = folder / seal_name(digest)
    if not here:
        note = "There is no seal beside the database: that its pages are as published is not known."
        return Step("seal", "Not sealed.", (), (note,)), None
    seal = named if named in here else here[-1]
    try:
        data = seal.read_bytes()
        files = _sealed_files(json.loads(data), database.name)
        read = None
        with suppress(NoProof):
            document = read_document(data)
            read = read_proof(document.proof, trust, document.sha256)
    except (OSError, ValueError, RecursionError) as error:
        return unreadable("seal", str(seal), error), None
    faults: list[Finding] = []
    for name, expected in sorted(files.items()):
        found = "nothing that can be read"
        with suppress(OSError):
            found = _sha256_of(folder / Path(name).name)
        if found != expected:
            faults.append(Finding(f"the file {name}", f"the SHA-256 {expected}", found))
    return Step("seal", f"Files sealed: {len(files)}.", tuple(faults)), read


def _sealed_files(given: object, database: str) -> dict[str, str]:
    """The files that a seal is over, with the SHA-256 of each."""
    files = given.get("files") if isinstance(given, dict) else None
    if (
        not isinstance(given, dict)
        or not isinstance(files, dict)
        or not given.keys() <= {SEAL_NAME, "files", PROOF_MEMBER}
        or given.get(SEAL_NAME) != SEAL_FORMAT
        or database not in files
    ):
        raise ValueError("it is not the seal of this database")
    return {str(name): str(sha256) for name, sha256 in files.items()}


def _sha256_of(path: Path) -> str:
    with path.open("rb") as file:
        return file_digest(file, "sha256").hexdigest()


def _file_step(connection: sqlite3.Connection) -> Step:
    rows = connection.execute("PRAGMA integrity_check(1000)").fetchall()
    faults = [Finding("the database", "a whole one", str(row[0])) for row in rows if row[0] != "ok"]
    return Step("database", "The published database.", tuple(faults))


def _inner_proof(connection: sqlite3.Connection, trust: Trust) -> ReadProof | None:
    row = connection.execute("SELECT body FROM proof").fetchone()
    return None if row is None else read_proof(json.loads(row[0]), trust)


def _entries_step(connection: sqlite3.Connection, signed: Signed | None) -> Step:
    """Whether the entries that the site lists follow from each other and are those signed for."""
    faults: list[Finding] = []
    hashes: list[str] = []
    before = FIRST_PREVIOUS
    query = "SELECT sequence, previous, hash FROM entry ORDER BY sequence"
    for at, (sequence, previous, own) in enumerate(connection.execute(query), 1):
        if sequence != at:
            faults.append(Finding(f"entry {at}", "an entry of that number", str(sequence)))
            break
        if previous != before:
            expected = f"{before} named as the hash of the entry before"
            faults.append(Finding(f"entry {sequence}", expected, str(previous)))
        hashes.append(own)
        before = own
    head = connection.execute("SELECT sequence, hash FROM head").fetchone()
    if hashes and tuple(head or ()) != (len(hashes), before):
        expected = f"entry {len(hashes)} with the hash {before}"
        faults.append(Finding("the head", expected, str(head)))
    tree = entry_tree(hashes)
    notes: list[str] = []
    if signed is not None:
        faults += _root_faults(tree, signed)
        if tree.size > signed.checkpoint.size:
            notes.append(
                f"Entries {signed.checkpoint.size + 1} to {tree.size} are under no checkpoint."
            )
    return Step("entries", f"Entries listed: {tree.size}.", tuple(faults), tuple(notes))


def _root_faults(tree: MerkleTree, signed: Signed) -> list[Finding]:
    checkpoint = signed.checkpoint
    where = f"the checkpoint of {checkpoint.size} entries"
    if checkpoint.size > tree.size:
        return [Finding(where, f"at least {checkpoint.size} entries", str(tree.size))]
    root = tree.root(checkpoint.size).hex()
    return [] if root == checkpoint.root else [Finding(where, f"the root {checkpoint.root}", root)]


def _lines_step(connection: sqlite3.Connection) -> Step:
    """Whether every line that is shown names the entry in which it was recorded."""
    query = (
        "SELECT line.key, line.sequence, line.hash, entry.hash FROM line LEFT JOIN entry "
        "ON entry.sequence = line.sequence ORDER BY line.key"
    )
    rows = connection.execute(query).fetchall()
    faults = [
        Finding(f"the line {key}", f"the hash of entry {sequence}, {expected}", str(found))
        for key, sequence, found, expected in rows
        if found != expected
    ]
    return Step("lines", f"Lines shown: {len(rows)}.", tuple(faults))

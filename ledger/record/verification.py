"""What a file or folder is that is to be verified, and its audit.

A ledger and a published database are told apart by what is in them, not by their names.
"""

from __future__ import annotations

from contextlib import closing
from pathlib import Path
from typing import Final

from ledger.errors import LedgerError, LedgerMissing
from ledger.record.audit import Audit, Finding, Step, Trust
from ledger.record.checkpoints import read_checkpoint
from ledger.record.connections import UNREADABLE, connected
from ledger.record.documents import audit_document
from ledger.record.ledger_audit import audit_ledger
from ledger.record.migrations import APPLICATION_ID
from ledger.record.seals import SEAL_NAME, audit_site

_SQLITE: Final = b"SQLite format 3\x00"
_CHECKPOINT: Final = b"witnessmark_checkpoint"


def verify(path: Path, trust: Trust, processes: int = 1) -> Audit:
    """The audit of whatever lies at ``path``: a ledger, a published site or a document.

    Raises:
        LedgerMissing: there is nothing.
        LedgerError: it is nothing that can be verified.
    """
    if not path.exists():
        raise LedgerMissing(f"There is nothing at {path}.")
    if path.is_dir():
        return _audit_folder(path, trust)
    try:
        with path.open("rb") as file:
            start = file.read(10_000)
    except OSError as error:
        raise LedgerError(f"{path} cannot be read: {error.strerror}.") from error
    if start.startswith(_SQLITE):
        is_site = _is_site(path)
        return audit_site(path, trust) if is_site else audit_ledger(path, trust, processes)
    if _CHECKPOINT in start and b"witnessmark_proof" not in start and len(start) < 10_000:
        return _audit_checkpoint(path, trust)
    if SEAL_NAME.encode() in start:
        return _audit_folder(path.parent, trust)
    if start.lstrip()[:1] in (b"{", b"<"):
        return audit_document(path, trust)[0]
    # Damage at the very beginning of a ledger is damage like any other: told, and not passed by.
    return audit_ledger(path, trust, processes)


def _audit_folder(folder: Path, trust: Trust) -> Audit:
    databases = sorted(folder.glob("*.db"))
    if len(databases) != 1:
        raise LedgerError(
            f"{folder} is no published site: it holds {len(databases)} databases in place of one."
        )
    return audit_site(databases[0], trust)


def _is_site(path: Path) -> bool:
    """Whether a database is a published one. A ledger names this program in its head."""
    try:
        with closing(connected(path, "ro")) as connection:
            (application,) = connection.execute("PRAGMA application_id").fetchone()
            tables = {
                name
                for (name,) in connection.execute(
                    "SELECT name FROM sqlite_schema WHERE type = 'table'"
                )
            }
    except UNREADABLE:
        return False
    return application != APPLICATION_ID and {"head", "entry", "instrument"} <= tables


def _audit_checkpoint(path: Path, trust: Trust) -> Audit:
    """A checkpoint by itself: its signature, and whose it is as far as that is known."""
    signed = read_checkpoint(path)
    where = f"the checkpoint {path}"
    faults: list[Finding] = []
    notes: list[str] = []
    if not signed.is_good():
        faults.append(Finding(where, f"a signature of the key {signed.checkpoint.key}", "another"))
    if not trust.public_key:
        notes.append("Whose key it is was not looked at: give the public key that you trust.")
    elif trust.public_key != signed.public_key:
        faults.append(Finding(where, "the key that is trusted", f"the key {signed.checkpoint.key}"))
    says = f"{signed.checkpoint.size} entries, signed at {signed.checkpoint.signed_at}."
    return Audit(where, (Step("signature", says, tuple(faults), tuple(notes)),))

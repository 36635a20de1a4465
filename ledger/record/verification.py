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
_NAMED_AT: Final = slice(68, 72)  # of a database: which program it belongs to
_PACKED: Final = b"PK\x03\x04"  # a spreadsheet, for one
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
        return _audit_folder(path, trust, processes)
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
        return _audit_folder(path.parent, trust, processes)
    if start.lstrip()[:1] in (b"{", b"<"):
        return audit_document(path, trust)[0]
    # Damage at the very beginning of a ledger is damage like any other: told, and not passed by.
    if not _may_be_ledger(path, start):
        raise LedgerError(
            f"{path} is neither a ledger, nor a published site, nor a document with a proof, so "
            "that there is nothing to verify. A bench sheet is looked at by: witnessmark check."
        )
    return audit_ledger(path, trust, processes)


def _may_be_ledger(path: Path, start: bytes) -> bool:
    """Whether a file that does not begin as a database could be a damaged ledger all the same."""
    if not start or start[_NAMED_AT] == APPLICATION_ID.to_bytes(4, "big"):
        return True
    if b"\x00" not in start:  # text, of which no page of a database consists
        return False
    return path.suffix.lower() in ("", ".db") and not start.startswith(_PACKED)


def _audit_folder(folder: Path, trust: Trust, processes: int) -> Audit:
    databases = sorted(folder.glob("*.db"))
    if not databases:
        raise LedgerError(f"{folder} holds neither a ledger nor a published site: no database.")
    if len(databases) > 1:
        told = [f"{each} ({'a ledger' if _is_ledger(each) else 'no ledger'})" for each in databases]
        raise LedgerError(
            f"{folder} holds {len(databases)} databases. Name the one to verify: {', '.join(told)}."
        )
    (only,) = databases
    return audit_ledger(only, trust, processes) if _is_ledger(only) else audit_site(only, trust)


def _is_ledger(path: Path) -> bool:
    """Whether a database names this program in its head, as a ledger does."""
    try:
        with closing(connected(path, "ro")) as connection:
            (application,) = connection.execute("PRAGMA application_id").fetchone()
    except UNREADABLE:
        return False
    return bool(application == APPLICATION_ID)


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
        faults.append(
            Finding(
                where,
                f"the key that is trusted, {trust.public_key}",
                f"the key {signed.public_key}",
            )
        )
    says = f"{signed.checkpoint.size} entries, signed at {signed.checkpoint.signed_at}."
    return Audit(where, (Step("signature", says, tuple(faults), tuple(notes)),))

"""What is handed over: a dossier as plain data, of which its pages and its JSON are made.

A dossier holds the whole report it was drawn from, the exhibits as they may be shown, as of which
entry it speaks, what of it is signed, and the proof that its lines are entries of the ledger.
Nothing withheld is in it: that stands as "withheld" in the report and as a commitment in the
proof.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ledger.findings import Report

FORMAT = "witnessmark dossier 1"

Purpose = Literal["report", "dating", "challenge"]


@dataclass(frozen=True, slots=True)
class AsOf:
    """The last entry that was taken into account."""

    sequence: int
    hash: str
    recorded_at: str


@dataclass(frozen=True, slots=True)
class Signing:
    """The checkpoint that a dossier rests on.

    ``proved`` are the numbers of the entries shown that are under it; ``unproved`` of those that
    were recorded after it. ``is_whole`` says whether the dossier itself is signed, too.
    """

    size: int
    root: str
    signed_at: str
    key: str
    proved: tuple[int, ...]
    unproved: tuple[int, ...] = ()
    is_whole: bool = False


@dataclass(frozen=True, slots=True)
class HandedExhibit:
    """A file of the record, by the SHA-256 of the file as it is kept.

    ``thumbnail`` is a small copy drawn anew, in base64, with ``masks`` regions painted over; it is
    empty where no picture is shown, and ``kept_back`` says why. ``lines`` are those that name it.
    """

    sha256: str
    caption: str
    lines: tuple[str, ...]
    masks: int = 0
    media_type: str = ""
    thumbnail: str = ""
    kept_back: str = ""


@dataclass(frozen=True, slots=True)
class ClaimsThen:
    """How the challenged claims read after an entry from which an answer was written."""

    entry: int
    claims: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SignedCheckpoint:
    """A checkpoint as it is handed out; hashes, key and signature in hexadecimal."""

    witnessmark_checkpoint: Literal[1]
    size: int
    root: str
    head: str
    signed_at: str
    key: str
    public_key: str
    signature: str


@dataclass(frozen=True, slots=True)
class ProvedEntry:
    """An entry's canonical JSON (RFC 8785) and its inclusion proof (RFC 9162) in hexadecimal."""

    content: str
    proof: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OpenedValue:
    """A withheld value that its owner chose to show."""

    commitment: str
    salt: str
    field: str
    value: str


@dataclass(frozen=True, slots=True)
class SignedRest:
    """The SHA-256 of the canonical JSON of the dossier without its proof, and what signs it."""

    sha256: str
    signature: str


@dataclass(frozen=True, slots=True)
class Proof:
    """What shows that a signed ledger holds the entries; ``document`` where the rest is signed."""

    witnessmark_proof: Literal[1]
    checkpoint: SignedCheckpoint
    entries: tuple[ProvedEntry, ...]
    opened: tuple[OpenedValue, ...]
    document: SignedRest | None = None


@dataclass(frozen=True, slots=True)
class Dossier:
    """All that is handed over.

    ``challenge`` is the id of the challenge that is answered, empty for other purposes; ``by`` who
    hands it over, empty where that is not said. ``rows_unproved`` are reference rows of which the
    proof says nothing: those of the program's own packs, and those whose entry holds a number
    that invites theft.
    """

    format: str
    purpose: Purpose
    challenge: str
    made_at: str
    by: str
    as_of: AsOf
    report: Report
    exhibits: tuple[HandedExhibit, ...]
    signing: Signing | None = None
    rows_unproved: tuple[str, ...] = ()
    claims_then: tuple[ClaimsThen, ...] = ()
    proof: Proof | None = None

"""An entry of the ledger, and the hash that ties it to the one before.

The hash of an entry is the SHA-256 of the canonical JSON (RFC 8785) of everything in it and
the hash of the entry before. The first entry follows sixty-four zeros.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from ledger.basis.hashing import canonical_json, sha256_hex

FIRST_PREVIOUS = "0" * 64

Act = Literal["record", "supersede", "retract"]


@dataclass(frozen=True, slots=True)
class Entry:
    """One immutable entry.

    ``book`` is the instrument or pack the line belongs to, ``section`` where in it the line
    stands, ``line`` its id. ``body`` is the line as recorded, None for a retraction. Withheld
    fields stand in ``body`` as ``{"withheld": "<commitment>"}``.
    """

    sequence: int
    recorded_at: str
    recorder: str
    act: Act
    book_kind: Literal["instrument", "pack"]
    book: str
    section: str
    line: str
    body: dict[str, Any] | None
    previous: str
    hash: str


def entry_hash(entry: Entry) -> str:
    """The hash the entry must have for its content and its predecessor."""
    content = {
        "act": entry.act,
        "body": entry.body,
        "book": entry.book,
        "book_kind": entry.book_kind,
        "line": entry.line,
        "previous": entry.previous,
        "recorded_at": entry.recorded_at,
        "recorder": entry.recorder,
        "section": entry.section,
        "sequence": entry.sequence,
    }
    return sha256_hex(canonical_json(content))

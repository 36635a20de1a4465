"""An entry of the ledger, and the hash that ties it to the one before.

The hash of an entry is the SHA-256 of the canonical JSON (RFC 8785) of everything in it and
the hash of the entry before. The first entry follows sixty-four zeros. The same hash, as bytes,
is what the entry's leaf of the Merkle tree holds.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from json.encoder import encode_basestring as quoted
from typing import Any, Final, Literal

from ledger.basis.hashing import canonical_json, sha256_hex

FIRST_PREVIOUS: Final = "0" * 64

Act = Literal["record", "supersede", "retract"]
BookKind = Literal["instrument", "pack", "ledger"]

_NAMES: Final = frozenset(
    (
        *("act", "body", "book", "book_kind", "line"),
        *("previous", "recorded_at", "recorder", "section", "sequence"),
    )
)


@dataclass(frozen=True, slots=True)
class Head:
    """The last entry: its number and its hash. An empty ledger's is number 0."""

    sequence: int
    hash: str


@dataclass(frozen=True, slots=True)
class Entry:
    """One immutable entry.

    ``book`` is the instrument or pack the line belongs to, ``section`` where in it the line
    stands, ``line`` its id. What the ledger notes about itself (its keys, what was erased)
    stands in a book of the kind ``ledger``. ``body`` is the line as recorded, None for a
    retraction. Withheld fields stand in ``body`` as ``{"withheld": "<commitment>"}``.
    """

    sequence: int
    recorded_at: str
    recorder: str
    act: Act
    book_kind: BookKind
    book: str
    section: str
    line: str
    body: dict[str, Any] | None
    previous: str
    hash: str


def entry_content(entry: Entry, body: str | None = None) -> bytes:
    """The canonical JSON that the entry is known by: everything in it but its own hash.

    The keys are in order as they are written here. ``body`` spares making the canonical JSON
    of the entry's body where it is there already.

    Raises:
        ValueError: there is something in it that JSON cannot carry exactly.
    """
    if body is None:
        body = canonical_json(entry.body).decode("utf-8")
    return (
        f'{{"act":{quoted(entry.act)},"body":{body},"book":{quoted(entry.book)},'
        f'"book_kind":{quoted(entry.book_kind)},"line":{quoted(entry.line)},'
        f'"previous":{quoted(entry.previous)},"recorded_at":{quoted(entry.recorded_at)},'
        f'"recorder":{quoted(entry.recorder)},"section":{quoted(entry.section)},'
        f'"sequence":{entry.sequence}}}'
    ).encode()


def entry_hash(entry: Entry) -> str:
    """The hash the entry must have for its content and its predecessor."""
    return sha256_hex(entry_content(entry))


def entry_from_content(content: bytes) -> Entry:
    """The entry whose canonical JSON this is, with the hash that follows.

    Raises:
        ValueError: it is not the canonical JSON of an entry.
    """
    try:
        given = json.loads(content)
    except RecursionError as error:
        raise ValueError("it is nested too deeply") from error
    if not isinstance(given, dict) or given.keys() != _NAMES:
        raise ValueError("it does not have the parts of an entry")
    body = given.pop("body")
    sequence = given.pop("sequence")
    is_typed = (
        type(sequence) is int
        and (body is None or isinstance(body, dict))
        and all(isinstance(value, str) for value in given.values())
    )
    if not is_typed:
        raise ValueError("a part of it is not what an entry has there")
    entry = Entry(sequence=sequence, body=body, hash=sha256_hex(content), **given)
    if entry_content(entry) != content:
        raise ValueError("it is not canonical JSON (RFC 8785)")
    return entry

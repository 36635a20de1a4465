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


# An entry as the ledger's columns hold it, body as canonical JSON, without the hash.
Row = tuple[int, str, str, str, str, str, str, str, str | None, str]


def row_content(row: Row) -> bytes:
    """The canonical JSON of an entry as the columns hold it.

    The keys are in order as they are written here.

    Raises:
        ValueError: there is something in it that JSON cannot carry exactly.
    """
    sequence, recorded_at, recorder, act, kind, book, section, line, body, previous = row
    return (
        f'{{"act":{quoted(act)},"body":{body or "null"},"book":{quoted(book)},'
        f'"book_kind":{quoted(kind)},"line":{quoted(line)},"previous":{quoted(previous)},'
        f'"recorded_at":{quoted(recorded_at)},"recorder":{quoted(recorder)},'
        f'"section":{quoted(section)},"sequence":{sequence}}}'
    ).encode()


def entry_content(entry: Entry) -> bytes:
    """The canonical JSON that the entry is known by: everything in it but its own hash.

    Raises:
        ValueError: there is something in it that JSON cannot carry exactly.
    """
    body = None if entry.body is None else canonical_json(entry.body).decode("utf-8")
    start = (entry.sequence, entry.recorded_at, entry.recorder, entry.act, entry.book_kind)
    return row_content((*start, entry.book, entry.section, entry.line, body, entry.previous))


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

"""The chain of entries as it stands in the file: walked, hashed and compared, row by row.

Question answered: is every entry what its hash says, does each follow from the one before, and
which Merkle tree do they make? The walk reads the very columns that the ledger reads, puts the
canonical JSON together inside the database, and hashes it. Where that gives another hash than
the one that is kept, the row is looked at again by the slow, plain way before it is called
broken; so a faster way can cost time and never a wrong answer. Long chains are walked in
stretches that can be shared out to several processes.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import closing
from dataclasses import dataclass
from hashlib import sha256
from multiprocessing import get_context
from pathlib import Path
from typing import Any, Final, Literal

from ledger.basis.merkle import HASH_BYTES, MerkleTree
from ledger.record.connections import connected
from ledger.record.entries import FIRST_PREVIOUS, Entry, Head, row_content

STRETCH_HEIGHT: Final = 15
STRETCH: Final = 1 << STRETCH_HEIGHT

COLUMNS: Final = (
    "sequence, recorded_at, recorder, act, book_kind, book, section, line, body, previous, hash"
)
# How a body names what is kept beside the chain, in canonical JSON.
_COMMITMENT: Final = b'{"withheld":"'
_FILE: Final = b'"sha256":"'
LEDGER_NOTES: Final = "book_kind = 'ledger' AND book = 'ledger' AND section = ?"
# Every text is quoted: unquoted, one column could swallow the next and the whole stay the same.
# Should SQLite ever quote otherwise than RFC 8785 does, the plain way decides.
_CONTENT: Final = (
    """printf('{"act":%s,"body":%s,"book":%s,"book_kind":%s,"line":%s,"previous":%s,"""
    """"recorded_at":%s,"recorder":%s,"section":%s,"sequence":%d}', json_quote(act), """
    """coalesce(body, 'null'), json_quote(book), json_quote(book_kind), json_quote(line), """
    """json_quote(previous), json_quote(recorded_at), json_quote(recorder), json_quote(section), """
    """sequence)"""
)
_WALK: Final = (
    f"SELECT sequence, previous, hash, CAST({_CONTENT} AS BLOB) FROM entry NOT INDEXED "  # noqa: S608 - our own words only
    "WHERE sequence > ? AND sequence <= ? ORDER BY sequence"
)


@dataclass(frozen=True, slots=True)
class ChainFault:
    """One entry that does not stand where and as it was recorded.

    By ``step`` it is the number that is not there, the content that has another hash, or the
    link to the entry before; for the last two ``expected`` and ``found`` are hashes.
    """

    sequence: int
    step: Literal["number", "content", "link"]
    expected: str
    found: str


@dataclass(frozen=True, slots=True)
class Chain:
    """What a walk over all entries came to.

    ``naming`` are the numbers of the entries that may name something kept beside the chain.
    """

    head: Head
    tree: MerkleTree
    faults: tuple[ChainFault, ...]
    naming: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class _Stretch:
    """What a walk over some entries that follow one another came to.

    ``first`` is the number of the first that is there and ``first_previous`` the hash that it
    names; ``last_hash`` is empty where there is none at all.
    """

    first: int
    first_previous: str
    last_hash: str
    levels: tuple[bytes, ...]
    faults: tuple[ChainFault, ...]
    naming: tuple[int, ...]


def entry_from(row: tuple[Any, ...]) -> Entry:
    """The entry that a row of the columns holds."""
    given = dict(zip(COLUMNS.split(", "), row, strict=True))
    body = given.pop("body")
    return Entry(body=None if body is None else json.loads(body), **given)


def entries_where(
    connection: sqlite3.Connection, where: str, values: Sequence[str] = ()
) -> Iterator[Entry]:
    """The entries for which a condition of our own making holds, in order."""
    query = f"SELECT {COLUMNS} FROM entry WHERE {where} ORDER BY sequence"  # noqa: S608 - the caller's own words
    return (entry_from(row) for row in connection.execute(query, values))


def entries_numbered(connection: sqlite3.Connection, numbers: Iterable[int]) -> Iterator[Entry]:
    """The entries with these numbers, in their order."""
    query = f"SELECT {COLUMNS} FROM entry WHERE sequence = ?"  # noqa: S608 - our own words
    for number in numbers:
        for row in connection.execute(query, (number,)):
            yield entry_from(row)


def head_of(connection: sqlite3.Connection) -> Head:
    """The last entry's number and hash."""
    query = "SELECT sequence, hash FROM entry ORDER BY sequence DESC LIMIT 1"
    row = connection.execute(query).fetchone()
    return Head(*row) if row else Head(0, FIRST_PREVIOUS)


def read_chain(connection: sqlite3.Connection, path: Path, processes: int = 1) -> Chain:
    """All entries, walked; every fault is told, and after one the walk goes on.

    Args:
        connection: where to read.
        path: the file, for other processes to open.
        processes: how many may take part.
    """
    head = head_of(connection)
    tree = MerkleTree()
    faults: list[ChainFault] = []
    naming: list[int] = []
    before = FIRST_PREVIOUS
    for stretch in _stretches(connection, path, head.sequence, processes):
        faults += stretch.faults
        naming += stretch.naming
        if stretch.last_hash and stretch.first_previous != before:
            faults.append(_unlinked(stretch.first, before, stretch.first_previous))
        if len(stretch.levels) == STRETCH_HEIGHT + 1 and tree.size % STRETCH == 0:
            tree.adopt(stretch.levels)
        else:
            leaves = stretch.levels[0]
            tree.extend(leaves[at : at + HASH_BYTES] for at in range(0, len(leaves), HASH_BYTES))
        before = stretch.last_hash or before
    ordered = sorted(faults, key=lambda fault: fault.sequence)
    return Chain(head, tree, tuple(ordered), tuple(naming))


def _stretches(
    connection: sqlite3.Connection, path: Path, size: int, processes: int
) -> Iterator[_Stretch]:
    begins = range(0, size, STRETCH)
    ends = [min(begin + STRETCH, size) for begin in begins]
    if processes > 1 and len(begins) > 1:
        # Not forked: who forks a program with threads may find locks that nobody lets go.
        with ProcessPoolExecutor(processes, mp_context=get_context("spawn")) as pool:
            yield from pool.map(_walk_file, [path] * len(ends), begins, ends)
    else:
        for begin, end in zip(begins, ends, strict=True):
            yield _walk(connection, begin, end)


def _walk_file(path: Path, begin: int, end: int) -> _Stretch:
    with closing(connected(path, "ro")) as connection:
        return _walk(connection, begin, end)


def _walk(connection: sqlite3.Connection, begin: int, end: int) -> _Stretch:
    """The entries numbered from ``begin + 1`` to ``end``."""
    faults: list[ChainFault] = []
    leaves: list[bytes] = []
    naming: list[int] = []
    first, first_previous, before = 0, "", ""
    expected = begin + 1
    for sequence, previous, stored, content in connection.execute(_WALK, (begin, end)):
        digest = sha256(content).digest()
        if sequence != expected:
            faults += _missing(expected, sequence - 1)
        if digest.hex() != stored:
            digest = _digest_again(connection, sequence)
            if digest.hex() != stored:
                faults.append(ChainFault(sequence, "content", digest.hex(), str(stored)))
        if not first:
            first, first_previous = sequence, str(previous)
        elif previous != before:
            faults.append(_unlinked(sequence, before, previous))
        if _COMMITMENT in content or _FILE in content:
            naming.append(sequence)
        # An entry that is not there has no leaf: the tree is then another, and is told to be.
        leaves.append(sha256(b"\x00" + digest).digest())
        before = stored
        expected = sequence + 1
    faults += _missing(expected, end)
    levels = MerkleTree(leaves).levels()
    return _Stretch(first, first_previous, str(before), levels, tuple(faults), tuple(naming))


def _digest_again(connection: sqlite3.Connection, sequence: int) -> bytes:
    """The digest of the entry's content, put together the plain way."""
    query = f"SELECT {COLUMNS} FROM entry WHERE sequence = ?"  # noqa: S608 - as above
    # Text that is not text any more has to be read all the same: it is what is wrong.
    connection.text_factory = _text
    try:
        row = connection.execute(query, (sequence,)).fetchone()
    finally:
        connection.text_factory = str
    try:
        return sha256(row_content(row[:-1])).digest()
    except (TypeError, ValueError):
        return sha256(b"").digest()


def _text(data: bytes) -> str | bytes:
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        return data


def _missing(first: int, last: int) -> list[ChainFault]:
    if first > last:
        return []
    found = "nothing" if first == last else f"nothing up to entry {last}"
    return [ChainFault(first, "number", "an entry of that number", found)]


def _unlinked(sequence: int, before: object, previous: object) -> ChainFault:
    return ChainFault(sequence, "link", str(before), str(previous))

"""The chain of entries as it stands in the file: walked, hashed and compared.

Question answered: is every entry what its hash says, does each follow from the one before, and
which Merkle tree do they make? The walk reads the very columns that the ledger reads. Many rows
at a time are put together inside the database and compared as a whole; where anything in them is
not exactly as it would be in a sound chain, those rows are walked again one by one, in the plain
way, which alone says what is a fault. So a faster way can cost time and never a wrong answer.
Long chains are walked in stretches that can be shared out to several processes.
"""

from __future__ import annotations

import json
import re
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import closing
from dataclasses import dataclass, field
from hashlib import sha256
from multiprocessing import get_context
from pathlib import Path
from typing import Any, Final, Literal

from ledger.basis.merkle import HASH_BYTES, MerkleTree
from ledger.record.connections import connected
from ledger.record.entries import FIRST_PREVIOUS, Entry, Head, row_content

STRETCH_HEIGHT: Final = 13
STRETCH: Final = 1 << STRETCH_HEIGHT

COLUMNS: Final = (
    "sequence, recorded_at, recorder, act, book_kind, book, section, line, body, previous, hash"
)
LEDGER_NOTES: Final = "book_kind = 'ledger' AND book = 'ledger' AND section = ?"
# What an entry that names something kept beside the chain has in its canonical JSON: a commitment,
# or the file of an exhibit.
_COMMITMENT: Final = b'{"withheld":"'
_FILE: Final = b'"sha256":"'
_EXHIBIT: Final = b'"section":"exhibits"'

_BATCH: Final = 256
# These are put between quotation marks as they are; whether they may be is seen from the JSON that
# SQLite makes of them. Unseen, one column could swallow the next and the whole stay the same.
_TEXTS: Final = ("act", "book", "book_kind", "line", "recorded_at", "recorder", "section")
_FRAME: Final = (
    '{"act":"%s","body":%s,"book":"%s","book_kind":"%s","line":"%s","previous":"%s",'
    '"recorded_at":"%s","recorder":"%s","section":"%s","sequence":%d}'
)
_FRAME_BYTES: Final = len(re.sub("%[sd]", "", _FRAME))
# The brackets, quotation marks and commas about those of one row, in the JSON of many.
_MARKS_BYTES: Final = 3 * len(_TEXTS) + 2
_CONTENT: Final = (
    f"printf('{_FRAME}', act, coalesce(body, 'null'), book, book_kind, line, previous, "
    "recorded_at, recorder, section, sequence)"
)
_TOGETHER: Final = (
    "SELECT count(*), min(sequence), max(sequence), "  # noqa: S608 - our own words only
    "total(length(CAST(coalesce(body, 'null') AS BLOB))), "
    f"CAST(group_concat({_CONTENT}, char(10)) AS BLOB), "
    "CAST(json_group_array(previous) AS BLOB), CAST(json_group_array(hash) AS BLOB), "
    f"CAST(json_group_array(json_array({', '.join(_TEXTS)})) AS BLOB)"
    " FROM entry NOT INDEXED WHERE sequence > ? AND sequence <= ?"
)
_ROWS: Final = (
    f"SELECT {COLUMNS} FROM entry NOT INDEXED "  # noqa: S608 - as above
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

    ``size`` is how many there are, and ``tree`` the tree over them, None where it was not asked
    for. ``naming`` are the numbers of the entries that may name something kept beside the chain.
    """

    head: Head
    size: int
    tree: MerkleTree | None
    faults: tuple[ChainFault, ...]
    naming: tuple[int, ...]

    def root(self) -> bytes | None:
        """The root of the tree, None where that was not asked for."""
        return None if self.tree is None else self.tree.root()


@dataclass(frozen=True, slots=True)
class _Stretch:
    """What a walk over some entries that follow one another came to.

    ``first`` is the number of the first that is there and ``first_previous`` the hash that it
    names; ``last_hash`` is empty where there is none at all. ``levels`` are those of the tree
    over them.
    """

    first: int
    first_previous: str
    last_hash: str
    size: int
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


def read_chain(
    connection: sqlite3.Connection, path: Path, processes: int = 1, *, with_tree: bool = True
) -> Chain:
    """All entries, walked; every fault is told, and after one the walk goes on.

    Args:
        connection: where to read.
        path: the file, for other processes to open.
        processes: how many may take part.
        with_tree: whether the tree over the entries is wanted.
    """
    head = head_of(connection)
    tree = MerkleTree()
    size = 0
    faults: list[ChainFault] = []
    naming: list[int] = []
    before = FIRST_PREVIOUS
    for stretch in _stretches(connection, path, head.sequence, processes, with_tree):
        faults += stretch.faults
        naming += stretch.naming
        size += stretch.size
        if stretch.last_hash and stretch.first_previous != before:
            faults.append(_unlinked(stretch.first, before, stretch.first_previous))
        if len(stretch.levels) == STRETCH_HEIGHT + 1 and tree.size % STRETCH == 0:
            tree.adopt(stretch.levels)
        elif stretch.levels:
            leaves = stretch.levels[0]
            tree.extend(leaves[at : at + HASH_BYTES] for at in range(0, len(leaves), HASH_BYTES))
        before = stretch.last_hash or before
    ordered = sorted(faults, key=lambda fault: fault.sequence)
    return Chain(head, size, tree if with_tree else None, tuple(ordered), tuple(naming))


def _stretches(
    connection: sqlite3.Connection,
    path: Path,
    size: int,
    processes: int,
    with_tree: bool,  # noqa: FBT001 - handed on by position to other processes
) -> Iterator[_Stretch]:
    spans = [(begin, min(begin + STRETCH, size)) for begin in range(0, size, STRETCH)]
    if processes == 1 or len(spans) == 1:
        for begin, end in spans:
            yield _walk(connection, begin, end, with_tree)
        return
    # Not forked: who forks a program with threads may find locks that nobody lets go.
    with ProcessPoolExecutor(processes - 1, mp_context=get_context("spawn")) as pool:
        # The others begin at the end, and this one, which need not be started, at the beginning.
        others = {span: pool.submit(_walk_file, path, *span, with_tree) for span in reversed(spans)}
        for span in spans:
            if others[span].cancel():
                yield _walk(connection, *span, with_tree)
            else:
                yield others[span].result()


def _walk_file(path: Path, begin: int, end: int, with_tree: bool) -> _Stretch:  # noqa: FBT001 - as above
    with closing(connected(path, "ro")) as connection:
        return _walk(connection, begin, end, with_tree)


@dataclass
class _Walk:
    """A walk that is under way: what the next entry has to be, and what was found so far."""

    connection: sqlite3.Connection
    expected: int
    before: str | bytes
    digests: list[bytes] = field(default_factory=list)
    naming: list[int] = field(default_factory=list)
    faults: list[ChainFault] = field(default_factory=list)

    def takes_together(self, until: int) -> bool:
        """Whether all entries up to ``until`` are there, each as it should be; they are taken."""
        values = (self.expected - 1, until)
        try:
            count, first, last, body_bytes, content, previous, stored, plain = (
                self.connection.execute(_TOGETHER, values).fetchone()
            )
        except sqlite3.Error:
            return False
        if (count, first, last) != (until - self.expected + 1, self.expected, until):
            return False
        contents = content.split(b"\n")
        digests = [sha256(each).digest() for each in contents]
        hashes = b"".join(digests).hex(",", HASH_BYTES).split(",")
        if (stored, previous) != (_array(hashes), _array([str(self.before), *hashes[:-1]])):
            return False
        if b"\\" in plain or plain.count(b'"') != 2 * len(_TEXTS) * count:
            return False
        # A text ends for printf where a NUL is in it: what comes after would not be looked at.
        texts_bytes = len(plain) - 1 - count * _MARKS_BYTES
        numbers_bytes = sum(map(len, map(str, range(first, last + 1))))
        parts_bytes = count * (_FRAME_BYTES + 2 * HASH_BYTES) + texts_bytes + numbers_bytes
        if (len(contents), len(content) + 1) != (count, parts_bytes + int(body_bytes) + count):
            return False
        if _COMMITMENT in content or b'"exhibits"' in plain:
            self.naming += [
                number for number, each in enumerate(contents, first) if _may_name(each)
            ]
        self.digests += digests
        self.before, self.expected = hashes[-1], until + 1
        return True

    def take_one_by_one(self, until: int) -> None:
        """Take the entries up to ``until``, with whatever is wrong with each."""
        for row in self.connection.execute(_ROWS, (self.expected - 1, until)):
            sequence, previous, stored = row[0], row[-2], row[-1]
            content = _content(row)
            digest = sha256(content).digest()
            self.faults += _missing(self.expected, sequence - 1)
            if digest.hex() != stored:
                self.faults.append(ChainFault(sequence, "content", digest.hex(), str(stored)))
            if previous != self.before:
                self.faults.append(_unlinked(sequence, self.before, previous))
            if _may_name(content):
                self.naming.append(sequence)
            # An entry that is not there has no leaf: the tree is then another, and is told to be.
            self.digests.append(digest)
            self.before, self.expected = stored, sequence + 1


def _walk(connection: sqlite3.Connection, begin: int, end: int, with_tree: bool) -> _Stretch:  # noqa: FBT001 - as above
    """The entries numbered from ``begin + 1`` to ``end``."""
    # Text that is not text any more has to be read all the same: it is what is wrong.
    connection.text_factory = _text
    try:
        row = connection.execute(f"{_ROWS} LIMIT 1", (begin, end)).fetchone()
        first, first_previous = (row[0], row[-2]) if row else (0, "")
        walk = _Walk(connection, begin + 1, first_previous)
        for at in range(begin, end, _BATCH):
            until = min(at + _BATCH, end)
            if not walk.takes_together(until):
                walk.take_one_by_one(until)
    finally:
        connection.text_factory = str
    walk.faults += _missing(walk.expected, end)
    levels: tuple[bytes, ...] = ()
    if with_tree:
        levels = MerkleTree([sha256(b"\x00" + each).digest() for each in walk.digests]).levels()
    return _Stretch(
        first,
        str(first_previous),
        str(walk.before) if walk.digests else "",
        len(walk.digests),
        levels,
        tuple(walk.faults),
        tuple(walk.naming),
    )


def _array(texts: Sequence[str]) -> bytes:
    """Texts that need no quoting as a JSON array, as SQLite writes it."""
    return '["{}"]'.format('","'.join(texts)).encode()


def _may_name(content: bytes) -> bool:
    return _COMMITMENT in content or (_EXHIBIT in content and _FILE in content)


def _content(row: tuple[Any, ...]) -> bytes:
    """The entry's canonical JSON, put together the plain way; empty where there can be none."""
    try:
        return row_content(row[:-1])
    except (TypeError, ValueError):
        return b""


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

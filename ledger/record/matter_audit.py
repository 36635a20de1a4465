"""Verification of what is kept beside the chain: exhibits, withheld values, and their erasure.

Everything that an entry names has to be there and be what it was, unless an entry says that it
was erased; and what was erased has to be gone.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator, Sequence

from ledger.basis.hashing import canonical_json, sha256_hex
from ledger.record.audit import Finding, Step
from ledger.record.chain import LEDGER_NOTES, entries_numbered, entries_where
from ledger.record.changes import ERASURES, commitment
from ledger.record.erasing import commitments_in, erased_names
from ledger.record.exhibits import media_type_of


def audit_exhibits(connection: sqlite3.Connection, naming: Sequence[int]) -> Step:
    """Whether every file that an entry names is there, and is the file that was recorded.

    ``naming`` are the numbers of the entries that may name one.
    """
    faults: list[Finding] = []
    kept: set[str] = set()
    query = "SELECT sha256, media_type, size_bytes, content FROM exhibit ORDER BY rowid"
    for name, media_type, size_bytes, content in connection.execute(query):
        kept.add(name)
        where = f"the exhibit {name}"
        if (made := sha256_hex(content)) != name:
            faults.append(Finding(where, "the file that was recorded", f"one with the hash {made}"))
        elif size_bytes != len(content):
            faults.append(Finding(where, f"{len(content)} bytes", f"{size_bytes} noted"))
        # A kind that this version does not know any more is told by nothing in the file.
        elif media_type_of(content) not in (media_type, None):
            found = f"{media_type} noted"
            faults.append(Finding(where, f"a file of the kind {media_type_of(content)}", found))
    gone = _erased(connection)
    for sequence, place, name in _named_files(connection, naming):
        if name not in kept and name not in gone:
            faults.append(Finding(f"entry {sequence}, {place}", f"the exhibit {name}", "none"))
    return Step("exhibits", f"Files kept: {len(kept)}.", tuple(faults))


def audit_withheld(connection: sqlite3.Connection, naming: Sequence[int]) -> Step:
    """Whether every withheld value is there, where it belongs, and is what was recorded.

    ``naming`` are the numbers of the entries that may withhold one.
    """
    faults: list[Finding] = []
    named = {
        name: (entry.sequence, entry.book, entry.line, field)
        for entry in entries_numbered(connection, naming)
        for field, name in commitments_in(entry)
    }
    kept: set[str] = set()
    query = "SELECT commitment, salt, field, value, book, line FROM withheld ORDER BY rowid"
    for name, salt, field, value, book, line in connection.execute(query):
        kept.add(name)
        where = f"the withheld value of {book}/{line}, {field}"
        if not _is_committed(name, salt, field, value):
            faults.append(Finding(where, "what was recorded", "something else, or another salt"))
        elif name not in named:
            faults.append(Finding(where, "an entry that it belongs to", "none"))
        elif named[name][1:] != (book, line, field):
            belongs = "/".join(named[name][1:3])
            faults.append(
                Finding(where, f"a value of {belongs}, {named[name][3]}", "another place")
            )
    gone = _erased(connection)
    for name, (sequence, book, line, field) in named.items():
        if name not in kept and name not in gone:
            where = f"entry {sequence}, {book}/{line}, {field}"
            expected = "its withheld value, or an entry that says it was erased"
            faults.append(Finding(where, expected, "neither"))
    says = f"Withheld values kept: {len(kept)} of {len(named)}."
    return Step("withheld", says, tuple(faults))


def audit_erased(connection: sqlite3.Connection, version: int) -> Step:
    """Whether what was erased is gone."""
    gone = _erased(connection)
    faults: list[Finding] = []
    for table, column in (("withheld", "commitment"), ("exhibit", "sha256")):
        rows = connection.execute(f"SELECT {column} FROM {table}").fetchall()  # noqa: S608 - our own names
        faults += [
            Finding(f"what was erased as {name}", "nothing", "it is there again")
            for (name,) in rows
            if name in gone
        ]
    if version >= 2 and connection.execute("SELECT 1 FROM residue").fetchone():
        expected = "a file that was written anew after the last erasure"
        found = "one that may still hold the bytes: open it once for writing, when nobody reads it"
        faults.append(Finding("the file", expected, found))
    return Step("erased", f"Erasures recorded: {len(gone)}.", tuple(faults))


def _erased(connection: sqlite3.Connection) -> frozenset[str]:
    return erased_names(entries_where(connection, LEDGER_NOTES, (ERASURES,)))


def _named_files(
    connection: sqlite3.Connection, naming: Sequence[int]
) -> Iterator[tuple[int, str, str]]:
    for entry in entries_numbered(connection, naming):
        if entry.section != "exhibits":
            continue
        sha256 = (entry.body or {}).get("sha256")
        # Where the name of the file is withheld so is its hash: that is looked at there.
        if isinstance(sha256, str):
            yield entry.sequence, f"{entry.book}/{entry.line}", sha256


def _is_committed(name: str, salt: str, field: str, value: str) -> bool:
    try:
        read = json.loads(value)
        # Another way to write the same value would pass unseen by its commitment alone.
        return canonical_json(read).decode("utf-8") == value and (
            commitment(salt, field, read) == name
        )
    except (ValueError, RecursionError):
        return False

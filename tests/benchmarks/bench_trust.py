"""Appending and verifying a million entries; run by hand, with the checkout on the path.

Each is told as a ratio to what nobody can do without, measured in the same run on the same bytes.
Appending: to plain inserts of the same rows, in as many transactions and as safely, into a bare
table, and into one with the index and the guards of the ledger's; batch by batch in turn, so that
a machine that is busy with other things slows all of them. Verifying, first without a checkpoint,
then with one that is signed for all entries, when the tree over them has to be built too: to hashing
the entries from memory, and to hashing them and the leaves and nodes of that tree. Wall time.

    python tests/benchmarks/bench_trust.py [ENTRIES]
"""

from __future__ import annotations

import os
import sqlite3
import sys
import tempfile
import time
from hashlib import sha256
from pathlib import Path

from ledger.record.audit import Trust
from ledger.record.chain import COLUMNS
from ledger.record.changes import Book, Change
from ledger.record.checkpoints import sign_checkpoint
from ledger.record.entries import row_content
from ledger.record.keys import introduction, signing_key
from ledger.record.ledger_audit import audit_ledger
from ledger.record.store import Ledger

BATCH = 10_000
TIME = "2026-03-02T10:00:00Z"


def changes(begin, end):
    """Marks as a bench sheet has them, sixty to an instrument."""
    books = {
        number: Book("instrument", f"my-lap-steel-{number:06d}")
        for number in range(begin // 60, end // 60 + 1)
    }
    return [
        Change(
            "record",
            books[at // 60],
            "marks",
            f"mark-{at % 60:02d}",
            {
                "exhibits": ["plate"],
                "id": f"mark-{at % 60:02d}",
                "legibility": "partial",
                "note": "read under raking light with a loupe, twice, by two people",
                "position": "pot.volume",
                "source": "bench",
                "text": f"{at % 1000:03d} {at % 90:02d}{at % 52 + 1:02d}",
            },
        )
        for at in range(begin, end)
    ]


class Plain:
    """A table of some make, and how long the rows of the ledger take into it."""

    def __init__(self, path, schema):
        self.connection = sqlite3.connect(path, isolation_level=None)
        self.connection.execute("PRAGMA journal_mode = WAL")
        self.connection.execute("PRAGMA synchronous = FULL")
        for statement in schema:
            self.connection.execute(statement)
        self.path, self.spent = path, 0.0

    def insert(self, rows):
        marks = ", ".join("?" * len(COLUMNS.split(", ")))
        start = time.perf_counter()
        self.connection.execute("BEGIN IMMEDIATE")
        self.connection.executemany(f"INSERT INTO entry ({COLUMNS}) VALUES ({marks})", rows)  # noqa: S608 - our own words
        self.connection.execute("COMMIT")
        self.spent += time.perf_counter() - start

    def close(self):
        self.connection.close()
        self.path.unlink()


def append_all(ledger, count, plain=()):
    """How long it takes; the plain tables take the same rows in turn."""
    spent = 0.0
    for begin in range(0, count, BATCH):
        batch = changes(begin, min(begin + BATCH, count))
        start = time.perf_counter()
        ledger.append(batch, recorder="examiner A", recorded_at=TIME)
        spent += time.perf_counter() - start
        rows = rows_of(ledger, begin)
        for each in plain:
            each.insert(rows)
    return spent


def rows_of(ledger, begin):
    query = f"SELECT {COLUMNS} FROM entry WHERE sequence > ? AND sequence <= ?"  # noqa: S608 - as above
    return ledger._connection.execute(query, (begin, begin + BATCH)).fetchall()


def bare_table():
    columns = ", ".join(f"{name} TEXT" for name in COLUMNS.split(", ")[1:])
    return [f"CREATE TABLE entry (sequence INTEGER PRIMARY KEY, {columns})"]


def ledger_table(ledger):
    rows = ledger._connection.execute(
        "SELECT sql FROM sqlite_schema WHERE tbl_name = 'entry' AND sql NOT NULL "
        "ORDER BY type = 'trigger', type = 'index'"
    )
    return [sql for (sql,) in rows]


def hash_plainly(ledger, count):
    """How long the entries take to hash from memory; with the tree; their size in bytes."""
    entries_spent = tree_spent = 0.0
    size = 0
    leaf, node = b"\x00" + bytes(32), b"\x01" + bytes(64)
    for begin in range(0, count, BATCH):
        contents = [row_content(row[:-1]) for row in rows_of(ledger, begin)]
        size += sum(map(len, contents))
        start = time.perf_counter()
        for each in contents:
            sha256(each).hexdigest()
        entries_spent += time.perf_counter() - start
        start = time.perf_counter()
        for _ in contents:
            sha256(leaf).digest()
            sha256(node).digest()
        tree_spent += time.perf_counter() - start
    return entries_spent, entries_spent + tree_spent, size


def verify(path, trust, hashed, all_hashed):
    for processes in sorted({1, os.cpu_count() or 1}):
        start = time.perf_counter()
        audit = audit_ledger(path, trust, processes=processes)
        spent = time.perf_counter() - start
        yield (
            f"  {processes} process(es): {spent:.2f} s: {spent / hashed:.2f} times hashing the "
            f"entries, {spent / all_hashed:.2f} times with the tree; whole: {audit.is_whole}\n"
        )


def main():
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    say = sys.stdout.write
    with tempfile.TemporaryDirectory() as name:
        folder, path = Path(name), Path(name) / "ledger.db"
        key = signing_key(bytes(32))
        with Ledger.create(path) as ledger:
            bare = Plain(folder / "bare.db", bare_table())
            alike = Plain(folder / "alike.db", ledger_table(ledger))
            appended = append_all(ledger, count, (bare, alike))
            for each in (bare, alike):
                each.close()
            say(
                f"append {count} entries: {appended:.2f} s; plain inserts into a bare table "
                f"{bare.spent:.2f} s: {appended / bare.spent:.2f} times; into one like the "
                f"ledger's {alike.spent:.2f} s: {appended / alike.spent:.2f} times\n"
            )
            hashed, all_hashed, size = hash_plainly(ledger, count)
            say(
                f"hashing the {size / count:.0f} bytes of each: {hashed:.2f} s; "
                f"with the leaves and nodes of the tree: {all_hashed:.2f} s\n"
            )
            say("verify without a checkpoint\n")
            for line in verify(path, Trust(), hashed, all_hashed):
                say(line)
            ledger.append(introduction(key, {}), recorder="examiner A", recorded_at=TIME)
            sign_checkpoint(ledger, key, TIME)
            say("verify with a checkpoint of all entries and its public key\n")
            for line in verify(path, Trust(key.public_key), hashed, all_hashed):
                say(line)


if __name__ == "__main__":
    main()

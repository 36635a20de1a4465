"""Appending and verifying a million entries; run by hand, with the checkout on the path.

Each is told as a ratio to what nobody can do without, measured in the same run on the same bytes.
Appending: to plain inserts of the same rows, in as many transactions and as safely, into a bare
table, and into one with the index and the guards of the ledger's. Verifying: to hashing the entries
from memory, and to hashing all that a verification hashes (the entries, and the leaves and nodes of
the tree over them). Wall time; a machine that is busy with other things gives other ratios.

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

from ledger.record.chain import COLUMNS
from ledger.record.changes import Book, Change
from ledger.record.entries import row_content
from ledger.record.ledger_audit import audit_ledger
from ledger.record.store import Ledger

BATCH = 10_000
TIME = "2026-03-02T10:00:00Z"


def changes(begin, end):
    """Marks as a bench sheet has them, sixty to an instrument."""
    return [
        Change(
            "record",
            Book("instrument", f"my-lap-steel-{at // 60:06d}"),
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


def append_all(ledger, count):
    spent = 0.0
    for begin in range(0, count, BATCH):
        batch = changes(begin, min(begin + BATCH, count))
        start = time.perf_counter()
        ledger.append(batch, recorder="examiner A", recorded_at=TIME)
        spent += time.perf_counter() - start
    return spent


def insert_plainly(path, ledger, count, schema):
    """How long the same rows take into a table of that make."""
    plain = sqlite3.connect(path, isolation_level=None)
    plain.execute("PRAGMA journal_mode = WAL")
    plain.execute("PRAGMA synchronous = FULL")
    for statement in schema:
        plain.execute(statement)
    marks = ", ".join("?" * len(COLUMNS.split(", ")))
    spent = 0.0
    for begin in range(0, count, BATCH):
        rows = ledger._connection.execute(
            f"SELECT {COLUMNS} FROM entry WHERE sequence > ? AND sequence <= ?",  # noqa: S608 - our own words
            (begin, begin + BATCH),
        ).fetchall()
        start = time.perf_counter()
        plain.execute("BEGIN IMMEDIATE")
        plain.executemany(f"INSERT INTO entry ({COLUMNS}) VALUES ({marks})", rows)  # noqa: S608 - as above
        plain.execute("COMMIT")
        spent += time.perf_counter() - start
    plain.close()
    path.unlink()
    return spent


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
        rows = ledger._connection.execute(
            f"SELECT {COLUMNS} FROM entry WHERE sequence > ? AND sequence <= ?",  # noqa: S608 - our own words
            (begin, begin + BATCH),
        ).fetchall()
        contents = [row_content(row[:-1]) for row in rows]
        size += sum(map(len, contents))
        start = time.perf_counter()
        for each in contents:
            sha256(each).hexdigest()
        entries_spent += time.perf_counter() - start
        start = time.perf_counter()
        for _ in rows:
            sha256(leaf).digest()
            sha256(node).digest()
        tree_spent += time.perf_counter() - start
    return entries_spent, entries_spent + tree_spent, size


def main():
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    say = sys.stdout.write
    with tempfile.TemporaryDirectory() as name:
        folder, path = Path(name), Path(name) / "ledger.db"
        with Ledger.create(path) as ledger:
            appended = append_all(ledger, count)
            bare = insert_plainly(folder / "bare.db", ledger, count, bare_table())
            alike = insert_plainly(folder / "alike.db", ledger, count, ledger_table(ledger))
            hashed, all_hashed, size = hash_plainly(ledger, count)
        say(
            f"append {count} entries: {appended:.2f} s; plain inserts into a bare table "
            f"{bare:.2f} s: {appended / bare:.2f} times; into one like the ledger's {alike:.2f} s: "
            f"{appended / alike:.2f} times\n"
        )
        say(
            f"hashing the {size / count:.0f} bytes of each: {hashed:.2f} s; "
            f"with the leaves and nodes: {all_hashed:.2f} s\n"
        )
        for processes in sorted({1, os.cpu_count() or 1}):
            start = time.perf_counter()
            audit = audit_ledger(path, processes=processes)
            spent = time.perf_counter() - start
            say(
                f"verify with {processes} process(es): {spent:.2f} s, {spent / hashed:.2f} and "
                f"{spent / all_hashed:.2f} times; whole: {audit.is_whole}\n"
            )


if __name__ == "__main__":
    main()

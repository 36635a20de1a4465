"""Appending and verifying a million entries; run by hand, with the checkout on the path.

Each is told as a ratio to what nobody can do without, measured in the same run on the same bytes:
appending, to plain inserts of the same rows into a table without index, guard or check, in as many
transactions; verifying, to hashing the same entries from memory, and to hashing all that a
verification hashes (the entries, and the leaves and nodes of the tree).

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

from ledger.record.chain import COLUMNS, read_chain
from ledger.record.changes import Book, Change
from ledger.record.connections import connected
from ledger.record.entries import entry_content
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


def timed(act):
    begin = time.perf_counter()
    act()
    return time.perf_counter() - begin


def append_all(ledger, count):
    spent = 0.0
    for begin in range(0, count, BATCH):
        batch = changes(begin, min(begin + BATCH, count))
        start = time.perf_counter()
        ledger.append(batch, recorder="examiner A", recorded_at=TIME)
        spent += time.perf_counter() - start
    return spent


def insert_plainly(folder, ledger, count):
    """The same rows into a bare table, in as many transactions and as safely."""
    plain = sqlite3.connect(folder / "plain.db", isolation_level=None)
    plain.execute("PRAGMA journal_mode = WAL")
    plain.execute("PRAGMA synchronous = FULL")
    columns = ", ".join(f"{name} TEXT" for name in COLUMNS.split(", ")[1:])
    plain.execute(f"CREATE TABLE entry (sequence INTEGER PRIMARY KEY, {columns})")
    marks = ", ".join("?" * len(COLUMNS.split(", ")))
    spent = 0.0
    for begin in range(0, count, BATCH):
        rows = ledger._connection.execute(
            f"SELECT {COLUMNS} FROM entry WHERE sequence > ? AND sequence <= ?",  # noqa: S608 - our own words
            (begin, begin + BATCH),
        ).fetchall()
        start = time.perf_counter()
        plain.execute("BEGIN IMMEDIATE")
        plain.executemany(f"INSERT INTO entry VALUES ({marks})", rows)
        plain.execute("COMMIT")
        spent += time.perf_counter() - start
    plain.close()
    return spent


def hash_plainly(ledger):
    """How long the entries take to hash from memory, and with them the whole tree."""
    contents = spent = tree = 0.0
    size = 0
    for begin in range(0, ledger.head().sequence, BATCH):
        batch = [
            entry_content(entry)
            for entry in ledger.entries(since=begin)[:BATCH]
        ] if begin == 0 else batch  # the same bytes again: only their number matters
        spent += timed(lambda batch=batch: [sha256(each).hexdigest() for each in batch])
        leaf, node = b"\x00" + bytes(32), b"\x01" + bytes(64)
        tree += timed(lambda leaf=leaf: [sha256(leaf).digest() for _ in range(BATCH)])
        tree += timed(lambda node=node: [sha256(node).digest() for _ in range(BATCH)])
        size += sum(map(len, batch))
    contents = spent
    return contents, contents + tree, size


def main():
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        with Ledger.create(folder / "ledger.db") as ledger:
            appended = append_all(ledger, count)
            inserted = insert_plainly(folder, ledger, count)
            sys.stdout.write(
                f"append {count} entries: {appended:.2f} s, plain inserts {inserted:.2f} s: "
                f"{appended / inserted:.2f} times\n"
            )
            hashed, all_hashed, size = hash_plainly(ledger)
        cores = os.cpu_count() or 1
        for processes in sorted({1, cores}):
            audits = []
            spent = timed(
                lambda processes=processes, audits=audits: audits.append(
                    audit_ledger(folder / "ledger.db", processes=processes)
                )
            )
            connection = connected(folder / "ledger.db", "ro")
            walked = timed(
                lambda processes=processes, connection=connection: read_chain(
                    connection, folder / "ledger.db", processes
                )
            )
            connection.close()
            sys.stdout.write(
                f"verify {count} entries ({size / count:.0f} bytes each) with {processes} "
                f"process(es): {spent:.2f} s, of it the chain and the tree {walked:.2f} s; hashing "
                f"the entries {hashed:.2f} s: {spent / hashed:.2f} times ({walked / hashed:.2f}); "
                f"hashing all that is hashed {all_hashed:.2f} s: {spent / all_hashed:.2f} times "
                f"({walked / all_hashed:.2f}); without a fault: {audits[0].is_whole}\n"
            )


if __name__ == "__main__":
    main()

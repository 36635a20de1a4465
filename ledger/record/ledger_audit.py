"""Verification of a ledger, step by step, with every fault listed.

A step that cannot go on because the file itself is damaged says so, and the next one is tried.
The steps: the file, its tables and guards, the chain of entries, the keys that the ledger notes,
the checkpoints kept in it, what was trusted beforehand (a public key, checkpoints kept
elsewhere), the exhibits, the withheld values, and what was erased.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable, Mapping
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import closing
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Final

from ledger.errors import LedgerError
from ledger.record.audit import Audit, Finding, Step, Trust, unreadable
from ledger.record.chain import (
    LEDGER_NOTES,
    Chain,
    ChainFault,
    entries_where,
    read_chain,
)
from ledger.record.checkpoints import Checkpoint, sealed_checkpoint
from ledger.record.connections import UNREADABLE, connected
from ledger.record.keys import KEYS, Noted, is_signed, keys_in, trusted_keys
from ledger.record.matter_audit import audit_erased, audit_exhibits, audit_withheld
from ledger.record.migrations import FORMAT_VERSION, check_format, lay_out
from ledger.record.store import Sealed

# From how many entries on the walk is shared out: below it, starting a process takes longer.
_WORTH_SHARING: Final = 200_000


@dataclass
class _Opened:
    """A ledger that is being looked at, and what the steps so far have read in it."""

    connection: sqlite3.Connection
    path: Path
    version: int
    trust: Trust
    processes: int
    pages: Future[list[str]]
    chain: Chain | None = None
    noted: dict[str, Noted] = field(default_factory=dict)


def audit_ledger(path: Path, trust: Trust | None = None, processes: int = 1) -> Audit:
    """What is to be said about the ledger at ``path``; nothing in it is changed.

    Args:
        path: the file.
        trust: what is trusted beforehand.
        processes: how many may walk a long chain together.
    """
    subject = f"the ledger {path}"
    try:
        connection = connected(path, "ro")
    except UNREADABLE as error:
        return Audit(subject, (unreadable("file", str(path), error),))
    with closing(connection):
        try:
            version = check_format(connection, path)
        except (*UNREADABLE, LedgerError) as error:
            return Audit(subject, (unreadable("file", str(path), error),))
        with ThreadPoolExecutor(1) as beside:
            # SQLite looks through its pages while the entries are hashed.
            pages = beside.submit(_look_through, path)
            opened = _Opened(connection, path, version, trust or Trust(), processes, pages)
            steps = {name: _taken(name, take, opened) for name, take in _STEPS.items()}
        return Audit(subject, tuple(steps[name] for name in ORDER))


def worth_sharing(entries: int) -> int:
    """How many processes are worth starting for that many entries."""
    return (os.cpu_count() or 1) if entries >= _WORTH_SHARING else 1


def _taken(name: str, take: Callable[[_Opened], Step], opened: _Opened) -> Step:
    try:
        return take(opened)
    except (sqlite3.Error, ValueError, TypeError, KeyError, AttributeError) as error:
        return unreadable(name, str(opened.path), error)


def _look_through(path: Path) -> list[str]:
    """What SQLite finds wrong with the pages, tables and indexes of the file."""
    with closing(connected(path, "ro")) as connection:
        rows = connection.execute("PRAGMA integrity_check(1000)").fetchall()
    return [str(row[0]) for row in rows if row[0] != "ok"]


def _audit_file(opened: _Opened) -> Step:
    found = opened.pages.result()
    faults = tuple(Finding("the file", "a whole database", each) for each in found)
    return Step("file", f"A database of ledger format {opened.version}.", faults)


def _audit_tables(opened: _Opened) -> Step:
    """The tables and the guards are those that the program makes."""
    if opened.version < FORMAT_VERSION:
        note = (
            f"It is of the older format {opened.version}, whose tables are looked at when it is "
            "next opened for writing."
        )
        return Step("tables", "Tables and guards.", (), (note,))
    expected = _schema_as_made()
    found = _schema(opened.connection)
    faults = [
        Finding(f"the {kind} {name}", "as this program makes it", "nothing of that name")
        for kind, name in sorted(expected.keys() - found.keys())
    ]
    faults += [
        Finding(f"the {kind} {name}", "nothing of that name", "something this program never makes")
        for kind, name in sorted(found.keys() - expected.keys())
    ]
    faults += [
        Finding(f"the {kind} {name}", "as this program makes it", "a changed one")
        for kind, name in sorted(expected.keys() & found.keys())
        if expected[kind, name] != found[kind, name]
    ]
    return Step("tables", f"{len(expected)} tables, indexes and guards.", tuple(faults))


@cache
def _schema_as_made() -> dict[tuple[str, str], tuple[str, str]]:
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as pattern:
        lay_out(pattern)
        return _schema(pattern)


def _schema(connection: sqlite3.Connection) -> dict[tuple[str, str], tuple[str, str]]:
    rows = connection.execute("SELECT type, name, tbl_name, sql FROM sqlite_schema").fetchall()
    # What SQLite keeps for its own planning changes nothing that is read.
    return {
        (str(kind), str(name)): (str(table), str(sql))
        for kind, name, table, sql in rows
        if not str(name).startswith("sqlite_stat")
    }


def _audit_chain(opened: _Opened) -> Step:
    (count,) = opened.connection.execute("SELECT count(*) FROM entry").fetchone()
    processes = min(opened.processes, worth_sharing(count))
    opened.chain = read_chain(
        opened.connection, opened.path, processes, with_tree=_has_checkpoints(opened)
    )
    faults = tuple(_chain_finding(fault) for fault in opened.chain.faults)
    return Step("chain", f"{opened.chain.size} entries, each from the one before.", faults)


def _has_checkpoints(opened: _Opened) -> bool:
    """Whether anything may speak of the tree over the entries."""
    if opened.trust.kept:
        return True
    try:
        query = "SELECT EXISTS (SELECT 1 FROM checkpoint)"
        return opened.version >= 2 and bool(opened.connection.execute(query).fetchone()[0])
    except sqlite3.Error:
        return True


def _chain_finding(fault: ChainFault) -> Finding:
    where = f"entry {fault.sequence}"
    if fault.step == "content":
        return Finding(
            where, f"the hash {fault.expected} for what it says", f"{fault.found} beside it"
        )
    if fault.step == "link":
        return Finding(
            where, f"{fault.expected} named as the hash of the entry before", fault.found
        )
    return Finding(where, fault.expected, fault.found)


def _audit_keys(opened: _Opened) -> Step:
    opened.noted = keys_in(entries_where(opened.connection, LEDGER_NOTES, (KEYS,)))
    faults = [
        Finding(f"the key {name}", "notes that agree", doubt)
        for name, key in opened.noted.items()
        for doubt in key.doubts
    ]
    told = [f"{name} ({key.status})" for name, key in opened.noted.items()]
    return Step("keys", f"Keys noted: {', '.join(told) or 'none'}.", tuple(faults))


def _audit_checkpoints(opened: _Opened) -> Step:
    rows: list[tuple[int, str, str, str]] = []
    if opened.version >= 2:
        query = "SELECT size, key, content, signature FROM checkpoint ORDER BY size, key"
        rows = opened.connection.execute(query).fetchall()
    faults: list[Finding] = []
    for size, key, content, signature in rows:
        where = f"the checkpoint of {size} entries by the key {key}"
        try:
            checkpoint = sealed_checkpoint(Sealed(content, signature))
        except (ValueError, RecursionError) as error:
            faults.append(Finding(where, "a checkpoint", str(error)))
            continue
        if (checkpoint.size, checkpoint.key) != (size, key):
            found = f"{checkpoint.size} by {checkpoint.key}"
            faults.append(Finding(where, "the same size and key in what was signed", found))
        faults += _signature_faults(opened, where, checkpoint, signature)
        faults += _fork_faults(opened, where, checkpoint)
    return Step("checkpoints", f"Checkpoints kept: {len(rows)}.", tuple(faults))


def _signature_faults(
    opened: _Opened, where: str, checkpoint: Checkpoint, signature: str
) -> list[Finding]:
    noted = opened.noted.get(checkpoint.key)
    if noted is None:
        return [Finding(where, "a key that the ledger notes", f"the key {checkpoint.key}")]
    if not is_signed(noted.public_key, "checkpoint", checkpoint.said(), signature):
        return [Finding(where, f"a signature of the key {checkpoint.key}", "another")]
    size = checkpoint.size
    if size < noted.since or (noted.until is not None and size >= noted.until):
        until = "now" if noted.until is None else f"entry {noted.until - 1}"
        expected = f"a key that signed from entry {noted.since} to {until}"
        return [Finding(where, expected, f"the key {checkpoint.key}")]
    return []


def _fork_faults(opened: _Opened, where: str, checkpoint: Checkpoint) -> list[Finding]:
    """What speaks against the ledger beginning with the entries of the checkpoint."""
    tree = opened.chain.tree if opened.chain else None
    if tree is None:
        return [Finding(where, "entries to compare with", "none that can be read")]
    if checkpoint.size > tree.size:
        return [
            Finding(
                where,
                f"at least {checkpoint.size} entries",
                f"{tree.size}: the ledger is older than the checkpoint, or was cut",
            )
        ]
    faults: list[Finding] = []
    if (root := tree.root(checkpoint.size).hex()) != checkpoint.root:
        found = f"{root}: one of those entries is not what it was then"
        faults.append(Finding(where, f"the root {checkpoint.root}", found))
    row = opened.connection.execute(
        "SELECT hash FROM entry WHERE sequence = ?", (checkpoint.size,)
    ).fetchone()
    if row is None or row[0] != checkpoint.head:
        found = "no such entry" if row is None else str(row[0])
        faults.append(Finding(where, f"the hash {checkpoint.head} of its last entry", found))
    return faults


def _audit_trust(opened: _Opened) -> Step:
    """Who signed, as far as it is known from elsewhere, and how far the signatures reach."""
    trust, faults, notes = opened.trust, [], []
    for signed in trust.kept:
        where = f"the kept checkpoint of {signed.checkpoint.size} entries"
        if not signed.is_good():
            faults.append(Finding(where, "its own key's signature", "another"))
        elif trust.public_key and signed.public_key not in _trusted(opened):
            found = f"the key {signed.public_key}"
            faults.append(Finding(where, "a key that is trusted", found))
        else:
            faults += _fork_faults(opened, where, signed.checkpoint)
    if not trust.public_key and not trust.kept:
        notes.append(
            "Nothing was trusted beforehand: whoever can write the file could have written all of "
            "it anew. Give a public key or a checkpoint that you had from elsewhere."
        )
    reach = _reach(opened)
    if trust.public_key and not reach:
        found = "none"
        faults.append(Finding("the checkpoints", f"one by the key {trust.public_key}", found))
    size = opened.chain.size if opened.chain else 0
    if reach < size:
        whose = "a key that is trusted" if trust.public_key else "a key of the ledger's own"
        notes.append(f"Entries {reach + 1} to {size} are under no checkpoint signed by {whose}.")
    says = f"Entries 1 to {reach} are signed for." if reach else "No entry is signed for."
    return Step("trust", says, tuple(faults), tuple(notes))


def _trusted(opened: _Opened) -> frozenset[str]:
    return trusted_keys(opened.noted, opened.trust.public_key)


def _reach(opened: _Opened) -> int:
    """How many entries the greatest checkpoint is of that counts."""
    if opened.version < 2:
        return 0
    trusted = _trusted(opened) if opened.trust.public_key else None
    rows = opened.connection.execute("SELECT size, key FROM checkpoint ORDER BY size DESC")
    for size, key in rows:
        noted = opened.noted.get(key)
        if noted is None or (trusted is not None and noted.public_key not in trusted):
            continue
        if noted.may_sign(size):
            return int(size)
    return 0


def _naming(opened: _Opened) -> tuple[int, ...]:
    if opened.chain is None:
        raise ValueError("the entries that name it could not be read")
    return opened.chain.naming


# As they are told, and as they are taken: what takes long comes first.
ORDER: Final = (
    *("file", "tables", "chain", "keys", "checkpoints", "trust"),
    *("exhibits", "withheld", "erased"),
)
_STEPS: Final[Mapping[str, Callable[[_Opened], Step]]] = MappingProxyType(
    {
        "tables": _audit_tables,
        "chain": _audit_chain,
        "keys": _audit_keys,
        "checkpoints": _audit_checkpoints,
        "trust": _audit_trust,
        "exhibits": lambda opened: audit_exhibits(opened.connection, _naming(opened)),
        "withheld": lambda opened: audit_withheld(opened.connection, _naming(opened)),
        "erased": lambda opened: audit_erased(opened.connection, opened.version),
        "file": _audit_file,
    }
)

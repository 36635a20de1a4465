"""Which formats of ledger there are, and how an older one becomes the present one.

A newer format is refused. An older one is read as it stands; whoever opens it for writing
brings it to the present format first, in one transaction: everything in it is verified before
and after, and on any doubt it stays as it was. The hashes of its entries are the same after.

- 1: entries, withheld matter and exhibits.
- 2: the ledger's notes about itself (keys, erasures), checkpoints, exhibits that can be erased.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from types import MappingProxyType
from typing import Final

from ledger.errors import LedgerError, LedgerFormat
from ledger.holdings import schema_file
from ledger.record.chain import Chain, read_chain

APPLICATION_ID: Final = 0x574D4B31
FORMAT_VERSION: Final = 2


def check_format(connection: sqlite3.Connection, path: Path) -> int:
    """The format of the ledger.

    Raises:
        LedgerFormat: it is not a ledger, or of a newer format.
    """
    (application,) = connection.execute("PRAGMA application_id").fetchone()
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    if application != APPLICATION_ID or version < 1:
        raise LedgerFormat(f"{path} is not a ledger of this program.")
    if version > FORMAT_VERSION:
        raise LedgerFormat(
            f"{path} is of ledger format {version}; this version reads up to {FORMAT_VERSION}. "
            "Use a newer version of the program."
        )
    return int(version)


@contextmanager
def transaction(connection: sqlite3.Connection) -> Iterator[None]:
    """One transaction of a writer: all that happens in it, or nothing."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        connection.execute("COMMIT")
    finally:
        if connection.in_transaction:
            connection.execute("ROLLBACK")


def lay_out(connection: sqlite3.Connection) -> None:
    """Make the tables of an empty ledger of the present format, within a transaction."""
    for statement in _statements(schema_file("ledger.sql").read_text(encoding="utf-8")):
        connection.execute(statement)


def migrate(connection: sqlite3.Connection, path: Path) -> int:
    """The format that the ledger had; it has the present one now.

    Raises:
        LedgerFormat: it is not what it was recorded as, and was left as it is.
    """
    with transaction(connection):
        found = check_format(connection, path)
        if found == FORMAT_VERSION:  # somebody else was quicker
            return found
        before = _verified(connection, path)
        for version in range(found, FORMAT_VERSION):
            _STEPS[version](connection)
        after = _verified(connection, path)
        if (before.head, before.root()) != (after.head, after.root()):
            raise LedgerFormat(f"{path} would not be the same in format {FORMAT_VERSION}.")
    return found


def _verified(connection: sqlite3.Connection, path: Path) -> Chain:
    chain = read_chain(connection, path)
    damage = [row[0] for row in connection.execute("PRAGMA integrity_check") if row[0] != "ok"]
    if chain.faults or damage:
        where = f"entry {chain.faults[0].sequence}" if chain.faults else str(damage[0])
        raise LedgerFormat(
            f"{path} is of an older format and was left as it is, because it is not what was "
            f"recorded ({where}). Run witnessmark verify on it, and compare it with a copy that "
            "you trust."
        )
    return chain


def _second_format(connection: sqlite3.Connection) -> None:
    """From format 1 to 2: wider checks, and the tables that are new."""
    tables = ("entry", "withheld", "exhibit")
    named = connection.execute(
        "SELECT type, name FROM sqlite_schema WHERE type IN ('trigger', 'index') AND sql NOT NULL"
    ).fetchall()
    for kind, name in named:
        connection.execute(f"DROP {kind} {name}")
    counts = [connection.execute(f"SELECT count(*) FROM {name}").fetchone() for name in tables]  # noqa: S608 - our own names
    for name in tables:
        connection.execute(f"ALTER TABLE {name} RENAME TO former_{name}")
    lay_out(connection)
    for name in tables:
        connection.execute(f"INSERT INTO {name} SELECT * FROM former_{name} ORDER BY rowid")  # noqa: S608 - as above
        connection.execute(f"DROP TABLE former_{name}")
    copied = [connection.execute(f"SELECT count(*) FROM {name}").fetchone() for name in tables]  # noqa: S608 - as above
    if counts != copied:
        raise LedgerError("Not everything came over to the present format; nothing was changed.")


_STEPS: Final[Mapping[int, Callable[[sqlite3.Connection], None]]] = MappingProxyType(
    {1: _second_format}
)


def _statements(script: str) -> Iterator[str]:
    """The statements of a script one by one: as a whole it would end the transaction."""
    statement = ""
    for line in script.splitlines(keepends=True):
        statement += line
        if sqlite3.complete_statement(statement):
            yield statement
            statement = ""

"""The ledger on disk, and the only code that writes to it.

One SQLite file. Entries are appended in one transaction a batch, by one writer at a time; the
second waits its turn. What the database itself refuses is told in the schema. Nothing here
reads a clock: the time is the caller's to say.
"""

from __future__ import annotations

import json
import os
import sqlite3
import tempfile
from collections.abc import Collection, Iterable, Sequence
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any, Final, Self

from ledger.basis.hashing import sha256_hex
from ledger.errors import BrokenChain, LedgerError, LedgerMissing, UnknownName
from ledger.record.chain import COLUMNS, entry_from, head_of, read_chain
from ledger.record.chaining import chained
from ledger.record.changes import Book, Change, commitment
from ledger.record.connections import (
    BUSY_TIMEOUT_SECONDS,
    UNREADABLE,
    connected,
    put_in_place,
    told,
)
from ledger.record.entries import Entry, Head
from ledger.record.exhibit_files import ExhibitFile
from ledger.record.migrations import FORMAT_VERSION, check_format, lay_out, migrate, transaction
from ledger.record.turns import Turns, check_time

_INSERT_ENTRY: Final = f"INSERT INTO entry ({COLUMNS}) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"  # noqa: S608 - our own words only
_INSERT_WITHHELD: Final = (
    "INSERT INTO withheld (commitment, salt, value, book, line, field) VALUES (?, ?, ?, ?, ?, ?)"
)
_INSERT_EXHIBIT: Final = (
    "INSERT INTO exhibit (sha256, media_type, size_bytes, content) VALUES (?, ?, ?, ?)"
)


@dataclass(frozen=True, slots=True)
class HeldBack:
    """A value that is kept beside the chain, and where the entry stands that it belongs to."""

    commitment: str
    book: str
    line: str
    field: str
    value: Any


@dataclass(frozen=True, slots=True)
class Sealed:
    """A checkpoint as it is kept: what was signed, and the signature."""

    content: str
    signature: str


class Ledger:
    """A ledger that is open. Made by :meth:`create` or :meth:`open`; closes as a context."""

    def __init__(self, connection: sqlite3.Connection, path: Path) -> None:
        self._connection = connection
        self.path = path
        self._version = FORMAT_VERSION

    @classmethod
    def create(cls, path: Path) -> Self:
        """A new, empty ledger at ``path``.

        Raises:
            LedgerError: there is something at that place, or nothing can be written there.
        """
        if path.exists():
            raise LedgerError(f"{path} is there already. Open it, or choose a new name.")
        try:
            # It holds what is withheld from others: for its owner's eyes, whatever the umask. It
            # gets its name when it is whole: a program killed before then leaves no half of one.
            descriptor, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
            os.close(descriptor)
            beside = Path(name)
            try:
                with told(path), closing(connected(beside, "rw")) as connection:
                    connection.execute("PRAGMA journal_mode = WAL")
                    with transaction(connection):
                        lay_out(connection)
                put_in_place(beside, path)
            finally:
                beside.unlink(missing_ok=True)
        except OSError as error:
            raise LedgerError(f"No ledger can be made at {path}: {error.strerror}.") from error
        with told(path):
            return cls(connected(path, "rw"), path)

    @classmethod
    def open(cls, path: Path, *, read_only: bool = False) -> Self:
        """The ledger at ``path``.

        Opened for writing, one of an older format is brought to the present one, and an erasure
        that was broken off is brought to its end.

        Raises:
            LedgerMissing: there is none.
            LedgerFormat: it is not a ledger, or of a newer format, or of an older one and not
                what was recorded.
        """
        if not path.is_file():
            raise LedgerMissing(f"There is no ledger at {path}.")
        with told(path):
            connection = connected(path, "ro" if read_only else "rw")
            try:
                version = check_format(connection, path)
                if version < FORMAT_VERSION and not read_only:
                    migrate(connection, path)
                    version = FORMAT_VERSION
            except (*UNREADABLE, LedgerError):
                connection.close()
                raise
        ledger = cls(connection, path)
        ledger._version = version
        if not read_only and ledger.has_residue():
            with suppress(LedgerError):  # somebody reads in it: another time, and verify says so
                ledger.rewrite(_SHORT_WAIT_SECONDS)
        return ledger

    def close(self) -> None:
        """Let go of the file."""
        self._connection.close()

    def __enter__(self) -> Self:
        """The ledger itself."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close it, whatever happened."""
        self.close()

    def append(
        self,
        changes: Sequence[Change],
        *,
        recorder: str,
        recorded_at: str,
        exhibits: Iterable[ExhibitFile] = (),
        erased: Collection[str] = (),
    ) -> Sequence[Entry]:
        """The entries that the changes became: all of them, or none and an error.

        Args:
            changes: as worked out from what the ledger holds.
            recorder: who records.
            recorded_at: when, in UTC, as ``2026-03-02T10:00:00Z``.
            exhibits: the files that the changes speak of; those already kept are passed over.
            erased: the commitments and files that are to be deleted because a change says so.
                Their bytes are gone from the file once :meth:`rewrite` has been through.

        Raises:
            LedgerError: it could not be recorded. Where somebody else recorded the same lines
                meanwhile, work the changes out again from what the ledger holds now.
        """
        if not recorder.strip():
            raise LedgerError("Nothing was recorded: it has to be said who records.")
        check_time(recorded_at)
        with told(self.path), transaction(self._connection):
            for file in exhibits:
                self._keep(file)
            head = head_of(self._connection)
            Turns(self._connection).take(changes, head.sequence)
            appended = chained(changes, head, recorder, recorded_at)
            self._connection.executemany(_INSERT_ENTRY, appended.rows)
            self._connection.executemany(_INSERT_WITHHELD, appended.hidden)
            self._delete(erased)
        return appended

    def add_checkpoint(self, size: int, key: str, sealed: Sealed) -> None:
        """Keep a checkpoint of the first ``size`` entries, signed by ``key``.

        Raises:
            LedgerError: there is one of that size and key, or there are not so many entries.
        """
        with told(self.path), transaction(self._connection):
            self._connection.execute(
                "INSERT INTO checkpoint (size, key, content, signature) VALUES (?, ?, ?, ?)",
                (size, key, sealed.content, sealed.signature),
            )

    def rewrite(self, wait_seconds: float = BUSY_TIMEOUT_SECONDS) -> None:
        """Write the file anew, so that nothing that was deleted is left in its bytes.

        Args:
            wait_seconds: how long to wait for others who read in it.

        Raises:
            LedgerError: it could not be done now. It is done when the ledger is next opened for
                writing and nobody else reads in it.
        """
        try:
            with told(self.path):
                self._connection.execute(f"PRAGMA busy_timeout = {int(wait_seconds * 1000)}")
                self._connection.execute("VACUUM")
                busy = self._connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]
        except LedgerError as error:
            raise LedgerError(f"{_STILL_THERE} {error}") from error
        finally:
            self._connection.execute(f"PRAGMA busy_timeout = {int(BUSY_TIMEOUT_SECONDS * 1000)}")
        if busy:
            raise LedgerError(f"{_STILL_THERE} Another program is reading in {self.path}.")
        with told(self.path), transaction(self._connection):
            self._connection.execute("DELETE FROM residue")

    def has_residue(self) -> bool:
        """Whether something that was deleted may still stand in the file's free space."""
        if self._version < 2:
            return False
        with told(self.path):
            query = "SELECT EXISTS (SELECT 1 FROM residue)"
            return bool(self._connection.execute(query).fetchone()[0])

    def write_copy(self, path: Path) -> None:
        """Copy everything into the empty file at ``path``, as it stands at one moment.

        Others may write meanwhile.

        Raises:
            LedgerError: it could not be copied.
        """
        with told(path):
            target = sqlite3.connect(path, isolation_level=None)
            try:
                self._connection.backup(target)
                # One file alone, until it is written to again.
                target.execute("PRAGMA journal_mode = DELETE")
            finally:
                target.close()

    def entries(self, book: Book | None = None, since: int = 0) -> tuple[Entry, ...]:
        """The entries in order, of one book or of all, after the one numbered ``since``."""
        where = "sequence > ?"
        values: list[str | int] = [since]
        if book is not None:
            where += " AND book_kind = ? AND book = ?"
            values += [book.kind, book.id]
        query = f"SELECT {COLUMNS} FROM entry WHERE {where} ORDER BY sequence"  # noqa: S608 - our own words only
        with told(self.path):
            return tuple(entry_from(row) for row in self._connection.execute(query, values))

    def hashes(self, until: int) -> tuple[str, ...]:
        """The hashes of the entries up to the one numbered ``until``, in order."""
        query = "SELECT hash FROM entry WHERE sequence <= ? ORDER BY sequence"
        with told(self.path):
            return tuple(each for (each,) in self._connection.execute(query, [until]))

    def head(self) -> Head:
        """The last entry's number and hash."""
        with told(self.path):
            return head_of(self._connection)

    def opened(self) -> dict[str, Any]:
        """The withheld values that have not been erased, by commitment. Never publish them."""
        with told(self.path):
            rows = self._connection.execute("SELECT commitment, value FROM withheld").fetchall()
        return {name: json.loads(value) for name, value in rows}

    def withheld(self) -> tuple[HeldBack, ...]:
        """Every withheld value that has not been erased. Never publish them."""
        query = "SELECT commitment, book, line, field, value FROM withheld ORDER BY rowid"
        with told(self.path):
            rows = self._connection.execute(query).fetchall()
        return tuple(
            HeldBack(name, book, line, field, json.loads(value))
            for name, book, line, field, value in rows
        )

    def checkpoints(self) -> tuple[Sealed, ...]:
        """The checkpoints that are kept, smallest first."""
        if self._version < 2:
            return ()
        query = "SELECT content, signature FROM checkpoint ORDER BY size, key"
        with told(self.path):
            return tuple(Sealed(*row) for row in self._connection.execute(query))

    def exhibit(self, sha256: str) -> ExhibitFile:
        """The file kept under that SHA-256.

        Raises:
            UnknownName: none is.
        """
        query = "SELECT sha256, media_type, size_bytes, content FROM exhibit WHERE sha256 = ?"
        with told(self.path):
            row = self._connection.execute(query, [sha256]).fetchone()
            if row is None:
                rows = self._connection.execute("SELECT sha256 FROM exhibit").fetchall()
                raise UnknownName("exhibit", sha256, [name for (name,) in rows])
        return ExhibitFile(*row)

    def verify_chain(self) -> Head:
        """The head, once everything in the ledger has been found to be what its hash says.

        Raises:
            BrokenChain: an entry does not follow from the one before it.
            LedgerError: an exhibit or a withheld value is not what it was recorded as.
        """
        with told(self.path):
            chain = read_chain(self._connection, self.path, with_tree=False)
            for fault in [each for each in chain.faults if each.step != "number"][:1]:
                raise BrokenChain(fault.sequence, fault.expected, fault.found)
            self._verify_exhibits()
            self._verify_withheld()
        return chain.head

    def _verify_exhibits(self) -> None:
        for name, content in self._connection.execute("SELECT sha256, content FROM exhibit"):
            if sha256_hex(content) != name:
                raise LedgerError(f"The exhibit {name} is not the file that was recorded.")

    def _verify_withheld(self) -> None:
        query = "SELECT commitment, salt, field, value, book, line FROM withheld"
        for name, salt, field, value, book, line in self._connection.execute(query):
            if commitment(salt, field, json.loads(value)) != name:
                raise LedgerError(
                    f"The withheld value of {book}/{line}, {field}, is not what was recorded."
                )

    def _keep(self, file: ExhibitFile) -> None:
        # What was erased does not come back with the sheet that still names it.
        query = (
            "SELECT 1 FROM exhibit WHERE sha256 = ?1 UNION ALL SELECT 1 FROM entry "
            "WHERE book_kind = 'ledger' AND book = 'ledger' AND line = ?1"
        )
        if not self._connection.execute(query, [file.sha256]).fetchone():
            values = [file.sha256, file.media_type, file.size_bytes, file.content]
            self._connection.execute(_INSERT_EXHIBIT, values)

    def _delete(self, erased: Collection[str]) -> None:
        if not erased:
            return
        for name in erased:
            self._connection.execute("DELETE FROM withheld WHERE commitment = ?", [name])
            self._connection.execute("DELETE FROM exhibit WHERE sha256 = ?", [name])
        self._connection.execute("INSERT OR IGNORE INTO residue SELECT max(sequence) FROM entry")


_SHORT_WAIT_SECONDS: Final = 1.0
_STILL_THERE: Final = (
    "It is erased from the ledger, but its bytes may still stand in the free space of the file; "
    "they go when the ledger is next opened for writing and nobody else reads in it."
)

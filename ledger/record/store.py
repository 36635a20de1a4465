"""The ledger on disk, and the only code that writes to it.

One SQLite file. Entries are appended in one transaction a batch, by one writer at a time; the
second waits its turn. What the database itself refuses is told in the schema. Nothing here
reads a clock: the time is the caller's to say.
"""

from __future__ import annotations

import json
import os
import re
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from types import TracebackType
from typing import Any, Final, Self

from ledger.basis.hashing import canonical_json, sha256_hex
from ledger.errors import BrokenChain, LedgerError, LedgerFormat, LedgerMissing, UnknownName
from ledger.holdings import schema_file
from ledger.record.changes import Book, Change, commitment
from ledger.record.entries import FIRST_PREVIOUS, Entry, entry_hash
from ledger.record.exhibits import ExhibitFile

APPLICATION_ID: Final = 0x574D4B31
FORMAT_VERSION: Final = 1
BUSY_TIMEOUT_SECONDS: Final = 30.0

_COLUMNS: Final = (
    "sequence, recorded_at, recorder, act, book_kind, book, section, line, body, previous, hash"
)
_TIME: Final = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", re.ASCII)


@dataclass(frozen=True, slots=True)
class Head:
    """The last entry: its number and its hash. An empty ledger's is number 0."""

    sequence: int
    hash: str


class Ledger:
    """A ledger that is open. Made by :meth:`create` or :meth:`open`; closes as a context."""

    def __init__(self, connection: sqlite3.Connection, path: Path) -> None:
        self._connection = connection
        self.path = path

    @classmethod
    def create(cls, path: Path) -> Self:
        """A new, empty ledger at ``path``.

        Raises:
            LedgerError: there is something at that place, or nothing can be written there.
        """
        script = schema_file("ledger.sql").read_text(encoding="utf-8")
        try:
            # It holds what is withheld from others: for its owner's eyes, whatever the umask.
            path.touch(mode=0o600, exist_ok=False)
        except FileExistsError:
            raise LedgerError(f"{path} is there already. Open it, or choose a new name.") from None
        except OSError as error:
            raise LedgerError(f"No ledger can be made at {path}: {error.strerror}.") from error
        with _told(path):
            connection = _connected(path, "rw")
            connection.execute("PRAGMA journal_mode = WAL")
            connection.executescript(f"BEGIN IMMEDIATE;\n{script}\nCOMMIT;")
        return cls(connection, path)

    @classmethod
    def open(cls, path: Path, *, read_only: bool = False) -> Self:
        """The ledger at ``path``.

        Raises:
            LedgerMissing: there is none.
            LedgerFormat: it is not a ledger, or of a newer format.
        """
        if not path.is_file():
            raise LedgerMissing(f"There is no ledger at {path}.")
        with _told(path):
            connection = _connected(path, "ro" if read_only else "rw")
            try:
                _check_format(connection, path)
            except (sqlite3.Error, LedgerFormat):
                connection.close()
                raise
        return cls(connection, path)

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
    ) -> tuple[Entry, ...]:
        """The entries that the changes became: all of them, or none and an error.

        Args:
            changes: as worked out from what the ledger holds.
            recorder: who records.
            recorded_at: when, in UTC, as ``2026-03-02T10:00:00Z``.
            exhibits: the files that the changes speak of; those already kept are passed over.

        Raises:
            LedgerError: it could not be recorded. Where somebody else recorded the same lines
                meanwhile, work the changes out again from what the ledger holds now.
        """
        if not recorder.strip():
            raise LedgerError("Nothing was recorded: it has to be said who records.")
        if not _TIME.fullmatch(recorded_at):
            raise LedgerError(
                f"Nothing was recorded: {recorded_at!r} is not a time in UTC such as "
                "2026-03-02T10:00:00Z."
            )
        with _told(self.path), self._transaction():
            for file in exhibits:
                self._keep(file)
            appended: list[Entry] = []
            head = self.head()
            for change in changes:
                self._check_turn(change)
                entry = _entry_of(change, head, recorder, recorded_at)
                self._write(entry, change)
                appended.append(entry)
                head = Head(entry.sequence, entry.hash)
        return tuple(appended)

    def entries(self, book: Book | None = None, since: int = 0) -> tuple[Entry, ...]:
        """The entries in order, of one book or of all, after the one numbered ``since``."""
        where = "sequence > ?"
        values: list[str | int] = [since]
        if book is not None:
            where += " AND book_kind = ? AND book = ?"
            values += [book.kind, book.id]
        query = f"SELECT {_COLUMNS} FROM entry WHERE {where} ORDER BY sequence"  # noqa: S608 - our own words only
        with _told(self.path):
            return tuple(_entry_from(row) for row in self._connection.execute(query, values))

    def head(self) -> Head:
        """The last entry's number and hash."""
        query = "SELECT sequence, hash FROM entry ORDER BY sequence DESC LIMIT 1"
        with _told(self.path):
            row = self._connection.execute(query).fetchone()
        return Head(*row) if row else Head(0, FIRST_PREVIOUS)

    def opened(self) -> dict[str, Any]:
        """The withheld values that have not been erased, by commitment. Never publish them."""
        with _told(self.path):
            rows = self._connection.execute("SELECT commitment, value FROM withheld").fetchall()
        return {name: json.loads(value) for name, value in rows}

    def exhibit(self, sha256: str) -> ExhibitFile:
        """The file kept under that SHA-256.

        Raises:
            UnknownName: none is.
        """
        query = "SELECT sha256, media_type, size_bytes, content FROM exhibit WHERE sha256 = ?"
        with _told(self.path):
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
        head = Head(0, FIRST_PREVIOUS)
        with _told(self.path):
            for row in self._connection.execute(f"SELECT {_COLUMNS} FROM entry ORDER BY sequence"):  # noqa: S608 - as above
                head = _follows(row, head)
            self._verify_exhibits()
            self._verify_withheld()
        return head

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

    @contextmanager
    def _transaction(self) -> Iterator[None]:
        self._connection.execute("BEGIN IMMEDIATE")
        try:
            yield
            self._connection.execute("COMMIT")
        finally:
            if self._connection.in_transaction:
                self._connection.execute("ROLLBACK")

    def _keep(self, file: ExhibitFile) -> None:
        kept = self._connection.execute(
            "SELECT 1 FROM exhibit WHERE sha256 = ?", [file.sha256]
        ).fetchone()
        if not kept:
            self._connection.execute(
                "INSERT INTO exhibit (sha256, media_type, size_bytes, content) VALUES (?, ?, ?, ?)",
                [file.sha256, file.media_type, file.size_bytes, file.content],
            )

    def _check_turn(self, change: Change) -> None:
        """Refuse a change that was worked out before somebody else recorded the line."""
        row = self._connection.execute(
            "SELECT sequence, act FROM entry WHERE book_kind = ? AND book = ? AND line = ? "
            "ORDER BY sequence DESC LIMIT 1",
            [change.book.kind, change.book.id, change.line],
        ).fetchone()
        standing = row[0] if row is not None and row[1] != "retract" else 0
        if standing != change.replaces:
            raise LedgerError(
                f"Nothing was recorded: somebody else has recorded {change.book.id}/{change.line} "
                "since the ledger was read. Record again, so that the change is worked out from "
                "what it holds now."
            )

    def _write(self, entry: Entry, change: Change) -> None:
        body = None if entry.body is None else canonical_json(entry.body).decode("utf-8")
        values = [
            entry.sequence,
            entry.recorded_at,
            entry.recorder,
            entry.act,
            entry.book_kind,
            entry.book,
            entry.section,
            entry.line,
            body,
            entry.previous,
            entry.hash,
        ]
        marks = ", ".join("?" * len(values))
        self._connection.execute(f"INSERT INTO entry ({_COLUMNS}) VALUES ({marks})", values)  # noqa: S608 - as above
        self._connection.executemany(
            "INSERT INTO withheld (commitment, salt, value, book, line, field) "
            "VALUES (?, ?, ?, ?, ?, ?)",
            [
                (
                    hidden.commitment,
                    hidden.salt,
                    canonical_json(hidden.value).decode("utf-8"),
                    entry.book,
                    entry.line,
                    hidden.field,
                )
                for hidden in change.withheld
            ],
        )


def _entry_of(change: Change, head: Head, recorder: str, recorded_at: str) -> Entry:
    entry = Entry(
        sequence=head.sequence + 1,
        recorded_at=recorded_at,
        recorder=recorder,
        act=change.act,
        book_kind=change.book.kind,
        book=change.book.id,
        section=change.section,
        line=change.line,
        body=change.body,
        previous=head.hash,
        hash="",
    )
    return replace(entry, hash=entry_hash(entry))


def _entry_from(row: tuple[Any, ...]) -> Entry:
    given = dict(zip(_COLUMNS.split(", "), row, strict=True))
    body = given.pop("body")
    return Entry(body=None if body is None else json.loads(body), **given)


def _follows(row: tuple[Any, ...], head: Head) -> Head:
    """The row's head, once it is found to follow from ``head``."""
    sequence, previous, own_hash = row[0], row[-2], row[-1]
    if sequence != head.sequence + 1 or previous != head.hash:
        raise BrokenChain(sequence, head.hash, previous)
    try:
        expected = entry_hash(_entry_from(row))
    except ValueError as error:  # a body that is no longer JSON
        raise BrokenChain(sequence, "nothing that can be read", own_hash) from error
    if expected != own_hash:
        raise BrokenChain(sequence, expected, own_hash)
    return Head(sequence, own_hash)


def _connected(path: Path, mode: str) -> sqlite3.Connection:
    uri = f"{path.resolve().as_uri()}?mode={mode}"
    if mode == "ro" and not os.access(path.parent, os.W_OK):
        # Beside a ledger that lies where nothing can be written SQLite cannot put the files
        # by which readers and writers agree; nor can there be a writer to agree with.
        uri += "&immutable=1"
    connection = sqlite3.connect(uri, uri=True, timeout=BUSY_TIMEOUT_SECONDS, isolation_level=None)
    for setting in (
        "foreign_keys = ON",
        "synchronous = FULL",
        "secure_delete = ON",
    ):
        connection.execute(f"PRAGMA {setting}")
    return connection


def _check_format(connection: sqlite3.Connection, path: Path) -> None:
    (application,) = connection.execute("PRAGMA application_id").fetchone()
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    if application != APPLICATION_ID:
        raise LedgerFormat(f"{path} is not a ledger of this program.")
    if version > FORMAT_VERSION:
        raise LedgerFormat(
            f"{path} is of ledger format {version}; this version reads up to {FORMAT_VERSION}. "
            "Use a newer version of the program."
        )


@contextmanager
def _told(path: Path) -> Iterator[None]:
    """Whatever the database has to say, as an error of ours."""
    try:
        yield
    except sqlite3.IntegrityError as error:
        raise LedgerError(f"Nothing was recorded: {error}.") from error
    except (sqlite3.OperationalError, sqlite3.ProgrammingError) as error:
        if getattr(error, "sqlite_errorcode", 0) & 0xFF == sqlite3.SQLITE_BUSY:
            raise LedgerError(
                f"Another program has been writing to {path} for {BUSY_TIMEOUT_SECONDS:.0f} "
                "seconds. Try again when it is done; nothing was recorded."
            ) from error
        raise LedgerError(f"{path} cannot be used: {error}.") from error
    except sqlite3.DatabaseError as error:
        raise LedgerFormat(f"{path} is not a ledger, or is damaged: {error}.") from error

"""How the ledger's file is opened, and what SQLite has to say told in errors of ours."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Final, Literal

from ledger.errors import LedgerError, LedgerFormat

BUSY_TIMEOUT_SECONDS: Final = 30.0
# What a damaged file leads to: what SQLite finds, and words in its message that are no text.
UNREADABLE: Final = (sqlite3.Error, UnicodeDecodeError)
_CACHE_KIBIBYTES: Final = 65_536


def connected(
    path: Path, mode: Literal["ro", "rw"], busy_seconds: float = BUSY_TIMEOUT_SECONDS
) -> sqlite3.Connection:
    """A connection to the file at ``path``, which has to be there.

    Transactions are begun and ended by who uses it. Every commit reaches the disk before it
    returns, and what is deleted is overwritten.
    """
    uri = f"{path.resolve().as_uri()}?mode={mode}"
    if mode == "ro" and not os.access(path.parent, os.W_OK):
        # Beside a ledger that lies where nothing can be written SQLite cannot put the files
        # by which readers and writers agree; nor can there be a writer to agree with.
        uri += "&immutable=1"
    connection = sqlite3.connect(uri, uri=True, timeout=busy_seconds, isolation_level=None)
    try:
        for setting in (
            "foreign_keys = ON",
            "synchronous = FULL",
            "secure_delete = ON",
            f"cache_size = -{_CACHE_KIBIBYTES}",
        ):
            connection.execute(f"PRAGMA {setting}")
    except UNREADABLE:
        connection.close()
        raise
    return connection


@contextmanager
def alone_at(path: Path, others: str) -> Iterator[None]:
    """Held by this program alone, until it ends in whatever way; an empty file stays at ``path``.

    The lock is SQLite's: it is the same on every system, and none outlives its holder.

    Raises:
        LedgerError: another program holds it, which ``others`` says, or nothing can be written.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        connection = sqlite3.connect(path, timeout=0, isolation_level=None)
    except (OSError, sqlite3.Error) as error:
        raise LedgerError(f"Nothing can be written at {path.parent}: {error}.") from error
    with closing(connection):
        try:
            connection.execute("BEGIN EXCLUSIVE")
        except UNREADABLE as error:
            is_held = getattr(error, "sqlite_errorcode", 0) & 0xFF == sqlite3.SQLITE_BUSY
            raise LedgerError(others if is_held else _sentence(path, error)) from error
        yield


def put_in_place(beside: Path, path: Path) -> None:
    """Give a finished file its name, once it is on the disk, without taking another's place.

    Raises:
        OSError: there is one of that name, or nothing can be written there.
    """
    flush(beside)
    try:
        path.hardlink_to(beside)
    except FileExistsError:
        raise
    except OSError:  # a disk that has no links, such as many sticks
        beside.rename(path)
    flush(path.parent)


def flush(path: Path) -> None:
    """See to it that a file, or what a folder lists, is on the disk."""
    descriptor = os.open(path, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


@contextmanager
def told(path: Path) -> Iterator[None]:
    """Whatever the database has to say, as an error of ours.

    Raises:
        LedgerError: nothing was recorded, and why.
        LedgerFormat: the file is not a database, or is damaged.
    """
    try:
        yield
    except sqlite3.IntegrityError as error:
        raise LedgerError(f"Nothing was recorded: {error}.") from error
    except (sqlite3.OperationalError, sqlite3.ProgrammingError) as error:
        raise LedgerError(_sentence(path, error)) from error
    except (sqlite3.DatabaseError, UnicodeDecodeError) as error:
        raise LedgerFormat(f"{path} is not a ledger, or is damaged: {error}.") from error


def _sentence(path: Path, error: Exception) -> str:
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF
    if code == sqlite3.SQLITE_BUSY:
        return (
            f"Another program has been writing to {path} for {BUSY_TIMEOUT_SECONDS:.0f} "
            "seconds. Try again when it is done; nothing was recorded."
        )
    if code == sqlite3.SQLITE_FULL:
        return f"There is no room left on the disk for {path}. Nothing was recorded; make room."
    if code in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN):
        return (
            f"{path} lies where nothing can be written ({error}). Nothing was recorded; copy it "
            "to a place where you may write."
        )
    if code == sqlite3.SQLITE_IOERR:
        return f"The disk failed at {path} ({error}). Nothing was recorded; is it full or failing?"
    return f"{path} cannot be used: {error}."

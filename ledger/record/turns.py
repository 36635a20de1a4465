"""Whether a change may be recorded now: whose turn it is, and at what time.

A change is worked out from what the ledger held when it was read. If somebody else has recorded
the same line since, it is not that change any more.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterable
from typing import Final

from ledger.errors import LedgerError
from ledger.record.changes import Book, Change

_TIME: Final = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", re.ASCII)


def check_time(recorded_at: str) -> None:
    """Make sure that it is a time in UTC as the ledger writes it.

    Raises:
        LedgerError: it is not.
    """
    if not _TIME.fullmatch(recorded_at):
        raise LedgerError(
            f"Nothing was recorded: {recorded_at!r} is not a time in UTC such as "
            "2026-03-02T10:00:00Z."
        )


class Turns:
    """The latest entry of each line that is changed, within one transaction."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection

    def take(self, changes: Iterable[Change], after: int) -> None:
        """Let the changes become the entries that come after number ``after``.

        Raises:
            LedgerError: one was worked out before somebody else recorded the line.
        """
        standing: dict[Book, dict[str, int]] = {}
        book: Book | None = None
        lines: dict[str, int] = {}
        for sequence, change in enumerate(changes, after + 1):
            if change.book is not book:  # most changes are of the same book as the one before
                book = change.book
                if book not in standing:
                    standing[book] = self._read(book)
                lines = standing[book]
            line = change.line
            if lines.get(line, 0) != change.replaces:
                raise LedgerError(
                    f"Nothing was recorded: somebody else has recorded {change.book.id}/{line} "
                    "since the ledger was read. Record again, so that the change is worked out "
                    "from what it holds now."
                )
            lines[line] = 0 if change.act == "retract" else sequence

    def _read(self, book: Book) -> dict[str, int]:
        rows = self._connection.execute(
            "SELECT line, max(sequence), act FROM entry WHERE book_kind = ? AND book = ? "
            "GROUP BY line",
            [book.kind, book.id],
        )
        return {line: sequence for line, sequence, act in rows if act != "retract"}

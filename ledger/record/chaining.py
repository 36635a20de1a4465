"""How changes become entries: each put in words for good and tied to the one before.

Many are recorded at once, so what is the same for all of them is put in words once, and an entry
is made as a value only where somebody looks at it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from hashlib import sha256
from json.encoder import encode_basestring as quoted
from typing import overload

from ledger.basis.hashing import canonical_text
from ledger.record.changes import Change
from ledger.record.entries import Entry, Head

# As the columns of the ledger hold an entry, its hash at the end.
_ChainedRow = tuple[int, str, str, str, str, str, str, str, str | None, str, str]


@dataclass(frozen=True, slots=True, eq=False)
class Appended(Sequence[Entry]):
    """The entries that changes became, in their order; ``rows`` as the ledger's columns hold them.

    ``hidden`` are the rows of what they withhold.
    """

    changes: Sequence[Change]
    rows: Sequence[_ChainedRow]
    hidden: Sequence[tuple[str, ...]]

    def __len__(self) -> int:
        """How many they are."""
        return len(self.rows)

    @overload
    def __getitem__(self, at: int) -> Entry: ...

    @overload
    def __getitem__(self, at: slice) -> tuple[Entry, ...]: ...

    def __getitem__(self, at: int | slice) -> Entry | tuple[Entry, ...]:
        """The entry at that place, or those."""
        if isinstance(at, slice):
            return tuple(self[each] for each in range(len(self))[at])
        change = self.changes[at]
        row = self.rows[at]
        return Entry(
            *row[:3], change.act, change.book.kind, *row[5:8], change.body, row[9], row[10]
        )

    def __eq__(self, other: object) -> bool:
        """Whether the other has the same entries, in whichever kind of sequence."""
        return isinstance(other, Sequence) and tuple(self) == tuple(other)

    def __hash__(self) -> int:
        """By number and hash of the last: entries themselves cannot be hashed."""
        return hash((len(self.rows), self.rows[-1][-1] if self.rows else ""))

    def __iter__(self) -> Iterator[Entry]:
        """The entries, one after the other."""
        return (self[at] for at in range(len(self)))


def chained(changes: Sequence[Change], head: Head, recorder: str, recorded_at: str) -> Appended:
    """The changes as entries that follow ``head``.

    Raises:
        ValueError: there is something in one that JSON cannot carry exactly.
    """
    rows: list[_ChainedRow] = []
    hidden: list[tuple[str, ...]] = []
    sequence, previous = head.sequence, head.hash
    recorded = f'"recorded_at":{quoted(recorded_at)},"recorder":{quoted(recorder)},"section":'
    # What is the same as in the change before is not put in words again.
    book, kind, name, of_book = None, "", "", ""
    act, of_act, section, of_section = None, "", None, ""
    for change in changes:
        sequence += 1
        if change.book is not book:
            book = change.book
            kind, name = book.kind, book.id
            of_book = f',"book":{quoted(name)},"book_kind":{quoted(kind)},"line":'
        if change.act is not act:
            act = change.act
            of_act = f'{{"act":{quoted(act)},"body":'
        if change.section is not section:
            section = change.section
            of_section = f',{recorded}{quoted(section)},"sequence":'
        line = change.line
        body = None if change.body is None else canonical_text(change.body)
        # As entries.row_content has it: a test holds the two to one another.
        content = (
            f"{of_act}{'null' if body is None else body}{of_book}{quoted(line)},"
            f'"previous":"{previous}"{of_section}{sequence}}}'
        )
        own = sha256(content.encode()).hexdigest()
        rows.append(
            (sequence, recorded_at, recorder, act, kind, name, section, line, body, previous, own)
        )
        for each in change.withheld:
            value = canonical_text(each.value)
            hidden.append((each.commitment, each.salt, value, name, line, each.field))
        previous = own
    return Appended(changes, rows, hidden)

"""The errors this package raises.

Every one says where, what was found, what was expected and what to do::

    WitnessmarkError
    ├── FaultsFound          an input has faults: all of them are listed, nothing was recorded
    ├── LedgerError          the ledger itself cannot be used as asked
    │   ├── LedgerMissing    there is no ledger at that place
    │   ├── LedgerFormat     the ledger is of a format this version cannot read
    │   └── BrokenChain      an entry does not follow from the one before it
    ├── UnknownName          an instrument, finding or kind that is asked for is not there
    └── PublicationError     the site cannot be written or served as asked

Rendering for people is done by the command line; nothing here prints.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches


class WitnessmarkError(Exception):
    """The root of the tree: a sentence for people is always in ``str(error)``."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with an input, with the place a person can go to and mend it.

    ``line`` and ``column`` count from 1; 0 means the fault belongs to the file as a whole.
    """

    file: str
    line: int
    column: int
    path: str
    found: str
    expected: str
    advice: str = ""

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}:{self.column}" if self.line else self.file
        where = f"{place}: {self.path}" if self.path else place
        text = f"{where}: found {self.found}; expected {self.expected}"
        return f"{text}. {self.advice}" if self.advice else text


class FaultsFound(WitnessmarkError):
    """An input was refused whole; ``faults`` lists everything wrong with it, in file order."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(sorted(faults, key=lambda f: (f.file, f.line, f.column, f.path)))
        count = len(self.faults)
        noun = "fault" if count == 1 else "faults"
        lines = "\n".join(f"  {fault}" for fault in self.faults)
        super().__init__(f"{count} {noun} found; nothing was recorded:\n{lines}")


class LedgerError(WitnessmarkError):
    """The ledger cannot be used as asked."""


class LedgerMissing(LedgerError):
    """There is no ledger at the given place."""


class LedgerFormat(LedgerError):
    """The file is not a ledger, or is of a format this version cannot read."""


class BrokenChain(LedgerError):
    """An entry's hash does not follow from its content and the entry before it."""

    def __init__(self, sequence: int, expected: str, found: str) -> None:
        self.sequence = sequence
        super().__init__(
            f"Entry {sequence} does not follow from the one before it: its content gives "
            f"{expected[:16]}…, the ledger holds {found[:16]}…. The ledger was changed after "
            "the fact or is damaged; compare it with a copy you trust."
        )


class UnknownName(WitnessmarkError):
    """Something was asked for by a name that is not there; close names are suggested."""

    def __init__(self, kind: str, name: str, known: Sequence[str]) -> None:
        self.kind, self.name = kind, name
        close = closest(name, known)
        hint = f" Did you mean {close!r}?" if close else ""
        listing = ", ".join(sorted(known)[:12])
        more = f" and {len(known) - 12} more" if len(known) > 12 else ""
        shown = f" Known: {listing}{more}." if known else " None is known yet."
        super().__init__(f"There is no {kind} named {name!r}.{hint}{shown}")


class PublicationError(WitnessmarkError):
    """The site cannot be written or served as asked."""


def closest(name: str, known: Sequence[str]) -> str | None:
    """The one of ``known`` that is most like ``name``, or None when none is near."""
    matches = get_close_matches(name, sorted(known), n=1, cutoff=0.6)
    return matches[0] if matches else None

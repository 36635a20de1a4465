"""The entries about one instrument in the batches in which they were recorded.

A batch is what one person recorded at one time: consecutive entries of one recorder and one time.
Batches without an entry on the instrument or in a pack are passed over; a pack counts, since what
is known about production changes what follows from the same record. That something of the
instrument was erased counts as well.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby

from ledger.reason.wording import counted, listing
from ledger.record.changes import Erasure, erasures_in
from ledger.record.entries import Entry

WORDS = (("record", "recorded"), ("supersede", "superseded"), ("retract", "retracted"))


@dataclass(frozen=True, slots=True)
class Batch:
    """What was recorded at one time: ``own`` are the entries on the instrument, ``packs`` others.

    ``erased`` is what of the instrument was erased then.
    """

    first: int
    last: int
    recorded_at: str
    recorder: str
    own: tuple[Entry, ...]
    packs: tuple[Entry, ...]
    erased: tuple[Erasure, ...] = ()

    def sentence(self) -> str:
        """What the batch held, in a sentence."""
        said = []
        if self.own:
            said.append(f"of this instrument {_counts(self.own)}")
        for pack in dict.fromkeys(entry.book for entry in self.packs):
            rows = [entry for entry in self.packs if entry.book == pack]
            said.append(f"of the pack {pack} {_counts(rows)}")
        if self.erased:
            places = [f"{each.line}, {each.field or 'its file'}" for each in self.erased]
            said.append(f"erased for good: {'; '.join(places)}")
        spread = (
            f"Entry {self.first}"
            if self.first == self.last
            else f"Entries {self.first} to {self.last}"
        )
        return f"{spread}, by {self.recorder}, {self.recorded_at}: {listing(said)}."


def _counts(entries: Iterable[Entry]) -> str:
    acts = [entry.act for entry in entries]
    return ", ".join(
        f"{counted(acts.count(act), 'entry', 'entries')} {word}"
        for act, word in WORDS
        if act in acts
    )


def batches_of(entries: Iterable[Entry], instrument: str) -> tuple[Batch, ...]:
    """The batches that bear on the instrument, in order; from its first entry on.

    What was recorded in packs before the instrument is with its first batch taken as known.
    """
    found: list[Batch] = []
    for _, group in groupby(entries, key=lambda entry: (entry.recorded_at, entry.recorder)):
        given = tuple(group)
        own = tuple(e for e in given if (e.book_kind, e.book) == ("instrument", instrument))
        packs = tuple(entry for entry in given if entry.book_kind == "pack")
        gone = [
            (entry, each)
            for entry in given
            for each in erasures_in([entry])
            if each.book == instrument
        ]
        if own or gone or (packs and found):
            told = (*own, *packs, *(entry for entry, _ in gone))
            sequences = [entry.sequence for entry in told]
            first, last = min(sequences), max(sequences)
            erased = tuple(each for _, each in gone)
            when, whose = given[0].recorded_at, given[0].recorder
            found.append(Batch(first, last, when, whose, own, packs, erased))
    return tuple(found)

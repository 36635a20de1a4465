"""Erasing: a withheld value or a kept file is forgotten, and an entry says that it was.

The entries keep the commitment (or the SHA-256 of the file) and stay as they are, so that the
chain, the tree and every checkpoint hold. What goes is the value with its salt: without the salt
nobody can find the value from the commitment by trying. The entry of the erasure names the
commitment, where it stood, and why it went; never the value. Copies made before still hold it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from ledger.basis.hashing import canonical_json
from ledger.errors import LedgerError, UnknownName
from ledger.record.changes import ERASURES, LEDGER_BOOK, Change, is_commitment
from ledger.record.entries import Entry
from ledger.record.store import HeldBack, Ledger


@dataclass(frozen=True, slots=True)
class Matter:
    """What can be erased: a withheld value by its commitment, or a file by its SHA-256.

    ``field`` is empty for a file; ``value`` is what must not stand in the reason that is given.
    """

    name: str
    book: str
    line: str
    field: str
    value: Any = None


def matter_of(held: HeldBack) -> Matter:
    """A withheld value as what can be erased."""
    return Matter(held.commitment, held.book, held.line, held.field, held.value)


def find_matter(
    ledger: Ledger, places: Sequence[str], *, everywhere: bool = False
) -> tuple[Matter, ...]:
    """What is withheld at the places, in all that was ever recorded of them.

    Args:
        ledger: where to look.
        places: each an instrument, ``instrument/line`` or ``instrument/line/field``.
        everywhere: also wherever else one of the same values is withheld.

    Raises:
        UnknownName: nothing is withheld at one of the places.
    """
    held = ledger.withheld()
    found: dict[str, HeldBack] = {}
    for place in places:
        here = [each for each in held if _is_at(each, place)]
        if not here:
            known = sorted({f"{each.book}/{each.line}/{each.field}" for each in held})
            raise UnknownName("place with withheld matter", place, known)
        found.update((each.commitment, each) for each in here)
    if everywhere:
        values = {canonical_json(each.value) for each in found.values()}
        found.update(
            (each.commitment, each) for each in held if canonical_json(each.value) in values
        )
    return tuple(matter_of(each) for each in found.values())


def find_files(ledger: Ledger, places: Sequence[str]) -> tuple[Matter, ...]:
    """The files that the exhibit lines at the places have named, each ``instrument/line``.

    Raises:
        UnknownName: no exhibit of that name was ever recorded.
        LedgerError: another line names one of the files too.
    """
    named: dict[str, set[str]] = {}
    for entry in ledger.entries():
        if entry.section == "exhibits" and entry.body and "sha256" in entry.body:
            named.setdefault(f"{entry.book}/{entry.line}", set()).add(entry.body["sha256"])
    found: dict[str, Matter] = {}
    for place in places:
        if place not in named:
            raise UnknownName("exhibit", place, sorted(named))
        book, _, line = place.partition("/")
        found.update((sha256, Matter(sha256, book, line, "")) for sha256 in sorted(named[place]))
    for place, files in named.items():
        if place not in places and (shared := sorted(files & found.keys())):
            raise LedgerError(
                f"{place} names the same file ({shared[0][:16]}…). Name it too, or keep the file; "
                "nothing was erased."
            )
    gone = erased_names(ledger.entries())
    return tuple(each for each in found.values() if each.name not in gone)


def erase_matter(
    ledger: Ledger, matter: Iterable[Matter], reason: str, recorder: str, recorded_at: str
) -> tuple[Entry, ...]:
    """The entries that say what was erased. It is gone from the bytes of the file.

    Raises:
        LedgerError: nothing was erased, or it is erased and its bytes could not be overwritten
            yet.
    """
    wanted = list({each.name: each for each in matter}.values())
    if not wanted:
        raise LedgerError("There is nothing to erase: it was erased before, or never withheld.")
    if not reason.strip():
        raise LedgerError("Nothing was erased: it has to be said why.")
    told = reason.casefold()
    for each in wanted:
        if isinstance(each.value, str) and each.value.strip().casefold() in told:
            raise LedgerError(
                "Nothing was erased: the reason names what is to be forgotten, and the reason "
                "stays in the ledger for good. Say it without."
            )
    entries = ledger.append(
        [_change(each, reason) for each in wanted],
        recorder=recorder,
        recorded_at=recorded_at,
        erased=[each.name for each in wanted],
    )
    ledger.rewrite()
    return tuple(entries)


def erased_names(entries: Iterable[Entry]) -> frozenset[str]:
    """The commitments and files that entries say were erased."""
    return frozenset(
        entry.line
        for entry in entries
        if entry.book_kind == LEDGER_BOOK.kind and entry.section == ERASURES
    )


def commitments_in(entry: Entry) -> tuple[tuple[str, str], ...]:
    """The withheld fields of an entry, each with its commitment."""
    body = entry.body or {}
    return tuple(
        (name, str(value["withheld"])) for name, value in body.items() if is_commitment(value)
    )


def _is_at(held: HeldBack, place: str) -> bool:
    whole = f"{held.book}/{held.line}/{held.field}"
    return whole == place or whole.startswith(f"{place}/")


def _change(matter: Matter, reason: str) -> Change:
    body = {"book": matter.book, "line": matter.line, "reason": reason}
    if matter.field:
        body["field"] = matter.field
    return Change("record", LEDGER_BOOK, ERASURES, matter.name, body)

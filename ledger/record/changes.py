"""What has to be appended so that the ledger says what a sheet or a pack now says.

Pure functions from what the ledger holds and what is now wanted to a tuple of changes. A line
that has not changed gives none; a line under its old id in another section is superseded.

A withheld value stands in the entry as a commitment: the SHA-256 of the canonical JSON of
``[salt, field, value]``. Whoever is given salt and value can check them against the entry;
nobody can find the value from the commitment, because the salt is as long as a key.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from ledger.basis.hashing import canonical_json, sha256_hex
from ledger.errors import Fault, FaultsFound
from ledger.models import SECTIONS, BenchSheet, Model
from ledger.record.case import withheld_fields
from ledger.record.entries import Act, BookKind, Entry
from ledger.references import PACK_SECTIONS, PackFile

SALT_BYTES: Final = 16
HEADER_LINES: Final = frozenset({"instrument", "pack"})


@dataclass(frozen=True, slots=True)
class Book:
    """What lines belong to: one instrument, one pack, or the ledger's notes about itself."""

    kind: BookKind
    id: str


LEDGER_BOOK: Final = Book("ledger", "ledger")
ERASURES: Final = "erasures"


@dataclass(frozen=True, slots=True)
class Erasure:
    """That something of a line was erased, and when; ``field`` is empty for a file.

    ``name`` is the commitment or the SHA-256 that stands for what was erased.
    """

    recorded_at: str
    name: str
    book: str
    line: str
    field: str


@dataclass(frozen=True, slots=True)
class NewLine:
    """A line as it is now wanted, nothing of it hidden yet."""

    section: str
    line: str
    body: Mapping[str, Any]
    withheld: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Withheld:
    """A value kept beside the chain, and the commitment that stands for it in the entry."""

    commitment: str
    salt: str
    field: str
    value: Any


@dataclass(frozen=True, slots=True)
class Change:
    """What becomes one entry.

    ``replaces`` is the number of the entry that it supersedes or retracts, 0 for none: if that
    is no longer the line's latest, somebody else has recorded meanwhile.
    """

    act: Act
    book: Book
    section: str
    line: str
    body: dict[str, Any] | None
    withheld: tuple[Withheld, ...] = ()
    replaces: int = 0


def commitment(salt: str, field: str, value: object) -> str:
    """What stands in an entry in place of ``value``.

    >>> commitment("00" * 16, "holder", "A. N. Owner")[:16]
    'b8b313b15e4adbeb'
    """
    return sha256_hex(canonical_json([salt, field, value]))


def instrument_lines(sheet: BenchSheet, hashes: Mapping[str, str]) -> tuple[NewLine, ...]:
    """The lines of a sheet in the order in which they are recorded.

    Args:
        sheet: the sheet.
        hashes: for the id of each exhibit the SHA-256 of its file.
    """
    lines = [NewLine("instrument", "instrument", _body(sheet.instrument))]
    for section in SECTIONS:
        for line in getattr(sheet, section):
            body = _body(line)
            if section == "exhibits":
                body["sha256"] = hashes[line.id]
            withheld = withheld_fields(section, line) & set(body)
            lines.append(NewLine(section, line.id, body, withheld))
    return tuple(lines)


def pack_lines(pack: PackFile) -> tuple[NewLine, ...]:
    """The lines of a pack in the order in which they are recorded.

    Raises:
        FaultsFound: two of them would have the same id.
    """
    header = pack.model_dump(mode="json", exclude_defaults=True, exclude=set(PACK_SECTIONS))
    lines = [NewLine("pack", "pack", header)]
    for section in PACK_SECTIONS:
        for row in getattr(pack, section):
            name = f"catalogue-{row.kind}" if section == "catalogues" else row.id
            lines.append(NewLine(section, name, _body(row)))
    seen: set[str] = set()
    faults: list[Fault] = []
    for line in lines:
        if line.line in seen:
            path = f"{line.section}.{line.line}"
            found = f"the id {line.line!r} again"
            faults.append(Fault(pack.pack, 0, 0, path, found, "each id once in a pack"))
        seen.add(line.line)
    if faults:
        raise FaultsFound(faults)
    return tuple(lines)


def erasures_in(entries: Iterable[Entry]) -> tuple[Erasure, ...]:
    """What the entries say was erased, in their order."""
    return tuple(
        Erasure(
            entry.recorded_at,
            entry.line,
            *(str(entry.body.get(name, "")) for name in ("book", "line", "field")),
        )
        for entry in entries
        if (entry.book_kind, entry.section) == (LEDGER_BOOK.kind, ERASURES) and entry.body
    )


def coming_back(
    book: Book, wanted: Iterable[NewLine], entries: Sequence[Entry]
) -> tuple[Erasure, ...]:
    """The erasures that recording the wanted lines would undo, the last of each withheld field.

    What was erased cannot be compared: whatever now stands in its place counts. Where a value was
    withheld anew since then it is back already. Files that were erased do not come back.
    """
    erased = [each for each in erasures_in(entries) if each.book == book.id]
    last = {(each.line, each.field): each for each in erased}
    gone = {each.name for each in erased}
    current = current_lines(entries, book) if last else {}
    found: list[Erasure] = []
    for line in wanted:
        held = current.get(line.line)
        body = (held.body if held is not None else None) or {}
        for name in sorted(line.withheld):
            erasure = last.get((line.line, name))
            stands: Any = body.get(name)
            is_back = is_commitment(stands) and stands["withheld"] not in gone
            if erasure is not None and not is_back:
                found.append(erasure)
    return tuple(found)


def current_lines(entries: Iterable[Entry], book: Book) -> dict[str, Entry]:
    """For each line of the book that is not retracted its latest entry."""
    current: dict[str, Entry] = {}
    for entry in entries:
        if (entry.book_kind, entry.book) != (book.kind, book.id):
            continue
        if entry.body is None:
            current.pop(entry.line, None)
        else:
            current[entry.line] = entry
    return current


def changes_to(
    book: Book,
    wanted: Iterable[NewLine],
    entries: Iterable[Entry],
    opened: Mapping[str, Any],
    new_salt: Callable[[int], bytes],
) -> tuple[Change, ...]:
    """What has to be appended so that the book holds the wanted lines and no others.

    Args:
        book: whose lines they are.
        wanted: all its lines as they are now wanted, ids unique.
        entries: what the ledger holds.
        opened: values of withheld fields by commitment. One that was erased counts as changed:
            a sheet that still names it puts it back, under a new commitment.
        new_salt: gives that many random bytes, as ``secrets.token_bytes`` does.
    """
    current = current_lines(entries, book)
    changes: list[Change] = []
    for line in wanted:
        held = current.pop(line.line, None)
        if held is None or not _is_same(held, line, opened):
            change = _record(book, line, new_salt)
            if held is not None:
                change = replace(change, act="supersede", replaces=held.sequence)
            changes.append(change)
    changes += [
        Change("retract", book, entry.section, entry.line, None, replaces=entry.sequence)
        for entry in current.values()
    ]
    return tuple(changes)


def _body(model: Model) -> dict[str, Any]:
    return model.model_dump(mode="json", exclude_defaults=True)


def _is_same(held: Entry, line: NewLine, opened: Mapping[str, Any]) -> bool:
    body = held.body or {}
    hidden = {name for name, value in body.items() if is_commitment(value)}
    if held.section != line.section or hidden != line.withheld:
        return False
    if any(body[name]["withheld"] not in opened for name in hidden):
        return False
    plain = {
        name: opened[value["withheld"]] if name in hidden else value for name, value in body.items()
    }
    return canonical_json(plain) == canonical_json(dict(line.body))


def is_commitment(value: object) -> bool:
    """Whether a value of a body stands for one that is withheld."""
    return isinstance(value, dict) and set(value) == {"withheld"}


def _record(book: Book, line: NewLine, new_salt: Callable[[int], bytes]) -> Change:
    body = dict(line.body)
    kept: list[Withheld] = []
    for name in sorted(line.withheld):
        salt = new_salt(SALT_BYTES).hex()
        hidden = Withheld(commitment(salt, name, body[name]), salt, name, body[name])
        body[name] = {"withheld": hidden.commitment}
        kept.append(hidden)
    return Change("record", book, line.section, line.line, body, tuple(kept))

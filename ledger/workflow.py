"""From files to the ledger and from the ledger to a report: the steps behind the commands.

Nothing here prints and nothing here reads the clock: the time of recording is given.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from ledger.basis.yamltext import file_content, read_tree
from ledger.bench.still_open import still_open
from ledger.bench.treatments import Notice, notices
from ledger.errors import Fault, FaultsFound, UnknownName
from ledger.knowledge.packs import Packs, built_in_packs, read_pack
from ledger.record.case import packs_at
from ledger.record.changes import (
    Book,
    Erasure,
    NewLine,
    changes_to,
    coming_back,
    instrument_lines,
    pack_lines,
)
from ledger.record.entries import Entry
from ledger.record.exhibit_files import ExhibitFile
from ledger.record.sheet import SheetRead, read_sheet
from ledger.record.store import Ledger
from ledger.references import PackFile


@dataclass(frozen=True, slots=True)
class Recording:
    """What recording one file came to."""

    file: str
    book: Book
    name: str
    recorded: int
    superseded: int
    retracted: int
    notices: tuple[str, ...] = ()

    @property
    def changed(self) -> int:
        """How many entries were appended."""
        return self.recorded + self.superseded + self.retracted


@dataclass(frozen=True, slots=True)
class _Readied:
    """A file that was read without a fault and waits to be recorded."""

    file: str
    book: Book
    name: str
    lines: tuple[NewLine, ...]
    exhibits: tuple[ExhibitFile, ...] = ()
    notices: tuple[str, ...] = ()


NEVER_PACKS = frozenset({".xlsx", ".csv"})
# Reads the sheets in a file, their words held against what is known; a spreadsheet can hold several.
Reader = Callable[[Path, Packs | None], Sequence[SheetRead]]


def one_sheet(path: Path, known: Packs | None) -> tuple[SheetRead, ...]:
    """The sheet in a file of YAML.

    Raises:
        FaultsFound: it cannot be read or has faults; every one is listed.
    """
    return (read_sheet(path, known),)


def open_ledger(path: Path) -> Ledger:
    """The ledger at ``path``, made if there is none."""
    return Ledger.open(path) if path.exists() else Ledger.create(path)


def record_files(
    path: Path,
    files: Sequence[Path],
    recorder: str,
    recorded_at: str,
    read: Reader = one_sheet,
) -> tuple[Recording, ...]:
    """What was recorded in the ledger at ``path``, file by file: packs first, then sheets.

    All files are read and checked before anything is appended, and all of them are appended in
    one transaction. The ledger is made if there is none.

    Raises:
        FaultsFound: at least one file has faults; every one of all files is listed and nothing
            was recorded.
    """
    checked = None if path.exists() else check_files(files, (), read)
    with open_ledger(path) as ledger:
        entries = ledger.entries()
        # What was checked against nothing holds only while there still is nothing.
        readied = check_files(files, entries, read) if checked is None or entries else checked
        opened = ledger.opened()
        changes = [
            changes_to(
                each.book, each.lines, ledger.entries(each.book), opened, secrets.token_bytes
            )
            for each in readied
        ]
        if any(changes):
            ledger.append(
                [change for of_book in changes for change in of_book],
                recorder=recorder,
                recorded_at=recorded_at,
                exhibits=[exhibit for each in readied for exhibit in each.exhibits],
            )
    return tuple(
        _told(each, [change.act for change in of_book])
        for each, of_book in zip(readied, changes, strict=True)
    )


def _told(each: _Readied, acts: Sequence[str]) -> Recording:
    return Recording(
        each.file,
        each.book,
        each.name,
        acts.count("record"),
        acts.count("supersede"),
        acts.count("retract"),
        each.notices,
    )


def check_files(
    files: Sequence[Path], entries: Sequence[Entry], read: Reader = one_sheet
) -> tuple[_Readied, ...]:
    """The files, read and found without a fault, packs first.

    Raises:
        FaultsFound: every fault of every file.
    """
    faults: list[Fault] = []
    packs: list[tuple[Path, PackFile]] = []
    sheets: list[Path] = []
    for path in files:
        if not _is_pack(path):
            sheets.append(path)
            continue
        try:
            packs.append((path, read_pack(path)))
        except FaultsFound as error:
            faults.extend(error.faults)
    given = {pack.pack: pack for _, pack in packs}
    standing = packs_at(entries, besides=given)
    known: Packs | None = None
    try:
        known = Packs.of((*built_in_packs(), *standing, *given.values()))
    except FaultsFound as error:
        faults.extend(error.faults)
    ready = [
        _Readied(str(path), Book("pack", pack.pack), pack.title, pack_lines(pack))
        for path, pack in packs
    ]
    for path in sheets:
        try:
            ready.extend(_ready_sheet(path, each, entries) for each in read(path, known))
        except FaultsFound as error:
            faults.extend(error.faults)
    faults.extend(_repeated_books(ready))
    if faults:
        raise FaultsFound(faults)
    return tuple(ready)


def _is_pack(path: Path) -> bool:
    """Whether a file says that it is a pack; anything else is taken for a sheet."""
    if path.suffix.lower() in NEVER_PACKS:
        return False
    try:
        tree = read_tree(file_content(path), str(path)).value
    except (OSError, FaultsFound):
        return False
    return isinstance(tree, dict) and "pack" in tree and "bench_sheet" not in tree


def noticed(read: SheetRead, entries: Sequence[Entry]) -> tuple[Notice, ...]:
    """What is pointed out of a sheet that has no faults, before it is recorded.

    Args:
        read: the sheet.
        entries: what the ledger holds.
    """
    book = Book("instrument", read.sheet.instrument.id)
    lines = instrument_lines(read.sheet, read.hashes)
    return (
        *notices(read.sheet),
        *still_open(read.sheet),
        *(_back_again(each) for each in coming_back(book, lines, entries)),
    )


def _back_again(erasure: Erasure) -> Notice:
    return Notice(
        erasure.line,
        f"its {erasure.field} was erased on {erasure.recorded_at[:10]}, and this sheet gives one "
        "again: recording the sheet puts it into the ledger once more. If it is to stay forgotten "
        "take it out of the sheet; where the sheet is recorded already, erase it again as well.",
    )


def _ready_sheet(path: Path, read: SheetRead, entries: Sequence[Entry]) -> _Readied:
    about = read.sheet.instrument
    return _Readied(
        str(path),
        Book("instrument", about.id),
        about.name,
        instrument_lines(read.sheet, read.hashes),
        tuple(read.exhibits.values()),
        tuple(f"{about.id}/{each.line}: {each.says}" for each in noticed(read, entries)),
    )


def _repeated_books(readied: Sequence[_Readied]) -> list[Fault]:
    """A fault for each file that speaks of the same instrument or pack as one before it."""
    first: dict[Book, str] = {}
    faults: list[Fault] = []
    for each in readied:
        if each.book in first:
            found = f"the {each.book.kind} {each.book.id!r} again, first in {first[each.book]}"
            advice = "Give one of them another id, or record them one after the other"
            faults.append(Fault(each.file, 0, 0, "", found, "each in one file", advice))
        first.setdefault(each.book, each.file)
    return faults


def check_position(packs: Packs, kind: str, position: str) -> None:
    """Make sure that instruments of the kind have such a position.

    Raises:
        UnknownName: there is no such kind, or it has no such position.
    """
    view = packs.catalogue(kind)
    if view.find(position) is None:
        raise UnknownName(f"position of the {view.name}", position, view.names())

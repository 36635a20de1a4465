"""Read a bench sheet: whole and without a fault, or not at all.

Everything that is wrong is told at once: what is not YAML, what does not fit the models, ids
that lead nowhere, exhibits that are not there. A file that an exhibit names has to lie in the
folder of the sheet or below it, so that a sheet from elsewhere cannot carry off other files.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path, PureWindowsPath
from typing import Protocol

from pydantic import ValidationError

from ledger.basis.edtf import DateStatement, DateUnreadable, read_date
from ledger.basis.hashing import sha256_hex
from ledger.basis.modelfaults import did_you_mean, fitted
from ledger.basis.yamltext import Path as TreePath
from ledger.basis.yamltext import (
    Place,
    Tree,
    YamlTree,
    file_content,
    read_tree,
    shortened,
)
from ledger.errors import Fault, FaultsFound
from ledger.models import SECTIONS, BenchSheet, Line
from ledger.record.case import line_read, withheld_fields
from ledger.record.exhibit_files import ExhibitFile
from ledger.record.exhibits import (
    GREATEST_TOTAL_BYTES,
    MOST_EXHIBITS,
    read_exhibit,
)
from ledger.record.links import LINKS, linked

# Without these a line cannot be placed at all.
NEVER_WITHHELD = frozenset({*LINKS, "position", "positions", "trace", "about", "masks"})
# Where a position without its suffix means all of several rather than one of them.
SPEAKS_OF_ALL = frozenset({"exhibits", "non_values", "testimony", "questions", "challenges"})


@dataclass(frozen=True)
class SheetRead:
    """A sheet with where everything stands in its file, and its exhibits by their ids."""

    sheet: BenchSheet
    tree: YamlTree
    sha256: str
    exhibits: Mapping[str, ExhibitFile]

    @property
    def file(self) -> str:
        """The name of the file, as it was asked for."""
        return self.tree.file

    @property
    def hashes(self) -> dict[str, str]:
        """The SHA-256 of each exhibit's file by the exhibit's id."""
        return {name: file.sha256 for name, file in self.exhibits.items()}

    def place_of(self, line_id: str) -> Place:
        """Where the line with that id begins; the top of the file if there is none."""
        for section, at, line in _lines_of(self.sheet):
            if line.id == line_id:
                return self.tree.place_of((section, at))
        return self.tree.place_of(())


class Positions(Protocol):
    """What a catalogue has to tell about the positions of one kind of instrument."""

    def find(self, position: str) -> object | None:
        """What is known of a position as written in a sheet, or None."""

    def names(self) -> Sequence[str]:
        """The positions there are, without suffixes."""


class Knowledge(Protocol):
    """What is known beforehand, against which the words of a sheet are held."""

    def kinds(self) -> Sequence[str]:
        """The kinds of instrument there are."""

    def catalogue(self, kind: str) -> Positions:
        """The positions of a kind."""

    def trace_kind_names(self) -> Sequence[str]:
        """The kinds of trace there are."""


def read_sheet(path: Path, known: Knowledge | None = None) -> SheetRead:
    """The sheet in the file at ``path``, its words held against what is known, if that is given.

    Raises:
        FaultsFound: it cannot be read or has faults; every one is listed.
    """
    content = _content(path)
    return sheet_of(read_tree(content, str(path)), path.parent, sha256_hex(content), known)


def sheet_of(
    typed: YamlTree, folder: Path, sha256: str, known: Knowledge | None = None
) -> SheetRead:
    """The sheet that a tree of text says, from wherever that was typed.

    Args:
        typed: what was typed, with its places; it need not come from a file of YAML.
        folder: where the files of exhibits are sought.
        sha256: of the file it was typed in.
        known: what its words are held against, if anything.

    Raises:
        FaultsFound: it has faults; every one is listed.
    """
    tree = linked(typed)
    sheet, faults = fitted(tree, BenchSheet)
    exhibits, missing = _exhibits(tree, folder)
    hidden = _withholding_faults(sheet, tree) if sheet is not None else ()
    strange = unknown_words(tree, known) if known is not None else ()
    turned = turned_spans(tree)
    if sheet is None or faults or missing or hidden or strange or turned:
        raise FaultsFound([*faults, *missing, *hidden, *strange, *turned])
    return SheetRead(sheet, tree, sha256, exhibits)


def turned_spans(tree: YamlTree) -> tuple[Fault, ...]:
    """A fault for each holder whose time ends before it begins, whatever days the dates mean.

    Dates told as about right or in doubt are let be: how far off they can be is not known here.
    """
    begins = {path[:2]: text for path, text in _typed_at(tree, "custody", "begins")}
    faults: list[Fault] = []
    for path, text in _typed_at(tree, "custody", "ends"):
        first, last = _plain_date(begins.get(path[:2], "")), _plain_date(text)
        if first is None or last is None:
            continue
        begun, ended = first.spans.earliest, last.spans.latest
        if begun is not None and ended is not None and ended < begun:
            found = f"an end, {shortened(text)}, before the beginning, {begins[path[:2]]}"
            advice = "See which of the two is mistyped; mark a date that is in doubt, such as 1950?"
            faults.append(tree.fault_at(path, found, "an end after the beginning", advice))
    return tuple(faults)


def _plain_date(text: str) -> DateStatement | None:
    """The date as typed; None where it cannot be read, or is told in doubt."""
    try:
        told = read_date(text.strip())
    except DateUnreadable:
        return None
    return None if told.is_uncertain or told.is_approximate else told


def unknown_words(tree: YamlTree, known: Knowledge) -> tuple[Fault, ...]:
    """The kind of instrument, positions and kinds of trace that the packs do not know.

    It looks at the tree as typed, so that these are told together with whatever else is wrong.
    """
    about = _mapping(tree.value).get("instrument")
    kind = _mapping(about).get("kind")
    if not isinstance(kind, str):
        return ()
    if kind not in known.kinds():
        advice = did_you_mean(kind, known.kinds()) or _known(known.kinds())
        found = f"the kind {shortened(kind)}, of which no pack has a catalogue"
        return (tree.fault_at(("instrument", "kind"), found, "a kind of instrument", advice),)
    return place_faults(tree, known.catalogue(kind), known.trace_kind_names())


def catalogue_faults(
    read: SheetRead, catalogue: Positions, trace_kinds: Collection[str]
) -> tuple[Fault, ...]:
    """Every position and kind of trace in the sheet that the packs do not know."""
    return place_faults(read.tree, catalogue, trace_kinds)


def place_faults(
    tree: YamlTree, catalogue: Positions, trace_kinds: Collection[str]
) -> tuple[Fault, ...]:
    """Every position and kind of trace in the tree that the packs do not know."""
    faults: list[Fault] = []
    used = list(_positions_in(tree))
    suffixed = {
        name.partition(".")[0]
        for path, name in used
        if "." in name and path[0] not in SPEAKS_OF_ALL and catalogue.find(name) is not None
    }
    for path, name in used:
        problem = _position_problem(name, catalogue)
        if problem is None and name in suffixed and path[0] not in SPEAKS_OF_ALL:
            problem = (
                f"{name!r}, of which the sheet names several",
                f"which one, as elsewhere in the sheet: {name}.1 or the like",
                "",
            )
        if problem is not None:
            faults.append(tree.fault_at(path, *problem))
    for path, name in _typed_at(tree, "traces", "trace"):
        if name not in trace_kinds:
            advice = did_you_mean(name, trace_kinds) or _known(trace_kinds)
            found = f"the kind of trace {shortened(name)}, which no pack has"
            faults.append(tree.fault_at(path, found, "a kind of trace of a pack", advice))
    return tuple(sorted(faults, key=lambda fault: (fault.line, fault.column)))


def _mapping(value: Tree | None) -> dict[str, Tree]:
    return value if isinstance(value, dict) else {}


def _items(value: Tree | None) -> list[Tree]:
    return value if isinstance(value, list) else []


def _typed_at(tree: YamlTree, section: str, key: str) -> Iterator[tuple[TreePath, str]]:
    """The text under a key of each line of a section, or the texts, where it is a list."""
    for at, line in enumerate(_items(_mapping(tree.value).get(section))):
        value = _mapping(line).get(key)
        if isinstance(value, str):
            yield (section, at, key), value
        for each, text in enumerate(_items(value)):
            if isinstance(text, str):
                yield (section, at, key, each), text


def _positions_in(tree: YamlTree) -> Iterator[tuple[TreePath, str]]:
    for section in SECTIONS:
        for key in ("position", "positions", "about"):
            yield from _typed_at(tree, section, key)
    for at, line in enumerate(_items(_mapping(tree.value).get("sightings"))):
        for each, shown in enumerate(_items(_mapping(line).get("shows"))):
            value = _mapping(shown).get("position")
            if isinstance(value, str):
                yield ("sightings", at, "shows", each, "position"), value


def _position_problem(name: str, catalogue: Positions) -> tuple[str, str, str] | None:
    if catalogue.find(name) is not None:
        return None
    base, dot, _ = name.partition(".")
    if dot and catalogue.find(base) is not None:
        return f"{name!r}", f"{base}: there is only one, and it has no suffix", ""
    advice = did_you_mean(base, catalogue.names()) or _known(catalogue.names())
    return f"{shortened(name)}, which is not in the catalogue", "a position of this kind", advice


def _known(names: Collection[str]) -> str:
    return f"Known: {', '.join(sorted(names))}"


def _content(path: Path) -> bytes:
    try:
        return file_content(path)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        fault = Fault(str(path), 0, 0, "", reason, "a bench sheet", "Check the name")
        raise FaultsFound([fault]) from error


def _lines_of(sheet: BenchSheet) -> Iterator[tuple[str, int, Line]]:
    for section in SECTIONS:
        for at, line in enumerate(getattr(sheet, section)):
            yield section, at, line


def _withholding_faults(sheet: BenchSheet, tree: YamlTree) -> tuple[Fault, ...]:
    """A fault for each field withheld without which its line could not be read."""
    faults: list[Fault] = []
    for section, at, line in _lines_of(sheet):
        body = line.model_dump(mode="json", exclude_defaults=True)
        for name in sorted(withheld_fields(section, line) & set(body)):
            if name not in NEVER_WITHHELD and _reads_without(section, body, name):
                continue
            path: TreePath = (section, at, "withhold", line.withhold.index(name))
            found = f"{name} withheld"
            advice = "Withhold what must not be known in words, such as note, by or holder"
            faults.append(tree.fault_at(path, found, "a field the line can do without", advice))
    return tuple(faults)


def _reads_without(section: str, body: dict[str, object], name: str) -> bool:
    try:
        line_read(section, {**body, name: {"withheld": ""}}, {})
    except ValidationError:
        return False
    return True


def _exhibits(tree: YamlTree, folder: Path) -> tuple[dict[str, ExhibitFile], list[Fault]]:
    """The files of the exhibits by id, and the faults of those that cannot be taken."""
    given = tree.value.get("exhibits") if isinstance(tree.value, dict) else None
    taken: dict[str, ExhibitFile] = {}
    files: dict[Path, ExhibitFile] = {}
    faults: list[Fault] = []
    for at, line in enumerate(given if isinstance(given, list) else ()):
        name = line.get("file") if isinstance(line, dict) else None
        if not (isinstance(line, dict) and isinstance(name, str) and name.strip()):
            continue  # the model says so
        path: TreePath = ("exhibits", at, "file")
        place = _inside(folder, name.strip())
        if place is None:
            found = f"{shortened(name)}, which is not in the folder of the sheet"
            expected = "a path that stays in that folder, such as exhibits/label.png"
            advice = "Put a copy of the file there"
            faults.append(tree.fault_at(path, found, expected, advice))
            continue
        if len(files) == MOST_EXHIBITS or _size_bytes(files) > GREATEST_TOTAL_BYTES:
            million = GREATEST_TOTAL_BYTES // 1_000_000
            expected = f"at most {MOST_EXHIBITS} files, of {million} million bytes together"
            faults.append(tree.fault_at(path, "more than that", expected, "Leave some out"))
            break
        try:
            file = taken[str(line.get("id"))] = files[place] = files.get(place) or read_exhibit(
                place
            )
        except FaultsFound as error:
            (fault,) = error.faults
            found = f"{shortened(name)}: {fault.found}"
            faults.append(tree.fault_at(path, found, fault.expected, fault.advice))
            continue
        if line.get("masks") and not file.is_picture:
            found = f"masks on {shortened(name)}, which is no picture"
            advice = "A document is kept and never published: leave the masks out"
            faults.append(tree.fault_at(("exhibits", at, "masks"), found, "a picture", advice))
    return taken, faults


def _size_bytes(files: Mapping[Path, ExhibitFile]) -> int:
    return sum(file.size_bytes for file in files.values())


def _inside(folder: Path, name: str) -> Path | None:
    """The file of that name in the folder or below it; None if it would be anywhere else."""
    if "\\" in name or PureWindowsPath(name).anchor or ".." in Path(name).parts:
        return None
    try:
        place = (folder / name).resolve()
        return place if place.is_relative_to(folder.resolve()) else None
    except (OSError, RuntimeError):  # a link that leads to itself
        return None

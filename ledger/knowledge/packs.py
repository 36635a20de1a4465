"""Packs: files of reference statements and catalogues, the program's own and a user's.

A file is read whole or refused whole. Several files together answer what is known: rows of
later files are added to those of earlier ones, except where a later word on the same thing is
meant to replace the earlier one (starting values of practice, kinds of trace, mark layouts,
confusions of glyphs, cautions, technologies): there the last file that has the row id wins.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files as package_files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any, Final, Generic, TypeVar

import yaml

from ledger.basis.modelfaults import fitted
from ledger.basis.yamltext import Path as TreePath
from ledger.basis.yamltext import file_content, path_in_words, read_tree
from ledger.errors import Fault, FaultsFound, UnknownName, closest
from ledger.knowledge.catalogues import (
    CatalogueView,
    catalogue_faults,
    catalogue_view,
)
from ledger.knowledge.practice_limits import other_units, refusals, units_of
from ledger.models import Instrument
from ledger.references import (
    Catalogue,
    Caution,
    Confusion,
    DateCode,
    Fact,
    MarkLayout,
    MatchingNumbers,
    PackFile,
    PatentYear,
    Practice,
    Reference,
    SerialTable,
    SourceCode,
    Specification,
    Technology,
    Timeline,
    TraceKind,
    ValueSign,
)

R = TypeVar("R", bound=Reference)

_BASE_LOADER: Final[Any] = getattr(yaml, "CBaseLoader", yaml.BaseLoader)

# The section of a pack that holds the rows of each type.
ROW_SECTIONS: dict[type[Reference], str] = {
    Timeline: "timelines",
    Specification: "specifications",
    SerialTable: "serial_tables",
    Fact: "facts",
    Technology: "technologies",
    MatchingNumbers: "matching_numbers",
    Practice: "practices",
    TraceKind: "trace_kinds",
    MarkLayout: "mark_layouts",
    Confusion: "confusions",
    SourceCode: "source_codes",
    DateCode: "date_codes",
    PatentYear: "patent_years",
    ValueSign: "value_signs",
    Caution: "cautions",
}
REPLACEABLE = frozenset({Practice, TraceKind, MarkLayout, Confusion, Caution, Technology})


@dataclass(frozen=True, slots=True)
class Row(Generic[R]):
    """A row with its full id, ``pack/row``, and the file it stands in."""

    id: str
    row: R
    pack: PackFile


def read_pack(path: Path) -> PackFile:
    """The pack in the file at ``path``.

    Raises:
        FaultsFound: the file cannot be read or is not a pack; every fault is listed.
    """
    file = str(path)
    try:
        content = file_content(path)
    except OSError as error:
        reason = error.strerror or "something that cannot be read"
        fault = Fault(file, 0, 0, "", reason.lower(), "a pack, as YAML", "Check the name")
        raise FaultsFound([fault]) from error
    tree = read_tree(content, file)
    pack, faults = fitted(tree, PackFile)
    if pack is None or faults:
        raise FaultsFound(faults)
    repeated = [
        tree.fault_at(where, found, expected) for where, found, expected in repetitions(pack)
    ]
    units = units_of((*built_in_packs(), pack))
    unusable = [
        tree.fault_at(*each) for each in (*refusals(pack, units), *other_units(pack, units))
    ]
    if repeated or unusable:
        raise FaultsFound([*repeated, *unusable])
    return pack


@cache
def built_in_packs() -> tuple[PackFile, ...]:
    """The packs that come with the program, in the order of their file names."""
    folder = package_files("ledger.knowledge") / "data"
    names = sorted(entry.name for entry in folder.iterdir() if entry.name.endswith(".yaml"))
    return tuple(_built_in(folder / name) for name in names)


def _built_in(entry: Traversable) -> PackFile:
    # The base loader keeps every scalar as text, like our own reader, but runs wholly in C;
    # the tests read the same files with ours and compare.
    tree = yaml.load(entry.read_text(encoding="utf-8"), Loader=_BASE_LOADER)  # noqa: S506 - it makes text only
    return PackFile.model_validate(tree)


class Packs:
    """What several packs know together. Build one with :meth:`of`."""

    def __init__(
        self,
        files: tuple[PackFile, ...],
        rows: dict[type[Reference], tuple[Row[Any], ...]],
        catalogues: dict[str, CatalogueView],
    ) -> None:
        self.files = files
        self._rows = rows
        self._catalogues = catalogues
        self._practices = {row.row.id: row for row in rows[Practice]}
        self._trace_kinds = {row.row.id: row for row in rows[TraceKind]}
        self._cautions = {row.row.id: row for row in rows[Caution]}
        self._by_full_id = {row.id: row for found in rows.values() for row in found}

    @classmethod
    def of(cls, files: Iterable[PackFile]) -> Packs:
        """The packs together, later ones over earlier ones.

        Raises:
            FaultsFound: they do not fit together; every fault is listed.
        """
        given = tuple(files)
        faults = [*_repeated_names(given), *_unusable(given)]
        rows = {model: _rows_of(given, model) for model in ROW_SECTIONS}
        catalogues, found = _catalogues_of(given)
        faults += found
        cautions = frozenset(row.row.id for row in rows[Caution])
        for view in catalogues.values():
            faults += catalogue_faults(view, cautions)
        if faults:
            raise FaultsFound(faults)
        return cls(given, rows, catalogues)

    def without(self, full_ids: Iterable[str]) -> Packs:
        """The packs without those rows, the files as they are.

        Raises:
            UnknownName: there is no such row, or it is one that something has to stand in for: a
                starting value of practice, a kind of trace or a caution.
        """
        gone = frozenset(full_ids)
        known = [
            row.id
            for model, found in self._rows.items()
            if model not in (Practice, TraceKind, Caution)
            for row in found
        ]
        for name in sorted(gone - set(known)):
            raise UnknownName("row that can be left out", name, known)
        rows = {
            model: tuple(row for row in found if row.id not in gone)
            for model, found in self._rows.items()
        }
        return Packs(self.files, rows, self._catalogues)

    def kinds(self) -> tuple[str, ...]:
        """The kinds of instrument that have a catalogue, in alphabetical order."""
        return tuple(sorted(self._catalogues))

    def catalogue(self, kind: str) -> CatalogueView:
        """The catalogue of ``kind``.

        Raises:
            UnknownName: no pack describes that kind.
        """
        try:
            return self._catalogues[kind]
        except KeyError:
            raise UnknownName("kind of instrument", kind, self.kinds()) from None

    def rows(self, model: type[R]) -> tuple[Row[R], ...]:
        """Every row of one type, in the order of the files."""
        return self._rows[model]

    def applying(self, model: type[R], instrument: Instrument) -> tuple[Row[R], ...]:
        """The rows of one type whose scope takes in the instrument."""
        return tuple(row for row in self.rows(model) if is_within_scope(row.row, instrument))

    def row(self, full_id: str) -> Row[Any] | None:
        """The row with the full id ``pack/row``, or None."""
        return self._by_full_id.get(full_id)

    def practice(self, row_id: str) -> Row[Practice]:
        """The starting value of practice in force under that row id.

        Raises:
            UnknownName: no pack has it.
        """
        try:
            return self._practices[row_id]
        except KeyError:
            raise UnknownName("practice", row_id, tuple(self._practices)) from None

    def trace_kind(self, row_id: str) -> Row[TraceKind] | None:
        """The kind of trace in force under that row id, or None."""
        return self._trace_kinds.get(row_id)

    def trace_kind_names(self) -> tuple[str, ...]:
        """The row ids of all kinds of trace, in order."""
        return tuple(self._trace_kinds)

    def cautions(self, row_ids: Iterable[str]) -> tuple[Row[Caution], ...]:
        """The cautions with those row ids, each once, in the order asked for.

        Raises:
            UnknownName: no pack has one of them.
        """
        wanted = tuple(dict.fromkeys(row_ids))
        for name in wanted:
            if name not in self._cautions:
                raise UnknownName("caution", name, tuple(self._cautions))
        return tuple(self._cautions[name] for name in wanted)


def is_within_scope(row: Reference, instrument: Instrument) -> bool:
    """Whether the row speaks of the instrument; capitals and runs of spaces do not count."""
    scope = row.scope
    if scope.kinds and instrument.kind not in scope.kinds:
        return False
    if scope.maker and _plain(scope.maker) != _plain(instrument.maker):
        return False
    return not scope.model or _plain(scope.model) == _plain(instrument.model)


def _plain(name: str) -> str:
    return " ".join(name.split()).casefold()


def _rows_of(given: tuple[PackFile, ...], model: type[R]) -> tuple[Row[R], ...]:
    found: dict[str, Row[R]] = {}
    for pack in given:
        for row in getattr(pack, ROW_SECTIONS[model]):
            key = row.id if model in REPLACEABLE else f"{pack.pack}/{row.id}"
            found[key] = Row(f"{pack.pack}/{row.id}", row, pack)
    return tuple(found.values())


def _repeated_names(given: tuple[PackFile, ...]) -> list[Fault]:
    """A fault for every pack id, row id or position that stands twice where it may not."""
    faults: list[Fault] = []
    packs: set[str] = set()
    for pack in given:
        if pack.pack in packs:
            advice = "Give one of them another id"
            found = f"two packs named {pack.pack!r}"
            faults.append(Fault(pack.pack, 0, 0, "pack", found, "each pack id once", advice))
        packs.add(pack.pack)
        faults += [
            Fault(pack.pack, 0, 0, path_in_words(where), found, expected)
            for where, found, expected in repetitions(pack)
        ]
    return faults


def _unusable(given: tuple[PackFile, ...]) -> Iterator[Fault]:
    """A fault for every value that cannot be reckoned with, as one recorded long ago can be."""
    units = units_of(given)
    for pack in given:
        for path, found, expected, advice in refusals(pack, units):
            yield Fault(pack.pack, 0, 0, path_in_words(path), found, expected, advice)


def repetitions(pack: PackFile) -> Iterator[tuple[TreePath, str, str]]:
    """Every row id, and every position of a catalogue, that a pack uses twice.

    Each with its path in the file, what is found there and what is expected.
    """
    seen: dict[str, str] = {}
    for section in ROW_SECTIONS.values():
        for place, row in enumerate(getattr(pack, section)):
            if row.id in seen:
                found = f"the id {row.id!r} again, first used in {seen[row.id]}"
                yield (section, place, "id"), found, "each row id once in a pack"
            seen.setdefault(row.id, section)
    for number, catalogue in enumerate(pack.catalogues):
        known: set[str] = set()
        for place, position in enumerate(catalogue.positions):
            if position.id in known:
                path: TreePath = ("catalogues", number, "positions", place, "id")
                yield path, f"the position {position.id!r} again", "each position once"
            known.add(position.id)


def _catalogues_of(
    given: tuple[PackFile, ...],
) -> tuple[dict[str, CatalogueView], list[Fault]]:
    by_kind: dict[str, list[tuple[str, Catalogue]]] = {}
    for pack in given:
        for catalogue in pack.catalogues:
            by_kind.setdefault(catalogue.kind, []).append((pack.pack, catalogue))
    faults: list[Fault] = []
    views: dict[str, CatalogueView] = {}
    known = sorted(
        kind
        for kind, found in by_kind.items()
        if any(not catalogue.extends for _, catalogue in found)
    )
    for kind, found in by_kind.items():
        path = f"catalogues.{kind}"
        own = [pack for pack, catalogue in found if not catalogue.extends]
        if not own:
            near = closest(kind, known)
            advice = f"Did you mean {near}?" if near else f"Known: {', '.join(known)}"
            text = f"extends: yes, but no pack describes {kind!r}"
            faults.append(Fault(found[0][0], 0, 0, path, text, "a known kind", advice))
            continue
        if len(own) > 1:
            text = f"a second catalogue of {kind!r}; the first is in {own[0]}"
            faults.append(Fault(own[1], 0, 0, path, text, "one catalogue", "Say extends: yes"))
        views[kind] = catalogue_view(kind, found)
    return views, faults

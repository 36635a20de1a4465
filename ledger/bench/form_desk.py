"""The desk: the folder in which sheets and drafts lie, and one instrument taken up from it.

Nothing is kept in memory that is not on the disk: what is asked for is read when it is asked for, so
that an owner who mends the sheet by hand meanwhile is met half-way.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Final

from ledger.basis.modelfaults import fitted
from ledger.basis.yamltext import Tree, YamlTree, file_content, read_tree
from ledger.bench.exhibits_in import KEPT_ENDING
from ledger.bench.form_drafts import Draft, DraftLine, Drafts
from ledger.bench.form_tree import TypedSheet, line_of, typed_sheet
from ledger.bench.plan import Plan, plan
from ledger.bench.row_ids import RowIds, id_part
from ledger.bench.spreadsheet_out import SITTING
from ledger.errors import Fault, FaultsFound, UnknownName, WitnessmarkError
from ledger.knowledge.catalogues import CatalogueView
from ledger.knowledge.packs import Packs, built_in_packs
from ledger.models import SECTIONS, BenchSheet, Instrument, Line
from ledger.record.case import packs_at
from ledger.record.entries import Entry
from ledger.record.links import linked
from ledger.record.store import Ledger

MOST_SHEETS: Final = 500


@dataclass(frozen=True, slots=True)
class SheetFile:
    """A sheet of the folder as it is: its bytes, and its tree with every id short."""

    path: Path
    content: bytes
    tree: YamlTree

    @property
    def about(self) -> dict[str, Tree]:
        """The instrument as the sheet describes it."""
        value = self.tree.value if isinstance(self.tree.value, dict) else {}
        about = value.get("instrument")
        return about if isinstance(about, dict) else {}

    def lines(self) -> dict[str, list[dict[str, Tree]]]:
        """The lines by section."""
        value = self.tree.value if isinstance(self.tree.value, dict) else {}
        found = {}
        for section in SECTIONS:
            held = value.get(section)
            if isinstance(held, list):
                found[section] = [line for line in held if isinstance(line, dict)]
        return found


@dataclass(frozen=True)
class OnBench:
    """One instrument with what its sheet says, what waits in its draft, and what is known."""

    id: str
    folder: Path
    file: SheetFile | None
    draft: Draft
    packs: Packs

    @property
    def path(self) -> Path:
        """Where its sheet is, or will be."""
        return self.file.path if self.file else self.folder / f"{self.id}.yaml"

    @cached_property
    def about(self) -> dict[str, Tree]:
        """The instrument as it would be recorded."""
        if self.draft.about is not None:
            given: dict[str, Tree] = {k: v for k, v in self.draft.about.items() if v.strip()}
            return given
        return self.file.about if self.file else {}

    @property
    def name(self) -> str:
        """What a reader sees as its name."""
        name = self.about.get("name")
        return name if isinstance(name, str) else self.id

    @cached_property
    def held(self) -> dict[str, list[dict[str, Tree]]]:
        """The lines of its sheet by section."""
        return self.file.lines() if self.file else {}

    @cached_property
    def view(self) -> CatalogueView:
        """The catalogue of its kind.

        Raises:
            UnknownName: no pack describes that kind.
        """
        return self.packs.catalogue(str(self.about.get("kind")))

    def held_line(self, line_id: str) -> tuple[str, dict[str, Tree]] | None:
        """Section and line of the sheet with that id."""
        for section, lines in self.held.items():
            for line in lines:
                if line.get("id") == line_id:
                    return section, line
        return None

    def sheet_with(self, *also: DraftLine) -> TypedSheet:
        """The sheet with everything in the draft that is finished, and these lines besides."""
        keys = {line.key for line in also}
        kept = [line for line in self.draft.lines if line.state != "typed" and line.key not in keys]
        return typed_sheet(str(self.path), self.about, self.held, (*kept, *also))

    def ids(self) -> RowIds:
        """The ids that are taken, by the sheet and by the draft."""
        taken = {str(line.get("id")) for lines in self.held.values() for line in lines}
        return RowIds(taken | {line.id for line in self.draft.lines if line.id})

    def with_id(self, line: DraftLine) -> DraftLine:
        """The line with an id of its own, made from what it says if none was typed."""
        if line.id.strip():
            return line
        flat = {name: text for name, text in line.fields.items() if "." not in name}
        wish = id_part(line.look) if line.look else ""
        if line.section == "sources" and line.fields.get("kind") == "examination" and not wish:
            wish = SITTING
        made = self.ids().made(line.section, flat, wish)
        return line.model_copy(update={"fields": {**line.fields, "id": made}})

    def offered(self, section: str) -> tuple[tuple[str, str], ...]:
        """The ids of a section that another line may name, each with what it is."""
        found: dict[str, str] = {}
        mended = {line.mends for line in self.draft.lines if line.mends}
        for line in self.held.get(section, ()):
            if line.get("id") not in mended:
                found[str(line.get("id"))] = summary(section, line)
        for each in self.draft.lines:
            if each.section == section and each.state == "saved":
                found[each.id] = summary(section, line_of(section, each.fields))
        return tuple(found.items())

    def lines(self) -> tuple[Line, ...]:
        """Every line that is there or waits and fits its model; what does not is left out."""
        sheet = self.sheet_with()
        found = []
        for section, model in SECTIONS.items():
            held = sheet.value.get(section)
            for line in held if isinstance(held, list) else ():
                typed = YamlTree("line", line, {(): sheet.tree().places[()]}, {})
                fitting, _ = fitted(typed, model)
                if fitting is not None:
                    found.append(fitting)
        return tuple(found)

    def plan(self) -> Plan:
        """What is to be looked at, after what is recorded and what waits."""
        return plan(self.view.kind, self.packs, self.lines())

    def instrument(self) -> Instrument:
        """The instrument, to hold reference rows against.

        Raises:
            FaultsFound: it is not described well enough.
        """
        tree = YamlTree(str(self.path), self.about, {(): _TOP}, {})
        found, faults = fitted(tree, Instrument)
        if found is None:
            raise FaultsFound(faults)
        return found


_TOP = read_tree(b"top: yes", "top").place_of(())


def summary(section: str, line: Mapping[str, Tree]) -> str:
    """What a line is, in a few words, and no reading of it.

    >>> summary("marks", {"id": "code", "position": "pot.1", "text": "912 818"})
    'pot.1'
    >>> summary("sources", {"id": "bench", "title": "Back plate off", "date": "2026-03-02"})
    'Back plate off (2026-03-02)'
    """
    told = {name: value for name, value in line.items() if isinstance(value, str)}
    where = line.get("position") or line.get("positions") or line.get("part") or ""
    place = ", ".join(str(each) for each in where) if isinstance(where, list) else str(where)
    if section == "sources":
        date = f" ({told['date']})" if told.get("date") else ""
        return f"{told.get('title', '')}{date}"
    what = next(
        (
            told[name]
            for name in ("quantity", "feature", "trace", "what", "action", "caption", "paper")
            if told.get(name)
        ),
        "",
    )
    if section in ("questions", "testimony"):
        what = told.get("question") or told.get("says", "")
    if section in ("sightings", "parts", "register_searches"):
        what = told.get("date") or told.get("name", "")
    return ": ".join(part for part in (place, what) if part)


@dataclass
class Desk:
    """The folder, the ledger and who records; ``now`` tells the time as the ledger writes it."""

    folder: Path
    ledger_path: Path
    recorder: str
    now: Callable[[], str]
    site: Path
    keys: Path | None = None
    _files: dict[tuple[Path, int, int], SheetFile | FaultsFound | None] = field(
        default_factory=dict
    )
    _known: tuple[tuple[int, int], Packs] | None = None

    @property
    def drafts(self) -> Drafts:
        """The drafts of the folder."""
        return Drafts(self.folder)

    def entries(self) -> tuple[Entry, ...]:
        """What the ledger holds; nothing where there is none yet."""
        if not self.ledger_path.exists():
            return ()
        with Ledger.open(self.ledger_path, read_only=True) as ledger:
            return ledger.entries()

    def packs(self) -> Packs:
        """The packs of the program and those recorded in the ledger."""
        state = (0, 0)
        if self.ledger_path.exists():
            told = self.ledger_path.stat()
            state = (told.st_mtime_ns, told.st_size)
        if self._known is None or self._known[0] != state:
            packs = Packs.of((*built_in_packs(), *packs_at(self.entries())))
            self._known = (state, packs)
        return self._known[1]

    def sheets(self) -> Iterator[SheetFile | FaultsFound]:
        """The sheets of the folder in the order of their names, or what is wrong with one."""
        for path in sorted(self.folder.glob("*.yaml"))[:MOST_SHEETS]:
            if path.stem.endswith(KEPT_ENDING):  # a sheet as it was before it was changed
                continue
            try:
                told = path.stat()
                key = (path, told.st_mtime_ns, told.st_size)
                if key not in self._files:
                    self._files[key] = _sheet_file(path)
            except OSError:
                continue
            found = self._files[key]
            if found is not None:
                yield found

    def names(self) -> dict[str, str]:
        """The name of each instrument that has a sheet or a draft here, by its id."""
        found = {
            str(sheet.about.get("id")): str(sheet.about.get("name", ""))
            for sheet in self.sheets()
            if isinstance(sheet, SheetFile)
        }
        for name in self.drafts.names():
            try:
                about = self.drafts.read(name).about or {}
            except WitnessmarkError:
                about = {}
            found[name] = about.get("name") or found.get(name) or name
        return found

    def take_up(self, name: str) -> OnBench:
        """The instrument of that id.

        Raises:
            UnknownName: nothing here is of that id.
            FaultsFound: its draft is damaged, or two sheets speak of it.
        """
        files = [
            sheet
            for sheet in self.sheets()
            if isinstance(sheet, SheetFile) and sheet.about.get("id") == name
        ]
        if len(files) > 1:
            found = f"the instrument {name!r} in {' and '.join(each.path.name for each in files)}"
            advice = "Move one of them out of the folder"
            fault = Fault(str(files[1].path), 0, 0, "", found, "each in one sheet", advice)
            raise FaultsFound([fault])
        file = files[0] if files else None
        draft = self.drafts.read(name) if file or name in self.drafts.names() else Draft()
        if file is None and draft.about is None:
            raise UnknownName("instrument on this bench", name, tuple(self.names()))
        return OnBench(name, self.folder, file, draft, self.packs())

    def begin(self, typed: Mapping[str, str]) -> OnBench:
        """A new instrument as typed, kept as a draft.

        Raises:
            FaultsFound: what was typed does not describe one, or one of that id is there.
        """
        given = {name: text.strip() for name, text in typed.items() if text.strip()}
        given.setdefault("id", id_part(given.get("name", "")))
        _refuse(given, self.packs())
        name = given["id"]
        taken = name in self.names() or (self.folder / f"{name}.yaml").exists()
        if taken or any(entry.book == name for entry in self.entries()):
            where = "on this bench" if taken else "in the ledger"
            advice = "Give this one another id, or go on with the other"
            found = f"{name!r}, which is {where} already"
            fault = Fault("begin", 1, 1, "instrument.id", found, "an id of its own", advice)
            raise FaultsFound([fault])
        self.drafts.write(name, Draft(about=given, version=1))
        return self.take_up(name)


def _refuse(given: Mapping[str, str], packs: Packs) -> None:
    sheet = TypedSheet("begin", {"bench_sheet": "1", "instrument": dict(given)})
    tree = sheet.tree()
    _, faults = fitted(tree, BenchSheet)
    found = list(faults)
    if given.get("kind") and given["kind"] not in packs.kinds():
        path = ("instrument", "kind")
        found.append(tree.fault_at(path, repr(given["kind"]), "a kind that has a catalogue"))
    if found:
        raise FaultsFound(found)


def _sheet_file(path: Path) -> SheetFile | FaultsFound | None:
    """The sheet in a file, what is wrong with it, or None where it is no sheet."""
    content = file_content(path)
    if b"bench_sheet" not in content:
        return None
    try:
        tree = linked(read_tree(content, str(path)))
        fitting, faults = fitted(tree, BenchSheet)
        if fitting is None or faults:
            return FaultsFound(faults)
    except FaultsFound as error:
        return error
    return SheetFile(path, content, tree)

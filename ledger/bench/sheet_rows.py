"""Rows put together as sheets, one for each instrument, and held against the models.

What the models have against a sheet comes back with the tab, row and column of the cell.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final

from openpyxl.utils import get_column_letter

from ledger.basis.modelfaults import did_you_mean
from ledger.basis.yamltext import Path as TreePath
from ledger.basis.yamltext import Place, Tree, YamlTree, shortened
from ledger.bench.bench_rows import ANSWERS, BENCH, FILLED_BY_PLAN, KINDS_FOUND, becomes
from ledger.bench.columns import (
    BOOK_COLUMN,
    INSTRUMENT_TAB,
    LINE_COLUMN,
    TEXT_COLUMN,
    Column,
    Tab,
    parts_of_list,
    tabs,
)
from ledger.bench.row_ids import RowIds, id_part
from ledger.bench.rows_in import RowIn
from ledger.bench.tables import Cell
from ledger.errors import Fault, FaultsFound
from ledger.record.sheet import Knowledge, SheetRead, sheet_of

# Rows with nothing beyond these were laid out and not filled in.
LAID_OUT: Final[Mapping[str, frozenset[str]]] = {
    BENCH.title: FILLED_BY_PLAN,
    "sources": frozenset({"id", "kind"}),
    "testimony": frozenset({"id", "question", "source"}),
}
# More than the columns that a table may have.
TAB_WIDTH: Final = 1000
_IN_LIST: Final = re.compile(r"^([a-z_]+)\[(\d+)\](?:\.(.*))?$")


@dataclass(frozen=True, slots=True)
class Origin:
    """The file that rows come from: its name, its folder and its SHA-256."""

    file: str
    folder: Path
    sha256: str


def sheets_of(
    rows: Iterable[RowIn], origin: Origin, known: Knowledge | None, faults: list[Fault]
) -> tuple[SheetRead, ...]:
    """The sheets that the rows make, in the order in which their instruments are named.

    Raises:
        FaultsFound: those given, and whatever is wrong with the rows; all are listed.
    """
    books = _by_book(rows, origin, faults)
    sheets = []
    for book in books:
        built = _Built(origin.file)
        built.take_all(book)
        faults += built.faults
        try:
            sheets.append(sheet_of(built.tree(), origin.folder, origin.sha256, known))
        except FaultsFound as error:
            faults += [built.placed(fault) for fault in error.faults]
    if faults:
        raise FaultsFound(faults)
    return tuple(sheets)


def _by_book(rows: Iterable[RowIn], origin: Origin, faults: list[Fault]) -> list[list[RowIn]]:
    """The rows of each instrument, its own row among them."""
    books: dict[str, list[RowIn]] = {}
    others: list[RowIn] = []
    for row in rows:
        if set(row.cells) - {BOOK_COLUMN} <= LAID_OUT.get(row.tab.title, frozenset()):
            continue
        if row.tab.section != INSTRUMENT_TAB:
            others.append(row)
        elif row.text("id") in books:
            found = f"the instrument {shortened(row.text('id'))} again"
            faults.append(row.fault("id", found, "each instrument once"))
        else:
            books[row.text("id")] = [row]
    if not books:
        advice = "Fill in its id, kind and name"
        found = "no instrument"
        faults.append(Fault(origin.file, 0, 0, "instrument", found, "a row of its own", advice))
    only = next(iter(books)) if len(books) == 1 else ""
    for row in others:
        name = row.text(BOOK_COLUMN) or only
        if name in books:
            books[name].append(row)
        elif books:
            found = f"the object {shortened(name)}" if name else "no object"
            faults.append(
                row.fault(BOOK_COLUMN, found, "the id of an instrument of this file",
                          did_you_mean(name, books))
            )  # fmt: skip
    return list(books.values())


@dataclass
class _Built:
    """One sheet as it is put together."""

    file: str
    faults: list[Fault] = field(default_factory=list)
    _value: dict[str, Tree] = field(default_factory=dict)
    _places: dict[TreePath, Place] = field(default_factory=lambda: {(): Place(1, 1)})
    _rows: dict[tuple[str, int], RowIn] = field(default_factory=dict)
    _lines: dict[tuple[str, str], tuple[int, dict[str, Tree]]] = field(default_factory=dict)
    _inner: dict[tuple[str, str], RowIn] = field(default_factory=dict)
    _ids: RowIds = field(default_factory=RowIds)
    _tables: dict[str, int] = field(default_factory=dict)
    _about: RowIn | None = None

    def tree(self) -> YamlTree:
        return YamlTree(self.file, {"bench_sheet": "1", **self._value}, self._places, {})

    def take_all(self, rows: Sequence[RowIn]) -> None:
        for row in rows:
            if not row.tab.inner and row.tab is not BENCH and row.text("id"):
                self._ids.reserve(row.text("id"))
        for row in rows:
            if row.tab.section == INSTRUMENT_TAB:
                self._about = row
                path: TreePath = (INSTRUMENT_TAB,)
                self._places[path] = self._at(row, row.number, 1)
                self._value[INSTRUMENT_TAB] = self._fields(row, row.tab.columns, path, {})
            elif row.tab is BENCH:
                self._take_bench(row)
            elif not row.tab.inner:
                self._take_line(row)
        for row in rows:
            if row.tab.inner:
                self._take_inner(row)

    def _take_line(self, row: RowIn) -> None:
        section = row.tab.section
        path = self._path_of_next(section, row)
        line = self._fields(row, row.tab.columns, path, {})
        if "id" not in line:
            texts = {name: cell.text for name, cell in row.cells.items()}
            line = {"id": self._ids.made(section, texts), **line}
        self._add(section, path, line)

    def _take_bench(self, row: RowIn) -> None:
        found = row.text("found").casefold()
        if found not in KINDS_FOUND:
            said = shortened(row.text("found")) if found else "an answer without its kind"
            advice = did_you_mean(found, KINDS_FOUND)
            expected = f"one of: {'; '.join(KINDS_FOUND)}"
            self.faults.append(row.fault("found", said, expected, advice))
            return
        section, becoming = becomes(found)
        for name in ANSWERS:
            if name in row.cells and name not in becoming:
                said = f"{shortened(row.text(name))} beside {found!r}"
                advice = "Put it under note"
                self.faults.append(row.fault(name, said, "nothing in this column", advice))
        wish = row.text("step") or id_part(f"{row.text('position')} {row.text('look_for')}")
        path = self._path_of_next(section, row)
        columns = [_column_of(section, becoming[name]) for name in becoming if name != "step"]
        line = self._fields(row, columns, path, {becoming[name]: name for name in becoming})
        if "value" in line and section == "non_values":
            line["value"] = found
        self._add(section, path, {"id": self._ids.made(section, {}, wish), **line})

    def _take_inner(self, row: RowIn) -> None:
        section, name = row.tab.section, row.tab.inner
        of = row.text(LINE_COLUMN)
        if (section, of) not in self._lines:
            found = f"the line {shortened(of)}" if of else "no line"
            advice = did_you_mean(of, [known for at, known in self._lines if at == section])
            expected = f"the id of a row of {section.replace('_', ' ')}"
            self.faults.append(row.fault(LINE_COLUMN, found, expected, advice))
            return
        self._inner[section, name] = row
        at, line = self._lines[section, of]
        items = line.setdefault(name, [])
        if not isinstance(items, list):
            return
        path: TreePath = (section, at, name, len(items))
        self._places[path] = self._at(row, row.number, 1)
        if row.tab.is_of_texts:
            items.append(row.text(TEXT_COLUMN))
        else:
            items.append(self._fields(row, row.tab.columns[1:], path, {}))

    def _path_of_next(self, section: str, row: RowIn) -> TreePath:
        held = self._value.setdefault(section, [])
        at = len(held)
        self._rows[section, at] = row
        self._places.setdefault((section,), Place(1, 1))
        self._places[section, at] = self._at(row, row.number, 1)
        return (section, at)

    def _add(self, section: str, path: TreePath, line: dict[str, Tree]) -> None:
        held = self._value[section]
        if isinstance(held, list):
            held.append(line)
        name = line.get("id")
        if isinstance(name, str):
            self._lines.setdefault((section, name), (int(path[1]), line))

    def _fields(
        self, row: RowIn, columns: Iterable[Column], path: TreePath, named: Mapping[str, str]
    ) -> dict[str, Tree]:
        """The filled fields of a row; ``named`` tells columns that are called otherwise."""
        taken: dict[str, Tree] = {}
        for column in columns:
            name = named.get(column.field, column.field)
            cell = row.cells.get(name)
            if cell is None:
                at = row.columns.get(name)
                if at is not None:
                    self._places[(*path, column.field)] = self._at(row, row.number, at)
                if column.is_list and column.is_required:
                    taken[column.field] = []
                continue
            if column.is_glyphs and cell.is_number:
                advice = "Format the cell as text and type it again, or begin it with an apostrophe"
                found = f"the figure {cell.text}, of which noughts in front are lost"
                self.faults.append(row.fault(name, found, "text, glyph for glyph", advice))
            self._place(row, path, column, cell)
            items: list[Tree] = [*parts_of_list(cell.text)]
            taken[column.field] = items if column.is_list else cell.text
        return taken

    def _at(self, row: RowIn, number: int, column: int) -> Place:
        """A place that no other tab has: the tab is told in the thousands of the column."""
        tab = self._tables.setdefault(row.table.name, len(self._tables))
        return Place(number, tab * TAB_WIDTH + column)

    def _place(self, row: RowIn, path: TreePath, column: Column, cell: Cell) -> None:
        place = self._at(row, cell.row, cell.column)
        self._places[(*path, column.field)] = place
        if column.is_list:
            for at in range(len(parts_of_list(cell.text))):
                self._places[(*path, column.field, at)] = place

    def placed(self, fault: Fault) -> Fault:
        """The fault with the tab, row and column of the cell that it speaks of."""
        fault = replace(fault, column=fault.column % TAB_WIDTH)
        match = _IN_LIST.match(fault.path)
        row = self._rows.get((match[1], int(match[2]) - 1)) if match else self._about
        if row is None:
            return fault
        name = (match[3] or "") if match else fault.path.partition(".")[2]
        inner = self._inner.get((row.tab.section, name.partition("[")[0]))
        table = (inner or row).table
        where = f"{get_column_letter(max(fault.column, 1))}{fault.line}"
        words = name.replace("_", " ")
        return replace(fault, file=table.name, path=f"{where}, {words}" if words else where)


def _column_of(section: str, name: str) -> Column:
    tab: Tab = tabs()[section.replace("_", " ")]
    column = tab.column(name)
    return column if column is not None else Column(name, "")

"""Rows of tables, each with the tab that it belongs to and its cells by field.

A workbook of ours has a tab for every section; a CSV of ours has a column ``section`` that says
for each row which tab it would stand in.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from ledger.basis.modelfaults import did_you_mean
from ledger.basis.yamltext import shortened
from ledger.bench.bench_rows import BENCH
from ledger.bench.columns import BOOK_COLUMN, INSTRUMENT_TAB, Tab, normal_heading, tabs
from ledger.bench.tables import Cell, Table
from ledger.errors import Fault

SECTION_COLUMN: Final = "section"
PASSED_OVER: Final = frozenset({"read_me", "lists"})
_BY_NAME: Final = {
    normal_heading(title): tab for title, tab in {**tabs(), BENCH.title: BENCH}.items()
}


@dataclass(frozen=True, slots=True)
class RowIn:
    """One filled row: the tab it belongs to, where it stands, and its cells by field.

    ``columns`` tells where each field would stand, so that an empty cell can be named too.
    """

    tab: Tab
    table: Table
    number: int
    cells: Mapping[str, Cell]
    columns: Mapping[str, int] = field(default_factory=dict)

    def text(self, name: str) -> str:
        """What stands in the column of that field, or nothing."""
        cell = self.cells.get(name)
        return cell.text if cell is not None else ""

    def fault(self, name: str, found: str, expected: str, advice: str = "") -> Fault:
        """A fault in the cell of a field, or in the row where that cell is empty."""
        cell = self.cells.get(name) or Cell("", self.number, self.columns.get(name, 1))
        return self.table.fault(cell, found, expected, advice, name.replace("_", " "))


def is_ours(tables: Sequence[Table]) -> bool:
    """Whether the tables are laid out as ours, so that they need no mapping."""
    for table in tables:
        headings = {normal_heading(cell.text) for cell in table.headings}
        if normal_heading(table.title) == INSTRUMENT_TAB and {"id", "kind"} <= headings:
            return True
        if not table.title and {SECTION_COLUMN, "id"} <= headings:
            return True
    return False


def own_rows(tables: Sequence[Table], faults: list[Fault]) -> Iterator[RowIn]:
    """The rows of tables that are laid out as ours; what is strange in them is added to faults."""
    for table in tables:
        name = normal_heading(table.title)
        if name in PASSED_OVER or table.title.startswith("_"):
            continue
        if not table.title:
            yield from _rows_of_sections(table, faults)
        elif name in _BY_NAME:
            yield from _rows_of_tab(table, _BY_NAME[name], faults)
        elif table.rows:
            advice = did_you_mean(name, _BY_NAME) or "A tab of your own notes begins with _"
            found = f"the tab {shortened(table.title)}"
            faults.append(Fault(table.file, 0, 0, "", found, "a tab of the spreadsheet", advice))


def _rows_of_tab(table: Table, tab: Tab, faults: list[Fault]) -> Iterator[RowIn]:
    known = {column.field for column in tab.columns} | {BOOK_COLUMN}
    fields = _fields(table, known, faults)
    columns = {name: at for at, name in fields.items()}
    for cells in table.rows:
        named = _named(table, cells, fields, faults)
        if named:
            yield RowIn(tab, table, _number(cells), named, columns)


def _rows_of_sections(table: Table, faults: list[Fault]) -> Iterator[RowIn]:
    known = {column.field for tab in _BY_NAME.values() for column in tab.columns}
    fields = _fields(table, known | {SECTION_COLUMN, BOOK_COLUMN}, faults)
    columns = {name: at for at, name in fields.items()}
    for cells in table.rows:
        named = _named(table, cells, fields, faults)
        said = named.pop(SECTION_COLUMN, None)
        number = _number(cells)
        if said is None:
            place = Cell("", number, 1)
            faults.append(
                table.fault(place, "no section", "which kind of row it is", "", "section")
            )
            continue
        tab = _BY_NAME.get(normal_heading(said.text))
        if tab is None:
            advice = did_you_mean(normal_heading(said.text), _BY_NAME)
            found = f"the section {shortened(said.text)}"
            faults.append(table.fault(said, found, f"one of {', '.join(_BY_NAME)}", advice))
            continue
        own = {column.field for column in tab.columns} | {BOOK_COLUMN}
        for name in [name for name in named if name not in own]:
            cell = named.pop(name)
            found = f"{shortened(cell.text)} under {name.replace('_', ' ')}"
            faults.append(table.fault(cell, found, f"nothing: {tab.title} has no such column"))
        yield RowIn(tab, table, number, named, columns)


def _fields(table: Table, known: set[str], faults: list[Fault]) -> dict[int, str]:
    """Which field each column fills; headings that are unknown or stand twice are faults."""
    fields: dict[int, str] = {}
    for cell in table.headings:
        name = normal_heading(cell.text)
        if cell.text.startswith("_"):  # a column of somebody's own notes
            fields[cell.column] = ""
        elif name not in known:
            advice = did_you_mean(name, known) or "A column of your own notes begins with _"
            found = f"the heading {shortened(cell.text)}"
            faults.append(table.fault(cell, found, "a heading of this tab", advice))
            fields[cell.column] = ""
        elif name in fields.values():
            faults.append(table.fault(cell, f"the heading {shortened(cell.text)} again", "it once"))
        else:
            fields[cell.column] = name
    return fields


def _named(
    table: Table, cells: Mapping[int, Cell], fields: Mapping[int, str], faults: list[Fault]
) -> dict[str, Cell]:
    named: dict[str, Cell] = {}
    for at, cell in cells.items():
        name = fields.get(at)
        if name is None:
            found = f"{shortened(cell.text)} under no heading"
            faults.append(table.fault(cell, found, "a heading above it", "Move it, or clear it"))
        elif name:
            named[name] = cell
    return named


def _number(cells: Mapping[int, Cell]) -> int:
    return next(iter(cells.values())).row

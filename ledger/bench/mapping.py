"""Spreadsheets of somebody's own: which column means what, written down once in a file beside it.

A mapping says in which row the headings stand, what is the same for every row, and which lines a
row makes. A column is named by its heading; words of one's own are told in ours. Nothing is
guessed when a spreadsheet is read: a heading that the mapping names and the spreadsheet lacks is
a fault, and so is a word that the mapping does not tell.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Final, Literal, Self

from pydantic import Field, model_validator

from ledger.basis.modelfaults import did_you_mean, read_model
from ledger.basis.yamltext import file_content, shortened
from ledger.bench.columns import BOOK_COLUMN, INSTRUMENT_TAB, Tab, tabs
from ledger.bench.row_ids import id_part
from ledger.bench.rows_in import RowIn
from ledger.bench.tables import Cell, Table
from ledger.errors import Fault, FaultsFound
from ledger.lines import Count, Model, Text, YesNo, fault

ENDING: Final = ".mapping.yaml"


class Meaning(Model):
    """Where a field comes from: a column, or the same text for every row."""

    column: str = Field(default="", description="the heading of the column")
    text: str = Field(default="", description="the same for every row")
    before: str = Field(default="", description="put before what the column says")
    unit: str = Field(default="", description="the unit of a column of bare figures")
    words: dict[str, str] = Field(
        default_factory=dict, description="words of the column, and what each is in ours"
    )
    makes_id: YesNo = Field(default=False, description="made into an id, as 'A 12/3' into a-12-3")

    @model_validator(mode="after")
    def _from_somewhere(self) -> Self:
        if bool(self.column) == bool(self.text):
            raise fault("neither column nor text, or both", "one of column and text")
        return self


class LineMeaning(Model):
    """A line that each row makes, if one of the columns it is made from is filled."""

    section: Text
    fields: dict[str, Meaning] = Field(min_length=1)


class SpreadsheetMapping(Model):
    """What the columns of a spreadsheet mean."""

    spreadsheet_mapping: Literal["1"]
    title: str = ""
    tab: str = Field(default="", description="which tab; without it, the first")
    heading_row: Count = Field(default=1, description="the row in which the headings stand")
    instrument: dict[str, Meaning] = Field(min_length=1)
    lines: tuple[LineMeaning, ...] = Field(min_length=1)
    not_used: tuple[str, ...] = Field(
        default=(), description="headings that are left out on purpose"
    )


def mapping_beside(path: Path) -> Path:
    """Where the mapping of a spreadsheet is looked for when none is named.

    >>> mapping_beside(Path("lists/pots.xlsx")).name
    'pots.mapping.yaml'
    """
    return path.with_name(path.stem + ENDING)


def read_mapping(path: Path) -> SpreadsheetMapping:
    """The mapping in the file at ``path``.

    Raises:
        FaultsFound: it cannot be read or is no mapping; every fault is listed.
    """
    try:
        content = file_content(path)
    except OSError as error:
        found = (error.strerror or "something that cannot be read").lower()
        raise FaultsFound([Fault(str(path), 0, 0, "", found, "a mapping")]) from error
    mapping = read_model(content, str(path), SpreadsheetMapping)
    faults = [
        Fault(str(path), 0, 0, f"{place}.{name}", f"the field {name!r}", "a field of ours",
              did_you_mean(name, known))
        for place, fields, known in _told_fields(mapping)
        for name in fields
        if name not in known
    ]  # fmt: skip
    faults += [
        Fault(str(path), 0, 0, f"lines[{at + 1}].section", shortened(line.section), "a section",
              did_you_mean(line.section, _sections()))
        for at, line in enumerate(mapping.lines)
        if line.section not in _sections()
    ]  # fmt: skip
    if faults:
        raise FaultsFound(faults)
    return mapping


def _sections() -> dict[str, Tab]:
    return {tab.section: tab for tab in tabs().values() if not tab.inner}


def _told_fields(
    mapping: SpreadsheetMapping,
) -> Iterator[tuple[str, Mapping[str, Meaning], set[str]]]:
    sections = _sections()
    yield "instrument", mapping.instrument, {c.field for c in sections[INSTRUMENT_TAB].columns}
    for at, line in enumerate(mapping.lines):
        if line.section in sections:
            known = {column.field for column in sections[line.section].columns}
            yield f"lines[{at + 1}].fields", line.fields, known


def table_of(
    tables: Sequence[Table], mapping: SpreadsheetMapping, file: str
) -> tuple[Table, list[Fault]]:
    """The tab that the mapping speaks of, and the headings that the two disagree about.

    Raises:
        FaultsFound: there is no such tab.
    """
    wanted = mapping.tab.casefold()
    table = next((each for each in tables if not wanted or each.title.casefold() == wanted), None)
    if table is None:
        titles = [each.title for each in tables]
        found = f"no tab {shortened(mapping.tab)}" if wanted else "no tab"
        advice = did_you_mean(mapping.tab, titles)
        raise FaultsFound([Fault(file, 0, 0, "", found, "the tab of the mapping", advice)])
    headings = {_plain(cell.text) for cell in table.headings}
    named = {
        _plain(meaning.column): meaning.column
        for fields in (mapping.instrument, *(line.fields for line in mapping.lines))
        for meaning in fields.values()
        if meaning.column
    }
    place = Cell("", mapping.heading_row, 1)
    faults = [
        table.fault(place, f"no heading {shortened(name)}", "every heading that the mapping names",
                    did_you_mean(name, [cell.text for cell in table.headings]))
        for plain, name in named.items()
        if plain not in headings
    ]  # fmt: skip
    left_out = {_plain(name) for name in mapping.not_used}
    faults += [
        table.fault(
            cell,
            f"the heading {shortened(cell.text)}, of which the mapping says nothing",
            "every heading in the mapping",
            "Say what it means, or name it under not_used",
        )
        for cell in table.headings
        if _plain(cell.text) not in named and _plain(cell.text) not in left_out
    ]
    return table, faults


def mapped_rows(table: Table, mapping: SpreadsheetMapping, faults: list[Fault]) -> Iterator[RowIn]:
    """The rows that a table makes by its mapping; unknown words are added to faults.

    The instrument comes once for each id; a source once for each instrument.
    """
    at = {_plain(cell.text): cell.column for cell in table.headings}
    sections = _sections()
    told: set[tuple[str, str, str]] = set()
    for cells in table.rows:
        taker = _Taker(table, at, cells, faults)
        about = taker.fields(mapping.instrument)
        book = about.get("id")
        if book is None:
            place = Cell("", next(iter(cells.values())).row, 1)
            advice = "A row without one is not recorded: fill it in, or take the row out"
            faults.append(table.fault(place, "no id", "the id of its instrument", advice, "id"))
            continue
        if ("", "", book.text) not in told:
            told.add(("", "", book.text))
            yield RowIn(sections[INSTRUMENT_TAB], table, book.row, about)
        for line in mapping.lines:
            if not taker.is_filled(line.fields):
                continue
            fields = taker.fields(line.fields)
            name = fields["id"].text if "id" in fields else ""
            if line.section in ("sources", "exhibits") and name:
                if (line.section, name, book.text) in told:
                    continue
                told.add((line.section, name, book.text))
            yield RowIn(sections[line.section], table, book.row, {**fields, BOOK_COLUMN: book})


class _Taker:
    """Takes the fields of one row by their meanings."""

    def __init__(
        self, table: Table, at: Mapping[str, int], cells: Mapping[int, Cell], faults: list[Fault]
    ) -> None:
        self.table, self.at, self.cells, self.faults = table, at, cells, faults
        self.row = next(iter(cells.values())).row

    def is_filled(self, meanings: Mapping[str, Meaning]) -> bool:
        """Whether one of the columns is filled; what has no column is there for every row."""
        columns = [meaning.column for meaning in meanings.values() if meaning.column]
        return not columns or any(self._cell(name) is not None for name in columns)

    def fields(self, meanings: Mapping[str, Meaning]) -> dict[str, Cell]:
        """The fields that are filled."""
        taken = {}
        for name, meaning in meanings.items():
            cell = self._taken(meaning)
            if cell is not None:
                taken[name] = cell
        return taken

    def _cell(self, heading: str) -> Cell | None:
        return self.cells.get(self.at.get(_plain(heading), 0))

    def _taken(self, meaning: Meaning) -> Cell | None:
        if meaning.text:
            return Cell(meaning.text, self.row, 1)
        cell = self._cell(meaning.column)
        if cell is None:
            return None
        text = cell.text
        if meaning.words:
            words = {_plain(word): ours for word, ours in meaning.words.items()}
            if _plain(text) not in words:
                found = f"the word {shortened(text)}, of which the mapping says nothing"
                expected = f"one of {', '.join(meaning.words)}"
                self.faults.append(self.table.fault(cell, found, expected, "", meaning.column))
                return None
            text = words[_plain(text)]
        if not text:
            return None
        text = f"{meaning.before}{text} {meaning.unit}".rstrip()
        made = id_part(text) if meaning.makes_id else text
        return Cell(made, cell.row, cell.column, cell.is_number and not meaning.makes_id)


def _plain(text: str) -> str:
    return " ".join(text.split()).casefold()

"""A filled spreadsheet read as bench sheets: whole and without a fault, or not at all.

The rows become the same tree of text that a sheet of YAML becomes, and are held against the same
models; a fault is told by tab, row and column. Several instruments can stand in one file, told
apart by the column ``object``.
"""

from __future__ import annotations

from pathlib import Path

from ledger.basis.hashing import sha256_hex
from ledger.bench.mapping import mapped_rows, mapping_beside, read_mapping, table_of
from ledger.bench.rows_in import RowIn, is_ours, own_rows
from ledger.bench.sheet_rows import Origin, sheets_of
from ledger.bench.tables import (
    SPREADSHEETS,
    WITH_MACROS,
    Advance,
    Table,
    read_tables,
)
from ledger.errors import Fault, FaultsFound
from ledger.record.sheet import Knowledge, SheetRead


def is_spreadsheet(path: Path) -> bool:
    """Whether the name is one of a spreadsheet, also of a kind that is refused.

    >>> is_spreadsheet(Path("mine.xlsx")), is_spreadsheet(Path("mine.yaml"))
    (True, False)
    """
    return path.suffix.lower() in (*SPREADSHEETS, *WITH_MACROS)


def read_spreadsheet(
    path: Path,
    known: Knowledge | None = None,
    mapping: Path | None = None,
    advance: Advance | None = None,
) -> tuple[SheetRead, ...]:
    """The sheets in the spreadsheet at ``path``, one for each instrument in it.

    Args:
        path: an XLSX or CSV file, laid out as ours or as a mapping says.
        known: what the words of the sheets are held against, if anything.
        mapping: what its columns mean; without one, a mapping beside the file is used.
        advance: told of every row that was read, for a progress bar.

    Raises:
        FaultsFound: it cannot be read or has faults; every one is listed, with tab, row and column.
    """
    beside = mapping_beside(path)
    faults: list[Fault] = []
    rows: list[RowIn]
    if mapping is None and not beside.exists():
        tables = read_tables(path, advance)
        if not is_ours(tables):
            raise FaultsFound([_unmapped(path, tables)])
        rows = list(own_rows(tables, faults))
    else:
        meaning = read_mapping(mapping or beside)
        tables = read_tables(path, advance, meaning.heading_row)
        table, faults = table_of(tables, meaning, str(path))
        rows = list(mapped_rows(table, meaning, faults)) if not faults else []
        if faults and not rows:
            raise FaultsFound(faults)
    origin = Origin(str(path), path.parent, sha256_hex(path.read_bytes()))
    return sheets_of(rows, origin, known, faults)


def _unmapped(path: Path, tables: tuple[Table, ...]) -> Fault:
    named = [table.title for table in tables if table.title]
    found = f"the tabs {', '.join(named)}" if named else "headings that are not ours"
    advice = (
        f"For a spreadsheet of your own, witnessmark map-columns {path.name} writes "
        f"{mapping_beside(path).name}, in which you say what each column means"
    )
    return Fault(str(path), 0, 0, "", found, "a tab instrument with id and kind", advice)

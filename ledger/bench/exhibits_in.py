"""Lines of exhibits put into a sheet or a spreadsheet that is there, and nothing else changed.

The file is a person's own: what stands in it stays as it stands, comments and all. What comes out
is read before it takes the place of the old file, which is kept beside it.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from openpyxl import load_workbook

from ledger.basis.yamltext import YamlTree, read_tree
from ledger.bench.columns import normal_heading, tabs
from ledger.bench.sheet_writer import lines_text
from ledger.bench.spreadsheet_out import rows_of_lines, write_row
from ledger.bench.tables import read_tables
from ledger.errors import Fault, FaultsFound
from ledger.models import Exhibit, Line

KEPT_ENDING: Final = ".before"
_SECTION: Final = "exhibits"


def add_exhibits(path: Path, exhibits: Sequence[Exhibit]) -> Path:
    """Where the file is kept as it was, once the exhibits stand in it.

    Raises:
        FaultsFound: the file cannot be read, or has no place for them; it was left as it is.
    """
    if path.suffix.lower() == ".xlsx":
        return _into_workbook(path, exhibits)
    content = path.read_bytes()
    text = content.decode("utf-8-sig")
    tree = read_tree(content, str(path))
    written = text_with_lines(text, tree, _SECTION, exhibits)
    read_tree(written.encode("utf-8"), str(path))
    return _replaced(path, content, written.encode("utf-8"))


def text_with_lines(text: str, tree: YamlTree, section: str, lines: Sequence[Line]) -> str:
    """The text of a sheet with the lines at the head of their section, or with it at its end.

    Raises:
        FaultsFound: the section is not written one line below the other.
    """
    value = tree.value if isinstance(tree.value, dict) else {}
    held = value.get(section)
    if held is None:
        return f"{text.rstrip()}\n\n{lines_text(section, lines)}"
    first = tree.places.get((section, 0))
    heading = tree.key_places[(section,)].line
    if first is None or first.line == heading:
        place = tree.key_place_of((section,))
        advice = "Write each of them on lines of its own, beginning with a hyphen"
        found = f"{section} written within brackets"
        raise FaultsFound(
            [
                Fault(
                    tree.file,
                    place.line,
                    place.column,
                    section,
                    found,
                    "a list, one a line",
                    advice,
                )
            ]
        )
    indent = " " * max(first.column - 3, 0)
    rows = text.splitlines(keepends=True)
    added = lines_text(section, lines, indent).partition("\n")[2]
    return "".join([*rows[:heading], added, *rows[heading:]])


def _into_workbook(path: Path, exhibits: Sequence[Exhibit]) -> Path:
    read_tables(path)  # refuses what is not a whole workbook, and one with formulas or macros
    book = load_workbook(path)
    sheet = next((each for each in book.worksheets if normal_heading(each.title) == _SECTION), None)
    if sheet is None:
        found = "no tab exhibits"
        raise FaultsFound([Fault(str(path), 0, 0, "", found, "a spreadsheet that start wrote")])
    fields = {
        normal_heading(str(cell.value)): cell.column for cell in sheet[1] if cell.value is not None
    }
    rows = enumerate(sheet.iter_rows(values_only=True), 1)
    next_row = max((number for number, row in rows if any(row)), default=1) + 1
    for number, row in enumerate(rows_of_lines(tabs()[_SECTION], exhibits), next_row):
        write_row(
            sheet, number, {fields[name]: text for name, text in row.items() if name in fields}
        )
    content = path.read_bytes()
    waiting = path.with_name(f"{path.name}.new")
    book.save(waiting)
    written = waiting.read_bytes()
    waiting.unlink()
    return _replaced(path, content, written)


def _replaced(path: Path, old: bytes, new: bytes) -> Path:
    """Where the old file is kept, once the new one has taken its place in one step.

    Raises:
        FaultsFound: it cannot be written there; the file is as it was.
    """
    kept = path.with_name(f"{path.stem}{KEPT_ENDING}{path.suffix}")
    waiting = path.with_name(f"{path.name}.new")
    try:
        kept.write_bytes(old)
        waiting.write_bytes(new)
        waiting.replace(path)
    except OSError as error:
        found = error.strerror or "a place that cannot be written to"
        fault = Fault(str(path), 0, 0, "", found, "a place to write", "It was left as it is")
        raise FaultsFound([fault]) from error
    return kept

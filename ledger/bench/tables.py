"""The cells of a spreadsheet as the text that was typed, each with its place.

Nothing is worked out: a cell that holds a formula is a fault, and a workbook that holds macros is
refused. A number becomes the text it shows where that cannot differ from what was typed; where it
can, as with noughts in front, it is a fault and has to be typed as text.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
import warnings
import zlib
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final
from xml.etree.ElementTree import ParseError
from zipfile import BadZipFile, LargeZipFile, ZipFile, ZipInfo

from openpyxl import load_workbook
from openpyxl.utils import get_column_letter
from openpyxl.utils.exceptions import InvalidFileException

from ledger.basis.yamltext import FORBIDDEN, file_content, shortened
from ledger.errors import Fault, FaultsFound

SPREADSHEETS: Final = (".xlsx", ".csv")
WITH_MACROS: Final = (".xlsm", ".xltm", ".xlsb", ".xls", ".ods")
GREATEST_FILE_BYTES: Final = 50_000_000
GREATEST_UNPACKED_BYTES: Final = 400_000_000
MOST_ROWS: Final = 100_000
MOST_COLUMNS: Final = 500
MOST_FAULTS: Final = 200
_SEPARATORS: Final = ",;\t"
_PIECE_BYTES: Final = 1_000_000
_DEFINES: Final = b"<!DOCTYPE"
# What openpyxl raises on a damaged file; it has no error of its own for all of it.
_DAMAGE: Final = (
    ArithmeticError,
    AttributeError,
    BadZipFile,
    zlib.error,
    InvalidFileException,
    LargeZipFile,
    LookupError,
    NotImplementedError,
    OSError,
    ParseError,
    RuntimeError,
    TypeError,
    ValueError,
    EOFError,
)

Advance = Callable[[int], None]


@dataclass(frozen=True, slots=True)
class Cell:
    """What stands in one cell. ``is_number`` tells a figure that was not typed as text."""

    text: str
    row: int
    column: int
    is_number: bool = False


@dataclass(frozen=True)
class Table:
    """One tab: what its head says, and its rows of filled cells by column."""

    file: str
    title: str
    headings: tuple[Cell, ...]
    rows: tuple[dict[int, Cell], ...]

    @property
    def name(self) -> str:
        """The file and the tab, as faults name them."""
        return f"{self.file} [{self.title}]" if self.title else self.file

    def fault(
        self, cell: Cell, found: str, expected: str, advice: str = "", field: str = ""
    ) -> Fault:
        """A fault in a cell."""
        where = f"{get_column_letter(cell.column)}{cell.row}"
        path = f"{where}, {field}" if field else where
        return Fault(self.name, cell.row, cell.column, path, found, expected, advice)


@dataclass
class _Rows:
    """Takes the cells of one tab and gathers what is wrong with them."""

    file: str
    title: str
    faults: list[Fault] = field(default_factory=list)
    found: list[dict[int, Cell]] = field(default_factory=list)

    def fault(self, row: int, column: int, found: str, expected: str, advice: str = "") -> None:
        if len(self.faults) < MOST_FAULTS:
            name = f"{self.file} [{self.title}]" if self.title else self.file
            where = f"{get_column_letter(column)}{row}"
            self.faults.append(Fault(name, row, column, where, found, expected, advice))

    def keep(self, cells: Iterable[Cell]) -> None:
        kept: dict[int, Cell] = {}
        for cell in cells:
            hidden = FORBIDDEN.search(cell.text)
            if hidden:
                found = f"the character U+{ord(hidden.group()):04X}, which does not show"
                self.fault(cell.row, cell.column, found, "text that reads as it is stored")
            elif cell.text:
                kept[cell.column] = cell
        if kept:
            self.found.append(kept)

    def table(self, heading_row: int) -> Table:
        headings: dict[int, Cell] = {}
        rows = []
        for cells in self.found:
            row = next(iter(cells.values())).row
            if row == heading_row:
                headings = cells
            elif row > heading_row:
                rows.append(cells)
        return Table(self.file, self.title, tuple(headings.values()), tuple(rows))


def read_tables(
    path: Path, advance: Advance | None = None, heading_row: int = 1
) -> tuple[Table, ...]:
    """The tabs of the spreadsheet at ``path``; a CSV has one, without a name.

    Args:
        path: an XLSX or CSV file.
        advance: told of every row that was read, for a progress bar.
        heading_row: the row in which the headings stand; what is above it is passed over.

    Raises:
        FaultsFound: it cannot be read, or has cells that cannot be taken as typed; all are listed.
    """
    content = _content(path)
    found = _csv_rows if path.suffix.lower() == ".csv" else _workbook_rows
    gathered = found(content, str(path), advance or _nowhere)
    faults = [fault for rows in gathered for fault in rows.faults]
    if faults:
        raise FaultsFound(faults)
    return tuple(rows.table(heading_row) for rows in gathered)


def count_rows(path: Path) -> int:
    """About how many rows there are to read, for a progress bar; 0 where that cannot be told.

    What is refused when it is read has none, and is not unpacked to count them.
    """
    try:
        content = _content(path)
        if path.suffix.lower() == ".csv":
            return content.count(b"\n")
        _check_archive(content, str(path))
        with ZipFile(io.BytesIO(content)) as archive:
            names = [name for name in archive.namelist() if name.startswith("xl/worksheets/sheet")]
            return sum(
                piece.count(b"<row") for name in names for piece in _pieces(archive, name, b"<row")
            )
    except (*_DAMAGE, FaultsFound):
        return 0


def _nowhere(_: int) -> None:
    """Told of a row by somebody who shows no progress."""


def _content(path: Path) -> bytes:
    name = str(path)
    if path.suffix.lower() in WITH_MACROS:
        advice = "Save it as .xlsx or as CSV in UTF-8"
        found = f"a file of the kind {path.suffix.lower()}, which can hold macros or is not read"
        raise FaultsFound([Fault(name, 0, 0, "", found, "an .xlsx or .csv file", advice)])
    try:
        content = file_content(path, GREATEST_FILE_BYTES)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise FaultsFound(
            [Fault(name, 0, 0, "", reason, "a spreadsheet", "Check the name")]
        ) from error
    if len(content) > GREATEST_FILE_BYTES:
        expected = f"at most {GREATEST_FILE_BYTES // 1_000_000} million bytes"
        raise FaultsFound([Fault(name, 0, 0, "", "a larger file", expected)])
    return content


def _csv_rows(content: bytes, file: str, advance: Advance) -> list[_Rows]:
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        found = f"the byte {content[error.start]:#04x}, which is not UTF-8 here"
        advice = "Save it again as CSV in UTF-8"
        raise FaultsFound([Fault(file, line, 1, "", found, "text in UTF-8", advice)]) from error
    first = text.partition("\n")[0]
    separator = max(_SEPARATORS, key=first.count)
    rows = _Rows(file, "")
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    try:
        for number, values in enumerate(reader, 1):
            _check_size(rows, number, len(values))
            rows.keep(_csv_cells(rows, number, values))
            advance(1)
    except csv.Error as error:
        found = f"a row that cannot be read ({error})"
        advice = "A value that holds the separator or a quote needs quotes round it"
        fault = Fault(file, reader.line_num, 0, "", found, "a row of CSV", advice)
        raise FaultsFound([*rows.faults, fault]) from error
    return [rows]


def _csv_cells(rows: _Rows, number: int, values: Sequence[str]) -> Iterator[Cell]:
    for at, value in enumerate(values, 1):
        text = _one_line_end(value).strip()
        if text.startswith("="):
            rows.fault(
                number, at, f"the formula {shortened(text)}", "the value itself", _NO_FORMULA
            )
        else:
            yield Cell(text, number, at)


_NO_FORMULA: Final = "Formulas are never worked out: type what it shows"


def _check_size(rows: _Rows, number: int, width: int) -> None:
    if number > MOST_ROWS or width > MOST_COLUMNS:
        found = "more rows or columns than that"
        expected = f"at most {MOST_ROWS:,} rows of {MOST_COLUMNS} columns"
        rows.fault(number, 1, found, expected, "Divide it into several files")
        raise FaultsFound(rows.faults)


def _workbook_rows(content: bytes, file: str, advance: Advance) -> list[_Rows]:
    found: list[_Rows] = []
    try:
        _check_archive(content, file)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of parts that are not read, such as pictures
            book = load_workbook(io.BytesIO(content), read_only=True, keep_links=False)
            for sheet in book.worksheets:
                sheet.reset_dimensions()
                rows = _Rows(file, str(sheet.title))
                for cells in sheet.iter_rows():
                    filled = [cell for cell in cells if cell.value is not None]
                    if filled:
                        _check_size(rows, filled[-1].row, filled[-1].column)
                        rows.keep(_workbook_cells(rows, filled))
                    advance(1)
                found.append(rows)
            book.close()
    except _DAMAGE as error:
        advice = "Open it, and save it again as .xlsx"
        raise FaultsFound(
            [Fault(file, 0, 0, "", "a file that is no whole workbook", "an .xlsx file", advice)]
        ) from error
    return found


def _check_archive(content: bytes, file: str) -> None:
    """Refuse what unpacks to too much, what holds macros, and XML that defines entities.

    Raises:
        FaultsFound: it is one of these.
    """
    with ZipFile(io.BytesIO(content)) as archive:
        members = archive.infolist()
        if sum(member.file_size for member in members) > GREATEST_UNPACKED_BYTES:
            expected = f"at most {GREATEST_UNPACKED_BYTES // 1_000_000} million bytes unpacked"
            raise FaultsFound([Fault(file, 0, 0, "", "more than that", expected)])
        for member in members:
            if "vbaproject" in member.filename.lower():
                advice = "Save it as .xlsx, without macros"
                fault = Fault(file, 0, 0, "", "a workbook with macros", "one without", advice)
                raise FaultsFound([fault])
            if member.filename.lower().endswith((".xml", ".rels")):
                pieces = _pieces(archive, member, _DEFINES)
                if any(
                    _DEFINES in piece or (at == 0 and b"\x00" in piece[:64])
                    for at, piece in enumerate(pieces)
                ):
                    found = f"the part {member.filename}, which defines words of its own"
                    raise FaultsFound([Fault(file, 0, 0, "", found, "plain XML in UTF-8")])


def _pieces(archive: ZipFile, member: ZipInfo | str, sought: bytes) -> Iterator[bytes]:
    """A part unpacked little by little, so that what is sought stands whole in one piece, once."""
    before = b""
    with archive.open(member) as part:
        while piece := part.read(_PIECE_BYTES):
            yield before + piece
            before = (before + piece)[1 - len(sought) :]


def _workbook_cells(rows: _Rows, cells: Iterable[Any]) -> Iterator[Cell]:
    for cell in cells:
        text, problem = _typed(cell)
        if problem is not None:
            rows.fault(cell.row, cell.column, *problem)
        else:
            is_number = cell.data_type in ("n", "b")
            yield Cell(_one_line_end(text).strip(), cell.row, cell.column, is_number)


def _typed(cell: Any) -> tuple[str, tuple[str, str, str] | None]:  # noqa: ANN401 - openpyxl's cell
    """What was typed into the cell, or what is wrong with it."""
    value, kind = cell.value, cell.data_type
    if kind == "f":
        shown = shortened(value) if isinstance(value, str) else "of several cells"
        return "", (f"the formula {shown}", "the value itself", _NO_FORMULA)
    if kind == "e":
        return "", (f"the error {value}", "a value", "Type what should stand there, or clear it")
    if isinstance(value, str):
        return value, None
    if isinstance(value, bool):
        return ("yes" if value else "no"), None
    return _shown(value, str(cell.number_format))


def _shown(value: Any, shown_as: str) -> tuple[str, tuple[str, str, str] | None]:  # noqa: ANN401 - as above
    if isinstance(value, dt.datetime | dt.date):
        return _date_shown(value, shown_as)
    if isinstance(value, dt.time | dt.timedelta):
        advice = "Format the cell as text and type it again"
        return "", ("a time of day", "text, a figure or a date", advice)
    return _figure_shown(value, shown_as) if isinstance(value, int | float) else (str(value), None)


def _figure_shown(value: float, shown_as: str) -> tuple[str, tuple[str, str, str] | None]:
    if shown_as not in ("General", "@") and not re.fullmatch(r"(#,##)?0(\.0+)?", shown_as):
        found = f"the figure {value!r}, shown in a format of its own ({shown_as})"
        return "", (found, "a figure as it was typed", "Format the cell as text and type it again")
    if isinstance(value, int) or value.is_integer():
        return str(int(value)), None
    return repr(value), None


def _date_shown(value: dt.date, shown_as: str) -> tuple[str, tuple[str, str, str] | None]:
    """The day, if a day was typed: a spreadsheet makes one of a mere month or year."""
    plain = re.sub(r"\[[^\]]*\]|\"[^\"]*\"", "", shown_as).lower()
    is_midnight = not isinstance(value, dt.datetime) or value.time() == dt.time()
    if "d" in plain and is_midnight:
        return value.strftime("%Y-%m-%d"), None
    found = f"a date that the spreadsheet made of what was typed ({value:%Y-%m-%d}, shown as {shown_as})"
    advice = "Format the cell as text and type it again, such as 1955-06 or 1955~"
    return "", (found, "a date as it is known, no more", advice)


def _one_line_end(text: str) -> str:
    """The text with one kind of line end, and without the sign by which one is written in XML."""
    return text.replace("_x000D_", "").replace("\r\n", "\n").replace("\r", "\n")

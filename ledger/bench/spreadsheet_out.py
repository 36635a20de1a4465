"""A spreadsheet to fill in: the plan, and a tab for every section of a sheet.

Headings cannot be overwritten, cells take text as it is typed, drop-downs offer what the
catalogue and the other tabs know. With a sheet given, its lines stand in their tabs, so that the
spreadsheet recorded again adds nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Any, Final

from openpyxl import Workbook
from openpyxl.comments import Comment
from openpyxl.styles import Alignment, Border, Font, PatternFill, Protection, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.worksheet import Worksheet

from ledger.bench.bench_rows import BENCH, plan_row
from ledger.bench.columns import (
    INSTRUMENT_TAB,
    LINE_COLUMN,
    TEXT_COLUMN,
    Column,
    Tab,
    inner_tabs,
    tabs,
)
from ledger.bench.plan import NON_VALUES, Plan
from ledger.bench.sheet_writer import body_of, typed_text
from ledger.bench.steps import interview
from ledger.errors import Fault, FaultsFound
from ledger.models import SECTIONS, BenchSheet, Model

README_TAB: Final = "read me"
LISTS_TAB: Final = "lists"
LAST_ROW: Final = 20_001  # how far down the drop-downs reach
SITTING: Final = "bench"  # the id that the plan's rows give to this sitting
TELLING: Final = "told"
_MOST_INLINE: Final = 250  # a list typed into a rule may have 255 characters
_HEAD_FILL: Final = PatternFill("solid", start_color="E7E2D6")
_ASKED_FILL: Final = PatternFill("solid", start_color="FBF7EC")
_LINE: Final = Side(style="thin", color="B9B09A")
_WIDE: Final = {"care": 60, "says": 50, "question": 46, "note": 36, "look_for": 34, "as_seen": 26}
_WORDS_COLUMN: Final = {"positions": 1, "traces": 2}

Row = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Offer:
    """What the spreadsheet offers: the words of the catalogue and packs, and the plan."""

    positions: Sequence[str]
    traces: Sequence[str]
    plan: Plan | None = None


def spreadsheet(sheet: BenchSheet | None, offer: Offer, *, with_questions: bool = False) -> bytes:
    """The spreadsheet of a sheet: its lines in their tabs and, with a plan, what is to be done.

    Args:
        sheet: what is recorded so far; without one, only the kind of the plan is filled in.
        offer: the words that the drop-downs offer, and the plan.
        with_questions: whether the tabs of sources and testimony begin with rows to fill in.
    """
    book = Workbook()
    book.remove(book.worksheets[0])
    _write_readme(book.create_sheet(README_TAB), offer)
    if offer.plan is not None:
        rows = [plan_row(look, SITTING) for look in offer.plan.looks]
        _write_tab(book.create_sheet(BENCH.title), BENCH, rows)
    if sheet is not None:
        held = rows_of(sheet)
    else:
        held = {INSTRUMENT_TAB: [{"kind": offer.plan.kind if offer.plan is not None else ""}]}
    for title, tab in tabs().items():
        rows = [*held.get(title, ()), *(_asked(tab, sheet) if with_questions else ())]
        _write_tab(book.create_sheet(title), tab, rows)
    _write_lists(book.create_sheet(LISTS_TAB), offer)
    written = BytesIO()
    book.save(written)
    return written.getvalue()


def write_spreadsheet(path: Path, content: bytes) -> None:
    """Put a spreadsheet where there is no file yet.

    Raises:
        FaultsFound: there is one, or it cannot be written.
    """
    try:
        with path.open("xb") as file:
            file.write(content)
    except FileExistsError as error:
        fault = Fault(str(path), 0, 0, "", "a file of that name", "a new name", "It was left alone")
        raise FaultsFound([fault]) from error
    except OSError as error:
        found = error.strerror or "a place that cannot be written to"
        raise FaultsFound([Fault(str(path), 0, 0, "", found, "a place to write to")]) from error


def rows_of(sheet: BenchSheet) -> dict[str, list[Row]]:
    """The rows of every tab that the sheet fills, by the title of the tab."""
    rows: dict[str, list[Row]] = {
        INSTRUMENT_TAB: [_row(body_of(sheet.instrument))],
    }
    for section in SECTIONS:
        title = section.replace("_", " ")
        for line in getattr(sheet, section):
            body = body_of(line)
            for inner in inner_tabs(section):
                given: list[Any] = body.pop(inner.inner, [])
                for item in given:
                    own = _row(item) if isinstance(item, dict) else {TEXT_COLUMN: str(item)}
                    rows.setdefault(inner.title, []).append({LINE_COLUMN: line.id, **own})
            rows.setdefault(title, []).append(_row(body))
    return rows


def _row(body: Mapping[str, Any]) -> Row:
    return {
        name: ", ".join(map(typed_text, value)) if isinstance(value, list) else typed_text(value)
        for name, value in body.items()
    }


def rows_of_lines(tab: Tab, lines: Iterable[Model]) -> list[Row]:
    """The rows of some lines of one section, without what has a tab of its own."""
    known = {column.field for column in tab.columns}
    return [
        _row({name: value for name, value in body_of(line).items() if name in known})
        for line in lines
    ]


def write_row(sheet: Worksheet, number: int, texts: Mapping[int, str]) -> None:
    """Put texts into the cells of one row, by column."""
    for at, text in texts.items():
        _write_text(sheet, number, at, text)


def _asked(tab: Tab, sheet: BenchSheet | None) -> list[Row]:
    """Rows that wait to be filled in: the sitting, the telling, and its questions."""
    known = {line.id for section in SECTIONS for line in getattr(sheet, section, ())}
    if tab.title == "sources":
        wanted = ({"id": SITTING, "kind": "examination"}, {"id": TELLING, "kind": "testimony"})
        return [row for row in wanted if row["id"] not in known]
    if tab.title == "testimony":
        return [
            {"id": question.id, "question": question.ask, "source": TELLING}
            for question in interview().questions
            if question.id not in known
        ]
    return []


def _write_tab(sheet: Worksheet, tab: Tab, rows: Iterable[Row]) -> None:
    sheet.protection.sheet = True
    # Of these, False is what allows it.
    for name in ("insertRows", "deleteRows", "formatCells", "formatColumns", "formatRows", "sort"):
        setattr(sheet.protection, name, False)
    sheet.freeze_panes = "A2"
    sheet.sheet_properties.tabColor = "8A7B5C" if tab.title == BENCH.title else None
    for at, column in enumerate(tab.columns, 1):
        _write_heading(sheet, at, column)
        _offer(sheet, at, column)
    for number, row in enumerate(rows, 2):
        for at, column in enumerate(tab.columns, 1):
            if row.get(column.field):
                _write_text(sheet, number, at, row[column.field])


def _write_heading(sheet: Worksheet, at: int, column: Column) -> None:
    letter = get_column_letter(at)
    dimension = sheet.column_dimensions[letter]
    dimension.width = _WIDE.get(column.field, 22 if column.choices or column.words else 18)
    dimension.number_format = "@"
    dimension.protection = Protection(locked=False)
    dimension.alignment = Alignment(vertical="top", wrap_text=True)
    cell = sheet.cell(1, at, column.heading)
    cell.font = Font(bold=column.is_required, italic=not column.is_required)
    cell.fill = _HEAD_FILL
    cell.border = Border(bottom=_LINE)
    cell.protection = Protection(locked=True)
    said = [column.says] if column.says else []
    if column.choices:
        said.append("One of: " + "; ".join(column.choices) + ".")
    if column.is_required:
        said.append("Has to be filled in.")
    if said:
        note = Comment("\n".join(said), "witnessmark", height=160, width=320)
        cell.comment = note


def _offer(sheet: Worksheet, at: int, column: Column) -> None:
    """A drop-down for a column with choices or with words; words may be typed otherwise."""
    formula = _list_of(column)
    if formula is None or column.is_list:
        return
    rule = DataValidation("list", formula1=formula, allow_blank=True)
    rule.showErrorMessage = bool(column.choices)
    rule.error = "Choose one of the list."
    letter = get_column_letter(at)
    rule.add(f"{letter}2:{letter}{LAST_ROW}")
    sheet.add_data_validation(rule)


def _list_of(column: Column) -> str | None:
    if column.choices:
        # A choice that holds a comma cannot be typed into the rule: it stands in the lists.
        inline = ",".join(column.choices)
        if len(inline) <= _MOST_INLINE and not any("," in each for each in column.choices):
            return f'"{inline}"'
        return _lists_range(_CHOICE_LISTS.index(column.choices) + 3, len(column.choices))
    if column.words in _WORDS_COLUMN:
        return _lists_range(_WORDS_COLUMN[column.words], LAST_ROW)
    return f"'{column.words}'!$A$2:$A${LAST_ROW}" if column.words else None


def _lists_range(column: int, count: int) -> str:
    letter = get_column_letter(column)
    return f"'{LISTS_TAB}'!${letter}$2:${letter}${count + 1}"


# Choices that cannot be typed into a rule, each a column of the hidden tab.
_CHOICE_LISTS: Final = tuple(
    dict.fromkeys(
        column.choices
        for tab in (BENCH, *tabs().values())
        for column in tab.columns
        if any("," in each for each in column.choices)
        or len(",".join(column.choices)) > _MOST_INLINE
    )
)


def _write_lists(sheet: Worksheet, offer: Offer) -> None:
    sheet.sheet_state = "hidden"
    sheet.protection.sheet = True
    columns: list[tuple[str, Sequence[str]]] = [
        ("positions", offer.positions),
        ("traces", offer.traces),
        *(("choices", choices) for choices in _CHOICE_LISTS),
    ]
    for at, (heading, words) in enumerate(columns, 1):
        _write_text(sheet, 1, at, heading)
        for number, word in enumerate(words, 2):
            _write_text(sheet, number, at, word)


def _write_text(sheet: Worksheet, row: int, at: int, text: str) -> None:
    """Text as text, whatever it looks like: nothing is ever written as a formula."""
    cell = sheet.cell(row, at)
    cell.value = text
    cell.data_type = "s"
    cell.number_format = "@"
    cell.protection = Protection(locked=False)
    cell.alignment = Alignment(vertical="top", wrap_text=True)


def _write_readme(sheet: Worksheet, offer: Offer) -> None:
    sheet.protection.sheet = True
    sheet.column_dimensions["A"].width = 24
    sheet.column_dimensions["B"].width = 100
    for number, (left, right) in enumerate(_readme_rows(offer), 1):
        for at, said in enumerate((left, right), 1):
            _write_text(sheet, number, at, said)
            sheet.cell(number, at).protection = Protection(locked=True)
        sheet.cell(number, 1).font = Font(bold=True)
        if not right:
            sheet.cell(number, 1).fill = _ASKED_FILL


def _readme_rows(offer: Offer) -> list[tuple[str, str]]:
    rows = [
        (
            "What this is",
            "One instrument, one spreadsheet. Fill in what you saw, not what you expect.",
        ),
        (
            "Begin with",
            "the tab sources: who examined, when. Then the tab bench, from the top down.",
        ),
        ("The tab bench", "One row an observation. Rows that you leave empty are not recorded."),
        ("A second observation", "Insert a row for it. What does not fit has a tab of its own."),
        ("Headings", "Bold ones have to be filled in; each says more in its comment."),
        (
            "Dates",
            "1955, 1955-06, 1955-06-12, 1955~ about, 1955? doubted, 1955/1957 between the two.",
        ),
        ("Marks", "Glyph for glyph. ? for one that cannot be read, [38] for either of two."),
        ("Figures", "With their unit: 7.52 k, 42.6 mm, 1 5/8 in."),
        ("Formulas", "are not read: a cell with one is refused. Type the value itself."),
        ("Recording", "witnessmark check FILE tells every fault; witnessmark record FILE records."),
        ("The four nothings", ""),
        *NON_VALUES.items(),
    ]
    if offer.plan is not None:
        rows.append(("Cautions", ""))
        rows += [
            (row.row.id, f"{row.row.says} First comes: {row.row.defer_to}.")
            for row in offer.plan.cautions
        ]
    words = interview()
    rows += [
        ("People", words.before),
        ("Dates that are told", words.dates),
        ("When all is told", words.closing),
        ("Papers", words.documents),
        ("Custody", words.custody),
        ("Register searches", words.searches),
        ("Works", words.treatment),
    ]
    return rows

"""The tabs and columns of a spreadsheet, made from the models so that they cannot disagree.

Each section of a sheet is a tab, each field of its lines a column. A field that holds a list of
small groups, or a list of free texts, has a tab of its own, whose rows name their line; a list of
ids or positions is one cell with commas.
"""

from __future__ import annotations

import re
import types
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, Final, Literal, Union, get_args, get_origin

from pydantic import BaseModel

from ledger.lines import Text
from ledger.models import SECTIONS, Instrument

INSTRUMENT_TAB: Final = "instrument"
BENCH_TAB: Final = "bench"
# The column of a nested tab that names the line its row belongs to, and that of a list of texts.
LINE_COLUMN: Final = "line"
TEXT_COLUMN: Final = "text"
# The column by which rows of several instruments in one file are told apart.
BOOK_COLUMN: Final = "object"
LIST_SEPARATORS: Final = re.compile(r"[\s,;]+")
# What is read glyph for glyph: a spreadsheet that took it for a number has lost noughts.
GLYPH_FIELDS: Final = frozenset(
    {("marks", "text"), ("identity", "value"), ("challenges", "mark_reads")}
)
_POSITION_FIELDS: Final = frozenset({"position", "positions", "about"})
_DATE_FIELDS: Final = frozenset({"date", "reads", "begins", "ends"})
_LINKED: Final[Mapping[str, str]] = {
    "source": "sources",
    "copied_from": "sources",
    "part": "parts",
    "mark": "marks",
    "challenge": "challenges",
}
_HELP: Final[Mapping[str, str]] = {
    "id": "a short name of the row's own: small letters, digits and hyphens; left empty, one is made",
    "note": "anything else, in your own words",
    "withhold": "names of columns of this row that never leave your own copy, with commas",
    "source": "from where it is known: an id of the tab sources",
    "position": "where: a position of this kind; pot.1, pot.2 where there are several",
    "positions": "where: one position, or several with commas",
    "exhibits": "ids of the tab exhibits, with commas",
    "part": "instead of a position: the id of a removed part of the tab parts",
    "date": "1955, 1955-06, 1955-06-12, 1955~ (about), 1955? (doubted), 195X, 1955/1957 (between), "
    "../1957-06 (not after), 1955/.. (not before)",
}

Words = Literal["", "positions", "traces", "sources", "parts", "marks", "challenges"]


@dataclass(frozen=True, slots=True)
class Column:
    """One column: the field it fills, how it is headed and what is said of it.

    ``choices`` are all that it may hold, none where it is free; ``words`` names the list that it
    offers without insisting.
    """

    field: str
    says: str
    choices: tuple[str, ...] = ()
    words: Words = ""
    is_list: bool = False
    is_required: bool = False
    is_glyphs: bool = False
    is_date: bool = False

    @property
    def heading(self) -> str:
        """What stands at the head of the column."""
        return self.field.replace("_", " ")


@dataclass(frozen=True, slots=True)
class Tab:
    """One tab; ``section`` is the section whose lines it holds and ``inner`` a field of theirs."""

    section: str
    columns: tuple[Column, ...]
    inner: str = ""

    @property
    def title(self) -> str:
        """What the tab is called."""
        name = f"{self.section} {self.inner}" if self.inner else self.section
        return name.replace("_", " ")

    @property
    def is_of_texts(self) -> bool:
        """Whether its rows are texts of a list rather than groups of fields."""
        return bool(self.inner) and self.columns[-1].field == TEXT_COLUMN and len(self.columns) == 2

    def column(self, field: str) -> Column | None:
        """The column of that field."""
        return next((column for column in self.columns if column.field == field), None)


@cache
def tabs() -> Mapping[str, Tab]:
    """Every tab by its title: the instrument, then each section followed by what hangs from it."""
    found = [Tab(INSTRUMENT_TAB, _columns(INSTRUMENT_TAB, Instrument))]
    for section, model in SECTIONS.items():
        found.append(Tab(section, _columns(section, model)))
        found += _inner_tabs(section, model)
    return {tab.title: tab for tab in found}


@cache
def inner_tabs(section: str) -> tuple[Tab, ...]:
    """The tabs that hang from a section."""
    return tuple(tab for tab in tabs().values() if tab.section == section and tab.inner)


def normal_heading(text: str) -> str:
    """A heading or the name of a tab as fields are written.

    >>> normal_heading("  Names this  Object ")
    'names_this_object'
    """
    return "_".join(text.replace("_", " ").split()).casefold()


def parts_of_list(text: str) -> list[str]:
    """The items of a cell that holds several.

    >>> parts_of_list("pot.1, pot.2;jack")
    ['pot.1', 'pot.2', 'jack']
    """
    return [part for part in LIST_SEPARATORS.split(text) if part]


def _columns(section: str, model: type[BaseModel]) -> tuple[Column, ...]:
    """The columns of a model: its own fields in their order, note and withhold at the end."""
    last = [name for name in ("note", "withhold") if name in model.model_fields]
    names = [name for name in model.model_fields if name not in last]
    return tuple(
        _column(section, name, model) for name in (*names, *last) if not _is_inner(model, name)
    )


def _column(section: str, name: str, model: type[BaseModel]) -> Column:
    info = model.model_fields[name]
    inner, is_list = _without_none(info.annotation), False
    if get_origin(inner) is tuple:
        inner, is_list = _without_none(get_args(inner)[0]), True
    choices: tuple[str, ...] = get_args(inner) if get_origin(inner) is Literal else ()
    if inner is bool:
        choices = ("yes", "no")
    words: Any = "positions" if name in _POSITION_FIELDS else _LINKED.get(name, "")
    if name == "trace":
        words = "traces"
    is_date = name in _DATE_FIELDS
    return Column(
        field=name,
        says=info.description or _HELP.get(name) or (_HELP["date"] if is_date else ""),
        choices=choices,
        words=words,
        is_list=is_list,
        is_required=info.is_required(),
        is_glyphs=(section, name) in GLYPH_FIELDS,
        is_date=is_date,
    )


def _is_inner(model: type[BaseModel], name: str) -> bool:
    """Whether the field is a list that has a tab of its own."""
    return _inner_of(model, name) is not None


def _inner_of(model: type[BaseModel], name: str) -> Any:  # noqa: ANN401 - a model or a marker of text
    annotation = _without_none(model.model_fields[name].annotation)
    if get_origin(annotation) is not tuple:
        return None
    item = get_args(annotation)[0]
    if isinstance(item, type) and issubclass(item, BaseModel):
        return item
    return Text if item == Text else None


def _inner_tabs(section: str, model: type[BaseModel]) -> list[Tab]:
    line = Column(LINE_COLUMN, f"the id of its row in the tab {section.replace('_', ' ')}")
    found = []
    for name in model.model_fields:
        item = _inner_of(model, name)
        if item is None:
            continue
        own = (
            _columns(section, item)
            if isinstance(item, type)
            else (Column(TEXT_COLUMN, model.model_fields[name].description or "", (), ""),)
        )
        found.append(Tab(section, (line, *own), name))
    return found


def _without_none(annotation: Any) -> Any:  # noqa: ANN401 - annotations have no common type
    """The annotation without None and without what is annotated to it."""
    if get_origin(annotation) in (Union, types.UnionType):
        kept = [each for each in get_args(annotation) if each is not type(None)]
        annotation = kept[0]
    return annotation

"""What is typed into forms, put together as the tree of a sheet, and its faults told by field.

The same reader takes the tree as takes a sheet of YAML, so that a form and a sheet have the same
faults and become the same entries. A form has flat fields: ``shows.0.value`` is the value in the
first row of what a sighting shows.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from ledger.basis.modelfaults import fitted
from ledger.basis.yamltext import FORBIDDEN, Place, Tree, YamlTree
from ledger.basis.yamltext import Path as TreePath
from ledger.bench.columns import TEXT_COLUMN, Column, Tab, inner_tabs, parts_of_list, tabs
from ledger.bench.form_drafts import DraftLine
from ledger.errors import Fault
from ledger.models import SECTIONS, BenchSheet, Line
from ledger.record.links import linked
from ledger.record.sheet import Knowledge, turned_spans, unknown_words

_AT: Final = re.compile(r"^([a-z_]+)\[(\d+)\](?:\.(.*))?$")
_INNER: Final = re.compile(r"^([a-z_]+)\[(\d+)\](?:\.(.*))?$")
_LINE_ENDS: Final = re.compile("\r\n|\r")
# Faults of a whole line, by what was found, with the field at which they are best mended.
_MENDED_AT: Final = (
    ("neither of position and part", "position"),
    ("both of position and part", "part"),
    ("no positions", "positions"),
    ("no method", "method"),
    ("no why", "why"),
)


@dataclass(frozen=True, slots=True)
class FieldFault:
    """A fault in words, and the field at which it is mended; no field: the line as a whole."""

    field: str
    says: str


@dataclass
class TypedSheet:
    """A sheet put together from what it held and what was typed; ``keys`` tells whose a line is."""

    file: str
    value: dict[str, Tree]
    keys: dict[tuple[str, int], str] = field(default_factory=dict)

    def tree(self) -> YamlTree:
        """The tree, each value in a place of its own, so that no fault hides another."""
        places: dict[TreePath, Place] = {}
        for number, (path, _) in enumerate(_walk((), self.value), 1):
            places[path] = Place(number, 1)
        return YamlTree(self.file, self.value, places, {})

    def place_of(self, key: str) -> tuple[str, int] | None:
        """Section and number of the line with that key."""
        return next((place for place, name in self.keys.items() if name == key), None)


def typed_sheet(
    file: str,
    about: Mapping[str, Tree],
    held: Mapping[str, Sequence[Mapping[str, Tree]]],
    lines: Iterable[DraftLine],
) -> TypedSheet:
    """The sheet as it would be with the lines in their places.

    Args:
        file: how it is called in faults.
        about: the instrument.
        held: the lines of the sheet as it is, by section.
        lines: what was typed; those that are out take their line out of the sheet, and those
            that the sheet holds word for word are there already.
    """
    given = list(lines)
    mending = {line.mends: line for line in given if line.mends}
    there = _there_already(held, given)
    sheet = TypedSheet(file, {"bench_sheet": "1", "instrument": dict(about)})
    for section in SECTIONS:
        found: list[Tree] = []
        for line in held.get(section, ()):
            mended = mending.get(str(line.get("id")))
            if mended is None or mended.section != section:
                if (key := there.get((section, str(line.get("id"))))) is not None:
                    sheet.keys[section, len(found)] = key
                found.append(dict(line))
            elif mended.state != "out":
                sheet.keys[section, len(found)] = mended.key
                found.append(line_of(section, mended.fields))
        for new in given:
            is_new = not new.mends and (section, new.id) not in there
            if new.section == section and is_new and new.state != "out":
                sheet.keys[section, len(found)] = new.key
                found.append(line_of(section, new.fields))
        if found:
            sheet.value[section] = found
    return sheet


def _there_already(
    held: Mapping[str, Sequence[Mapping[str, Tree]]], given: Iterable[DraftLine]
) -> dict[tuple[str, str], str]:
    """The keys of new lines that the sheet holds word for word, by their section and id.

    A recording that was cut off after the sheet was written leaves such lines in the draft.
    """
    found: dict[tuple[str, str], str] = {}
    for new in given:
        if new.mends or new.state == "out":
            continue
        same = [line for line in held.get(new.section, ()) if line.get("id") == new.id]
        if len(same) == 1 and (new.section, new.id) not in found:
            typed = line_of(new.section, new.fields)
            if _fitted(new.section, typed) == _fitted(new.section, dict(same[0])):
                found[new.section, new.id] = new.key
    return found


def _fitted(section: str, line: dict[str, Tree]) -> Line | dict[str, Tree]:
    """What the line says, however it was typed; the line itself where it has faults."""
    tree = TypedSheet("line", line).tree()
    fitting, _ = fitted(tree, SECTIONS[section])
    return line if fitting is None else fitting


def line_of(section: str, typed: Mapping[str, str]) -> dict[str, Tree]:
    """The line that the fields of a form make; what is left empty is left out."""
    line = _row(_columns(section), typed, "")
    for tab in inner_tabs(section):
        rows = _inner_rows(tab, typed)
        if rows:
            line[tab.inner] = rows
    return line


def fields_of(section: str, line: Mapping[str, Tree]) -> dict[str, str]:
    """The fields of a form that make the line again."""
    found: dict[str, str] = {}
    inner = {tab.inner: tab for tab in inner_tabs(section)}
    for name, value in line.items():
        if name in inner and isinstance(value, list):
            for at, row in enumerate(value):
                if isinstance(row, dict):
                    found |= {f"{name}.{at}.{key}": _text(each) for key, each in row.items()}
                else:
                    found[f"{name}.{at}.{TEXT_COLUMN}"] = _text(row)
        else:
            found[name] = _text(value)
    return found


def hidden_faults(typed: Mapping[str, str]) -> tuple[FieldFault, ...]:
    """A fault for each field with a character that does not show or misleads the eye."""
    return tuple(
        FieldFault(name, f"There is a character in it that does not show (U+{ord(found[0]):04X}). "
                   "Type it again")
        for name, text in typed.items()
        if (found := FORBIDDEN.search(_LINE_ENDS.sub("\n", text)))
    )  # fmt: skip


def faults_of_line(sheet: TypedSheet, key: str, known: Knowledge) -> tuple[FieldFault, ...]:
    """What is wrong with the line of that key, everything else of the sheet being as it is."""
    place = sheet.place_of(key)
    if place is None:
        return ()
    found = []
    for fault in faults_of(sheet, known):
        match = _AT.match(fault.path)
        if match and (match[1], int(match[2]) - 1) == place:
            found.append(FieldFault(_field_of(place[0], match[3] or "", fault), in_words(fault)))
    return tuple(found)


def faults_of(sheet: TypedSheet, known: Knowledge) -> tuple[Fault, ...]:
    """Every fault of the sheet but those of the files of its exhibits."""
    tree = linked(sheet.tree())
    _, faults = fitted(tree, BenchSheet)
    return (*faults, *unknown_words(tree, known), *turned_spans(tree))


def key_of(sheet: TypedSheet, fault: Fault) -> str:
    """The key of the line that a fault is in; none for a line of the sheet or the whole."""
    match = _AT.match(fault.path)
    return sheet.keys.get((match[1], int(match[2]) - 1), "") if match else ""


def in_words(fault: Fault) -> str:
    """The fault without its place, which is where it is shown."""
    said = f"Found {fault.found}; expected {fault.expected}."
    return f"{said} {fault.advice.rstrip('.')}." if fault.advice else said


def _field_of(section: str, rest: str, fault: Fault) -> str:
    inner = _INNER.match(rest)
    if inner:
        name, at, field_name = inner[1], int(inner[2]) - 1, inner[3]
        return f"{name}.{at}.{field_name}" if field_name else name
    if rest:
        return rest
    for found, name in _MENDED_AT:
        if fault.found.startswith(found):
            return name
    return "value" if section == "measurements" else ""


def _columns(section: str) -> tuple[Column, ...]:
    return tabs()[section.replace("_", " ")].columns


def _row(columns: Iterable[Column], typed: Mapping[str, str], prefix: str) -> dict[str, Tree]:
    line: dict[str, Tree] = {}
    for column in columns:
        text = _LINE_ENDS.sub("\n", typed.get(f"{prefix}{column.field}", ""))
        if text.strip():
            items: list[Tree] = [*parts_of_list(text)]
            line[column.field] = items if column.is_list else text
        elif column.is_list and column.is_required:
            line[column.field] = []
    return line


def _inner_rows(tab: Tab, typed: Mapping[str, str]) -> list[Tree]:
    numbers = sorted(
        {
            int(parts[1])
            for name in typed
            if len(parts := name.split(".")) == 3
            and parts[0] == tab.inner
            and parts[1].isascii()
            and parts[1].isdigit()
            and len(parts[1]) < 4
        }
    )
    rows: list[Tree] = []
    for number in numbers:
        row = _row(tab.columns[1:], typed, f"{tab.inner}.{number}.")
        if row:
            rows.append(row.get(TEXT_COLUMN, "") if tab.is_of_texts else row)
    return rows


def _text(value: Tree) -> str:
    if isinstance(value, list):
        return ", ".join(_text(each) for each in value)
    return value if isinstance(value, str) else ""


def _walk(path: TreePath, value: Tree) -> Iterator[tuple[TreePath, Tree]]:
    yield path, value
    if isinstance(value, dict):
        for key, each in value.items():
            yield from _walk((*path, key), each)
    elif isinstance(value, list):
        for at, each in enumerate(value):
            yield from _walk((*path, at), each)

"""A first mapping for a spreadsheet of somebody's own, to be read through and mended.

It places only what a heading says in so many words: a position of the catalogue, a unit in
brackets, a name that our own fields have. Every other heading is listed as not used. Nothing is
recorded by a draft that nobody has looked at: what it leaves open is a fault when it is used.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Sequence
from typing import Final

from ledger.bench.photographs_in import positions_named
from ledger.bench.row_ids import id_part
from ledger.bench.tables import Table
from ledger.knowledge.catalogues import CatalogueView

_ABOUT: Final = {
    "id": ("id", "no", "no.", "nr", "number", "serial", "serial number", "inventory", "inv. no."),
    "name": ("name", "title", "description", "object"),
    "maker": ("maker", "make", "brand"),
    "model": ("model", "type"),
    "note": ("note", "notes", "remarks", "comment"),
}
_MARK_WORDS: Final = re.compile(r"\b(code|stamp|mark|label|serial|number|date)s?\b", re.IGNORECASE)
_UNIT: Final = re.compile(r"[(\[]\s*(mm|cm|in|g|kg|oz|lb|ohm|k|kohm|M|nF|pF|uF|µF|H)\s*[)\]]")
SOURCE: Final = "this-list"


def draft_mapping(table: Table, file: str, view: CatalogueView) -> str:
    """A mapping of the table as text, with a comment on each thing to be looked at."""
    headings = [cell.text for cell in table.headings]
    about = dict(_about(headings))
    left = [heading for heading in headings if heading not in about.values()]
    placed = [(heading, positions[0]) for heading in left if (positions := _named(heading, view))]
    lines = [
        f"# What the columns of {file} mean. Read it through: a draft only knows the headings.",
        "spreadsheet_mapping: 1",
        *([f"tab: {_quoted(table.title)}"] if table.title else []),
        f"heading_row: {table.headings[0].row if table.headings else 1}",
        "",
        "# One instrument for each id. A serial number made into an id would be published with it:",
        "# take a number of your own where you can.",
        "instrument:",
        f"  id: {{column: {_quoted(about.get('id', ''))}, makes_id: yes}}",
        f"  kind: {{text: {view.kind}}}",
        f"  name: {{column: {_quoted(about.get('name') or about.get('id', ''))}}}",
        *(f"  {name}: {{column: {_quoted(about[name])}}}" for name in about if name not in _FIRST),
        "",
        "# What each row makes. Every line needs a source; say what kind of source this list is.",
        "lines:",
        "  - section: sources",
        "    fields:",
        f"      id: {{text: {SOURCE}}}",
        "      kind: {text: document}  # or examination, publication, testimony ...",
        f"      title: {{text: {_quoted(file)}}}",
    ]
    for heading, position in placed:
        lines += _line(heading, position)
    unplaced = [heading for heading in left if heading not in {name for name, _ in placed}]
    if unplaced:
        lines += ["", "# No position of the catalogue is named in these. Make lines of them above,"]
        lines += ["# or leave them here.", "not_used:"]
        lines += [f"  - {_quoted(heading)}" for heading in unplaced]
    return "\n".join(lines) + "\n"


_FIRST: Final = ("id", "name")


def _about(headings: Sequence[str]) -> Iterator[tuple[str, str]]:
    for name, words in _ABOUT.items():
        found = next(
            (each for each in headings if " ".join(each.split()).casefold() in words), None
        )
        if found is not None:
            yield name, found


def _named(heading: str, view: CatalogueView) -> tuple[str, ...]:
    """The positions that a heading names; where there can be several, the first of them."""
    named = positions_named(heading, view)
    return tuple(
        f"{name}.1" if "." not in name and view.positions[name].many else name for name in named
    )


def _line(heading: str, position: str) -> list[str]:
    unit = _UNIT.search(heading)
    plain = id_part(_UNIT.sub("", heading)).replace("-", " ")
    if unit:
        section, value, more = "measurements", "value", f", unit: {unit[1]}"
        what = [f"      quantity: {{text: {_quoted(plain)}}}"]
    elif _MARK_WORDS.search(heading):
        section, value, more, what = "marks", "text", "", []
    else:
        section, value, more = "features", "value", ""
        what = [f"      feature: {{text: {_quoted(plain)}}}"]
    return [
        f"  - section: {section}",
        "    fields:",
        f"      source: {{text: {SOURCE}}}",
        f"      position: {{text: {position}}}",
        *what,
        f"      {value}: {{column: {_quoted(heading)}{more}}}",
    ]


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)

"""What the site database says of its own tables, read from the remarks in its schema.

The schema file is the one place where a table is described; the site prints what it says.
Its head tells the form of the remarks.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from ledger.errors import PublicationError

DATABASE = "witnessmark"
PAGE_ROWS = 50

_REMARK = re.compile(r"^--\| (about|label|facets|open): (.+)$")
_TABLE = re.compile(r"^CREATE TABLE (\w+) \($")
_LINK = re.compile(r"^    ([a-z_0-9]+) .*\bREFERENCES (\w+) \(")
_COLUMN = re.compile(r"^    ([a-z_0-9]+) (?:TEXT|INTEGER|REAL|BLOB)\b[^-]*(?:-- (.+))?$")


@dataclass(frozen=True, slots=True)
class Table:
    """A table of the site database: what a row is, how it is browsed, what its columns hold.

    ``links`` names the table that a column leads to.
    """

    name: str
    about: str
    label: str | None = None
    facets: tuple[str, ...] = ()
    is_open: bool = True
    columns: Mapping[str, str] = field(default_factory=dict)
    links: Mapping[str, str] = field(default_factory=dict)


def read_tables(schema: str) -> tuple[Table, ...]:
    """The tables in the order of the schema.

    >>> text = '''--| about: A thing
    ... --| label: name
    ... CREATE TABLE thing (
    ...     id INTEGER PRIMARY KEY,
    ...     name TEXT NOT NULL -- what it is called
    ... ) STRICT;'''
    >>> (table,) = read_tables(text)
    >>> table.name, table.about, table.label, dict(table.columns)
    ('thing', 'A thing', 'name', {'name': 'what it is called'})

    Raises:
        PublicationError: a table says nothing of itself.
    """
    tables: list[Table] = []
    remarks: dict[str, str] = {}
    columns: dict[str, str] = {}
    links: dict[str, str] = {}
    for line in schema.splitlines():
        if remark := _REMARK.match(line):
            remarks[remark[1]] = remark[2].strip()
        elif table := _TABLE.match(line):
            columns, links = {}, {}
            tables.append(_table(table[1], remarks, columns, links))
            remarks = {}
        else:
            if link := _LINK.match(line):
                links[link[1]] = link[2]
            if (column := _COLUMN.match(line)) and column[2]:
                columns[column[1]] = column[2].strip()
    return tuple(tables)


def _table(
    name: str, remarks: Mapping[str, str], columns: Mapping[str, str], links: Mapping[str, str]
) -> Table:
    if "about" not in remarks:
        raise PublicationError(f"The site schema does not say what a row of {name} is.")
    facets = tuple(part.strip() for part in remarks.get("facets", "").split(",") if part.strip())
    return Table(
        name,
        remarks["about"],
        remarks.get("label"),
        facets,
        remarks.get("open") != "no",
        columns,
        links,
    )


def metadata_of(tables: tuple[Table, ...], title: str) -> dict[str, Any]:
    """The metadata by which the server describes the tables and knows their labels."""
    return {
        "title": title,
        "databases": {DATABASE: {"tables": {table.name: _described(table) for table in tables}}},
    }


def _described(table: Table) -> dict[str, Any]:
    described: dict[str, Any] = {
        "description": table.about,
        "columns": dict(table.columns),
        "size": PAGE_ROWS,
    }
    if table.label:
        described["label_column"] = table.label
    if not table.is_open:
        described["hidden"] = True
    return described

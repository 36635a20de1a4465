"""Rows into the tables of a site database, with one prepared statement for each table."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping
from typing import Any

Row = Mapping[str, Any]

# What several reports or packs name alike is written once.
SHARED = frozenset({"rule", "pack", "exhibit"})


class Writer:
    """Writes rows as they come and keeps none of them."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection
        self._columns: dict[str, tuple[str, ...]] = {}

    def insert(self, table: str, rows: Iterable[Row]) -> None:
        """Write the rows; a column that a row does not name stays empty."""
        columns = self._columns_of(table)
        names = ", ".join(columns)
        values = ", ".join("?" * len(columns))
        act = "INSERT OR IGNORE" if table in SHARED else "INSERT"
        self._connection.executemany(
            f"{act} INTO {table} ({names}) VALUES ({values})",
            (tuple(row.get(column) for column in columns) for row in rows),
        )

    def _columns_of(self, table: str) -> tuple[str, ...]:
        if table not in self._columns:
            found = self._connection.execute("SELECT name FROM pragma_table_info(?)", (table,))
            self._columns[table] = tuple(name for (name,) in found)
        return self._columns[table]

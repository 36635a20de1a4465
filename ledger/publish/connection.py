"""What a connection to the site database may do: read, and nothing that takes very long.

The questions are our own and what a visitor fills in are parameters; this is the second wall
behind that. A statement that is anything but reading is refused by the database itself when it
is prepared, and what one opcode could do at length, out of reach of the limit of time, is kept
short.
"""

from __future__ import annotations

import sqlite3
from typing import Final, TypeAlias

Connection: TypeAlias = sqlite3.Connection

# What the server asks of a database besides its rows.
_PRAGMAS: Final = frozenset(
    {
        "database_list",
        "foreign_key_list",
        "index_info",
        "index_list",
        "index_xinfo",
        "schema_version",
    }
    | {"table_info", "table_xinfo", "compile_options", "data_version"}
)
_ACTIONS: Final = frozenset({sqlite3.SQLITE_SELECT, sqlite3.SQLITE_READ, sqlite3.SQLITE_RECURSIVE})
# Functions that reach beyond the database or make much of nothing.
_CLOSED_FUNCTIONS: Final = frozenset(
    {"load_extension", "fts3_tokenizer", "randomblob", "zeroblob", "readfile", "writefile"}
)
_INDEXES_OF_WORDS: Final = (
    "SELECT name FROM sqlite_master WHERE type = 'table' AND sql LIKE 'CREATE VIRTUAL TABLE%'"
)
LIMITS: Final = {
    sqlite3.SQLITE_LIMIT_LENGTH: 100_000_000,
    sqlite3.SQLITE_LIMIT_SQL_LENGTH: 100_000,
    sqlite3.SQLITE_LIMIT_LIKE_PATTERN_LENGTH: 300,
    sqlite3.SQLITE_LIMIT_ATTACHED: 0,
    sqlite3.SQLITE_LIMIT_EXPR_DEPTH: 200,
}


def close_off(connection: Connection) -> None:
    """Let the connection read and nothing else."""
    for limit, most in LIMITS.items():
        connection.setlimit(limit, most)
    connection.execute("PRAGMA query_only = ON")
    connection.execute("PRAGMA trusted_schema = OFF")
    # An index of words tells its columns to the database in the form of a statement that makes
    # a table; it does so once, when it is first asked, which is now.
    for (name,) in connection.execute(_INDEXES_OF_WORDS).fetchall():
        quoted = '"' + name.replace('"', '""') + '"'
        connection.execute(f"SELECT 1 FROM {quoted} LIMIT 0")  # noqa: S608 - its own name, quoted
    connection.set_authorizer(_allowed)


def _allowed(
    action: int, first: str | None, second: str | None, _database: str | None, _by: str | None
) -> int:
    is_open = (
        action in _ACTIONS
        or (action == sqlite3.SQLITE_FUNCTION and (second or "").lower() not in _CLOSED_FUNCTIONS)
        or (action == sqlite3.SQLITE_PRAGMA and (first or "").lower() in _PRAGMAS)
    )
    return sqlite3.SQLITE_OK if is_open else sqlite3.SQLITE_DENY

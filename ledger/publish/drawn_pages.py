"""The pages that are drawn when a site is made: the front page and that of every instrument.

They are drawn from the rows of the finished database, as the server would draw them, one at a
time. A page that is not stored is drawn when it is asked for.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from typing import Any, Final

from ledger.publish.evidence import instrument_href
from ledger.publish.pages import front_page, instrument_page
from ledger.publish.rendering import packed, render
from ledger.publish.report_pages import (
    CHANGES_SQL,
    KEPT_BACK_SQL,
    RECORDINGS_SQL,
    recordings_told,
    without_kept_back,
)

MOST_ON_FRONT: Final = 50
FRONT_SQL: Final = "SELECT body FROM report ORDER BY instrument LIMIT :most"
COUNT_SQL: Final = "SELECT count(*) FROM instrument"
_NEXT_SQL: Final = (
    "SELECT instrument, body FROM report WHERE instrument > ? ORDER BY instrument LIMIT 1"
)


def draw_pages(connection: sqlite3.Connection) -> None:
    """Store the pages of the instruments, then the front page."""
    for path, page in _instrument_pages(connection):
        _store(connection, path, page)
    reports = [
        json.loads(body) for (body,) in connection.execute(FRONT_SQL, {"most": MOST_ON_FRONT})
    ]
    ((count,),) = connection.execute(COUNT_SQL)
    context = {**front_page(reports), "left_out": max(0, count - MOST_ON_FRONT)}
    _store(connection, "/", render("front_whole.html", context))


def _store(connection: sqlite3.Connection, path: str, page: str) -> None:
    connection.execute("INSERT INTO page (path, body) VALUES (?, ?)", (path, packed(page)))


def _instrument_pages(connection: sqlite3.Connection) -> Iterator[tuple[str, str]]:
    last = ""
    while found := connection.execute(_NEXT_SQL, (last,)).fetchone():
        last, body = found
        asked = {"instrument": last}
        kept_back = {name for (name,) in connection.execute(KEPT_BACK_SQL, asked)}
        report: dict[str, Any] = without_kept_back(json.loads(body), kept_back)
        recordings = recordings_told(
            connection.execute(RECORDINGS_SQL, asked).fetchall(),
            connection.execute(CHANGES_SQL, asked).fetchall(),
        )
        page = render("instrument.html", instrument_page(report, recordings))
        yield instrument_href(last), page

"""The pages that are drawn when a site is made.

The front page, that of every instrument, those of the findings that rest on much, and those of the
questions as they are first met, which go through everything there is.

They are drawn from the rows of the finished database, as the server would draw them, one at a
time. A page that is not stored is drawn when it is asked for.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from typing import Any, Final

from ledger.holdings import query_files
from ledger.publish.evidence import Evidence, finding_href, instrument_href
from ledger.publish.pages import finding_page, front_page, instrument_page
from ledger.publish.question_pages import (
    MOST_ANSWERED,
    MOST_OFFERED,
    OFFERED_SQL,
    Answer,
    first_asked,
    names_asked,
    question_href,
    question_page,
)
from ledger.publish.questions import Question, read_questions
from ledger.publish.rendering import packed, render
from ledger.publish.report_pages import (
    CHANGES_SQL,
    DECISIVE_SQL,
    KEPT_BACK_SQL,
    RECORDINGS_SQL,
    recordings_told,
    without_kept_back,
)
from ledger.publish.wording import worded_report

MOST_ON_FRONT: Final = 50
LONG_CHAIN: Final = 8  # a finding with more than so many things beneath it takes long to draw
FRONT_SQL: Final = "SELECT body FROM report ORDER BY instrument LIMIT :most"
COUNT_SQL: Final = "SELECT count(*) FROM instrument"
ALL_INVENTED_SQL: Final = "SELECT count(*) > 0 AND count(*) = sum(invented = 'yes') FROM instrument"
_NEXT_SQL: Final = (
    "SELECT instrument, body FROM report WHERE instrument > ? ORDER BY instrument LIMIT 1"
)


def draw_pages(connection: sqlite3.Connection) -> None:
    """Store the pages of the instruments, then the front page and those of the questions."""
    for report in _reports(connection):
        _draw_instrument(connection, report)
    reports = [
        worded_report(json.loads(body))
        for (body,) in connection.execute(FRONT_SQL, {"most": MOST_ON_FRONT})
    ]
    ((count,),) = connection.execute(COUNT_SQL)
    context = {**front_page(reports), "left_out": max(0, count - MOST_ON_FRONT)}
    _store(connection, "/", render("front_whole.html", context))
    for question in read_questions(query_files()):
        _draw_question(connection, question)


def _store(connection: sqlite3.Connection, path: str, page: str) -> None:
    connection.execute("INSERT INTO page (path, body) VALUES (?, ?)", (path, packed(page)))


def _reports(connection: sqlite3.Connection) -> Iterator[dict[str, Any]]:
    """Every report as its pages may show it, one at a time."""
    last = ""
    while found := connection.execute(_NEXT_SQL, (last,)).fetchone():
        last, body = found
        kept_back = {name for (name,) in connection.execute(KEPT_BACK_SQL, {"instrument": last})}
        yield worded_report(without_kept_back(json.loads(body), kept_back))


def _draw_instrument(connection: sqlite3.Connection, report: dict[str, Any]) -> None:
    instrument = report["instrument"]
    asked = {"instrument": instrument}
    recordings = recordings_told(
        connection.execute(RECORDINGS_SQL, asked).fetchall(),
        connection.execute(CHANGES_SQL, asked).fetchall(),
    )
    page = render("instrument.html", instrument_page(report, recordings))
    _store(connection, instrument_href(instrument), page)
    evidence = Evidence(report)
    for finding in evidence.findings:
        if len(evidence.beneath(finding)) > LONG_CHAIN:
            key = {"finding": f"{instrument}/{finding}"}
            grounds = frozenset(name for (name,) in connection.execute(DECISIVE_SQL, key))
            context = finding_page(report, finding, grounds if recordings else None)
            if context is not None:
                page = render("finding.html", context)
                _store(connection, finding_href(instrument, finding), page)


def _draw_question(connection: sqlite3.Connection, question: Question) -> None:
    asked = first_asked(question)
    found = connection.execute(question.sql, asked)
    columns = [column for column, *_ in found.description]
    rows = [dict(zip(columns, row, strict=True)) for row in found.fetchmany(MOST_ANSWERED + 1)]
    answer = Answer(rows[:MOST_ANSWERED], is_cut=len(rows) > MOST_ANSWERED)
    names = {
        column: dict(connection.execute(sql, ids).fetchall())
        for column, (sql, ids) in names_asked(answer).items()
    }
    offered = connection.execute(OFFERED_SQL, {"most": MOST_OFFERED + 1}).fetchall()
    ((is_invented,),) = connection.execute(ALL_INVENTED_SQL)
    context = {
        "site_is_invented": bool(is_invented),
        **question_page(question, asked, answer, names, offered),
    }
    _store(connection, question_href(question), render("question.html", context))

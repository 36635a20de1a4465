"""The pages of questions: each with its form, its answer as a table, and a plot where one helps.

What is shown is worded for reading; the answer as data stays as the database gives it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from operator import itemgetter
from typing import Any, Final
from urllib.parse import unquote, urlencode

from datasette.app import Datasette  # type: ignore[import-untyped]  # ships no types
from datasette.database import QueryInterrupted  # type: ignore[import-untyped]  # ships no types
from datasette.utils.asgi import (  # type: ignore[import-untyped]  # ships no types
    NotFound,
    Request,
    Response,
)

from ledger.publish.answers import page
from ledger.publish.evidence import finding_href, instrument_href, reference_href
from ledger.publish.percentages import GAP, percent
from ledger.publish.plot_drawing import NARROW_UNITS, WIDE_UNITS, plot_bars, plot_svg
from ledger.publish.questions import Question
from ledger.publish.searching import clean_query
from ledger.publish.shortening import shortened
from ledger.publish.tables import DATABASE
from ledger.publish.wording import NO_ROWS, worded

LONGEST_ANSWER: Final = 200  # characters of a parameter that are taken
MOST_SHOWN: Final = 100  # rows of an answer that a page shows; as data it has all
MOST_OFFERED: Final = 60
OFFERED_SQL: Final = (
    "SELECT id, name FROM instrument LIMIT :most"  # unsorted: it may be one of many
)
NAMED_GLYPHS: Final = 90
IN_PERCENT: Final = re.compile(r"\bpercent(?:age points)?\b")
YES_OR_NO: Final = "(yes or no)"
_PLACES: Final = re.compile(r"[a-z0-9.-]+(?:, [a-z0-9.-]+)*")
_WHICH: Final = re.compile(r"\.([a-z0-9-]+)")

# How the things that a column names by their ids are called, and from which table.
_NAMES_SQL: Final = {
    "instrument": "SELECT id, name FROM instrument WHERE id IN ({places})",
    "reference": "SELECT id, sentence FROM reference WHERE id IN ({places})",
}


async def list_questions(datasette: Datasette) -> Response:
    """Every question that can be put to the site."""
    return page(
        datasette,
        "questions.html",
        {"page_title": "Questions", "questions": datasette.witnessmark_questions},
    )


async def answer_question(datasette: Datasette, request: Request) -> Response:
    """One question: its form, its answer, and the answer as data."""
    name = unquote(request.url_vars["question"])
    question = next((each for each in datasette.witnessmark_questions if each.name == name), None)
    if question is None:
        raise NotFound(f"There is no question {name!r}.")
    asked = asked_of(question, request)
    context: dict[str, Any] = {
        "page_title": question.title,
        "question": question,
        "asked": asked,
        "data_query": urlencode(asked),
        "offered": await _offered(datasette) if "instrument" in asked else [],
        "yes_or_no": YES_OR_NO,
        "rows": [],
        "count": 0,
        "is_cut": False,
        "plot_svg": "",
        "plot_narrow_svg": "",
        "took_too_long": False,
    }
    try:
        answer = await datasette.get_database(DATABASE).execute(question.sql, asked, truncate=True)
    except QueryInterrupted:
        context["took_too_long"] = True
    else:
        rows = [dict(row) for row in answer.rows]
        context["count"], context["is_cut"] = len(rows), answer.truncated
        context["rows"] = await _shown(datasette, question, rows[:MOST_SHOWN])
        if question.plot:
            unit = f"{GAP}%" if question.plot[1] in _in_percent(question) else ""
            bars = plot_bars(rows, question.plot, unit)
            context["plot_svg"] = plot_svg(bars, question.title, WIDE_UNITS, "plot")
            context["plot_narrow_svg"] = plot_svg(bars, question.title, NARROW_UNITS, "plot-narrow")
    return page(datasette, "question.html", context)


async def _offered(site: Datasette) -> list[dict[str, str]]:
    """What a form offers to choose from; empty where there are too many to choose from."""
    database = site.get_database(DATABASE)
    found = (await database.execute(OFFERED_SQL, {"most": MOST_OFFERED + 1})).rows
    if len(found) > MOST_OFFERED:
        return []
    return [{"id": row[0], "name": row[1]} for row in sorted(found, key=itemgetter(1))]


async def _shown(
    site: Datasette, question: Question, rows: Sequence[Mapping[str, Any]]
) -> list[list[dict[str, str]]]:
    """The rows as cells of text, with links where they name something that has a page."""
    names = {column: await _names(site, column, rows) for column in _NAMES_SQL}
    percents = _in_percent(question)
    return [
        [
            {
                "label": column.replace("_", " "),
                **(
                    _linked(column, value, row, names)
                    or {
                        "href": "",
                        "text": cell_words(
                            column, value, names["reference"], is_percent=column in percents
                        ),
                    }
                ),
            }
            for column, value in row.items()
        ]
        for row in rows
    ]


def _in_percent(question: Question) -> frozenset[str]:
    return frozenset(name for name, says in question.columns if IN_PERCENT.search(says))


async def _names(site: Datasette, column: str, rows: Sequence[Mapping[str, Any]]) -> dict[str, str]:
    """The names of the things that the rows name by their ids in that column."""
    ids = sorted({str(row[column]) for row in rows if row.get(column)})
    if not ids:
        return {}
    asked = {f"id{number}": name for number, name in enumerate(ids)}
    sql = _NAMES_SQL[column].format(places=", ".join(f":{key}" for key in asked))
    return {row[0]: row[1] for row in (await site.get_database(DATABASE).execute(sql, asked)).rows}


def _linked(
    column: str, value: object, row: Mapping[str, Any], names: Mapping[str, Mapping[str, str]]
) -> dict[str, str] | None:
    """The cell of something that has a page of its own; None where it is not such a column."""
    text = "" if value is None else str(value)
    if text and column == "instrument":
        return {"href": instrument_href(text), "text": names[column].get(text, text)}
    if text and column == "finding":
        instrument, _, name = text.partition("/")
        return {"href": finding_href(instrument, name), "text": "open its chain"}
    if text and column == "reference":
        says = names[column].get(text, text)
        is_told_beside = says == row.get("sentence")
        told = "open the row" if is_told_beside else shortened(worded(says), NAMED_GLYPHS)
        return {"href": reference_href(text), "text": told}
    return None


def cell_words(
    column: str, value: object, rows: Mapping[str, str] = NO_ROWS, *, is_percent: bool = False
) -> str:
    """What a cell says to a reader; ``rows`` are what rows of packs say, by their ids.

    >>> cell_words("gap_begins", "1959-12-31"), cell_words("years", 28.0)
    ('31 December 1959', '28')
    >>> cell_words("positions", "pot.volume, mains-transformer")
    'pot (volume), mains transformer'
    """
    if value is None:
        return ""
    if column == "prior" and isinstance(value, int | float):
        return percent(value)
    if column in ("position", "positions") and _PLACES.fullmatch(str(value)):
        return _WHICH.sub(r" (\1)", str(value)).replace("-", " ")
    text = f"{value:,.10g}" if isinstance(value, float) else worded(str(value), rows)
    return f"{text}{GAP}%" if is_percent and text else text


def asked_of(question: Question, request: Request) -> dict[str, str]:
    """The parameters as the visitor filled them in, or their defaults."""
    return {
        parameter.name: (
            clean_query(request.args[parameter.name])[:LONGEST_ANSWER]
            if parameter.name in request.args
            else parameter.default
        )
        for parameter in question.parameters
    }


QUESTION_ROUTES: Final = (
    (r"^/questions$", list_questions),
    (r"^/questions/(?P<question>[^/]+)$", answer_question),
)

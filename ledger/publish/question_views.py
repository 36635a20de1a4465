"""Answers to the questions that a reader puts to the site."""

from __future__ import annotations

from typing import Final
from urllib.parse import unquote

from datasette.app import Datasette  # type: ignore[import-untyped]  # ships no types
from datasette.database import QueryInterrupted  # type: ignore[import-untyped]  # ships no types
from datasette.utils.asgi import (  # type: ignore[import-untyped]  # ships no types
    NotFound,
    Request,
    Response,
)

from ledger.publish.answers import page, stored_page
from ledger.publish.question_pages import (
    MOST_OFFERED,
    OFFERED_SQL,
    Answer,
    faults_asked,
    first_asked,
    names_asked,
    question_href,
    question_page,
)
from ledger.publish.questions import Question
from ledger.publish.searching import clean_query
from ledger.publish.tables import DATABASE

LONGEST_ANSWER: Final = 200  # characters of a parameter that are taken


async def list_questions(datasette: Datasette) -> Response:
    """Every question that can be put to the site."""
    return page(
        datasette,
        "questions.html",
        {
            "page_title": "Questions",
            "questions": datasette.witnessmark_questions,
            "of_the_graph": datasette.witnessmark_of_the_graph,
        },
    )


async def answer_question(datasette: Datasette, request: Request) -> Response:
    """One question: its form, its answer, and the answer as data."""
    name = unquote(request.url_vars["question"])
    question = next((each for each in datasette.witnessmark_questions if each.name == name), None)
    if question is None:
        raise NotFound(f"There is no question {name!r}.")
    asked = asked_of(question, request)
    if asked == first_asked(question):
        stored = await stored_page(datasette, request, question_href(question))
        if stored is not None:
            return stored
    database = datasette.get_database(DATABASE)
    is_sound = not faults_asked(question, asked)
    answer = await _answer(datasette, question, asked) if is_sound else Answer(())
    names = {
        column: {row[0]: row[1] for row in (await database.execute(sql, ids)).rows}
        for column, (sql, ids) in names_asked(answer or Answer(())).items()
    }
    offered = (await database.execute(OFFERED_SQL, {"most": MOST_OFFERED + 1})).rows
    return page(datasette, "question.html", question_page(question, asked, answer, names, offered))


async def _answer(site: Datasette, question: Question, asked: dict[str, str]) -> Answer | None:
    """What the database says within its time; None where it would need more."""
    database = site.get_database(DATABASE)
    try:
        found = await database.execute(question.sql, asked, truncate=True)
    except QueryInterrupted:
        return None
    return Answer([dict(row) for row in found.rows], is_cut=found.truncated)


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

"""The page of a question: its form, its answer as a table, and a plot where one helps.

What is shown is worded for reading; the answer as data stays as the database gives it. Nothing here
asks the database: the page is drawn when a site is made, for the question as it is first met, and
by the server for whatever else is asked.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from operator import itemgetter
from typing import Any, Final
from urllib.parse import urlencode

from ledger.publish.evidence import finding_href, instrument_href, reference_href
from ledger.publish.percentages import GAP, percent
from ledger.publish.plot_drawing import NARROW_UNITS, WIDE_UNITS, plot_bars, plot_svg
from ledger.publish.questions import Parameter, Question
from ledger.publish.shortening import shortened
from ledger.publish.wording import NO_ROWS, worded

MOST_ANSWERED: Final = 500  # rows that an answer holds
MOST_SHOWN: Final = 100  # rows of an answer that a page shows; as data it has all
MOST_OFFERED: Final = 60
OFFERED_SQL: Final = (
    "SELECT id, name FROM instrument LIMIT :most"  # unsorted: it may be one of many
)
NAMED_GLYPHS: Final = 90
IN_PERCENT: Final = re.compile(r"\bpercent(?:age points)?\b")
YES_OR_NO: Final = "(yes or no)"
_PLACES: Final = re.compile(r"[a-z0-9.-]+(?:, [a-z0-9.-]+)*")
_NUMBER: Final = re.compile(r"-?[0-9]{1,12}(\.[0-9]{1,6})?")
MOST_PERCENT: Final = 100
_WHICH: Final = re.compile(r"\.([a-z0-9-]+)")

# How the things that a column names by their ids are called, and from which table.
_NAMES_SQL: Final = {
    "instrument": "SELECT id, name FROM instrument WHERE id IN ({places})",
    "reference": "SELECT id, sentence FROM reference WHERE id IN ({places})",
}

# The names of things by their ids, for each column that holds ids.
Names = Mapping[str, Mapping[str, str]]


@dataclass(frozen=True, slots=True)
class Answer:
    """The rows that the database gave, and whether it has more of them."""

    rows: Sequence[Mapping[str, Any]]
    is_cut: bool = False

    @property
    def shown(self) -> Sequence[Mapping[str, Any]]:
        """The rows that a page shows."""
        return self.rows[:MOST_SHOWN]


def question_href(question: Question) -> str:
    """Where the question is met."""
    return f"/questions/{question.name}"


def first_asked(question: Question) -> dict[str, str]:
    """The parameters as the form is first filled in."""
    return {parameter.name: parameter.default for parameter in question.parameters}


def faults_asked(question: Question, asked: Mapping[str, str]) -> list[str]:
    """What of the answers to the form can be no answer; empty where each can be one.

    Where the form is first filled in with a number, a number is asked.
    """
    return [
        fault
        for parameter in question.parameters
        if _number(parameter.default) is not None
        and (fault := _fault_of_number(parameter, asked[parameter.name]))
    ]


def _fault_of_number(parameter: Parameter, given: str) -> str:
    number = _number(given)
    said = f"“{given}”" if given else "Nothing"
    if number is None:
        return f"{said} is no number: {parameter.label}."
    is_share = "(percent)" in parameter.label
    if number < 0 or (is_share and number > MOST_PERCENT):
        span = f"between 0 and {MOST_PERCENT}" if is_share else "of 0 or more"
        return f"{said} is no number {span}: {parameter.label}."
    return ""


def _number(text: str) -> float | None:
    return float(text) if _NUMBER.fullmatch(text.strip()) else None


def names_asked(answer: Answer) -> dict[str, tuple[str, dict[str, str]]]:
    """For each column that holds ids what to ask for their names, and with what."""
    found: dict[str, tuple[str, dict[str, str]]] = {}
    for column, sql in _NAMES_SQL.items():
        ids = sorted({str(row[column]) for row in answer.shown if row.get(column)})
        if ids:
            asked = {f"id{number}": name for number, name in enumerate(ids)}
            found[column] = (sql.format(places=", ".join(f":{key}" for key in asked)), asked)
    return found


def question_page(
    question: Question,
    asked: Mapping[str, str],
    answer: Answer | None,
    names: Names,
    offered: Sequence[Sequence[str]] = (),
) -> dict[str, Any]:
    """What the page shows; without an answer, that it took too long.

    ``offered`` are ids and names of instruments to choose from, one more than fit where there are
    more than that.
    """
    context: dict[str, Any] = {
        "page_title": question.title,
        "question": question,
        "asked": asked,
        "data_query": urlencode(asked),
        "offered": _offered(offered) if "instrument" in asked else [],
        "yes_or_no": YES_OR_NO,
        "took_too_long": answer is None,
        "faults": faults_asked(question, asked),
        "rows": [],
        "count": 0,
        "is_cut": False,
        "plot_svg": "",
        "plot_narrow_svg": "",
    }
    if answer is None:
        return context
    context |= {"count": len(answer.rows), "is_cut": answer.is_cut}
    context["rows"] = _cells(question, answer.shown, names)
    if question.plot:
        unit = f"{GAP}%" if question.plot[1] in _in_percent(question) else ""
        bars = plot_bars(answer.rows, question.plot, unit)
        context["plot_svg"] = plot_svg(bars, question.title, WIDE_UNITS, "plot")
        context["plot_narrow_svg"] = plot_svg(bars, question.title, NARROW_UNITS, "plot-narrow")
    return context


def _offered(found: Sequence[Sequence[str]]) -> list[dict[str, str]]:
    """What a form offers to choose from; nothing where there are too many to choose from."""
    if len(found) > MOST_OFFERED:
        return []
    return [{"id": row[0], "name": row[1]} for row in sorted(found, key=itemgetter(1))]


def _cells(
    question: Question, rows: Sequence[Mapping[str, Any]], names: Names
) -> list[list[dict[str, str]]]:
    """The rows as cells of text, with links where they name something that has a page."""
    percents = _in_percent(question)
    sentences = names.get("reference", NO_ROWS)
    return [
        [
            {
                "label": column.replace("_", " "),
                **(
                    _linked(column, value, row, names)
                    or {
                        "href": "",
                        "text": cell_words(column, value, sentences, is_percent=column in percents),
                    }
                ),
            }
            for column, value in row.items()
        ]
        for row in rows
    ]


def _in_percent(question: Question) -> frozenset[str]:
    return frozenset(name for name, says in question.columns if IN_PERCENT.search(says))


def _linked(
    column: str, value: object, row: Mapping[str, Any], names: Names
) -> dict[str, str] | None:
    """The cell of something that has a page of its own; None where it is not such a column."""
    text = "" if value is None else str(value)
    if text and column == "instrument":
        return {"href": instrument_href(text), "text": names.get(column, {}).get(text, text)}
    if text and column == "finding":
        instrument, _, name = text.partition("/")
        return {"href": finding_href(instrument, name), "text": "open its chain"}
    if text and column == "reference":
        says = names.get(column, {}).get(text, text)
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

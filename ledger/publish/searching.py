"""Full-text search over what is published, whatever a visitor types."""

from __future__ import annotations

import re
from dataclasses import dataclass

from markupsafe import Markup, escape

from ledger.basis.visible import visible

LONGEST_QUERY = 200
MOST_TERMS = 12
PAGE_HITS = 50

# Around a hit in a snippet. Whatever else a text holds, these two only ever become marks.
BEGINS, ENDS = "\x02", "\x03"

_CONTROL = re.compile(r"[\x00-\x1f\x7f]+")
_TERM = re.compile(r'"([^"]+)"|([^\s"]+)')

# In the order in which they are of use to somebody who looks for something; the passages of a
# site stand in this order.
KINDS = {
    "instrument": "Instruments",
    "position": "Positions",
    "line": "Lines of bench sheets",
    "source": "Sources",
    "challenge": "Challenges",
    "question": "Open questions",
    "reference": "References",
    "finding": "Findings",
}
KIND_WORDS = {
    "instrument": "instrument",
    "position": "position",
    "line": "line of a bench sheet",
    "source": "source",
    "challenge": "challenge",
    "question": "open question",
    "reference": "reference row",
    "finding": "finding",
}
# So many passages of a kind are counted and ranked; of more it is only said that there are more.
MOST_COUNTED = 400

# The passages of one kind are one run of rows: where each begins and ends.
RUNS_SQL = "SELECT kind, first, last FROM passage_run ORDER BY first"

COUNT_SQL = """
SELECT count(*) AS hits FROM (
    SELECT 1 FROM passage_fts
    WHERE passage_fts MATCH :match AND rowid BETWEEN :first AND :last
    LIMIT :most
)
"""

_HITS_SQL = """
SELECT passage.kind, passage.instrument, coalesce(instrument.name, '') AS name, passage.href,
       highlight(passage_fts, 0, :begins, :ends) AS title,
       snippet(passage_fts, 1, :begins, :ends, '…', 32) AS snippet
FROM passage_fts JOIN passage ON passage.id = passage_fts.rowid
     LEFT JOIN instrument ON instrument.id = passage.instrument
WHERE passage_fts MATCH :match AND passage_fts.rowid BETWEEN :first AND :last
ORDER BY {order}
LIMIT :limit OFFSET :offset
"""
# To rank a hit, every passage with any of the words is looked at, however few have all of them.
COMMON_SQL = """
SELECT count(*) FROM (SELECT 1 FROM passage_fts WHERE passage_fts MATCH :match LIMIT :most)
"""
MOST_RANKED = 10_000
RANKED_SQL = _HITS_SQL.format(order="passage_fts.rank, passage_fts.rowid")
# Few hits of common words: those come first that have a word in their title.
BY_TITLE_SQL = _HITS_SQL.format(
    order="instr(highlight(passage_fts, 0, :begins, :ends), :begins) = 0, passage_fts.rowid"
)
# Very many hits: the order of kinds serves.
IN_ORDER_SQL = _HITS_SQL.format(order="passage_fts.rowid")


@dataclass(frozen=True, slots=True)
class Hit:
    """A passage that was found, with the words that were asked for marked."""

    kind: str
    instrument: str
    name: str
    title: Markup
    href: str
    snippet: Markup


def clean_query(text: str) -> str:
    """What the visitor typed, without control characters and cut to a sensible length."""
    return _CONTROL.sub(" ", text).strip()[:LONGEST_QUERY]


def match_expression(text: str) -> str:
    """The query in the index's own language, in which every term is plain text.

    Words in double quotes stay together; everything must be found. Empty where nothing in the
    text can be looked for.

    >>> match_expression('pot "undisturbed joint" OR*')
    '"pot" "undisturbed joint" "OR*"'
    >>> match_expression('"" -- !')
    ''
    """
    return " ".join(match_terms(text))


def match_terms(text: str) -> list[str]:
    """The terms of the query, each as plain text in the index's own language.

    >>> match_terms('pot "undisturbed joint"')
    ['"pot"', '"undisturbed joint"']
    """
    terms = [quoted or word for quoted, word in _TERM.findall(clean_query(text))]
    usable = [term for term in terms if any(glyph.isalnum() for glyph in term)]
    return [f'"{term}"' for term in usable[:MOST_TERMS]]


def marked(snippet: str) -> Markup:
    r"""The snippet as safe HTML with the hits in ``mark`` elements.

    >>> str(marked("a \x02<b>\x03 c"))
    'a <mark>&lt;b&gt;</mark> c'
    """
    pieces = [Markup("")]
    is_inside = False
    for piece in re.split(f"([{BEGINS}{ENDS}])", snippet):
        if piece == BEGINS and not is_inside:
            pieces.append(Markup("<mark>"))
            is_inside = True
        elif piece == ENDS and is_inside:
            pieces.append(Markup("</mark>"))
            is_inside = False
        elif piece not in (BEGINS, ENDS):
            pieces.append(escape(visible(piece)))
    if is_inside:
        pieces.append(Markup("</mark>"))
    return Markup("").join(pieces)

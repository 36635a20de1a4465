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

KINDS = {
    "instrument": "Instruments",
    "finding": "Findings",
    "position": "Positions",
    "line": "Lines of bench sheets",
    "source": "Sources",
    "reference": "References",
    "question": "Open questions",
    "challenge": "Challenges",
}

SEARCH_SQL = """
SELECT passage.kind, passage.instrument, passage.href,
       highlight(passage_fts, 0, :begins, :ends) AS title,
       snippet(passage_fts, 1, :begins, :ends, '…', 32) AS snippet
FROM passage_fts JOIN passage ON passage.id = passage_fts.rowid
WHERE passage_fts MATCH :match AND (:kind = '' OR passage.kind = :kind)
ORDER BY passage_fts.rank, passage.id
LIMIT :limit OFFSET :offset
"""

COUNT_SQL = """
SELECT passage.kind, count(*) AS hits
FROM passage_fts JOIN passage ON passage.id = passage_fts.rowid
WHERE passage_fts MATCH :match
GROUP BY passage.kind
"""


@dataclass(frozen=True, slots=True)
class Hit:
    """A passage that was found, with the words that were asked for marked."""

    kind: str
    instrument: str
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
    terms = [quoted or word for quoted, word in _TERM.findall(clean_query(text))]
    usable = [term for term in terms if any(glyph.isalnum() for glyph in term)]
    return " ".join(f'"{term}"' for term in usable[:MOST_TERMS])


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

"""Sentences of a report made short enough to be looked over; whole they stand on their own page."""

from __future__ import annotations

import re

USUAL_GLYPHS = 230

_MONTH = (
    r"(?:January|February|March|April|May|June|July|August|September|October|November|December)"
)
_DAY = rf"(?:\d{{4}}(?:-\d\d){{0,2}}|(?:\d\d? )?{_MONTH} \d{{4}})"
_RUN = rf"(?:\d\d?(?: {_MONTH})? to )?{_DAY}(?: to {_DAY})?"
_FITTED_AS_ONE = re.compile(r" \(fitted as one: (?:[^()]|\([^()]*\))*\)")
_MANY_RUNS = re.compile(rf"({_RUN} or {_RUN})((?: or {_RUN}){{2,}})")


def shortened(sentence: str, most: int = USUAL_GLYPHS) -> str:
    """The sentence without what was fitted as one, long lists of days counted, cut at a word.

    >>> shortened("Made 1947 or 1957 or 1967 or 1977 or 1987.")
    'Made 1947 or 1957 or 3 more runs of days.'
    >>> shortened("Made 1 to 14 July 1945 or 3 July 1955 or 4 to 10 July 1965 or 29 June to 5 July 1975.")
    'Made 1 to 14 July 1945 or 3 July 1955 or 2 more runs of days.'
    >>> shortened("one two three", 9)
    'one two …'
    >>> shortened("the harness (fitted as one: jack, pot (tone)) left the works")
    'the harness left the works'
    """
    counted = _MANY_RUNS.sub(
        lambda found: f"{found[1]} or {found[2].count(' or ')} more runs of days",
        _FITTED_AS_ONE.sub("", sentence),
    )
    if len(counted) <= most:
        return counted
    return f"{counted[: most - 1].rpartition(' ')[0] or counted[: most - 1]} …"

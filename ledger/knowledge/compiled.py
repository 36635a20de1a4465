"""Patterns of many rows as one, so that a mark which none of them fits is left at once.

Question answered: can any of these patterns fit the text? The patterns are joined into one
expression whose groups have no names. Where that cannot be done without changing what a
pattern means (a back reference, a flag for the whole), every text is let through.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

_GROUP_NAME = re.compile(r"\(\?P<[^>]*>")
_NOT_TO_BE_JOINED = re.compile(r"\\[1-9]|\(\?P=|\(\?\(|^\(\?[aiLmsux]+\)")


class AnyOf:
    """Several patterns, asked together whether one of them fits a whole text."""

    def __init__(self, patterns: Iterable[str], flags: re.RegexFlag = re.NOFLAG) -> None:
        given = tuple(patterns)
        joined = "|".join(f"(?:{_GROUP_NAME.sub('(?:', pattern)})" for pattern in given)
        can_join = given and not any(_NOT_TO_BE_JOINED.search(pattern) for pattern in given)
        self._is_empty = not given
        self._joined = re.compile(joined, flags) if can_join else None

    def may_fit(self, text: str) -> bool:
        r"""Whether a pattern may fit the whole text; False is certain, True is not.

        >>> AnyOf([r"(?P<a>\d+)", "x"]).may_fit("12"), AnyOf(["x"]).may_fit("y")
        (True, False)
        """
        if self._joined is None:
            return not self._is_empty
        return self._joined.fullmatch(text) is not None

"""Many patterns tried at once on a text, so that what none of them fits is left at once.

Question answered: which of these patterns fit the whole text. They are joined into two
expressions whose groups have no names: one that says whether any fits, and one that tries each
by looking ahead and so names all that do. Where patterns cannot be joined without changing what
they mean (a back reference, a flag for the whole), each is tried by itself.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

_GROUP_NAME = re.compile(r"\(\?P<[^>]*>")
_NOT_TO_BE_JOINED = re.compile(
    r"\\[1-9]|\(\?P=|\(\?\(|\(\?[aiLmsux]+\)|\[[^\]]*\(\?P<"  # the last: no name, but signs of a set
)


class AnyOf:
    """Several patterns, asked together which of them fit a whole text."""

    def __init__(self, patterns: Iterable[str], flags: re.RegexFlag = re.NOFLAG) -> None:
        given = tuple(patterns)
        self._each = tuple(re.compile(pattern, flags) for pattern in given)
        self._any = self._which = None
        if given and not any(_NOT_TO_BE_JOINED.search(pattern) for pattern in given):
            bare = [_GROUP_NAME.sub("(?:", pattern) for pattern in given]
            self._any = re.compile("|".join(f"(?:{pattern})" for pattern in bare), flags)
            ahead = (rf"(?:(?=(?P<n{i}>{pattern})\Z)|)" for i, pattern in enumerate(bare))
            self._which = re.compile("".join(ahead), flags)
        self._names = {f"n{i}": i for i in range(len(given))}

    def fitting(self, text: str) -> tuple[int, ...]:
        r"""The places, in order, of the patterns that fit the whole text.

        >>> AnyOf([r"(?P<a>\d+)", "x", "[1-4]+"]).fitting("12")
        (0, 2)
        """
        if self._any is None or self._which is None:
            return tuple(i for i, each in enumerate(self._each) if each.fullmatch(text))
        if self._any.fullmatch(text) is None:
            return ()
        found = self._which.match(text)
        if found is None:
            return ()
        groups = found.groupdict()
        return tuple([i for name, i in self._names.items() if groups[name] is not None])

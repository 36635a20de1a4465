r"""In how many ways a regular expression may be tried on a text: none that takes for ever.

Question answered: can this pattern of a pack be matched in bearable time, whatever the mark. The
matcher tries every way to divide a text among the repetitions of a pattern; ``(a+)+b`` on thirty
letters has more ways than there are seconds. The ways are counted from above, without any text:
those of alternatives add up, those of neighbours multiply, a repetition without end counts as
long as a long mark is, and a repetition of something that itself varies, without an end, is
refused. What ends the pattern, and so takes the rest of the text in one way, counts once.

The groups are read as the standard library reads them: a comment is nothing, so that what stands
before it is repeated by what follows it; a back reference is one sign; with the flag x, spaces
and what follows a # are nothing either. Where the reading does not come out even, the number of
groups that capture being held against what the compiled pattern has, the pattern is refused.

What it does not do: tell apart ways that cannot both be taken. It refuses patterns that would do.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

LONG_MARK: Final = 1_000
MOST_WAYS: Final = 30_000_000

_PIECE: Final = re.compile(
    r"""\\(?:[0-9]{1,3}|x[0-9a-fA-F]{2}|u[0-9a-fA-F]{4}|U[0-9a-fA-F]{8}|N\{[^}]*\}|.)
      | \[\^?\]?(?:\\.|[^\]\\])*\]
      | \(\?P=[^)]*\)
      | \((?:\?(?:P<[^>]*>|<[=!]|[=!:>]|\([^)]*\)|[aiLmsux-]+[:)]))?
      | \) | \| | .""",
    re.VERBOSE | re.DOTALL,
)
# What is nothing in a pattern: comments, and with the flag x spaces and the ends of lines.
_NOTHING: Final = re.compile(r"(?:\(\?\#[^)]*\))*")
_NOTHING_IF_SPACED: Final = re.compile(r"(?:\(\?\#[^)]*\)|[ \t\n\r\f\v]|\#[^\n]*)*")
_FLAGS: Final = re.compile(r"\(\?([aiLmsux]*)-?([imsx]*)([:)])")
# Braces that hold nothing are two signs.
_REPEATED: Final = re.compile(r"(?:([*+?])|\{(?=[0-9,])([0-9]*)(,?)([0-9]*)\})[?+]?")


@dataclass(slots=True)
class _Open:
    """A group that is being read: the ways of its finished alternatives and of the one at hand."""

    finished: int = 0
    ways: int = 1
    varies: bool = False
    is_spaced: bool = False

    @property
    def all_ways(self) -> int:
        return self.finished + self.ways

    def after_nothing(self, pattern: str, at: int) -> int:
        """Where in the pattern the next thing stands that is anything."""
        passed = (_NOTHING_IF_SPACED if self.is_spaced else _NOTHING).match(pattern, at)
        return passed.end() if passed else at


def ways_to_match(pattern: str) -> int | None:
    r"""How many ways there are at most to match a pattern; None where they grow without bound.

    >>> ways_to_match("[0-9]{4}"), ways_to_match("(made in )?italy"), ways_to_match("(a+)+b")
    (1, 2, None)
    >>> ways_to_match(r".*\bpat\b.*") == LONG_MARK
    True

    Raises:
        re.error: it is no pattern.
    """
    stack = [_Open()]
    captures = 0
    last_free = 1  # the ways of a repetition without end that nothing has followed yet
    at = stack[-1].after_nothing(pattern, 0)
    while piece := _PIECE.match(pattern, at):
        sign = piece.group()
        last_free = 1
        if sign == ")" and len(stack) == 1:
            return None
        if sign == "|":
            stack[-1].finished += stack[-1].ways
            stack[-1].ways, stack[-1].varies = 1, True
        elif sign.startswith("(") and not sign.startswith("(?P="):
            captures += sign == "(" or sign.startswith("(?P<")
            _open(stack, sign)
        else:
            group = stack.pop() if sign == ")" else _Open()
            at = stack[-1].after_nothing(pattern, piece.end())
            repeated = _REPEATED.match(pattern, at)
            least, most = _times(repeated)
            ways = _repeated_ways(group, least, most)
            if ways is None:
                return None
            stack[-1].ways *= ways
            stack[-1].varies |= group.varies or least != most
            if stack[-1].ways > MOST_WAYS * LONG_MARK:
                return None
            last_free = LONG_MARK if most is None and sign == "." else 1
            at = stack[-1].after_nothing(pattern, repeated.end() if repeated else at)
            continue
        at = stack[-1].after_nothing(pattern, piece.end())
    if at < len(pattern) or len(stack) > 1 or captures != re.compile(pattern).groups:
        return None
    return stack[0].finished + stack[0].ways // last_free


def _open(stack: list[_Open], sign: str) -> None:
    """Begin a group; what sets flags for the rest of the pattern opens none."""
    is_spaced = stack[-1].is_spaced
    if flags := _FLAGS.fullmatch(sign):
        on, off, end = flags.groups()
        is_spaced = (is_spaced or "x" in on) and "x" not in off
        if end == ")":
            stack[-1].is_spaced = is_spaced
            return
    stack.append(_Open(is_spaced=is_spaced))


def _times(repeated: re.Match[str] | None) -> tuple[int, int | None]:
    """How often at least and at most; None for a most without end."""
    if repeated is None:
        return 1, 1
    sign, least, comma, most = repeated.groups()
    if sign:
        return {"*": (0, None), "+": (1, None), "?": (0, 1)}[sign]
    first = int(least or 0)
    if not comma:
        return first, first
    return first, int(most) if most else None


def _repeated_ways(group: _Open, least: int, most: int | None) -> int | None:
    """The ways of a piece that is repeated so often; None where there is no end of them."""
    each = group.all_ways
    if most is None or most > LONG_MARK:
        return None if group.varies or each > 1 else LONG_MARK
    if each == 1:
        return most - least + 1
    ways = 0
    for times in range(least, most + 1):
        ways += each**times
        if ways > MOST_WAYS * LONG_MARK:
            return None
    return ways

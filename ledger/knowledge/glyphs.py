"""A mark as it is written down glyph for glyph, with its doubts.

``?`` stands for a glyph that cannot be read, ``[38]`` for one that is either of two. Everything
else stands for itself. A run of spaces counts as one, and the dashes of print as ``-``.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate, product
from math import prod

DIGITS = "0123456789"
SEPARATORS = " -."
_SEPARATORS = frozenset(SEPARATORS)
UNREADABLE = "?"
_DASHES = str.maketrans(dict.fromkeys("‐‑‒–—−", "-"))  # noqa: RUF001 - those are what is replaced


@dataclass(frozen=True, slots=True)
class Glyph:
    """One glyph as written, and the characters it may be (digits, where it cannot be read)."""

    written: str
    options: str

    @property
    def is_doubtful(self) -> bool:
        """Whether it may be more than one character."""
        return len(self.options) > 1

    def digits(self) -> str:
        """The digits it may be, in order."""
        return _digits_among(self.options)


@lru_cache(maxsize=4096)
def _digits_among(options: str) -> str:
    return "".join(sorted(option for option in options if option in DIGITS))


@lru_cache(maxsize=4096)
def _plain_glyph(character: str) -> Glyph:
    return Glyph(character, DIGITS if character == UNREADABLE else character)


# The readers of one mark all ask for its plain text and its glyphs, one after another.
@lru_cache(maxsize=64)
def collapsed(text: str) -> str:
    """The text with single spaces, none at its ends, and plain dashes."""
    return " ".join(text.translate(_DASHES).split())


@lru_cache(maxsize=64)
def read_glyphs(text: str) -> tuple[Glyph, ...]:
    """The glyphs of a mark, in order.

    A bracket that is not closed, or has nothing in it, stands for itself.

    >>> [glyph.options for glyph in read_glyphs("9[38]?")]
    ['9', '38', '0123456789']
    """
    plain = collapsed(text)
    found: list[Glyph] = []
    at = 0
    while at < len(plain):
        end = plain.find("]", at + 2) if plain[at] == "[" else -1
        inner = plain[at + 1 : end] if end > 0 else ""
        if inner and "[" not in inner:
            found.append(_either(inner))
            at = end + 1
        else:
            found.append(_plain_glyph(plain[at]))
            at += 1
    return tuple(found)


def _either(inner: str) -> Glyph:
    named = inner.replace(UNREADABLE, DIGITS).replace(" ", "").replace(",", "")
    options = "".join(dict.fromkeys(named))
    return Glyph(f"[{inner}]", options or inner)


def possible_count(glyphs: tuple[Glyph, ...]) -> int:
    """How many texts the glyphs allow."""
    return prod(len(glyph.options) for glyph in glyphs)


def possible_texts(glyphs: tuple[Glyph, ...]) -> Iterator[str]:
    """Every text the glyphs allow, in a fixed order; ask :func:`possible_count` first."""
    return ("".join(choice) for choice in product(*(glyph.options for glyph in glyphs)))


def figures_and_breaks(
    glyphs: tuple[Glyph, ...],
) -> tuple[tuple[Glyph, ...], tuple[int, ...]] | None:
    """The glyphs that may be digits, and after how many of them each separator stands.

    None where a glyph is neither, or where a separator (space, dash or stop) stands at an end or
    beside another.
    """
    figures: list[Glyph] = []
    breaks: list[int] = []
    for glyph in glyphs:
        if glyph.options in _SEPARATORS:
            if len(figures) == (breaks[-1] if breaks else 0):
                return None
            breaks.append(len(figures))
        elif glyph.digits():
            figures.append(glyph)
        else:
            return None
    if breaks and breaks[-1] == len(figures):
        return None
    return tuple(figures), tuple(breaks)


def digit_fields(glyphs: tuple[Glyph, ...], lengths: tuple[int, ...]) -> list[list[Glyph]] | None:
    """The glyphs divided into fields of digits of those lengths, or None where they do not fit.

    A separator may stand between two fields and nowhere else.
    """
    found = figures_and_breaks(glyphs)
    ends = tuple(accumulate(lengths))
    if found is None or len(found[0]) != ends[-1] or not set(found[1]) <= set(ends[:-1]):
        return None
    figures = found[0]
    return [list(figures[end - length : end]) for end, length in zip(ends, lengths, strict=True)]

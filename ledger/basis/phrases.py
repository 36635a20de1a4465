"""Find words of a list in what a person wrote: whole words, capitals and hyphens aside."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from typing import Final

_DOUBTING: Final = (
    "or",
    "not",
    "no",
    "never",
    "without",
    "perhaps",
    "possibly",
    "maybe",
    "probably",
    "looks like",
    "like",
    "imitation",
    "imitating",
    "simulated",
    "instead of",
    "unlike",
    "replaced",
)


@lru_cache(maxsize=4096)
def plain_words(text: str) -> str:
    """The words of a text with one space before, between and after them.

    >>> plain_words("Cross-recess screws, (4)")
    ' cross recess screws 4 '
    """
    kept = "".join(glyph if glyph.isalnum() else " " for glyph in text.casefold())
    return f" {' '.join(kept.split())} ".replace("  ", " ")


def phrase_in(text: str, phrases: Iterable[str]) -> str | None:
    """The first of the phrases that occurs in the text as whole words, or None.

    A phrase that ends in ``*`` also stands for longer words that begin so.

    >>> phrase_in("rosewood, by sight", ["ivory", "rosewood"])
    'rosewood'
    >>> phrase_in("transistorized", ["transistor"]), phrase_in("transistorized", ["transistor*"])
    (None, 'transistor*')
    """
    words = plain_words(text)
    return next((p for p in phrases if (sought := _sought(p)) in words and sought.strip()), None)


@lru_cache(maxsize=4096)
def _sought(phrase: str) -> str:
    words = plain_words(phrase)
    return words[:-1] if phrase.endswith("*") else words


def is_said_in_doubt(text: str) -> bool:
    """Whether the text denies, doubts or leaves a choice, so that a word in it asserts nothing.

    >>> is_said_in_doubt("celluloid or casein"), is_said_in_doubt("celluloid")
    (True, False)
    """
    return "?" in text or phrase_in(text, _DOUBTING) is not None

"""Ids for rows that were given none: the same for the same row each time it is read.

An id is made from what a row says first of all (where, of what), so that a changed reading
supersedes the earlier one and does not stand beside it. Rows that would share an id are numbered
in the order in which they stand.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import PurePosixPath
from typing import Final

_MOST: Final = 60
# From which fields an id is made, by section; the first that are filled, in this order.
_MADE_FROM: Final[Mapping[str, tuple[str, ...]]] = {
    "sources": ("title",),
    "exhibits": ("file",),
    "parts": ("position", "name"),
    "identity": ("what",),
    "marks": ("position", "part"),
    "measurements": ("position", "part", "quantity"),
    "features": ("position", "part", "feature"),
    "traces": ("positions", "parts", "trace"),
    "works": ("action", "positions"),
    "custody": ("begins",),
    "sightings": ("date",),
    "papers": ("paper",),
    "testimony": ("question", "event"),
    "non_values": ("positions", "what"),
    "questions": ("question",),
    "register_searches": ("register_name", "date"),
    "challenges": ("date",),
    "answers": ("challenge", "date"),
}
_ENDING: Final[Mapping[str, str]] = {"marks": "mark", "custody": "custody", "sightings": "seen"}


def id_part(text: str) -> str:
    """The text as small letters and digits joined by hyphens; dots within words stay.

    >>> id_part("Pot.1: Überwurf (neu)")
    'pot.1-uberwurf-neu'
    """
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
    kept = "".join(glyph if glyph.isalnum() or glyph == "." else " " for glyph in plain)
    words = [word.strip(".") for word in kept.split()]
    dotted = ["".join(part for part in _dots(word)) for word in words if word]
    return "-".join(dotted)[:_MOST].rstrip("-.")


def _dots(word: str) -> list[str]:
    """The word with runs of dots made one."""
    pieces = [piece for piece in word.split(".") if piece]
    return [".".join(pieces)]


@dataclass
class RowIds:
    """The ids of one sheet: those typed are taken first, those made keep clear of them."""

    taken: set[str] = field(default_factory=set)

    def reserve(self, name: str) -> None:
        """Note an id that was typed."""
        self.taken.add(name)

    def made(self, section: str, row: Mapping[str, str], wish: str = "") -> str:
        """An id for a row, near the wish if there is one, and no other row's."""
        base = wish or _base(section, row)
        name, count = base, 1
        while name in self.taken:
            count += 1
            name = f"{base}-{count}"
        self.taken.add(name)
        return name


def _base(section: str, row: Mapping[str, str]) -> str:
    words = []
    for name in _MADE_FROM.get(section, ()):
        text = row.get(name, "")
        if section == "exhibits":
            text = PurePosixPath(text).stem
        if text:
            words.append(id_part(text.split(",")[0] if name.endswith("s") else text))
    words.append(_ENDING.get(section, ""))
    base = "-".join(word for word in words if word)[:_MOST].rstrip("-.")
    return base or section.replace("_", "-").removesuffix("s")

"""The ids by which the lines of a sheet name one another.

Checked on the tree as typed, before the models see it, so that these faults are told together
with the others. An id may be typed short (``label``) or full (``my-mandolin/label``); the tree
that comes back has them short.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Final

from ledger.basis.modelfaults import did_you_mean
from ledger.basis.yamltext import Path, Tree, YamlTree, path_in_words, shortened
from ledger.errors import Fault
from ledger.models import SECTIONS

OBSERVATIONS: Final = tuple(
    name
    for name in SECTIONS
    if name
    not in (
        "sources",
        "exhibits",
        "parts",
        "works",
        "questions",
        "register_searches",
        "challenges",
        "answers",
    )
)
DISPUTED: Final = (*OBSERVATIONS, "works")
# The fields that name other lines, and the sections in which those can stand.
LINKS: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "source": ("sources",),
        "copied_from": ("sources",),
        "exhibits": ("exhibits",),
        "part": ("parts",),
        "parts": ("parts",),
        "removed": ("parts",),
        "explains": OBSERVATIONS,
        "lines": DISPUTED,
        "sources": ("sources",),
        "mark": ("marks",),
        "named_by": ("marks",),
        "challenge": ("challenges",),
    }
)
# How the sections of a field with several are called.
_WHERE: Final[Mapping[str, str]] = MappingProxyType(
    {"explains": "observations", "lines": "observations or works"}
)
MOST_COMPARED: Final = 1_000
# Taken by the ledger for the line that describes the instrument itself.
RESERVED: Final = frozenset({"instrument"})


def linked(tree: YamlTree) -> YamlTree:
    """The tree with every id short, and with the faults of its ids added to its own."""
    if not isinstance(tree.value, dict):
        return tree
    about = tree.value.get("instrument")
    own = about.get("id") if isinstance(about, dict) else None
    links = _Links(tree, own if isinstance(own, str) else None)
    value: dict[str, Tree] = dict(tree.value)
    for section in SECTIONS:
        given = value.get(section)
        if isinstance(given, list):
            value[section] = [
                links.take(section, (section, at), line) if isinstance(line, dict) else line
                for at, line in enumerate(given)
            ]
    links.check()
    return replace(tree, value=value, faults=(*tree.faults, *links.faults))


@dataclass(frozen=True, slots=True)
class _Link:
    """An id that names another line."""

    name: str
    field: str
    line: str
    path: Path


@dataclass
class _Links:
    """The ids of one sheet, taken line by line and then checked together."""

    tree: YamlTree
    instrument: str | None
    faults: list[Fault] = field(default_factory=list)
    _defined: dict[str, tuple[str, Path]] = field(default_factory=dict)
    _links: list[_Link] = field(default_factory=list)

    def take(self, section: str, path: Path, line: dict[str, Tree]) -> dict[str, Tree]:
        short: dict[str, Tree] = dict(line)
        own = line.get("id")
        name = ""
        if isinstance(own, str):
            name = self._short(own, (*path, "id")) or own
            short["id"] = name
            self._define(name, section, (*path, "id"))
        for key in LINKS:
            if key in SECTIONS[section].model_fields and key in line:
                short[key] = self._taken(line[key], key, name, (*path, key))
        return short

    def _taken(self, given: Tree, key: str, line: str, path: Path) -> Tree:
        if isinstance(given, str):
            name = self._short(given, path)
            if name is None:
                return given
            self._links.append(_Link(name, key, line, path))
            return name
        if isinstance(given, list):
            return [
                self._taken(each, key, line, (*path, at)) if isinstance(each, str) else each
                for at, each in enumerate(given)
            ]
        return given

    def _short(self, typed: str, path: Path) -> str | None:
        """The id without its instrument; None, and a fault, where that is another one."""
        book, slash, name = typed.strip().rpartition("/")
        if not slash or self.instrument is None or book == self.instrument:
            return name
        self._fault(
            path,
            f"{shortened(typed)}, which is of another instrument",
            f"a line of {self.instrument}",
            "A sheet speaks of one instrument only; say in words what it has to do with another",
        )
        return None

    def _define(self, name: str, section: str, path: Path) -> None:
        if name in RESERVED:
            advice = "Take another word"
            self._fault(
                path, f"the id {name!r}, which the ledger keeps", "an id of its own", advice
            )
        elif name in self._defined:
            first = self._defined[name][1]
            found = (
                f"the id {shortened(name)} again; it is also in line "
                f"{self.tree.place_of(first).line}, {path_in_words(first)}"
            )
            self._fault(path, found, "each id once in a sheet")
        else:
            self._defined[name] = (section, path)

    def check(self) -> None:
        """Add the faults of ids that lead nowhere, elsewhere, or back to themselves."""
        for link in self._links:
            sections = LINKS[link.field]
            other = self._defined.get(link.name)
            if other is not None and other[0] in sections and other[1][:2] != link.path[:2]:
                continue
            if link.name == link.line and link.field == "copied_from":
                continue  # a source that repeats itself is told as a circle
            known = [
                name
                for name, (section, path) in self._defined.items()
                if section in sections and path[:2] != link.path[:2]
            ]
            where = _WHERE.get(link.field, sections[0])
            if other is not None:
                found = f"{shortened(link.name)}, which is one of {other[0]}"
            else:
                found = f"{shortened(link.name)}, which is nowhere in this sheet"
            # In a very long sheet the search for what was meant would take longer than the reading.
            advice = did_you_mean(link.name, known) if len(known) <= MOST_COMPARED else ""
            self._fault(link.path, found, f"the id of one of {where}", advice)
        self._check_circles()

    def _check_circles(self) -> None:
        repeats = {link.line: link for link in self._links if link.field == "copied_from"}
        told: set[str] = set()
        for start, link in repeats.items():
            circle = list(_walk(start, repeats))
            if circle[-1] != start or start in told:
                continue
            told.update(circle)
            self._fault(
                link.path,
                f"a circle: {', which repeats '.join([start, *circle])}",
                "a source that repeats an earlier one",
                "Leave copied_from out at the one that was there first",
            )

    def _fault(self, path: Path, found: str, expected: str, advice: str = "") -> None:
        self.faults.append(self.tree.fault_at(path, found, expected, advice))


def _walk(start: str, repeats: Mapping[str, _Link]) -> Iterator[str]:
    """What ``start`` repeats, what that repeats, and so on until one comes again."""
    seen: set[str] = set()
    at = start
    while at in repeats and repeats[at].name not in seen:
        at = repeats[at].name
        seen.add(at)
        yield at

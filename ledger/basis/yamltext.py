"""YAML as plain text: every scalar stays what was typed, every place is known.

The usual reading of YAML turns ``no`` into false, ``1.10`` into 1.1 and ``0123`` into 83, and
lets the last of two equal keys win. Here nothing is turned into anything: a file becomes a tree
of mappings, lists and text, with the line and column of each, and whatever would make two
people read the file differently is a fault. Faults are gathered, so that one reading tells all.

The tree is built from the parser's events on a stack of our own, never by recursion: a file of
brackets cannot exhaust the machine's.
"""

from __future__ import annotations

import errno
import re
import stat
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path as FilePath
from typing import Any, Final, TypeAlias

import yaml

from ledger.basis.visible import visible
from ledger.errors import Fault, FaultsFound

Tree: TypeAlias = "str | list[Tree] | dict[str, Tree]"
Path: TypeAlias = tuple[str | int, ...]

GREATEST_DEPTH: Final = 20
GREATEST_SIZE_BYTES: Final = 5_000_000
MOST_CHARACTER_FAULTS: Final = 20
LONGEST_STEP: Final = 80  # characters of a key that are told

# Characters that do not show, that other programs take for an end of line, or that turn the
# direction of the text round so that it reads other than it is stored.
FORBIDDEN: Final = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069"
    "\ud800-\udfff\ufeff\ufffe\uffff]"
)
_LINE_END: Final = re.compile("\r\n|\r|\n")
_LOADER: Final[Any] = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """Where in the file something begins; both count from 1."""

    line: int
    column: int


@dataclass(frozen=True)
class YamlTree:
    """What a file says, as text.

    ``places`` has where each value begins, ``key_places`` where its key is written. ``faults``
    are those that left the rest readable; whoever uses the tree adds its own and raises.
    """

    file: str
    value: Tree
    places: Mapping[Path, Place]
    key_places: Mapping[Path, Place]
    faults: tuple[Fault, ...] = ()

    def place_of(self, path: Path) -> Place:
        """Where the value at ``path`` begins, or the nearest thing around it that is there."""
        while path not in self.places:
            path = path[:-1]
        return self.places[path]

    def key_place_of(self, path: Path) -> Place:
        """Where the key of ``path`` is written, or the nearest thing around it."""
        return self.key_places.get(path) or self.place_of(path)

    def fault_at(self, path: Path, found: str, expected: str, advice: str = "") -> Fault:
        """A fault in the value at ``path``."""
        place = self.place_of(path)
        return Fault(
            self.file, place.line, place.column, path_in_words(path), found, expected, advice
        )


def path_in_words(path: Path) -> str:
    """The path as a person counts, from 1.

    >>> path_in_words(("marks", 1, "text"))
    'marks[2].text'
    """
    words = ""
    for step in path:
        if isinstance(step, int):
            words += f"[{step + 1}]"
        else:
            name = visible(step[:LONGEST_STEP] + "…" * (len(step) > LONGEST_STEP))
            words += f".{name}" if words else name
    return words


def shortened(text: str, most: int = 80) -> str:
    """The text as it is quoted in a fault, in one line.

    >>> shortened("as it was  typed in", 12)
    "'as it was…'"
    """
    line = " ".join(text.split())
    return repr(line if len(line) <= most else line[: most - 3].rstrip() + "…")


def file_content(path: FilePath, most_bytes: int = GREATEST_SIZE_BYTES) -> bytes:
    """What the file holds; of one that is larger, a byte more than it may hold and no more.

    Raises:
        OSError: it cannot be read, or is a pipe or a device, which need have no end.
    """
    mode = path.stat().st_mode
    if not (stat.S_ISREG(mode) or stat.S_ISDIR(mode)):  # a folder is refused when it is opened
        raise OSError(errno.EINVAL, "A pipe or a device", str(path))
    with path.open("rb") as file:
        return file.read(most_bytes + 1)


def read_tree(content: bytes, file: str) -> YamlTree:
    """The tree in ``content``, with the faults that left it readable.

    Raises:
        FaultsFound: it cannot be read as one YAML document.
    """
    text = _decoded(content, file)
    faults = list(_character_faults(text, file))
    if faults:
        raise FaultsFound(faults)
    builder = _Builder(file)
    try:
        for event in yaml.parse(text, Loader=_LOADER):
            builder.take(event)
    except yaml.YAMLError as error:
        builder.faults.append(_syntax_fault(error, text, file))
        raise FaultsFound(builder.faults) from error
    if builder.root is None:
        advice = "Check that it is the right file"
        raise FaultsFound([Fault(file, 0, 0, "", "nothing", "one YAML document", advice)])
    return YamlTree(file, builder.root, builder.places, builder.key_places, tuple(builder.faults))


def _decoded(content: bytes, file: str) -> str:
    if len(content) > GREATEST_SIZE_BYTES:
        expected = f"at most {GREATEST_SIZE_BYTES:,} bytes"
        raise FaultsFound([Fault(file, 0, 0, "", "a larger file", expected)])
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = content[: error.start]
        line = before.count(b"\n") + 1
        column = error.start - before.rfind(b"\n")
        found = f"the byte {content[error.start]:#04x}, which is not UTF-8 here"
        advice = "Save the file again with the encoding UTF-8"
        fault = Fault(file, line, column, "", found, "text in UTF-8", advice)
        raise FaultsFound([fault]) from error


def _character_faults(text: str, file: str) -> Iterator[Fault]:
    for count, match in enumerate(FORBIDDEN.finditer(text)):
        if count == MOST_CHARACTER_FAULTS:
            return
        ends = list(_LINE_END.finditer(text, 0, match.start()))
        column = match.start() - (ends[-1].end() if ends else 0) + 1
        yield Fault(file, len(ends) + 1, column, "", *_forbidden(match.group()))


def _forbidden(character: str) -> tuple[str, str, str]:
    found = f"the character U+{ord(character):04X}, which does not show or misleads the eye"
    return found, "text that reads as it is stored", "Take the character out"


def _syntax_fault(error: yaml.YAMLError, text: str, file: str) -> Fault:
    mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    problem = getattr(error, "problem", None) or "something that cannot be read"
    context = getattr(error, "context", None)
    found = f"{problem} {context}" if context else problem
    line, column = (mark.line, mark.column) if mark is not None else (-1, -1)
    advice = "A value that holds ': ' or begins with a sign such as * & [ { ' needs quotes"
    lines = _LINE_END.split(text)
    if mark is not None and line < len(lines) and lines[line][column : column + 1] == "\t":
        advice = "Indent with spaces, not with tabs"
    return Fault(file, line + 1, column + 1, "", found, "YAML", advice)


@dataclass
class _Open:
    """A mapping or list that is being read; ``key`` is the one whose value comes next."""

    path: Path
    value: dict[str, Tree] | list[Tree]
    key: str | None = None


@dataclass
class _Builder:
    """Takes the parser's events one by one."""

    file: str
    root: Tree | None = None
    places: dict[Path, Place] = field(default_factory=dict)
    key_places: dict[Path, Place] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)
    _stack: list[_Open] = field(default_factory=list)
    _documents: int = 0
    _skipped: int = 0  # how many levels deep inside something that is read past

    def take(self, event: Any) -> None:  # noqa: ANN401 - PyYAML's events have no common type
        place = Place(event.start_mark.line + 1, event.start_mark.column + 1)
        if isinstance(event, yaml.DocumentStartEvent):
            self._documents += 1
            if self._documents > 1:
                self._fault(place, "a second document", "one document", "Make it a file of its own")
                raise FaultsFound(self.faults)
        elif isinstance(event, yaml.NodeEvent):
            self._take_node(event, place)
        elif isinstance(event, yaml.CollectionEndEvent):
            if self._skipped:
                self._skipped -= 1
            else:
                self._stack.pop()

    def _take_node(self, event: Any, place: Place) -> None:  # noqa: ANN401 - as above
        self._refuse_shorthand(event, place)
        if self._skipped:
            self._skipped += isinstance(event, yaml.CollectionStartEvent)
        elif self._is_at_key():
            self._take_key(event, place)
        elif isinstance(event, yaml.CollectionStartEvent):
            value: dict[str, Tree] | list[Tree]
            value = {} if isinstance(event, yaml.MappingStartEvent) else []
            path = self._put(value, place)
            if path is None:
                self._skipped = 1
                return
            self._stack.append(_Open(path, value))
            if len(self._stack) > GREATEST_DEPTH:
                found = f"something {len(self._stack)} levels deep"
                self._fault(place, found, f"at most {GREATEST_DEPTH} levels")
                raise FaultsFound(self.faults)
        else:
            self._put(self._text(event, place), place)

    def _refuse_shorthand(self, event: Any, place: Place) -> None:  # noqa: ANN401 - as above
        if isinstance(event, yaml.AliasEvent):
            self._fault(place, f"the alias *{event.anchor}", "the value itself", "Write it out")
        elif event.anchor is not None:
            advice = "Leave it out, and write the value out where it is repeated"
            self._fault(place, f"the anchor &{event.anchor}", "no anchors", advice)
        if getattr(event, "tag", None) is not None:
            found = f"the tag {shortened(event.tag)}"
            self._fault(place, found, "no tags: everything is text", "Leave it out")

    def _is_at_key(self) -> bool:
        return (
            bool(self._stack)
            and isinstance(self._stack[-1].value, dict)
            and self._stack[-1].key is None
        )

    def _take_key(self, event: Any, place: Place) -> None:  # noqa: ANN401 - as above
        top = self._stack[-1]
        if isinstance(event, yaml.ScalarEvent):
            key = self._text(event, place)
        else:  # its value is still read, under a name that no model knows
            self._skipped = int(isinstance(event, yaml.CollectionStartEvent))
            self._fault(place, "a key that is not text", "a word as the key")
            key = f"in line {place.line}, column {place.column}"
        top.key = key
        path = (*top.path, key)
        if isinstance(top.value, dict) and key in top.value:
            first = self.key_places[path]
            found = f"the key {shortened(key)} again; it is also in line {first.line}"
            self._fault(place, found, "each key once", "Keep one of them", path)
        else:
            self.key_places[path] = place

    def _text(self, event: Any, place: Place) -> str:  # noqa: ANN401 - as above
        text = str(event.value) if isinstance(event, yaml.ScalarEvent) else ""
        hidden = FORBIDDEN.search(text)  # an escape such as "\0" can still bring one in
        if hidden:
            self._fault(place, *_forbidden(hidden.group()))
        return text

    def _put(self, value: Tree, place: Place) -> Path | None:
        """Where the value went, or None if there is one already."""
        if not self._stack:
            self.root = value
            path: Path = ()
        elif isinstance(self._stack[-1].value, list):
            path = (*self._stack[-1].path, len(self._stack[-1].value))
            self._stack[-1].value.append(value)
        else:
            top = self._stack[-1]
            key, top.key = str(top.key), None
            path = (*top.path, key)
            if key in self._stack[-1].value:
                return None
            self._stack[-1].value[key] = value
        self.places[path] = place
        return path

    def _fault(
        self, place: Place, found: str, expected: str, advice: str = "", path: Path | None = None
    ) -> None:
        at = path if path is not None else (self._stack[-1].path if self._stack else ())
        words = path_in_words(at)
        self.faults.append(
            Fault(self.file, place.line, place.column, words, found, expected, advice)
        )

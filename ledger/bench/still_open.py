"""What a sheet withholds in one line and says openly in another.

Withholding goes by field: nothing looks through the rest of a sheet and takes the same words out
of it. So whoever withholds a serial number as a mark and names it in a note has published it. That
is pointed out here; only the owner can say which of the two was meant.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from ledger.bench.treatments import Notice
from ledger.models import SECTIONS, BenchSheet, Line, Model
from ledger.record.case import withheld_fields

# "C1624", "C 1624" and "c-1624" are the same number: letters and figures count, in their order.
_PIECE: Final = re.compile(r"[^\W\d_]+|\d+")
_FEWEST_SIGNS: Final = 4
_A_YEAR: Final = re.compile(r"1[789]\d\d|20\d\d")
# Of what is withheld in these, a long number by itself gives the whole away.
_NUMBERED: Final = frozenset({("marks", "text"), ("identity", "value")})
# A town is named for many reasons: the works stood there, or another owner lived there.
_NOT_LOOKED_FOR: Final = frozenset({("custody", "place")})
_NOT_LOOKED_THROUGH: Final = frozenset({"withhold", "date", "reads", "begins", "ends"})

# Fields that name somebody: "Hermione" or "Mrs Quillfeather" can give the whole name away.
_NAMING: Final = frozenset({"holder", "by"})
_A_NAME: Final = re.compile(r"[^\W\d_]{3,}")
_NO_NAMES: Final = frozenset(
    ("the", "and", "mrs", "miss", "sir", "dame", "lord", "lady", "herr", "frau", "madame")
)

_Pieces = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Hidden:
    line: str
    field: str
    pieces: _Pieces


def still_open(sheet: BenchSheet) -> tuple[Notice, ...]:
    """A notice for every withheld text that stands openly elsewhere in the sheet, once a place.

    A notice of a part of a name says that it may be one: a word can stand there by chance.
    """
    lines = [(section, line) for section in SECTIONS for line in getattr(sheet, section)]
    hidden = [each for section, line in lines for each in _hidden(section, line)]
    if not hidden:
        return ()
    bodies = [("instrument", _body(sheet.instrument))]
    for section, line in lines:
        kept = withheld_fields(section, line)
        body = {name: value for name, value in _body(line).items() if name not in kept}
        bodies.append((line.id, body))
    open_texts = [
        (place, _pieces_of(text)) for line, body in bodies for place, text in _texts(line, body)
    ]
    beginning: dict[str, list[_Hidden]] = {}
    for each in hidden:
        beginning.setdefault(each.pieces[0], []).append(each)
    found = {
        (each.line, each.field, place): None
        for place, text in open_texts
        for at, piece in enumerate(text)
        for each in beginning.get(piece, ())
        if text[at : at + len(each.pieces)] == each.pieces
    }
    parts = _parts(lines, bodies)
    whole = [
        Notice(
            line,
            f"{field} is withheld here, and the same stands openly in {place}. What is published "
            "would show it: withhold it there too, or say it in other words.",
        )
        for line, field, place in found
    ]
    possible = [
        Notice(
            line,
            f"{field} is withheld here, and a part of it may stand openly in {place}: a word of the "
            "name is written there. If it is the same person, withhold it there too, or say it in "
            "other words.",
        )
        for line, field, place in parts
        if (line, field, place) not in found
    ]
    return (*whole, *possible)


def _parts(
    lines: Iterable[tuple[str, Line]], bodies: Iterable[tuple[str, Mapping[str, Any]]]
) -> tuple[tuple[str, str, str], ...]:
    """Where a word of a withheld name stands openly: line and field of the name, and the place."""
    naming: dict[str, list[tuple[str, str]]] = {}
    for section, line in lines:
        kept = withheld_fields(section, line) & _NAMING
        for name, text in (_body(line) if kept else {}).items():
            if name in kept and isinstance(text, str):
                for word in _names_in(text):
                    naming.setdefault(word, []).append((line.id, name))
    found = {
        (line, name, place): None
        for of, body in bodies
        for place, text in _texts(of, body)
        for word in _names_in(text)
        for line, name in naming.get(word, ())
    }
    return tuple(found)


def _names_in(text: str) -> list[str]:
    """The words of a text that can be names: of three letters and more, with a capital."""
    words = (word for word in _A_NAME.findall(text) if word[0].isupper())
    return [word.casefold() for word in words if word.casefold() not in _NO_NAMES]


def _hidden(section: str, line: Line) -> Iterator[_Hidden]:
    kept = withheld_fields(section, line)
    body = _body(line) if kept else {}
    for name in sorted(kept & body.keys()):
        if (section, name) in _NOT_LOOKED_FOR:
            continue
        for _, text in _texts(line.id, {name: body[name]}):
            pieces = _pieces_of(text)
            if sum(map(len, pieces)) >= _FEWEST_SIGNS:
                yield _Hidden(line.id, name, pieces)
            if (section, name) in _NUMBERED:
                for piece in pieces:
                    is_long = piece.isdigit() and len(piece) >= _FEWEST_SIGNS
                    if is_long and not _A_YEAR.fullmatch(piece):
                        yield _Hidden(line.id, name, (piece,))


def _body(model: Model) -> dict[str, Any]:
    return model.model_dump(mode="json", exclude_defaults=True)


def _pieces_of(text: str) -> _Pieces:
    return tuple(_PIECE.findall(text.casefold()))


def _texts(line: str, body: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Every text in a body, with the place where it stands."""
    for name, value in body.items():
        if name not in _NOT_LOOKED_THROUGH:
            for text in _texts_in(value):
                yield f"{line}, {name}", text


def _texts_in(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, list):
        for each in value:
            yield from _texts_in(each)
    elif isinstance(value, dict):
        for each in value.values():
            yield from _texts_in(each)

"""What a sheet withholds in one line and says openly in another.

Withholding goes by field: nothing looks through the rest of a sheet and takes the same words out
of it. So whoever withholds a serial number as a mark and names it in a note has published it. That
is pointed out here; only the owner can say which of the two was meant.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
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

_Pieces = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Hidden:
    line: str
    field: str
    pieces: _Pieces


def still_open(sheet: BenchSheet) -> tuple[Notice, ...]:
    """A notice for every withheld text that stands openly elsewhere in the sheet, once a place."""
    lines = [(section, line) for section in SECTIONS for line in getattr(sheet, section)]
    hidden = [each for section, line in lines for each in _hidden(section, line)]
    if not hidden:
        return ()
    open_texts = [*_texts("instrument", _body(sheet.instrument))]
    for section, line in lines:
        kept = withheld_fields(section, line)
        body = {name: value for name, value in _body(line).items() if name not in kept}
        open_texts += _texts(line.id, body)
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
    return tuple(
        Notice(
            line,
            f"{field} is withheld here, and the same stands openly in {place}. What is published "
            "would show it: withhold it there too, or say it in other words.",
        )
        for line, field, place in found
    )


def _hidden(section: str, line: Line) -> Iterator[_Hidden]:
    kept = withheld_fields(section, line)
    body = _body(line) if kept else {}
    for name in sorted(kept & body.keys()):
        if (section, name) in _NOT_LOOKED_FOR:
            continue
        for _, pieces in _texts(line.id, {name: body[name]}):
            if sum(map(len, pieces)) >= _FEWEST_SIGNS:
                yield _Hidden(line.id, name, pieces)
            if (section, name) in _NUMBERED:
                for piece in pieces:
                    is_long = piece.isdigit() and len(piece) >= _FEWEST_SIGNS
                    if is_long and not _A_YEAR.fullmatch(piece):
                        yield _Hidden(line.id, name, (piece,))


def _body(model: Model) -> dict[str, Any]:
    return model.model_dump(mode="json", exclude_defaults=True)


def _texts(line: str, body: Mapping[str, Any]) -> Iterator[tuple[str, _Pieces]]:
    """Every text in a body, in its pieces, with the place where it stands."""
    for name, value in body.items():
        if name not in _NOT_LOOKED_THROUGH:
            for text in _texts_in(value):
                yield f"{line}, {name}", tuple(_PIECE.findall(text.casefold()))


def _texts_in(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, list):
        for each in value:
            yield from _texts_in(each)
    elif isinstance(value, dict):
        for each in value.values():
            yield from _texts_in(each)

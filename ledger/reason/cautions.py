"""Which cautions do the lines of a case call for?

Question answered: what can hurt somebody or break the law in what the lines speak of, by the
words in them, beside what the catalogue says of the positions.

Method: the words of a caution are data; they are sought as whole words in what was seen, measured,
traced, done and marked. Better one caution too many than one too few: a word that is denied or in
doubt counts as well.

Cost: linear in lines times cautions.

What it does not do: clear anything. That no caution is shown says nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from ledger.basis.phrases import phrase_in
from ledger.findings import PositionFinding
from ledger.knowledge.packs import Row
from ledger.models import Feature, Line, Mark, Measurement, NonValue, Part, Trace, Work
from ledger.reason.draft import Draft
from ledger.record.case import Recorded
from ledger.references import Caution

# The fields of each kind of line in which the words of a caution are sought.
SOUGHT_IN: dict[type[Line], tuple[str, ...]] = {
    Mark: ("text", "method", "note"),
    Measurement: ("quantity", "circuit", "note"),
    Feature: ("feature", "value", "note"),
    Trace: ("method", "note"),
    Work: ("materials", "destroyed", "note"),
    NonValue: ("what", "method", "why", "note"),
    Part: ("name", "note"),
}


# A caution with the places that the lines which call for it speak of.
Called = tuple[Row[Caution], tuple[str, ...]]


def cautions_of_lines(draft: Draft) -> list[Called]:
    """Every caution whose words occur in a line, with the places that those lines speak of."""
    texts = list(_texts(draft))
    # Most cautions are called for by nothing at all, which all the words together show at once.
    together = " | ".join(text for text, _ in texts)
    found: list[Called] = []
    for row in draft.packs.applying(Caution, draft.case.instrument):
        if phrase_in(together, row.row.words) is None:
            continue
        places: dict[str, None] = {}
        for text, at in texts:
            if phrase_in(text, row.row.words) is not None:
                places.update(dict.fromkeys(at))
        if places:
            found.append((row, tuple(places)))
    return found


def with_cautions(
    positions: tuple[PositionFinding, ...], called: Iterable[Called]
) -> tuple[PositionFinding, ...]:
    """The positions, each with the cautions that its lines call for after those of its own."""
    called_at: dict[str, list[str]] = {}
    for row, places in called:
        for place in places:
            called_at.setdefault(place, []).append(row.row.id)
    return tuple(
        replace(
            each,
            cautions=tuple(dict.fromkeys((*each.cautions, *called_at.get(each.position, ())))),
        )
        for each in positions
    )


def _texts(draft: Draft) -> Iterator[tuple[str, tuple[str, ...]]]:
    """The words of every line that speaks of a place, but for what is withheld."""
    for recorded in draft.case.lines.values():
        fields = SOUGHT_IN.get(type(recorded.line), ())
        shown = [recorded.shown(name) for name in fields if name not in recorded.withheld]
        places = places_of(recorded)
        if places:
            yield " | ".join(shown), places


def places_of(recorded: Recorded[Line]) -> tuple[str, ...]:
    """The positions that a line speaks of, and the removed parts as ``part/<id>``."""
    line = recorded.line
    if isinstance(line, Mark | Measurement | Feature):
        return (line.position if line.position is not None else f"part/{line.part}",)
    if isinstance(line, Trace):
        return (*line.positions, *(f"part/{part}" for part in line.parts))
    if isinstance(line, Work | NonValue):
        return line.positions
    return (f"part/{line.id}",) if isinstance(line, Part) else ()

"""General facts of law and technique: what bears such a mark is not older, or not younger.

Question answered: which bound does the wording, sign or address in a mark give. Each fact holds
by itself; where several give a bound from the same side, the strictest of those known at least
as surely is the one to use, and the others say so.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from ledger.basis.edtf import read_date
from ledger.basis.spans import Span, Spans
from ledger.knowledge.compiled import AnyOf
from ledger.knowledge.glyphs import collapsed
from ledger.knowledge.packs import Row
from ledger.knowledge.readings import MarkReading
from ledger.references import Fact

MOST_CHARACTERS = 400
_STOPS = re.compile(r"[.,;:'\"]")
_BREAKS = re.compile(r"[-/]")
_RANK = {"high": 2, "medium": 1, "low": 0}


@dataclass(frozen=True, slots=True)
class _Ready:
    """A fact with its reading made."""

    row: Row[Fact]
    reading: MarkReading


class Facts:
    """The facts of several packs, ready to read with; build once and keep."""

    def __init__(self, rows: Iterable[Row[Fact]]) -> None:
        self._facts = tuple(_Ready(row, _reading(row)) for row in rows)
        self._any = AnyOf((fact.row.row.mark for fact in self._facts), re.IGNORECASE)

    def readings(self, text: str) -> list[tuple[Row[Fact], MarkReading]]:
        """The reading by every fact that the mark fits, each with its row.

        Capitals do not count, nor do runs of spaces; a pattern is held against the mark with
        and without its stops and commas, dashes and strokes then being spaces.
        """
        if len(text) > MOST_CHARACTERS:
            return []
        plain = collapsed(text)
        bare = collapsed(_BREAKS.sub(" ", _STOPS.sub("", plain)))
        places = self._any.fitting(plain)
        if bare != plain:
            places = (*places, *self._any.fitting(bare))
        return [(self._facts[i].row, self._facts[i].reading) for i in sorted(set(places))]


def _reading(fact: Row[Fact]) -> MarkReading:
    row = fact.row
    earliest = read_date(row.not_before).spans.earliest if row.not_before else None
    latest = read_date(row.not_after).spans.latest if row.not_after else None
    ends = [f"not before {row.not_before}"] if row.not_before else []
    ends += [f"not after {row.not_after}"] if row.not_after else []
    return MarkReading(
        reading=f"{row.means}: {', '.join(ends)}",
        reason=f"{row.source}. {row.note}".strip(),
        source=row.source,
        reference=fact.id,
        spans=Spans.of([Span(earliest, latest)]),
        bears_on="made",
        is_plain=True,
        is_used=True,
        kind="fact",
    )


def strictest(readings: Sequence[MarkReading], confidences: Mapping[str, str]) -> list[MarkReading]:
    """The readings, each used only where no other that is as sure lies within its days.

    ``confidences`` tells how sure the row of each reference is.
    """
    used = [reading for reading in readings if reading.is_used]
    if len(used) < 2:
        return list(readings)
    found: list[MarkReading] = []
    for reading in readings:
        by = reading.is_used and next(
            (other for other in used if _governs(other, reading, confidences)), None
        )
        if by:
            reason = f"{reading.reason} Within it lies “{by.reading}”, which governs."
            found.append(replace(reading, is_used=False, reason=reason))
        else:
            found.append(reading)
    return found


def _governs(one: MarkReading, other: MarkReading, confidences: Mapping[str, str]) -> bool:
    if one is other or one.bears_on != other.bears_on or one.spans == other.spans:
        return False
    surer = _rank(one, confidences) >= _rank(other, confidences)
    return surer and one.spans.intersection(other.spans) == one.spans


def _rank(reading: MarkReading, confidences: Mapping[str, str]) -> int:
    return _RANK[confidences.get(reading.reference, "medium")]

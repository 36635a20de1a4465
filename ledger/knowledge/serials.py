"""Numbers read by the serial tables of packs: every number the mark may be, every range it is in.

Question answered: when was this number used. Ranges may overlap, and a figure in doubt may be
any: the answer is the union, and no date is drawn where any of them is outside every range. A
number outside every range is told as that and is no proof.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

from ledger.basis.edtf import DateStatement, read_date
from ledger.basis.spans import NO_DAY, Spans
from ledger.knowledge.glyphs import Glyph, possible_count, possible_texts, read_glyphs
from ledger.knowledge.packs import Row
from ledger.knowledge.readings import MarkReading
from ledger.references import SerialTable

MOST_NUMBERS = 1000
Bearing = Literal["made", "completed"]


@dataclass(frozen=True, slots=True)
class Numbers:
    """A serial table made ready to read with."""

    row: Row[SerialTable]
    pattern: re.Pattern[str]
    ranges: tuple[tuple[int, int, DateStatement], ...]

    @classmethod
    def of(cls, row: Row[SerialTable]) -> Numbers:
        """The table with its pattern compiled and its dates read."""
        ranges = tuple((r.first, r.last, read_date(r.date)) for r in row.row.ranges)
        return cls(row, re.compile(row.row.pattern), ranges)

    def number(self, text: str) -> int | None:
        """The number in a mark of that pattern: its group, or the whole where it has none."""
        match = self.pattern.fullmatch(text)
        if match is None:
            return None
        groups = self.pattern.groupindex
        written = match["number"] if "number" in groups else match[1] if match.re.groups else text
        digits = re.sub(r"[ ,.]", "", written or "")
        usable = digits.isascii() and digits.isdigit() and len(digits) <= 15
        return int(digits) if usable else None

    def is_at(self, position: str | None) -> bool:
        """Whether the table speaks of marks in that position."""
        return not self.row.row.positions or position in self.row.row.positions


def serial_readings(
    text: str, table: Numbers, bears_on: Bearing | None = None
) -> list[MarkReading]:
    """The reading by one serial table; none where the mark is not of its pattern."""
    glyphs = read_glyphs(text)
    if possible_count(glyphs) > MOST_NUMBERS:
        return _illegible(glyphs, table, bears_on)
    found = {table.number(text) for text in possible_texts(glyphs)}
    numbers = sorted(number for number in found if number is not None)
    if not numbers:
        return []
    known = {
        number: [date for first, last, date in table.ranges if first <= number <= last]
        for number in numbers
    }
    outside = [number for number, dates in known.items() if not dates]
    spans = Spans.of(span for dates in known.values() for date in dates for span in date.spans)
    reading = _numbers_in_words(numbers)
    name = table.row.id
    if len(outside) == len(numbers):
        reason = (
            f"{reading.capitalize()} is outside every range of {name}. Such tables are put "
            "together from what has been seen: this is no date, and no proof of anything else."
        )
    else:
        names = ", ".join(_names(known.values()))
        reason = f"By {name} {reading} was used in {names}."
        if outside:
            many = len(outside)
            reason += (
                f" {many} of the numbers that fit {'is' if many == 1 else 'are'} outside every "
                "range, so no date is drawn from it."
            )
    number = numbers[0] if len(numbers) == 1 else None
    read = _by_table(table, reading, reason, spans, (bears_on, number))
    return [replace(read, is_used=read.is_used and not outside)]


def _illegible(
    glyphs: tuple[Glyph, ...], table: Numbers, bears_on: Bearing | None
) -> list[MarkReading]:
    likeness = "".join(glyph.options[0] for glyph in glyphs)
    if table.number(likeness) is None:
        return []
    reason = (
        f"The mark has the form of {table.row.id}, but too little of it is legible: "
        f"more than {MOST_NUMBERS} numbers fit."
    )
    return [_by_table(table, "number not legible", reason, NO_DAY, (bears_on, None))]


def _names(dates: Iterable[list[DateStatement]]) -> list[str]:
    return list(dict.fromkeys(date.text for several in dates for date in several))


def _numbers_in_words(numbers: list[int]) -> str:
    if len(numbers) == 1:
        return f"number {numbers[0]}"
    return f"one of {len(numbers)} numbers from {numbers[0]} to {numbers[-1]}"


def _by_table(
    table: Numbers,
    reading: str,
    reason: str,
    spans: Spans,
    bears_on_and_number: tuple[Bearing | None, int | None],
) -> MarkReading:
    bears_on, number = bears_on_and_number
    return MarkReading(
        reading=reading,
        reason=reason,
        source=table.row.row.source,
        reference=table.row.id,
        spans=spans,
        bears_on=bears_on or table.row.row.bears_on,
        is_plain=True,
        is_used=bool(spans),
        number=number,
        kind="serial",
    )

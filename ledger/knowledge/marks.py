"""Read a mark: everything that the packs make of it, each way with its reason.

A mark is read by a date it states in words, by the serial tables that fit, by the layouts of
source-date codes and by general facts of law and technique. Several readings are normal; a mark
that nothing reads has none. Nothing here knows what the instrument is expected to be.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Literal, TypeVar

from ledger.basis.edtf import DateStatement, read_date
from ledger.basis.spans import NO_DAY, Span, Spans
from ledger.knowledge.glyphs import collapsed, possible_count, possible_texts, read_glyphs
from ledger.knowledge.packs import Packs, Row
from ledger.knowledge.source_dates import MarkReading, source_date_readings
from ledger.models import Instrument, Mark
from ledger.references import (
    CataloguePosition,
    Fact,
    MarkLayout,
    MatchingNumbers,
    Reference,
    SerialTable,
)

__all__ = ["MarkReading", "mark_readings", "source_date_readings"]

MOST_NUMBERS = 1000
NO_SCHEME = "none"
SOURCE_DATE_SCHEME = "source-date"

_STOPS = re.compile(r"[.,;:'\"]")
_BREAKS = re.compile(r"[-/]")

Bearing = Literal["made", "completed"]
R = TypeVar("R", bound=Reference)


def mark_readings(
    mark: Mark, position: CataloguePosition | None, packs: Packs, instrument: Instrument
) -> tuple[MarkReading, ...]:
    """Every way to read the mark, in a fixed order; empty where nothing reads it.

    A ``scheme`` restricts the reading: to the row it names, to source-date codes
    (``source-date``), or to no scheme at all (``none``). Source-date codes are tried only where
    a date is that of the part itself and neither a date in words nor a serial table has been
    found. The days of a date in words are as written, without any allowance.
    """
    bears_on: Bearing = mark.bears_on or (position.marks_date if position else "made")
    found = [_written_date(mark, bears_on)] if mark.reads is not None else []
    if mark.scheme is not None:
        return (*found, *_by_scheme(mark, packs, instrument))
    for table in packs.applying(SerialTable, instrument):
        if _is_at(table.row.positions, position):
            found += _serial_reading(mark, table)
    if not found and bears_on == "made":
        layouts = packs.applying(MarkLayout, instrument)
        found += source_date_readings(mark.text, packs, layouts)
    for fact in packs.applying(Fact, instrument):
        if _is_at(fact.row.positions, position):
            found += _fact_reading(mark, fact)
    return tuple(found)


def _by_scheme(mark: Mark, packs: Packs, instrument: Instrument) -> tuple[MarkReading, ...]:
    scheme = mark.scheme or NO_SCHEME
    if scheme == NO_SCHEME:
        return ()
    if scheme == SOURCE_DATE_SCHEME:
        layouts = packs.applying(MarkLayout, instrument)
        return source_date_readings(mark.text, packs, layouts)
    tables = _named(packs.rows(SerialTable), scheme)
    layouts = _named(packs.rows(MarkLayout), scheme)
    facts = _named(packs.rows(Fact), scheme)
    if not (tables or layouts or facts or _named(packs.rows(MatchingNumbers), scheme)):
        reason = f"No pack at hand has a scheme named {scheme!r}, so the mark is not read."
        return (
            MarkReading(
                reading="not read",
                reason=reason,
                source="",
                reference="",
                spans=NO_DAY,
                bears_on=None,
                is_plain=True,
                is_used=False,
                kind="none",
            ),
        )
    return (
        *(reading for table in tables for reading in _serial_reading(mark, table)),
        *(source_date_readings(mark.text, packs, layouts) if layouts else ()),
        *(reading for fact in facts for reading in _fact_reading(mark, fact)),
    )


def _named(rows: Iterable[Row[R]], scheme: str) -> tuple[Row[R], ...]:
    return tuple(found for found in rows if scheme in (found.row.id, found.id))


def _is_at(positions: tuple[str, ...], position: CataloguePosition | None) -> bool:
    return not positions or (position is not None and position.id in positions)


def _written_date(mark: Mark, bears_on: Bearing) -> MarkReading:
    statement = read_date(mark.reads or "")
    return MarkReading(
        reading=statement.text,
        reason=f"The mark states the date {statement.text} in its own words or figures.",
        source="the mark itself, as recorded",
        reference="",
        spans=statement.spans,
        bears_on=bears_on,
        is_plain=True,
        is_used=True,
        kind="written",
    )


def _serial_reading(mark: Mark, table: Row[SerialTable]) -> list[MarkReading]:
    """The reading by one serial table; none where the mark is not of its pattern."""
    glyphs = read_glyphs(mark.text)
    pattern = re.compile(table.row.pattern)
    if possible_count(glyphs) > MOST_NUMBERS:
        likeness = "".join(glyph.options[0] for glyph in glyphs)
        if _number(pattern, likeness) is None:
            return []
        reason = (
            f"The mark has the form of {table.id}, but too little of it is legible: "
            f"more than {MOST_NUMBERS} numbers fit."
        )
        return [_by_table(mark, table, "number not legible", reason, NO_DAY)]
    texts = possible_texts(glyphs)
    numbers = sorted({n for n in (_number(pattern, text) for text in texts) if n is not None})
    if not numbers:
        return []
    known = {
        number: [read_date(r.date) for r in table.row.ranges if r.first <= number <= r.last]
        for number in numbers
    }
    outside = [number for number, dates in known.items() if not dates]
    spans = _union(date for dates in known.values() for date in dates)
    reading = _numbers_in_words(numbers)
    if len(outside) == len(numbers):
        reason = (
            f"{reading.capitalize()} is outside every range of {table.id}. Such tables are put "
            "together from what has been seen: this is no date, and no proof of anything else."
        )
    else:
        names = ", ".join(dict.fromkeys(d.text for dates in known.values() for d in dates))
        reason = f"By {table.id} {reading} was used in {names}."
        if outside:
            reason += f" {len(outside)} of the numbers that fit are outside every range."
    number = numbers[0] if len(numbers) == 1 else None
    return [_by_table(mark, table, reading, reason, spans, number)]


def _number(pattern: re.Pattern[str], text: str) -> int | None:
    """The number in a mark of that pattern: its group, or the whole where it has none."""
    match = pattern.fullmatch(text)
    if match is None:
        return None
    digits = re.sub(r"[ ,.]", "", (match.group(1) if pattern.groups else text) or "")
    usable = digits.isascii() and digits.isdigit() and len(digits) <= 15
    return int(digits) if usable else None


def _numbers_in_words(numbers: list[int]) -> str:
    if len(numbers) == 1:
        return f"number {numbers[0]}"
    return f"one of {len(numbers)} numbers from {numbers[0]} to {numbers[-1]}"


def _by_table(
    mark: Mark,
    table: Row[SerialTable],
    reading: str,
    reason: str,
    spans: Spans,
    number: int | None = None,
) -> MarkReading:
    return MarkReading(
        reading=reading,
        reason=reason,
        source=table.row.source,
        reference=table.id,
        spans=spans,
        bears_on=mark.bears_on or table.row.bears_on,
        is_plain=True,
        is_used=bool(spans),
        number=number,
        kind="serial",
    )


def _union(dates: Iterable[DateStatement]) -> Spans:
    return Spans.of(span for date in dates for span in date.spans)


def _fact_reading(mark: Mark, fact: Row[Fact]) -> list[MarkReading]:
    """The reading by one general fact; it bounds the part that bears the mark.

    Capitals do not count, nor do runs of spaces; the pattern is held against the mark with
    and without its stops and commas, dashes and strokes then being spaces.
    """
    pattern = re.compile(fact.row.mark, re.IGNORECASE)
    plain = collapsed(mark.text)
    bare = collapsed(_BREAKS.sub(" ", _STOPS.sub("", plain)))
    if not (pattern.fullmatch(plain) or pattern.fullmatch(bare)):
        return []
    earliest = read_date(fact.row.not_before).spans.earliest if fact.row.not_before else None
    latest = read_date(fact.row.not_after).spans.latest if fact.row.not_after else None
    ends = [f"not before {fact.row.not_before}"] if fact.row.not_before else []
    ends += [f"not after {fact.row.not_after}"] if fact.row.not_after else []
    return [
        MarkReading(
            reading=f"{fact.row.means}: {', '.join(ends)}",
            reason=f"{fact.row.source}. {fact.row.note}".strip(),
            source=fact.row.source,
            reference=fact.id,
            spans=Spans.of([Span(earliest, latest)]),
            bears_on="made",
            is_plain=True,
            is_used=True,
            kind="fact",
        )
    ]

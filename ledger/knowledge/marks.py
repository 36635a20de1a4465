"""Read a mark: everything that the packs make of it, each way with its reason.

A mark is read by a date it states in words, by the serial tables that fit, by the layouts of
source-date codes, by the ways in which dates are stamped or coded, and by patents and general
facts of law and technique. Several readings are normal; a mark that nothing reads has none.
Nothing here knows what the instrument is expected to be.

There are two doors. :func:`mark_readings` is for a recorded mark, and keeps to what the place it
is in allows. :func:`read_mark` is for a person with a mark in hand: it lists everything that
fits, used or not.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final, Literal, TypeVar

from ledger.basis.edtf import DateUnreadable, read_date
from ledger.basis.spans import NO_DAY
from ledger.knowledge.colour_bands import colour_readings
from ledger.knowledge.component_values import ValueSigns, code_readings
from ledger.knowledge.facts import Facts, strictest
from ledger.knowledge.packs import Packs, Row, is_within_scope
from ledger.knowledge.patents import PatentTable, patent_readings
from ledger.knowledge.production_codes import DateCodes
from ledger.knowledge.readings import MarkReading, ValueReading
from ledger.knowledge.serials import Numbers, serial_readings
from ledger.knowledge.source_dates import Place, source_date_readings
from ledger.knowledge.tree_rings import TREE_RING_SCHEME, speaks_of_rings, tree_ring_reading
from ledger.models import Instrument, Mark
from ledger.references import (
    CataloguePosition,
    DateCode,
    Fact,
    MarkLayout,
    MatchingNumbers,
    PatentYear,
    Practice,
    Reference,
    SerialTable,
    ValueSign,
)

__all__ = ["MarkReading", "mark_readings", "read_mark", "read_value", "source_date_readings"]

NO_SCHEME = "none"
SOURCE_DATE_SCHEME = "source-date"
EDTF_SCHEME = "edtf"
PATENT_SCHEME = "patent"
RING_PRACTICE = "lag-growth-ring-years"

_TYPED_DATE = re.compile(r"[0-9XYES?~%/.,:TZ+\[\]{}-]{4,200}")

Bearing = Literal["made", "completed"]
R = TypeVar("R", bound=Reference)


@dataclass(frozen=True, slots=True)
class _Readers:
    """Everything that reads marks of one kind, maker and model, made ready."""

    tables: tuple[Numbers, ...]
    layouts: tuple[Row[MarkLayout], ...]
    codes: DateCodes
    facts: Facts
    patents: PatentTable
    signs: ValueSigns
    letter_positions: frozenset[str]
    confidences: dict[str, str]


@lru_cache(maxsize=64)
def _readers_of(packs: Packs, kind: str | None, maker: str, model: str) -> _Readers:
    """The readers whose rows speak of such an instrument; without a kind, of any kind."""

    def applying(rows: Iterable[Row[R]]) -> tuple[Row[R], ...]:
        return tuple(row for row in rows if _speaks_of(row.row, kind, maker, model))

    layouts = applying(packs.rows(MarkLayout))
    facts = applying(packs.rows(Fact))
    years = applying(packs.rows(PatentYear))
    return _Readers(
        tables=tuple(Numbers.of(row) for row in applying(packs.rows(SerialTable))),
        layouts=layouts,
        codes=DateCodes(applying(packs.rows(DateCode))),
        facts=Facts(facts),
        patents=PatentTable(years),
        signs=_signs_of(packs),
        letter_positions=frozenset(name for row in layouts for name in row.row.positions),
        confidences={
            **{row.id: row.row.confidence for row in facts},
            **{row.id: row.row.confidence for row in years},
        },
    )


def _speaks_of(row: Reference, kind: str | None, maker: str, model: str) -> bool:
    of_kind = kind or (row.scope.kinds[0] if row.scope.kinds else "any")
    # Not held against the model: what somebody asks for is no line of a sheet.
    asked = Instrument.model_construct(id="any", kind=of_kind, name="any", maker=maker, model=model)
    return is_within_scope(row, asked)


@lru_cache(maxsize=8)
def _signs_of(packs: Packs) -> ValueSigns:
    return ValueSigns(packs.rows(ValueSign))


def mark_readings(
    mark: Mark, position: CataloguePosition | None, packs: Packs, instrument: Instrument
) -> tuple[MarkReading, ...]:
    """Every way to read the mark, in a fixed order; empty where nothing reads it.

    A ``scheme`` restricts the reading: to the row it names, to source-date codes
    (``source-date``), to a date of the standard format (``edtf``), to patents (``patent``), to
    the last ring of wood (``tree-rings``), or to no scheme at all (``none``). Source-date codes
    and coded dates are tried only where a date is that of the part itself and neither a date in
    words nor a serial table has been found. The days of a date in words are as written, without
    any allowance. Candidates that no date is drawn from are given only beside others of their
    kind, or where a source-date code or a number is to be read again.
    """
    bears_on: Bearing = mark.bears_on or (position.marks_date if position else "made")
    readers = _readers_of(packs, instrument.kind, instrument.maker, instrument.model)
    if mark.scheme == TREE_RING_SCHEME:
        return (_by_rings(mark.text, mark.reads, packs),)
    found = [_written_date(mark.reads, bears_on)] if mark.reads is not None else []
    if mark.scheme is not None:
        return (*found, *_by_scheme(mark.text, mark.scheme, mark.bears_on, packs, readers))
    at = position.id if position else None
    for table in readers.tables:
        if table.is_at(at):
            found += serial_readings(mark.text, table, mark.bears_on)
    if not found:
        found += _dated_by_code(mark.text, readers, packs, (at, bears_on))
    found += _facts(mark.text, readers, at)
    return tuple(found)


def layouts_at(
    mark: Mark, position: CataloguePosition | None, packs: Packs, instrument: Instrument
) -> tuple[tuple[Row[MarkLayout], ...], str | None] | None:
    """The layouts of source-date codes that are tried on such a mark, and where it is for them.

    None where something else may come before them, so that the mark has to be read as a whole.
    """
    readers = _readers_of(packs, instrument.kind, instrument.maker, instrument.model)
    if mark.scheme == SOURCE_DATE_SCHEME:
        return readers.layouts, None
    at = position.id if position else None
    bears_on = mark.bears_on or (position.marks_date if position else "made")
    is_first = mark.scheme is None and mark.reads is None and bears_on == "made"
    if not is_first or any(table.is_at(at) for table in readers.tables):
        return None
    return readers.layouts, at or ""


def _dated_by_code(
    text: str, readers: _Readers, packs: Packs, place: tuple[str | None, Bearing]
) -> list[MarkReading]:
    """Source dates and coded dates of a mark in a known place."""
    at, bears_on = place
    found: list[MarkReading] = []
    if bears_on == "made":
        where = Place(at or "", takes_letters=at in readers.letter_positions)
        found += source_date_readings(text, packs, readers.layouts, where)
    is_taken = any(reading.is_used for reading in found)
    for row, reading in readers.codes.readings(text):
        is_meant = row.row.bears_on is not None or bears_on == "made"
        if is_meant and _may_be_used(row.row, at):
            gives_way = is_taken and row.row.used != "anywhere"
            found.append(_decided(reading, text, readers, is_taken=gives_way))
    return found


def _may_be_used(code: DateCode, at: str | None) -> bool:
    is_there = not code.positions or at in code.positions
    return code.used != "by scheme" and is_there


def _decided(reading: MarkReading, text: str, readers: _Readers, *, is_taken: bool) -> MarkReading:
    """The coded date, used unless it gives way to a source-date code or to a value."""
    if is_taken:
        why = "A source-date code reads the mark, so this is not used."
    elif not reading.spans:
        return reading
    elif _is_value(text, readers.signs):
        why = "It can as well be a value, so it is not used."
    else:
        return reading.as_used()
    return replace(reading, reason=f"{reading.reason} {why}")


@lru_cache(maxsize=64)
def _is_value(text: str, signs: ValueSigns) -> bool:
    return bool(code_readings(text, signs))


def _facts(text: str, readers: _Readers, at: str | None) -> list[MarkReading]:
    """Facts and patents that the mark tells, the strictest of them used."""
    given = [
        reading
        for row, reading in readers.facts.readings(text)
        if not row.row.positions or at in row.row.positions
    ]
    given += patent_readings(text, readers.patents)
    return strictest(given, readers.confidences)


def _by_rings(text: str, reads: str | None, packs: Packs) -> MarkReading:
    rows = {row.row.id: row.row for row in packs.rows(Practice)}
    return tree_ring_reading(text, reads, rows.get(RING_PRACTICE))


def _by_scheme(
    text: str, scheme: str, bears_on: Bearing | None, packs: Packs, readers: _Readers
) -> tuple[MarkReading, ...]:
    if scheme == NO_SCHEME:
        return ()
    if scheme == SOURCE_DATE_SCHEME:
        place = Place(None, takes_letters=True)
        return source_date_readings(text, packs, readers.layouts, place)
    if scheme == EDTF_SCHEME:
        return tuple(_typed_date(text, bears_on or "made"))
    if scheme == PATENT_SCHEME:
        return tuple(patent_readings(text, readers.patents))
    tables = _named(packs.rows(SerialTable), scheme)
    layouts = _named(packs.rows(MarkLayout), scheme)
    facts = _named(packs.rows(Fact), scheme)
    codes = _named(packs.rows(DateCode), scheme)
    if not (tables or layouts or facts or codes or _named(packs.rows(MatchingNumbers), scheme)):
        return (_unknown_scheme(scheme),)
    by_codes = DateCodes(codes).readings(text) if codes else []
    return (
        *(r for row in tables for r in serial_readings(text, Numbers.of(row), bears_on)),
        *(source_date_readings(text, packs, layouts) if layouts else ()),
        *(
            replace(r, is_used=bool(r.spans), bears_on=bears_on or row.row.bears_on or "made")
            for row, r in by_codes
        ),
        *(reading for _, reading in Facts(facts).readings(text)),
    )


def _unknown_scheme(scheme: str) -> MarkReading:
    return MarkReading(
        reading="not read",
        reason=f"No pack at hand has a scheme named {scheme!r}, so the mark is not read.",
        source="",
        reference="",
        spans=NO_DAY,
        bears_on=None,
        is_plain=True,
        is_used=False,
        kind="none",
    )


def _named(rows: Iterable[Row[R]], scheme: str) -> tuple[Row[R], ...]:
    return tuple(found for found in rows if scheme in (found.row.id, found.id))


def _written_date(reads: str, bears_on: Bearing) -> MarkReading:
    statement = read_date(reads)
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


def _typed_date(text: str, bears_on: Bearing) -> list[MarkReading]:
    """The date that a mark in the standard format states; none where it is of no such format."""
    plain = text.strip()
    if not _TYPED_DATE.fullmatch(plain):
        return []
    try:
        return [_written_date(plain, bears_on)]
    except DateUnreadable:
        return []


@dataclass(frozen=True, slots=True)
class Made:
    """Whose something is, and of which model; an empty one is not told."""

    maker: str = ""
    model: str = ""


OF_NO_MAKER: Final = Made()


def read_mark(
    text: str,
    packs: Packs,
    kind: str | None = None,
    position: str | None = None,
    made: Made = OF_NO_MAKER,
    scheme: str | None = None,
) -> tuple[MarkReading, ...]:
    """Everything that reads a mark in hand, used or not, in a fixed order.

    Args:
        text: the mark glyph for glyph, ``?`` for one that cannot be read, ``[38]`` for either.
        packs: what is known.
        kind: the kind of instrument; without it, rows for any kind are tried.
        position: where the mark is; without it, rows are tried wherever they belong.
        made: whose tables to try, besides those of no maker; those of one model only where it
            is told.
        scheme: as in a sheet.

    Raises:
        UnknownName: no pack describes that kind.
    """
    view = packs.catalogue(kind) if kind else None
    row = view.find(position) if view and position else None
    if not text.strip():
        return ()
    if scheme == TREE_RING_SCHEME:
        return (_by_rings(text.strip(), None, packs),)
    if scheme is not None:
        of_kind = _readers_of(packs, kind or "any", made.maker, made.model)
        return _by_scheme(text.strip(), scheme, None, packs, of_kind)
    at = row.id if row else (position or "").partition(".")[0] or None
    readers = _readers_of(packs, kind, made.maker, made.model)
    bears_on: Bearing = row.marks_date if row else "made"
    found: list[MarkReading] = []
    for table in readers.tables:
        if at is None or table.is_at(at):
            found += serial_readings(text, table)
    place = Place(at, takes_letters=at is None or at in readers.letter_positions)
    found += source_date_readings(text, packs, readers.layouts, place)
    found += _coded(text, readers, at, is_taken=any(r.is_used for r in found))
    if not any(reading.kind == "date code" and reading.spans for reading in found):
        is_free = not any(reading.is_used for reading in found)
        found += [
            replace(r, is_used=is_free)
            for r in _typed_date(text, bears_on)
            if "-" in text or is_free
        ]
    if speaks_of_rings(text):
        found.append(_by_rings(text, None, packs))
    return (*found, *_facts_anywhere(text, readers, at))


def _coded(text: str, readers: _Readers, at: str | None, *, is_taken: bool) -> list[MarkReading]:
    found: list[MarkReading] = []
    for row, reading in readers.codes.readings(text):
        code = row.row
        if at is None and code.used == "at positions":
            where = ", ".join(name.replace("-", " ") for name in code.positions)
            why = f"A date is drawn from it only at these places: {where}."
        elif code.used == "by scheme":
            why = f"A date is drawn from it only where the mark names the scheme {code.id}."
        elif not _may_be_used(code, at):
            why = "Such codes are not expected in this place."
        else:
            gives_way = is_taken and code.used != "anywhere"
            found.append(_decided(reading, text, readers, is_taken=gives_way))
            continue
        found.append(replace(reading, reason=f"{reading.reason} {why}"))
    return found


def _facts_anywhere(text: str, readers: _Readers, at: str | None) -> list[MarkReading]:
    if at is not None:
        return _facts(text, readers, at)
    given = [reading for _, reading in readers.facts.readings(text)]
    given += patent_readings(text, readers.patents)
    return strictest(given, readers.confidences)


def read_value(text: str, packs: Packs) -> tuple[ValueReading, ...]:
    """Every value that a letter code, old wording or row of colours may mean, in a fixed order."""
    signs = _signs_of(packs)
    return (*code_readings(text, signs), *colour_readings(text, signs))

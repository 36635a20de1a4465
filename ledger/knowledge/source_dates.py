"""Source-date codes: who made a component, and in which week.

Question answered: which weeks may a code such as 912 629 mean. A code divides into the source,
one or two digits of the year, and two of the week; how, the rows of mark layouts say. Every
year that ends in the digits is a candidate: nothing here prefers a decade. A week becomes days
by the rules of :mod:`ledger.basis.spans`.

What it does not do: it never guesses. A week that cannot be (00, 54 to 99) gives no date; what
a single misread glyph would make of it is listed beside it, to be looked at on the object.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import product
from typing import Literal

from ledger.basis.spans import NO_DAY, REGISTER_RULES, Spans, register_week
from ledger.knowledge.glyphs import DIGITS, Glyph, digit_fields, read_glyphs
from ledger.knowledge.packs import Packs, Row
from ledger.references import Confusion, MarkLayout, SourceCode

MOST_DOUBTFUL = 3
MOST_SEPARATE = 24
MOST_GLYPHS = 40
GREATEST_WEEK = 53
MOST_NAMED = 6

ReadingKind = Literal["written", "serial", "source date", "fact", "none"]


@dataclass(frozen=True, slots=True)
class MarkReading:
    """One way to read a mark.

    Readings of one ``kind`` are alternatives; those of kind ``fact`` each hold by themselves.
    ``is_plain`` says that the glyphs were taken as recorded, ``is_used`` that a date may be
    drawn from it. ``spans`` are shown even where they are not used.
    """

    reading: str
    reason: str
    source: str
    reference: str
    spans: Spans
    bears_on: Literal["made", "completed"] | None
    is_plain: bool
    is_used: bool
    number: int | None = None
    kind: ReadingKind = "source date"


def source_date_readings(
    text: str, packs: Packs, layouts: Iterable[Row[MarkLayout]] | None = None
) -> tuple[MarkReading, ...]:
    """Every way to read ``text`` as a source-date code, by year and week; empty if it is none.

    Args:
        text: the code as recorded, with ``?`` and ``[38]`` for glyphs in doubt.
        packs: where layouts, confusions and source codes are from.
        layouts: the layouts to try; without it, all.
    """
    glyphs = read_glyphs(text)
    if len(glyphs) > MOST_GLYPHS:
        return ()
    found: list[MarkReading] = []
    for layout in packs.rows(MarkLayout) if layouts is None else layouts:
        lengths = (layout.row.source_digits, layout.row.year_digits, 2)
        fields = digit_fields(glyphs, lengths)
        if fields is not None:
            code = _Code(layout, *(tuple(field) for field in fields))
            found += _readings_of(code, packs)
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Code:
    """A code divided by a layout."""

    layout: Row[MarkLayout]
    source: tuple[Glyph, ...]
    year: tuple[Glyph, ...]
    week: tuple[Glyph, ...]

    @property
    def dated(self) -> tuple[Glyph, ...]:
        return (*self.year, *self.week)

    def years(self, digits: str) -> tuple[int, ...]:
        """The years of the layout that end in the digits."""
        row = self.layout.row
        return tuple(y for y in range(row.first_year, row.last_year + 1) if f"{y}".endswith(digits))

    def reading(self, reading: str, reason: str, spans: Spans, how: str) -> MarkReading:
        """``how`` is used, plain (as recorded but without a date) or misread."""
        return MarkReading(
            reading=reading,
            reason=reason,
            source=self.layout.row.source,
            reference=self.layout.id,
            spans=spans,
            bears_on="made",
            is_plain=how != "misread",
            is_used=how == "used",
        )


def _readings_of(code: _Code, packs: Packs) -> list[MarkReading]:
    company = _company(code, packs)
    doubtful = sum(glyph.is_doubtful for glyph in code.dated)
    if doubtful > MOST_DOUBTFUL or all(glyph.digits() == DIGITS for glyph in code.dated):
        reason = f"{_divided(code)}. Too little of it is legible to give a date. {company}"
        return [code.reading("year and week not legible", reason, NO_DAY, "plain")]
    pairs = list(_pairs(code))
    dated = [pair for pair in pairs if register_week(*pair) is not None]
    if len(dated) > MOST_SEPARATE:
        return _by_year(code, dated, company)
    found = [_dated_reading(code, pair, pairs, company) for pair in dated]
    missing = [pair for pair in pairs if pair not in dated and 1 <= pair[1] <= GREATEST_WEEK]
    if len(missing) <= MOST_SEPARATE:
        found += [_absent_week(code, pair) for pair in missing]
    if not dated:
        found += [_impossible(code, company), *_misreadings(code, packs, company)]
    return found


def _pairs(code: _Code) -> Iterator[tuple[int, int]]:
    """Every (year, week) the glyphs allow, possible or not, in order."""
    years = sorted({y for digits in _texts(code.year) for y in code.years(digits)})
    weeks = sorted(int(digits) for digits in _texts(code.week))
    return product(years, weeks)


def _texts(field: tuple[Glyph, ...]) -> list[str]:
    return ["".join(choice) for choice in product(*(glyph.digits() for glyph in field))]


def _dated_reading(
    code: _Code, pair: tuple[int, int], pairs: list[tuple[int, int]], company: str
) -> MarkReading:
    year, week = pair
    others = sorted({y for y, w in pairs if w == week and y != year})
    reason = (
        f"{_divided(code)}. {_decades(code, others)}{_left_out(pairs)}"
        f"{_week_rules(year, week)} {company}"
    )
    return code.reading(f"{year}, week {week:02d}", reason, _days([pair]), "used")


def _by_year(code: _Code, dated: list[tuple[int, int]], company: str) -> list[MarkReading]:
    """One reading for each year, where the weeks are too many to list one by one."""
    found = []
    years = sorted({year for year, _ in dated})
    for year in years:
        pairs = [pair for pair in dated if pair[0] == year]
        first, last = pairs[0][1], pairs[-1][1]
        reading = f"{year}, one of {len(pairs)} weeks from {first:02d} to {last:02d}"
        others = [other for other in years if other != year]
        reason = (
            f"{_divided(code)}. {_decades(code, others)}Weeks the year does not have are left "
            f"out; the days cover every week rule of the register. {company}"
        )
        found.append(code.reading(reading, reason, _days(pairs), "used"))
    return found


def _absent_week(code: _Code, pair: tuple[int, int]) -> MarkReading:
    year, week = pair
    reason = f"{_divided(code)}. By no week rule of the register has {year} a week {week:02d}."
    return code.reading(f"{year}, week {week:02d}", reason, NO_DAY, "plain")


def _impossible(code: _Code, company: str) -> MarkReading:
    year, week = _written(code.year), _written(code.week)
    row = code.layout.row
    weeks = [int(digits) for digits in _texts(code.week)]
    if not any(code.years(digits) for digits in _texts(code.year)):
        why = f"No year from {row.first_year} to {row.last_year} ends in {year}."
    elif all(not 1 <= number <= GREATEST_WEEK for number in weeks):
        why = f"No year has a week {week}."
    else:
        why = f"None of the years that end in {year} has a week {week}."
    reason = f"{_divided(code)}. {why} The mark must be read again; no date is used. {company}"
    return code.reading(f"year {year}, week {week}: not possible", reason, NO_DAY, "plain")


def _misreadings(code: _Code, packs: Packs, company: str) -> Iterator[MarkReading]:
    """What the code would say if one glyph were another that it is easily taken for."""
    seen: set[tuple[int, int]] = set()
    for place, glyph in enumerate(code.dated):
        if glyph.is_doubtful:
            continue
        for other, row in _taken_for(glyph.options, packs):
            read = list(code.dated)
            read[place] = Glyph(other, other)
            year, week = read[: len(code.year)], read[len(code.year) :]
            misread = _Code(code.layout, code.source, tuple(year), tuple(week))
            for pair in _pairs(misread):
                if register_week(*pair) is None or pair in seen:
                    continue
                if len(seen) == MOST_SEPARATE:
                    return
                seen.add(pair)
                change = f"if what was recorded as {glyph.options} is {other} ({row.why})"
                reason = (
                    f"Only {change}. {_week_rules(*pair)} The mark must be read again; "
                    f"until then no date is drawn from it. {company}"
                )
                reading = f"{pair[0]}, week {pair[1]:02d}"
                yield code.reading(reading, reason, _days([pair]), "misread")


def _taken_for(glyph: str, packs: Packs) -> Iterator[tuple[str, Confusion]]:
    for found in packs.rows(Confusion):
        one, other = found.row.glyphs
        if glyph in (one, other):
            replacement = other if glyph == one else one
            if len(replacement) == 1 and replacement.isascii() and replacement.isdigit():
                yield replacement, found.row


def _days(pairs: Iterable[tuple[int, int]]) -> Spans:
    weeks = (register_week(*pair) for pair in pairs)
    return Spans.of(week[0] for week in weeks if week is not None)


def _week_rules(year: int, week: int) -> str:
    found = register_week(year, week)
    if found is None:
        return ""
    span, rules = found
    if len(rules) < len(REGISTER_RULES):
        return f"{year} has a week {week:02d} by one rule alone: {rules[0].value}."
    length = (span.latest or 0) - (span.earliest or 0) + 1
    if length > 7:
        return f"The week rules of the register differ by a week in {year}; the days cover both."
    return "The register's weeks run Sunday to Saturday; its week rules agree here."


def _left_out(pairs: list[tuple[int, int]]) -> str:
    weeks = sorted({week for _, week in pairs if not 1 <= week <= GREATEST_WEEK})
    if not weeks:
        return ""
    listed = ", ".join(f"{week:02d}" for week in weeks)
    return f"The glyphs allow week {listed} as well, which no year has. "


def _decades(code: _Code, others: list[int]) -> str:
    if not others:
        return ""
    listed = ", ".join(str(year) for year in others)
    years = listed if len(others) <= MOST_NAMED else f"{len(others)} other years"
    if len(code.year) == 1 and not code.year[0].is_doubtful:
        return f"One digit does not tell the decade: {years} fit as well. "
    return f"The year cannot be read for certain: {years} fit as well. "


def _divided(code: _Code) -> str:
    fields = " ".join(_written(field) for field in (code.source, code.year, code.week))
    return f"Read as {fields}: {code.layout.row.reading}"


def _written(field: tuple[Glyph, ...]) -> str:
    return "".join(glyph.written for glyph in field)


def _company(code: _Code, packs: Packs) -> str:
    """What is known of the source, never more surely than the list it comes from."""
    written = _written(code.source)
    if any(glyph.is_doubtful for glyph in code.source):
        return f"The source {written} is not read whole, so no maker is named."
    source = "".join(glyph.options for glyph in code.source)
    known = [found.row for found in packs.rows(SourceCode) if found.row.code == source]
    if not known:
        return f"No list at hand names the source {source}."
    told = {
        "high": "{source} stands for {company} ({parts}; {origin}).",
        "medium": "{source} is listed as {company} ({parts}; medium confidence: {origin}).",
        "low": "{source} may be {company} ({parts}); low confidence, not a fact: {origin}.",
    }
    return " ".join(
        told[row.confidence].format(
            source=source, company=row.company, parts=row.parts, origin=row.source
        )
        for row in known
    )

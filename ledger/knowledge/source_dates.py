"""Source-date codes: who made a component, and in which week.

Question answered: which weeks may a code such as 912 629 mean. A code divides into the source,
one or two digits of the year, and two of the week; how, the rows of mark layouts say. Six or
seven figures without a break divide in more than one way, and every way is listed; one with a
source of two or four figures is used only where a list names that source. Every year that ends
in the digits is a candidate: nothing here prefers a decade. A week becomes days by the rules of
:mod:`ledger.basis.spans`.

What it does not do: it never guesses. A week that cannot be (00, 54 to 99) gives no date; what
a slip of eye or pen would make of it is listed beside it, to be looked at on the object.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from ledger.basis.spans import NO_DAY, Span, Spans
from ledger.knowledge.glyphs import DIGITS, Glyph, collapsed, figures_and_breaks, read_glyphs
from ledger.knowledge.packs import Packs, Row
from ledger.knowledge.readings import MarkReading, ReadingKind
from ledger.knowledge.source_alternatives import (
    changed_readings,
    exchanged,
    misreadings,
    turned,
    with_letters_as_digits,
)
from ledger.knowledge.source_codes import (
    GREATEST_WEEK,
    MOST_DOUBTFUL,
    MOST_NAMED,
    MOST_SEPARATE,
    Code,
    Pair,
    company_of,
    days_of,
    days_of_week,
    is_listed,
    texts,
    used_days,
    week_of_register,
    week_rules,
    written,
)
from ledger.references import MarkLayout

__all__ = ["MarkReading", "ReadingKind", "source_date_readings"]

MOST_GLYPHS = 40

_LOOSE_SEPARATOR = re.compile(r" ?([-.]) ?")
# A letter after the week is of a shift or a line; one that is like a figure is left to be read.
_LETTER_AFTER = re.compile(r"(?<=[0-9?\]])[AC-HJ-NP-RT-Y]")
_MAY_BE_CODE = re.compile(r"[0-9A-Z?\[][0-9A-Z?\[\], .-]{4,79}")


@dataclass(frozen=True, slots=True)
class Place:
    """Where a mark is, as far as its reading goes.

    ``position`` is the id in the catalogue, None where it is not told. ``takes_letters`` says
    that letters may be figures there.
    """

    position: str | None = None
    takes_letters: bool = False


def source_date_readings(
    text: str,
    packs: Packs,
    layouts: Iterable[Row[MarkLayout]] | None = None,
    place: Place = Place(),
) -> tuple[MarkReading, ...]:
    """Every way to read ``text`` as a source-date code, by year and week; empty if it is none.

    Args:
        text: the code as recorded, with ``?`` and ``[38]`` for glyphs in doubt.
        packs: where layouts, confusions and source codes are from.
        layouts: the layouts to try; without it, all.
        place: where the mark is.
    """
    read = _glyphs_of(text)
    if read is None:
        return ()
    glyphs, remark = read
    tried = packs.rows(MarkLayout) if layouts is None else tuple(layouts)
    codes = list(_codes(glyphs, tried, packs, place.position))
    if remark:
        codes = [replace(code, remark=remark) for code in codes]
    found = [reading for code in codes for reading in _plain_readings(code, packs)]
    if not any(reading.is_used for reading in found):
        found += _alternatives(glyphs, codes, packs, place, tried)
    return tuple(found)


def _glyphs_of(text: str) -> tuple[tuple[Glyph, ...], str] | None:
    """The glyphs of what may be a code, and a remark on what is left out; None for what is none."""
    plain = _LOOSE_SEPARATOR.sub(r"\1", collapsed(text))
    if not _MAY_BE_CODE.fullmatch(plain):
        return None
    remark = ""
    if (after := _LETTER_AFTER.search(plain)) is not None and after.end() == len(plain):
        remark = f"The letter {plain[-1]} after the week is no part of the date."
        plain = plain[:-1]
    glyphs = read_glyphs(plain)
    return (glyphs, remark) if len(glyphs) <= MOST_GLYPHS else None


@dataclass(frozen=True, slots=True)
class Divided:
    """A mark as the source-date codes it divides into, for the days that other figures would tell."""

    codes: tuple[Code, ...]
    packs: Packs
    position: str | None

    @classmethod
    def of(
        cls, text: str, packs: Packs, layouts: Iterable[Row[MarkLayout]], position: str | None
    ) -> Divided:
        """The codes of a mark; none where it is no code."""
        read = _glyphs_of(text)
        found = () if read is None else tuple(_codes(read[0], layouts, packs, position))
        return cls(found, packs, position)

    def days(self) -> Spans:
        """The days that are used."""
        return _union(_days_of(code) for code in self.codes)

    def days_with(self, figure: int, other: str) -> Spans:
        """The days that would be used if the figure at this place were another one.

        Args:
            figure: its place among the figures, separators not counted.
            other: the figure in its stead.
        """
        return _union(self._changed(code, figure, other) for code in self.codes)

    def _changed(self, code: Code, figure: int, other: str) -> tuple[Span, ...]:
        at = len(code.source)
        if figure < at and not code.layout.row.known_sources_only:
            return _days_of(code)  # another source, the same week
        figures = [*code.source, *code.year, *code.week]
        figures[figure] = Glyph(other, other)
        is_sure = code.is_sure
        if figure < at:
            is_there = is_used_at(code.layout, self.position)
            is_sure = is_there and is_listed(tuple(figures[:at]), self.packs)
        changed = code.with_dated(tuple(figures[at:]))
        return (
            _days_of(changed)
            if is_sure == code.is_sure
            else _days_of(replace(changed, is_sure=is_sure))
        )


def _days_of(code: Code) -> tuple[Span, ...]:
    return used_days(code) if code.is_sure and _is_legible(code) else ()


def _union(days: Iterable[tuple[Span, ...]]) -> Spans:
    """The days of all, each of which is in order already."""
    found = [each for each in days if each]
    return Spans(found[0]) if len(found) == 1 else Spans.of(s for each in found for s in each)


def _codes(
    glyphs: tuple[Glyph, ...],
    layouts: Iterable[Row[MarkLayout]],
    packs: Packs,
    position: str | None,
) -> Iterator[Code]:
    found = figures_and_breaks(glyphs)
    if found is None:
        return
    figures, breaks = found
    for layout in layouts:
        row = layout.row
        year_at = row.source_digits
        week_at = year_at + row.year_digits
        if len(figures) != week_at + 2 or any(at not in (year_at, week_at) for at in breaks):
            continue
        source, year, week = figures[:year_at], figures[year_at:week_at], figures[week_at:]
        remark, is_sure = "", True
        if row.known_sources_only:
            is_there = is_used_at(layout, position)
            is_sure = is_there and is_listed(source, packs)
            if not is_sure:
                why = "such codes are not expected here" if not is_there else "no list names it"
                remark = f"A source of {row.source_digits} figures: {why}, so it is not used."
        yield Code(layout, source, year, week, remark, is_sure)


def is_used_at(layout: Row[MarkLayout], position: str | None) -> bool:
    """Whether codes of the layout are expected at the position."""
    expected = layout.row.positions
    return position is None or not expected or position in expected


def _alternatives(
    glyphs: tuple[Glyph, ...],
    codes: list[Code],
    packs: Packs,
    place: Place,
    layouts: tuple[Row[MarkLayout], ...],
) -> Iterator[MarkReading]:
    """The slips that would make a code of it, the likeliest first; none where codes are dated."""
    if place.takes_letters and (lettered := with_letters_as_digits(glyphs, packs)) is not None:
        read, change = lettered
        sure = [code for code in _codes(read, layouts, packs, place.position) if code.is_sure]
        yield from changed_readings(sure, change, packs)
    impossible = [code for code in codes if code.is_sure and _is_impossible(code)]
    for code in impossible:
        yield from misreadings(code, packs)
    for code in impossible:
        yield from exchanged(code, packs)
    if impossible and (upside_down := turned(glyphs)) is not None:
        sure = [c for c in _codes(upside_down, layouts, packs, place.position) if c.is_sure]
        yield from changed_readings(sure, "if the mark was read upside down", packs)


def _is_legible(code: Code) -> bool:
    doubtful = sum([glyph.is_doubtful for glyph in code.dated])
    return doubtful == 0 or (
        doubtful <= MOST_DOUBTFUL and not all(glyph.digits() == DIGITS for glyph in code.dated)
    )


def _is_impossible(code: Code) -> bool:
    return _is_legible(code) and not any(_is_dated(pair) for pair in code.pairs())


def _is_dated(pair: Pair) -> bool:
    return 1 <= pair[1] <= GREATEST_WEEK and week_of_register(*pair) is not None


def _plain_readings(code: Code, packs: Packs) -> list[MarkReading]:
    company = company_of(code.source, packs)
    if not _is_legible(code):
        reason = f"{code.divided()} Too little of it is legible to give a date. {company}"
        return [code.reading("year and week not legible", reason, NO_DAY, "plain")]
    pairs = list(code.pairs())
    dated = [pair for pair in pairs if _is_dated(pair)]
    if len(dated) > MOST_SEPARATE:
        return _by_year(code, dated, company)
    divided, left_out = code.divided(), _left_out(pairs)
    years_with: dict[int, list[int]] = {}
    for year, week in pairs:
        years_with.setdefault(week, []).append(year)
    found = []
    for year, week in dated:
        decades = _decades(code, [other for other in years_with[week] if other != year])
        reason = f"{divided} {decades}{left_out}{week_rules(year, week)} {company}"
        reading = f"{year}, week {week:02d}"
        found.append(code.reading(reading, reason, days_of_week(year, week), "used"))
    missing = [pair for pair in pairs if 1 <= pair[1] <= GREATEST_WEEK and not _is_dated(pair)]
    if len(missing) <= MOST_SEPARATE:
        found += [_absent_week(code, pair) for pair in missing]
    if not dated:
        found.append(_impossible(code, company))
    return found


def _by_year(code: Code, dated: list[Pair], company: str) -> list[MarkReading]:
    """One reading for each year, where the weeks are too many to list one by one."""
    found = []
    years = sorted({year for year, _ in dated})
    for year in years:
        pairs = [pair for pair in dated if pair[0] == year]
        first, last = pairs[0][1], pairs[-1][1]
        reading = f"{year}, one of {len(pairs)} weeks from {first:02d} to {last:02d}"
        others = [other for other in years if other != year]
        reason = (
            f"{code.divided()} {_decades(code, others)}Weeks the year does not have are left "
            f"out; the days cover every week rule of the register. {company}"
        )
        found.append(code.reading(reading, reason, days_of(pairs), "used"))
    return found


def _absent_week(code: Code, pair: Pair) -> MarkReading:
    year, week = pair
    reason = f"{code.divided()} By no week rule of the register has {year} a week {week:02d}."
    return code.reading(f"{year}, week {week:02d}", reason, NO_DAY, "plain")


def _impossible(code: Code, company: str) -> MarkReading:
    year, week = written(code.year), written(code.week)
    row = code.layout.row
    weeks = [int(digits) for digits in texts(code.week)]
    if not any(code.years(digits) for digits in texts(code.year)):
        why = f"No year from {row.first_year} to {row.last_year} ends in {year}."
    elif all(not 1 <= number <= GREATEST_WEEK for number in weeks):
        why = f"No year has a week {week}."
    else:
        why = f"None of the years that end in {year} has a week {week}."
    reason = f"{code.divided()} {why} The mark must be read again; no date is used. {company}"
    return code.reading(f"year {year}, week {week}: not possible", reason, NO_DAY, "plain")


def _left_out(pairs: list[Pair]) -> str:
    weeks = sorted({week for _, week in pairs if not 1 <= week <= GREATEST_WEEK})
    if not weeks:
        return ""
    listed = ", ".join(f"{week:02d}" for week in weeks)
    return f"The glyphs allow week {listed} as well, which no year has. "


def _decades(code: Code, others: list[int]) -> str:
    if not others:
        return ""
    listed = ", ".join(str(year) for year in others)
    years = listed if len(others) <= MOST_NAMED else f"{len(others)} other years"
    if len(code.year) == 1 and len(code.year[0].options) == 1:
        return f"One digit does not tell the decade: {years} fit as well. "
    return f"The year cannot be read for certain: {years} fit as well. "

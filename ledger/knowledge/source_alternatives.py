"""What a source-date code may be that gives no date as it was recorded.

Question answered: which slips of eye or pen would make it a possible code. In order of how easily
they happen by the rows of practice: letters recorded for figures, one figure taken for another,
year and week exchanged, the whole mark read upside down. Each is shown with its days and none is
used: the mark has to be read again.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import lru_cache

from ledger.knowledge.glyphs import DIGITS, SEPARATORS, Glyph
from ledger.knowledge.packs import Packs
from ledger.knowledge.readings import MarkReading
from ledger.knowledge.source_codes import (
    GREATEST_WEEK,
    MOST_SEPARATE,
    Code,
    Pair,
    company_of,
    days_of_week,
    week_of_register,
    week_rules,
    written,
)
from ledger.references import Confusion

MOST_LETTERS = 2
LEAST_DIGITS = 4
_TURNED = {"0": "0", "1": "1", "6": "9", "8": "8", "9": "6"}


def misreadings(code: Code, packs: Packs) -> Iterator[MarkReading]:
    """What the code would say if one glyph were another that it is easily taken for."""
    seen: set[Pair] = set()
    company = company_of(code.source, packs)
    for place, glyph in enumerate(code.dated):
        if glyph.is_doubtful:
            continue
        for other, row in _taken_for(glyph.options, packs):
            dated = (*code.dated[:place], Glyph(other, other), *code.dated[place + 1 :])
            change = f"if what was recorded as {glyph.options} is {other} ({row.why})"
            yield from _changed(code.with_dated(dated), change, company, seen)


def exchanged(code: Code, packs: Packs) -> Iterator[MarkReading]:
    """What the code would say if the week stood before the year."""
    count = len(code.week)
    dated = (*code.dated[count:], *code.dated[:count])
    swapped = code.with_dated(dated)
    if dated != code.dated:
        week, year = written(swapped.week), written(swapped.year)
        change = f"if the week, {week}, stands before the year, {year}"
        yield from _changed(swapped, change, company_of(code.source, packs), set())


def turned(glyphs: tuple[Glyph, ...]) -> tuple[Glyph, ...] | None:
    """The glyphs as they stand when the mark is turned upside down, or None where they cannot."""
    found: list[Glyph] = []
    for glyph in reversed(glyphs):
        if glyph.options in tuple(SEPARATORS):
            found.append(glyph)
        elif glyph.options in _TURNED:
            found.append(Glyph(_TURNED[glyph.options], _TURNED[glyph.options]))
        else:
            return None
    return tuple(found) if tuple(found) != glyphs else None


def with_letters_as_digits(
    glyphs: tuple[Glyph, ...], packs: Packs
) -> tuple[tuple[Glyph, ...], str] | None:
    """The glyphs with letters put back to the figures they are like, and the change in words.

    None where there is no such letter, where there are too many, or too few figures beside them.
    """
    letters = [
        glyph.options for glyph in glyphs if glyph.options.isalpha() and len(glyph.options) == 1
    ]
    digits = sum(bool(glyph.digits()) for glyph in glyphs)
    if not 0 < len(letters) <= MOST_LETTERS or digits < LEAST_DIGITS:
        return None
    figures: dict[str, str] = {}
    for letter in letters:
        like = next((other for other, _ in _taken_for(letter.upper(), packs)), None)
        if like is None:
            return None
        figures[letter] = like
    found = tuple(
        Glyph(figures[glyph.options], figures[glyph.options]) if glyph.options in figures else glyph
        for glyph in glyphs
    )
    change = " and ".join(f"the letter {one} is the figure {two}" for one, two in figures.items())
    return found, f"if {change} (the two are alike in stamps)"


def changed_readings(codes: Iterable[Code], change: str, packs: Packs) -> Iterator[MarkReading]:
    """The dates of codes that were divided only after a change, each named as changed."""
    for code in codes:
        yield from _changed(code, change, company_of(code.source, packs), set())


def _changed(code: Code, change: str, company: str, seen: set[Pair]) -> Iterator[MarkReading]:
    for pair in code.pairs():
        year, week = pair
        is_dated = 1 <= week <= GREATEST_WEEK and week_of_register(*pair) is not None
        if not is_dated or pair in seen or len(seen) >= MOST_SEPARATE:
            continue
        seen.add(pair)
        reason = (
            f"Only {change}. {week_rules(year, week)} The mark must be read again; "
            f"until then no date is drawn from it. {company}"
        )
        reading = code.reading(f"{year}, week {week:02d}", reason, days_of_week(*pair), "misread")
        yield replace(reading, is_plain=False, is_used=False)


def _taken_for(glyph: str, packs: Packs) -> tuple[tuple[str, Confusion], ...]:
    return _likenesses(packs).get(glyph, ())


@lru_cache(maxsize=8)
def _likenesses(packs: Packs) -> dict[str, tuple[tuple[str, Confusion], ...]]:
    """For each glyph the figures that it is taken for, in the order of the rows."""
    found: dict[str, tuple[tuple[str, Confusion], ...]] = {}
    for row in (found.row for found in packs.rows(Confusion)):
        for one, other in (row.glyphs, row.glyphs[::-1]):
            if len(other) == 1 and other in DIGITS:
                found[one] = (*found.get(one, ()), (other, row))
    return found

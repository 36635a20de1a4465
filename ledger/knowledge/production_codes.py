"""Dates stamped, printed or coded on a part, by the rows that say how each is written.

Question answered: which days may ``10-7-62``, ``SEPT. 1954`` or ``J8`` mean. A row gives a
pattern with named fields and what the signs of each field stand for; every row that fits the
whole mark is read, and every year of its range that the figures allow is a candidate, so that
all orders of day, month and year and all cycles of a code are listed.

What it does not do: it never picks an order, a century or a cycle.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from ledger.basis.date_wordings import MONTH_NAMES
from ledger.basis.spans import (
    NO_DAY,
    Span,
    Spans,
    WeekRule,
    day_number,
    days_in_month,
    register_week,
    span_of_month,
    span_of_week,
    span_of_year,
)
from ledger.knowledge.compiled import AnyOf
from ledger.knowledge.glyphs import collapsed, possible_count, possible_texts, read_glyphs
from ledger.knowledge.packs import Row
from ledger.knowledge.readings import MarkReading
from ledger.references import DateCode

MOST_TEXTS = 1000
MOST_SEPARATE = 24
MOST_GLYPHS = 40

_ROMAN_SIGNS = {"I": 1, "V": 5, "X": 10, "L": 50, "C": 100, "D": 500, "M": 1000}
_ROMAN = re.compile(r"M{0,3}(CM|CD|D?C{0,4})(XC|XL|L?X{0,4})(IX|IV|V?I{0,4})")


def roman_number(text: str) -> int | None:
    """The number written in Roman numerals, or None where it is none.

    Four like signs in a row are taken as well as the shorter form, as on clocks and title pages.

    >>> roman_number("MCMLIV"), roman_number("MDCCCCX"), roman_number("IIX")
    (1954, 1910, None)
    """
    if not text or not _ROMAN.fullmatch(text):
        return None
    total = 0
    for sign, after in zip(text, [*text[1:], "I"], strict=True):
        figure = _ROMAN_SIGNS[sign]
        total += -figure if figure < _ROMAN_SIGNS[after] else figure
    return total


@dataclass(frozen=True, slots=True)
class _Scheme:
    """A row made ready to read with."""

    row: Row[DateCode]
    pattern: re.Pattern[str]
    year_signs: dict[str, tuple[int, ...]]
    month_signs: dict[str, tuple[int, ...]]

    @classmethod
    def of(cls, row: Row[DateCode]) -> _Scheme:
        code = row.row
        years = {sign.sign: sign.means for sign in code.year_signs}
        months = {sign.sign: sign.means for sign in code.month_signs}
        return cls(row, re.compile(code.pattern), years, months)

    def years(self, written: str) -> tuple[int, ...]:
        """Every year of the range that the field may stand for."""
        code = self.row.row
        if code.years == "signs":
            found: Iterable[int] = self.year_signs.get(written, ())
        elif code.years == "Roman numerals":
            number = roman_number(written)
            found = () if number is None else (number,)
        elif written.isascii() and written.isdigit() and len(written) <= 4:
            step = 10 ** len(written)
            first = code.first_year + (int(written) - code.first_year) % step
            found = range(first, code.last_year + 1, step)
        else:
            found = ()
        return tuple(y for y in found if code.first_year <= y <= code.last_year)

    def months(self, written: str) -> tuple[int, ...]:
        """Every month that the field may stand for."""
        kind = self.row.row.months
        if kind == "signs":
            return self.month_signs.get(written, ())
        if kind == "words":
            name = written[:3].casefold()
            return (MONTH_NAMES.index(name) + 1,) if name in MONTH_NAMES else ()
        number = roman_number(written) if kind == "Roman numerals" else _figure(written)
        return (number,) if number is not None and 1 <= number <= 12 else ()


def _figure(written: str) -> int | None:
    return int(written) if written.isascii() and written.isdigit() and len(written) <= 4 else None


class DateCodes:
    """The rows of one pack or several, ready to read with; build once and keep."""

    def __init__(self, rows: Iterable[Row[DateCode]]) -> None:
        self._schemes = tuple(_Scheme.of(row) for row in rows)
        self._any = AnyOf(scheme.row.row.pattern for scheme in self._schemes)

    def readings(self, text: str) -> list[tuple[Row[DateCode], MarkReading]]:
        """Every reading by every row that fits the whole mark, each with its row.

        All are given as not used: who asks knows where the mark is, and decides.
        """
        plain = collapsed(text)
        if "?" not in plain and "[" not in plain:
            texts: Sequence[str] = (plain,)
        else:
            glyphs = read_glyphs(text)
            if len(glyphs) > MOST_GLYPHS or possible_count(glyphs) > MOST_TEXTS:
                return []
            texts = tuple(possible_texts(glyphs))
        fits: dict[int, list[str]] = {}
        for one in texts:
            for place in self._any.fitting(one):
                fits.setdefault(place, []).append(one)
        found: list[tuple[Row[DateCode], MarkReading]] = []
        for place in sorted(fits):
            scheme = self._schemes[place]
            matches = [m for one in fits[place] if (m := scheme.pattern.fullmatch(one)) is not None]
            read = _read(scheme, matches, is_doubtful=len(texts) > 1)
            found += [(scheme.row, reading) for reading in read]
        return found


class _Fields(NamedTuple):
    """The figures of one candidate, 0 for a field that the code does not have."""

    year: int
    month: int
    week: int
    day: int
    batch: str

    def written(self) -> str:
        """The candidate as ISO 8601 writes it, and a week in words."""
        if self.week:
            date = f"{self.year}, week {self.week:02d}"
        elif self.month:
            date = f"{self.year:04d}-{self.month:02d}" + (f"-{self.day:02d}" if self.day else "")
        else:
            date = f"{self.year:04d}"
        return f"{date}, batch {self.batch}" if self.batch else date


def _read(
    scheme: _Scheme, fits: Sequence[re.Match[str]], *, is_doubtful: bool
) -> Iterator[MarkReading]:
    code = scheme.row.row
    if "year" not in scheme.pattern.groupindex:
        reason = f"It has the form of {code.reading}, of which no table of years is at hand. "
        yield _reading(scheme, "no date", reason + code.note, NO_DAY)
        return
    found = sorted({fields for fit in fits for fields in _fields(scheme, fit)})
    dated = [(fields, span) for fields in found if (span := _span(fields, code)) is not None]
    if not dated:
        return
    if len(dated) > MOST_SEPARATE:
        years = sorted({fields.year for fields, _ in dated})
        reading = f"one of {len(dated)} dates from {years[0]} to {years[-1]}"
        reason = f"Read as {code.reading}; too much is in doubt to list each. {code.note}"
        yield _reading(scheme, reading, reason.strip(), Spans.of(span for _, span in dated))
        return
    years = sorted({fields.year for fields, _ in dated})
    for fields, span in dated:
        others = [str(year) for year in years if year != fields.year]
        fit = "fit" if len(others) > 1 else "fits"
        more = f" {', '.join(others)} {fit} as well." if others else ""
        doubt = " Some of its glyphs are in doubt." if is_doubtful else ""
        reason = f"Read as {code.reading}.{more}{doubt} {code.note}".strip()
        yield _reading(scheme, fields.written(), reason, Spans.of([span]))


def _fields(scheme: _Scheme, fit: re.Match[str]) -> Iterator[_Fields]:
    written = fit.groupdict()
    months = scheme.months(written["month"] or "") if written.get("month") is not None else (0,)
    week = _figure(written["week"] or "") if written.get("week") is not None else 0
    day = _figure(written["day"] or "") if written.get("day") is not None else 0
    if week is None or day is None or (written.get("day") is not None and day == 0):
        return
    if written.get("week") is not None and week == 0:
        return
    for year in scheme.years(written["year"] or ""):
        for month in months:
            yield _Fields(year, month, week, day, written.get("batch") or "")


def _span(fields: _Fields, code: DateCode) -> Span | None:
    """The days of the candidate, or None where the calendar has none."""
    if fields.week:
        if code.weeks == "register":
            found = register_week(fields.year, fields.week)
            return None if found is None else found[0]
        return span_of_week(fields.year, fields.week, WeekRule.ISO)
    if not fields.month:
        return span_of_year(fields.year)
    if not fields.day:
        return span_of_month(fields.year, fields.month)
    if fields.day > days_in_month(fields.year, fields.month):
        return None
    day = day_number(fields.year, fields.month, fields.day)
    return Span(day, day)


def _reading(scheme: _Scheme, reading: str, reason: str, spans: Spans) -> MarkReading:
    code = scheme.row.row
    sure = (
        ""
        if code.confidence == "high"
        else f" This way of reading is of {code.confidence} confidence."
    )
    return MarkReading(
        reading=reading,
        reason=f"{reason.rstrip()}{sure}",
        source=code.source,
        reference=scheme.row.id,
        spans=spans,
        bears_on=code.bears_on or "made",
        is_plain=True,
        is_used=False,
        kind="date code",
    )

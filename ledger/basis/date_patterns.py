"""The days that digits with gaps (156X-12-25) and parts of a year (1956-23) allow.

Digits left open give separate days, kept as a union of spans. A union of more than
``MOST_PARTS`` parts is replaced by its hull, from its first to its last day, and the answer
says so.

Parts of the year are the codes 21 to 41 of the Extended Date/Time Format. For its seasons the
format names no months, so each covers both the three whole months of the weather services and
the stretch from equinox or solstice to the next one, on the latest days those fall on (common
practice; the days from memory). Without a hemisphere a season covers that of both. A winter
that spans the new year may be counted to either year, so both are covered.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import islice, product

from ledger.basis.spans import Span, Spans, day_number, days_in_month

MOST_PARTS = 1200  # the 25th of some month of some year of a century, and no more
FIRST_PART_CODE, LAST_PART_CODE = 21, 41

SPRING, SUMMER, AUTUMN, WINTER = (3, 1, 6, 22), (6, 1, 9, 24), (9, 1, 12, 23), (12, 1, 3, 21)
NORTHERN_SEASONS = (SPRING, SUMMER, AUTUMN, WINTER)
SOUTHERN_SEASONS = (AUTUMN, WINTER, SPRING, SUMMER)
_MONTHS_OF_GROUPING = {33: 3, 37: 4, 40: 6}  # first code of each kind, months in each


def numbers_like(pattern: str, highest: int) -> list[int]:
    """The numbers from 1 to ``highest`` that a two-digit pattern with X for any digit allows.

    >>> numbers_like("1X", 12)
    [10, 11, 12]
    """
    if "X" not in pattern:
        number = int(pattern)
        return [number] if 1 <= number <= highest else []
    return [
        number
        for number in range(1, highest + 1)
        if all(
            wanted in ("X", digit) for wanted, digit in zip(pattern, f"{number:02d}", strict=True)
        )
    ]


def years_like(pattern: str) -> Sequence[int]:
    """The years, in order, that a four-digit pattern with X for any digit allows.

    >>> list(years_like("-004X"))[:2]
    [-49, -48]
    """
    digits = pattern.removeprefix("-")
    choices = ("0123456789" if digit == "X" else digit for digit in digits)
    years = [int("".join(chosen)) for chosen in product(*choices)]
    return [-year for year in reversed(years) if year] if pattern.startswith("-") else years


def days_like(year: str, month: str, day: str) -> tuple[Spans, bool]:
    """The days the three patterns allow, and whether they are only the hull.

    The union is empty where the calendar has no such day.

    >>> print(days_like("1984", "1X", "XX")[0])
    1984-10-01/1984-12-31
    """
    years, months, days = years_like(year), numbers_like(month, 12), numbers_like(day, 31)
    if len(months) == 12 and len(days) == 31:
        whole = (Span(day_number(a), day_number(b, 12, 31)) for a, b in _runs(years))
        return Spans.of(whole), False

    def parts_of(one_year: int) -> list[Span]:
        return list(_parts_of_year(one_year, months, days))

    parts = list(islice((part for one in years for part in parts_of(one)), MOST_PARTS + 1))
    if len(parts) <= MOST_PARTS:
        return Spans.of(parts), False
    final = next(found[-1] for one in reversed(years) if (found := parts_of(one)))
    return Spans.between(parts[0].earliest, final.latest), True


def days_of_part(year: str, code: int) -> tuple[Spans, bool]:
    """The days a part of the year may stand for, and whether they are only the hull.

    >>> print(days_of_part("2001", 34)[0])
    2001-04-01/2001-06-30
    >>> print(days_of_part("2001", 28)[0])
    2000-12-01/2001-03-21 or 2001-12-01/2002-03-21
    """
    years = years_like(year)
    is_hull = len(years) * 3 > MOST_PARTS
    if is_hull:
        years = (years[0], years[-1])
    spans = Spans.of(part for one in years for part in _spans_of_part(one, code))
    return (Spans.between(spans.earliest, spans.latest) if is_hull else spans), is_hull


def _runs(numbers: Iterable[int]) -> list[tuple[int, int]]:
    """The ordered numbers as (first, last) of each unbroken run."""
    runs: list[tuple[int, int]] = []
    for number in numbers:
        if runs and runs[-1][1] == number - 1:
            runs[-1] = (runs[-1][0], number)
        else:
            runs.append((number, number))
    return runs


def _parts_of_year(year: int, months: list[int], days: list[int]) -> Iterator[Span]:
    if len(days) == 31:
        for first, last in _runs(months):
            yield _whole_months(year, first, last)
        return
    for month in months:
        length = days_in_month(year, month)
        for first, last in _runs(day for day in days if day <= length):
            yield Span(day_number(year, month, first), day_number(year, month, last))


def _whole_months(year: int, first: int, last: int) -> Span:
    return Span(day_number(year, first), day_number(year, last, days_in_month(year, last)))


def _spans_of_part(year: int, code: int) -> Iterator[Span]:
    """The days of ``year``, and of its neighbours, that the code may stand for."""
    first_code = max((first for first in _MONTHS_OF_GROUPING if first <= code), default=None)
    if first_code is not None:
        length = _MONTHS_OF_GROUPING[first_code]
        first = (code - first_code) * length + 1
        yield _whole_months(year, first, first + length - 1)
        return
    season = (code - FIRST_PART_CODE) % 4
    if code <= 28:
        yield from _season(year, NORTHERN_SEASONS[season])
    if code <= 24 or code >= 29:
        yield from _season(year, SOUTHERN_SEASONS[season])


def _season(year: int, ends: tuple[int, int, int, int]) -> Iterator[Span]:
    crosses_new_year = ends[0] > ends[2]
    for opening in (year - 1, year) if crosses_new_year else (year,):
        closing = opening + crosses_new_year
        yield Span(day_number(opening, *ends[:2]), day_number(closing, *ends[2:]))

"""Spans of days, unions of spans, and the rules by which a week becomes days.

A day is an integer: days of the proleptic Gregorian calendar with 0001-01-01 as day 1, the
count of :meth:`datetime.date.toordinal`, continued beyond the years 1 to 9999 by the same
calendar. An open end is ``None`` and means that nothing is known on that side; it is never
replaced by an invented figure.

Weeks: the register of component source codes prints one worked example, week 10 of 1999 as
March 7 to 13, which runs Sunday to Saturday (https://ecianow.org, "EIA Source Codes"). That
example fits three ways of finding a year's first week and rules out a fourth (the week that
holds January 1), so all three are kept and a bound takes the widest of them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from enum import Enum

# The calendar repeats itself after these, weekdays and all.
DAYS_IN_400_YEARS = 146_097
MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
SUNDAY = 0  # day number 0001-01-01 was a Monday, so day % 7 is 0 on Sundays


def is_leap(year: int) -> bool:
    """Whether the proleptic Gregorian ``year`` has a February 29."""
    return year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)


def days_in_month(year: int, month: int) -> int:
    """How many days the month has."""
    return 29 if month == 2 and is_leap(year) else MONTH_DAYS[month - 1]


def day_number(year: int, month: int = 1, day: int = 1) -> int:
    """The day's number; equals ``date(year, month, day).toordinal()`` for years 1 to 9999.

    Raises:
        ValueError: the calendar has no such day.

    >>> day_number(1956, 7, 15)
    714245
    """
    if not 1 <= month <= 12:
        raise ValueError(f"there is no month {month}")
    cycles, within = divmod(year - 1, 400)
    try:
        of_cycle = date(within + 1, month, day).toordinal()
    except ValueError:
        raise ValueError(f"{year:04d}-{month:02d} has no day {day}") from None
    return cycles * DAYS_IN_400_YEARS + of_cycle


def calendar_date(day: int) -> tuple[int, int, int]:
    """The (year, month, day) of a day number.

    >>> calendar_date(714245)
    (1956, 7, 15)
    """
    cycles, within = divmod(day - 1, DAYS_IN_400_YEARS)
    of_cycle = date.fromordinal(within + 1)
    return cycles * 400 + of_cycle.year, of_cycle.month, of_cycle.day


def iso_date(day: int) -> str:
    """The day as ``YYYY-MM-DD`` (ISO 8601), with a sign for years before 0000.

    >>> iso_date(714245)
    '1956-07-15'
    """
    year, month, of_month = calendar_date(day)
    sign = "-" if year < 0 else ""
    return f"{sign}{abs(year):04d}-{month:02d}-{of_month:02d}"


@dataclass(frozen=True, slots=True)
class Span:
    """An unbroken run of days, both ends included; ``None`` is an open end.

    Raises:
        ValueError: the latest day comes before the earliest.
    """

    earliest: int | None
    latest: int | None

    def __post_init__(self) -> None:
        if self.earliest is not None and self.latest is not None and self.latest < self.earliest:
            raise ValueError(
                f"a span cannot end on {iso_date(self.latest)} "
                f"before it begins on {iso_date(self.earliest)}"
            )

    def __contains__(self, day: int) -> bool:
        return (self.earliest is None or self.earliest <= day) and (
            self.latest is None or day <= self.latest
        )

    def __str__(self) -> str:
        return f"{_end(self.earliest)}/{_end(self.latest)}"

    def intersection(self, other: Span) -> Span | None:
        """The days in both, or None where there are none."""
        earliest = _largest(self.earliest, other.earliest)
        latest = _smallest(self.latest, other.latest)
        if earliest is not None and latest is not None and latest < earliest:
            return None
        return Span(earliest, latest)

    def widened(self, before_days: int, after_days: int) -> Span:
        """The span with its known ends moved outward; open ends stay open."""
        return Span(
            None if self.earliest is None else self.earliest - before_days,
            None if self.latest is None else self.latest + after_days,
        )


def _end(day: int | None) -> str:
    return ".." if day is None else iso_date(day)


def _largest(one: int | None, other: int | None) -> int | None:
    if one is None or other is None:
        return other if one is None else one
    return max(one, other)


def _smallest(one: int | None, other: int | None) -> int | None:
    if one is None or other is None:
        return other if one is None else one
    return min(one, other)


@dataclass(frozen=True, slots=True)
class Spans:
    """A union of spans in order, none touching another: the days that are possible.

    Build one with :meth:`of`, which sorts and joins; the plain constructor trusts its input.

    >>> year_1956 = span_of_year(1956)
    >>> print(Spans.of([span_of_year(1966), year_1956]))
    1956-01-01/1956-12-31 or 1966-01-01/1966-12-31
    """

    parts: tuple[Span, ...]

    @classmethod
    def of(cls, spans: Iterable[Span]) -> Spans:
        """The union of the given spans."""
        ordered = sorted(
            spans,
            key=lambda s: (s.earliest is not None, s.earliest or 0),
        )
        joined: list[Span] = []
        for span in ordered:
            if joined and _touches(joined[-1], span):
                joined[-1] = Span(joined[-1].earliest, _later_end(joined[-1].latest, span.latest))
            else:
                joined.append(span)
        return cls(tuple(joined))

    @classmethod
    def between(cls, earliest: int | None, latest: int | None) -> Spans:
        """The one unbroken span from ``earliest`` to ``latest``."""
        return cls((Span(earliest, latest),))

    def __iter__(self) -> Iterator[Span]:
        return iter(self.parts)

    def __bool__(self) -> bool:
        return bool(self.parts)

    def __contains__(self, day: int) -> bool:
        return any(day in part for part in self.parts)

    def __str__(self) -> str:
        return " or ".join(str(part) for part in self.parts) or "no day"

    @property
    def earliest(self) -> int | None:
        """The first possible day; None when that side is open (or there is no day at all)."""
        return self.parts[0].earliest if self.parts else None

    @property
    def latest(self) -> int | None:
        """The last possible day; None when that side is open (or there is no day at all)."""
        return self.parts[-1].latest if self.parts else None

    def union(self, other: Spans) -> Spans:
        """The days in either."""
        return Spans.of((*self.parts, *other.parts))

    def intersection(self, other: Spans) -> Spans:
        """The days in both."""
        found = (one.intersection(two) for one in self.parts for two in other.parts)
        return Spans.of(span for span in found if span is not None)

    def complement(self) -> Spans:
        """The days in neither part of the union."""
        gaps: list[Span] = []
        start: int | None = None
        open_below = True
        for part in self.parts:
            if part.earliest is not None:
                gaps.append(Span(None if open_below else start, part.earliest - 1))
            if part.latest is None:
                return Spans(tuple(gaps))
            start, open_below = part.latest + 1, False
        gaps.append(Span(None if open_below else start, None))
        return Spans(tuple(gaps))

    def widened(self, before_days: int, after_days: int) -> Spans:
        """Every known end moved outward; what then touches is joined."""
        return Spans.of(part.widened(before_days, after_days) for part in self.parts)


def _touches(left: Span, right: Span) -> bool:
    """Whether ``right``, which begins no earlier than ``left``, overlaps or adjoins it."""
    return left.latest is None or right.earliest is None or right.earliest <= left.latest + 1


def _later_end(one: int | None, other: int | None) -> int | None:
    return None if one is None or other is None else max(one, other)


def spans_as_text(spans: Spans) -> tuple[tuple[str | None, str | None], ...]:
    """The spans as pairs of ISO dates, None for an open end."""
    return tuple(
        (
            None if part.earliest is None else iso_date(part.earliest),
            None if part.latest is None else iso_date(part.latest),
        )
        for part in spans
    )


EVER = Spans((Span(None, None),))
NO_DAY = Spans(())


def span_of_year(year: int) -> Span:
    """All days of the year."""
    return Span(day_number(year, 1, 1), day_number(year, 12, 31))


def span_of_month(year: int, month: int) -> Span:
    """All days of the month."""
    return Span(day_number(year, month, 1), day_number(year, month, days_in_month(year, month)))


class WeekRule(Enum):
    """A way of telling which week of which year a day is in; the value is its wording."""

    FIRST_THURSDAY = (
        "Sunday to Saturday, week 1 the one that holds the year's first Thursday "
        "(the weeks of ISO 8601 begun a day earlier)"
    )
    FOUR_DAYS = "Sunday to Saturday, week 1 the first with at least four days in the year"
    FULL_WEEK = "Sunday to Saturday, week 1 the first that lies whole in the year"
    ISO = "ISO 8601: Monday to Sunday, week 1 the first with at least four days in the year"


REGISTER_RULES = (WeekRule.FIRST_THURSDAY, WeekRule.FOUR_DAYS, WeekRule.FULL_WEEK)


def first_day_of_week_one(year: int, rule: WeekRule) -> int:
    """The day number on which week 1 of ``year`` begins under ``rule``."""
    january_first = day_number(year, 1, 1)
    if rule is WeekRule.ISO:
        return january_first + 3 - (january_first + 3 - 1) % 7
    if rule is WeekRule.FIRST_THURSDAY:
        return january_first + 2 - (january_first + 2 - SUNDAY) % 7
    if rule is WeekRule.FOUR_DAYS:
        return january_first + 3 - (january_first + 3 - SUNDAY) % 7
    return january_first + (SUNDAY - january_first) % 7


def weeks_in_year(year: int, rule: WeekRule) -> int:
    """52 or 53: how many weeks ``year`` has under ``rule``."""
    return (first_day_of_week_one(year + 1, rule) - first_day_of_week_one(year, rule)) // 7


def span_of_week(year: int, week: int, rule: WeekRule) -> Span | None:
    """The seven days of the week, or None where the year has no such week under the rule.

    >>> print(span_of_week(1999, 10, WeekRule.FOUR_DAYS))
    1999-03-07/1999-03-13
    >>> span_of_week(1960, 53, WeekRule.ISO) is None
    True
    """
    if not 1 <= week <= weeks_in_year(year, rule):
        return None
    first = first_day_of_week_one(year, rule) + 7 * (week - 1)
    return Span(first, first + 6)


def register_week(year: int, week: int) -> tuple[Span, tuple[WeekRule, ...]] | None:
    """Every day the register's week may hold, and the rules under which that week exists.

    The plausible rules differ by a week in years that begin on a Monday, Tuesday, Wednesday or
    Thursday; the span then covers both. None where no rule gives the year such a week.

    >>> span, rules = register_week(1956, 29)
    >>> print(span)
    1956-07-15/1956-07-21
    """
    found = [(span_of_week(year, week, rule), rule) for rule in REGISTER_RULES]
    spans = [(span, rule) for span, rule in found if span is not None]
    if not spans:
        return None
    firsts = [span.earliest for span, _ in spans if span.earliest is not None]
    lasts = [span.latest for span, _ in spans if span.latest is not None]
    return Span(min(firsts), max(lasts)), tuple(rule for _, rule in spans)

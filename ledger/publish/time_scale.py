"""An axis of days: where a day stands on it, and where its ticks go."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from ledger.basis.spans import calendar_date, day_number, days_in_month
from ledger.errors import PublicationError

ISO_DATE = re.compile(r"(-?[0-9]{4,6})(?:-([0-9]{2})(?:-([0-9]{2}))?)?")
MONTH_NAMES = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)

# Steps between ticks, in months, each a fair whole of the one before.
TICK_STEPS_MONTHS = (1, 3, 6, 12, 24, 60, 120, 240, 600, 1200, 2400, 6000, 12_000, 60_000, 120_000)
MONTHLY_TICK_ROOM = 62.0
YEARLY_TICK_ROOM = 46.0
SHORTEST_AXIS_DAYS = 400


def day_of(date: str | None, *, is_end: bool = False) -> int | None:
    """The day number of a date as reports write them; None stays None, an open end.

    A year or month stands for its first day, or its last where it ends something.

    >>> day_of("1956-12-31") == day_of("1956", is_end=True)
    True

    Raises:
        PublicationError: the text is no date of the form YYYY-MM-DD.
    """
    if date is None:
        return None
    found = ISO_DATE.fullmatch(date)
    if found is None:
        raise PublicationError(f"a report holds {date!r} where a date as YYYY-MM-DD is expected")
    year, month, day = (None if part is None else int(part) for part in found.groups())
    try:
        of_year = month or (12 if is_end else 1)
        of_month = day or (days_in_month(int(year or 0), of_year) if is_end else 1)
        return day_number(int(year or 0), of_year, of_month)
    except (ValueError, IndexError) as error:
        raise PublicationError(f"a report holds {date!r}, which is no date") from error


def date_words(date: str | None) -> str:
    """The date as people write it; an open end gives the empty text.

    >>> date_words("1956-07-15"), date_words("1956"), date_words(None)
    ('15 July 1956', '1956', '')
    """
    day = day_of(date)
    if date is None or day is None:
        return ""
    year, month, of_month = calendar_date(day)
    parts = (of_month, MONTH_NAMES[month - 1], year)
    return " ".join(str(part) for part in parts[2 - date.removeprefix("-").count("-") :])


@dataclass(frozen=True, slots=True)
class Tick:
    """A place on the axis with the year, or year and month, that begins there."""

    x: float
    label: str


@dataclass(frozen=True, slots=True)
class Scale:
    """A straight axis from the first day, at ``left``, to the last, at ``right``."""

    first: int
    last: int
    left: float
    right: float

    @classmethod
    def over(cls, days: Iterable[int], left: float, right: float) -> Scale:
        """An axis that holds all the days, with room at both sides for ends that are open."""
        known = sorted(days)
        first, last = (known[0], known[-1]) if known else (day_number(1900), day_number(2000))
        lacking = max(0, SHORTEST_AXIS_DAYS - (last - first))
        room = max(20, (last - first + lacking) // 12)
        return cls(first - lacking // 2 - room, last + lacking // 2 + room, left, right)

    def x(self, day: int) -> float:
        """Where the day stands; days beyond the axis stand at its ends."""
        share = (day - self.first) / (self.last - self.first)
        return self.left + min(1.0, max(0.0, share)) * (self.right - self.left)

    def ticks(self) -> tuple[Tick, ...]:
        """The beginnings of months, years or decades, as close as their labels allow."""
        year, month, _ = calendar_date(self.first)
        first = year * 12 + month
        last_year, last_month, _ = calendar_date(self.last)
        last = last_year * 12 + last_month - 1
        step = self._step(last - first + 1)
        begins = range(-(-first // step) * step, last + 1, step)
        return tuple(self._tick(months, step) for months in begins)

    def _step(self, months: int) -> int:
        for step in TICK_STEPS_MONTHS:
            room = MONTHLY_TICK_ROOM if step < 12 else YEARLY_TICK_ROOM
            if months / step * room <= self.right - self.left:
                return step
        return TICK_STEPS_MONTHS[-1] * (1 + months // TICK_STEPS_MONTHS[-1])

    def _tick(self, months: int, step: int) -> Tick:
        year, month = divmod(months, 12)
        label = f"{year}" if step >= 12 else f"{MONTH_NAMES[month][:3]} {year}"
        return Tick(self.x(day_number(year, month + 1)), label)

"""Which days does a recorded date bound, where it is told as about right or in doubt?

Question answered: the days to be drawn on for a bound, the words for them, and the row of practice
that they rest on besides.

Method: the date format gives its marks of doubt no width. A date that is marked as approximate
(``1946~``) or as doubted (``1946?``) is therefore widened either way by an allowance of practice,
of an interval only the end that is so marked; any other date is taken as it stands. Every rule that
draws a bound from a recorded date reads it here.

Cost: none to speak of.

What it does not do: doubt a date that is told without doubt; that is the soundness of its line.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Final

from ledger.basis.edtf import DateStatement, read_date
from ledger.basis.spans import EVER, Span, Spans, calendar_date, day_number, days_in_month
from ledger.knowledge.packs import Packs, Row
from ledger.reason.wording import days_in_words
from ledger.references import Fact, SerialTable

MARKS: Final = "?~%"
ALLOWANCE: Final = "approximate-date-years"
_DAYS_A_YEAR: Final = 365.2425


@dataclass(frozen=True, slots=True)
class RecordedDays:
    """The days that a recorded date bounds; ``rows`` are those of practice that widened it.

    ``doubt`` is "about", "perhaps" or "perhaps about"; empty where the date is told without any.
    """

    spans: Spans
    said: str
    doubt: str = ""
    rows: tuple[Row[Any], ...] = ()

    @property
    def premises(self) -> tuple[str, ...]:
        """The rows that widened it, as premises."""
        return tuple(f"reference:{row.id}" for row in self.rows)

    @property
    def allowed(self) -> str:
        """What was allowed for its doubt, to stand behind the date; empty where nothing was."""
        return "".join(f", allowing {row.row.value:g} years either way" for row in self.rows)

    @property
    def doubtfully(self) -> str:
        """The date as it is told, with its doubt in words."""
        return f"{self.doubt} {self.said}".strip()

    def in_words(self, days: Spans | None = None, besides: str = "") -> str:
        """The days, with the doubt under which the date was told and what is allowed for it.

        Args:
            days: what they were further widened to; without it, the days themselves.
            besides: what was allowed besides, such as "365 days"; told where there is no doubt
                by whoever allowed it.
        """
        days = days or self.spans
        if not self.doubt:
            return days_in_words(days)
        years = "".join(f"{row.row.value:g} years" for row in self.rows)
        allowed = f"{years} and {besides}" if besides else years
        return f"{self.doubtfully}, allowing {allowed} either way ({days_in_words(days)})"


UNDATED: Final = RecordedDays(EVER, "")


def recorded_days(packs: Packs, text: str) -> RecordedDays:
    """The days that the date bounds, widened where it is told as about right or in doubt."""
    said = read_date(text)
    doubt = doubt_in_words(said)
    if not doubt:
        return RecordedDays(said.spans, text)
    row = packs.practice(ALLOWANCE)
    years = row.row.value
    before, after = _doubted_ends(said)
    spans = widened_by_years(said.spans, years * before, years * after)
    plain = days_in_words(said.spans) if set("/[{") & set(text) else _unmarked(text)
    return RecordedDays(spans, plain, doubt, (row,))


def _unmarked(text: str) -> str:
    return "".join(glyph for glyph in text if glyph not in MARKS)


def doubt_in_words(said: DateStatement) -> str:
    """How the date is doubted, to stand before it.

    >>> doubt_in_words(read_date("1946~")), doubt_in_words(read_date("1946"))
    ('about', '')
    """
    words = ("perhaps",) * said.is_uncertain + ("about",) * said.is_approximate
    return " ".join(words)


def _doubted_ends(said: DateStatement) -> tuple[bool, bool]:
    """Which of its two ends are doubted."""
    if not said.is_interval:
        return True, True
    first, _, last = said.text.partition("/")
    return _is_doubted(first), _is_doubted(last)


def _is_doubted(end: str) -> bool:
    return any(mark in end for mark in MARKS)


def days_of_row(packs: Packs, row: Row[Any] | None, spans: Spans) -> RecordedDays:
    """The days that a table or fact gives, widened where any date of the row is in doubt."""
    for text in _dates_of(row):
        doubt = doubt_in_words(read_date(text))
        if doubt:
            allowance = packs.practice(ALLOWANCE)
            years = allowance.row.value
            wider = widened_by_years(spans, years, years)
            return RecordedDays(wider, days_in_words(spans), doubt, (allowance,))
    return RecordedDays(spans, days_in_words(spans))


def _dates_of(row: Row[Any] | None) -> Iterable[str]:
    if row is not None and isinstance(row.row, SerialTable):
        return tuple(each.date for each in row.row.ranges)
    if row is not None and isinstance(row.row, Fact):
        return tuple(each for each in (row.row.not_before, row.row.not_after) if each is not None)
    return ()


def widened_by_years(spans: Spans, before: float, after: float) -> Spans:
    """Every known end moved outward by so many years of the calendar; an open end stays open.

    >>> print(widened_by_years(read_date("1946").spans, 2, 1.5))
    1944-01-01/1948-07-01
    """
    return Spans.of(
        Span(
            None if part.earliest is None else _moved(part.earliest, -before),
            None if part.latest is None else _moved(part.latest, after),
        )
        for part in spans
    )


def _moved(day: int, years: float) -> int:
    whole = int(years)
    year, month, of_month = calendar_date(day)
    there = day_number(year + whole, month, min(of_month, days_in_month(year + whole, month)))
    return there + round((years - whole) * _DAYS_A_YEAR)

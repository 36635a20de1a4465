"""Read a written date into the days it allows: Extended Date/Time Format, levels 0, 1 and 2.

The format is the Library of Congress's "Extended Date/Time Format (EDTF) Specification" of
2019-02-04, a profile of ISO 8601-2:2019. The reader is strict: what the format does not know
is refused with advice on what to type. Where the format leaves the days open, these choices
hold, each the wider one, because a bound may be too weak but not wrong:
* An unknown end (``1985/``) and an open end (``1985/..``) are both no bound at all.
* The qualifiers ``?``, ``~`` and ``%`` have no width in the format, so they move no bound.
* Seasons name no months: :mod:`ledger.basis.date_patterns` tells which days they may mean.
* ``1950S2`` is any year that shares the two significant digits, 1900 to 1999.
* A date-time is the day as written, whatever its zone.
* ``156X-12-25`` is ten separate days. A union of too many parts is replaced by its hull, from
  the first to the last of its days, and ``is_hull`` says so.
* ``[...]`` is any one of the days it names; ``{...}`` is all of them: their hull (``is_all_of``).

An interval or a set with no date in it at all (``../..``) is refused.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import Enum
from functools import lru_cache

from ledger.basis.date_patterns import (
    FIRST_PART_CODE,
    LAST_PART_CODE,
    MOST_PARTS,
    days_like,
    days_of_part,
    numbers_like,
)
from ledger.basis.date_wordings import Wording, advice_on
from ledger.basis.spans import Span, Spans, day_number, days_in_month, iso_date

MOST_CHARACTERS = 1000
MOST_YEAR_DIGITS = 15

_QUALIFIER = "[?~%]?"
_DATE = re.compile(
    rf"(?P<q0>{_QUALIFIER})(?P<year>-?[0-9X]{{4}})(?P<q1>{_QUALIFIER})"
    rf"(?:-(?P<q2>{_QUALIFIER})(?P<month>[0-9X]{{2}})(?P<q3>{_QUALIFIER})"
    rf"(?:-(?P<q4>{_QUALIFIER})(?P<day>[0-9X]{{2}})(?P<q5>{_QUALIFIER}))?)?"
)
_LONG_YEAR = re.compile(
    r"(?:Y(?P<long>-?[1-9][0-9]*)(?:E(?P<exponent>[1-9][0-9]*))?|(?P<short>-?[0-9]{4})(?=S))"
    rf"(?:S(?P<significant>[1-9][0-9]*))?(?P<q0>{_QUALIFIER})"
)
_LONG_YEAR_BEGINS = re.compile(r"Y|-?[0-9]{4}S")
_DATE_TIME = re.compile(
    r"(?P<day>[0-9]{4}-[0-9]{2}-[0-9]{2})"
    r"T(?:[01][0-9]|2[0-3]):[0-5][0-9]:[0-5][0-9]"
    r"(?:Z|[+-](?:0[0-9]|1[0-4])(?::[0-5][0-9])?)?"
)
_SIMPLY_UNSPECIFIED = re.compile(r"\d{2}(?:\dX|XX)|\d{4}-XX|\d{4}-\d\d-XX|\d{4}-XX-XX")


class EndKind(Enum):
    """What was said about one end of a date, interval or set."""

    GIVEN = "given"
    OPEN = "open"
    UNKNOWN = "unknown"


class DateUnreadable(ValueError):
    """The text is not a date of the format.

    ``position`` counts characters from 0; ``advice`` is a sentence without its full stop, and
    ``suggestions`` are the texts in it that can be typed instead.
    """

    def __init__(
        self, position: int, found: str, expected: str, advice: str, suggestions: tuple[str, ...]
    ) -> None:
        self.position, self.found, self.expected = position, found, expected
        self.advice, self.suggestions = advice, suggestions
        text = f"at character {position + 1}: found {found}; expected {expected}"
        super().__init__(f"{text}. {advice}." if advice else f"{text}.")


class _Misfit(Exception):
    """Where and why a text stops being a date; ``advice`` if the place itself tells it."""

    def __init__(self, position: int, found: str, expected: str, advice: str = "") -> None:
        self.position, self.found, self.expected, self.advice = position, found, expected, advice
        super().__init__(expected)


@dataclass(frozen=True, slots=True)
class DateStatement:
    """A date as typed and the days it allows.

    ``level`` is the lowest level of the format that has every feature used. ``is_hull`` says
    that not every day of ``spans`` is allowed. ``estimated_year`` is the year named by a
    figure with significant digits.
    """

    text: str
    spans: Spans
    level: int
    is_uncertain: bool = False
    is_approximate: bool = False
    is_interval: bool = False
    is_one_of: bool = False
    is_all_of: bool = False
    is_hull: bool = False
    is_season: bool = False
    start: EndKind = EndKind.GIVEN
    end: EndKind = EndKind.GIVEN
    estimated_year: int | None = None

    def __str__(self) -> str:
        return self.text

    @property
    def may_be_year_pair(self) -> bool:
        """Whether a season's text, such as 1930-31, may have been meant as two years.

        >>> read_date("1930-31").may_be_year_pair, read_date("1930-33").may_be_year_pair
        (True, False)
        """
        pair = re.match(r"[0-9]{2}([0-9]{2})-([0-9]{2})", self.text) if self.is_season else None
        return pair is not None and int(pair[2]) == int(pair[1]) + 1


def read_date(text: str) -> DateStatement:
    """The statement that ``text`` makes; ``str`` of it is ``text`` again.

    Raises:
        DateUnreadable: the text is not of the format, or names a day the calendar lacks.

    >>> print(read_date("[1667,1670..1671]").spans)
    1667-01-01/1667-12-31 or 1670-01-01/1671-12-31
    >>> print(read_date("1985/").spans)
    1985-01-01/..
    """
    try:
        return _read(text)
    except _Misfit as misfit:
        wording = _wording_for(text, misfit)
        raise DateUnreadable(
            misfit.position, misfit.found, misfit.expected, wording.sentence, wording.suggestions
        ) from None


def _wording_for(text: str, misfit: _Misfit) -> Wording:
    """The advice of the misfit itself, or one whose every suggestion can be read, or none."""
    wording = None if misfit.advice else advice_on(text)
    if wording is None or not all(_is_readable(form) for form in wording.suggestions):
        return Wording(misfit.advice)
    return wording


def _is_readable(text: str) -> bool:
    try:
        _read(text)
    except _Misfit:
        return False
    return True


@lru_cache(maxsize=4096)
def _read(text: str) -> DateStatement:
    if len(text) > MOST_CHARACTERS:
        raise _Misfit(0, f"{len(text)} characters", f"at most {MOST_CHARACTERS}")
    if text.startswith(("[", "{")):
        return _read_set(text)
    if "/" in text:
        return _read_interval(text)
    return _read_date_time(text) if text[10:11] == "T" else _read_date(text, 0)


def _read_date_time(text: str) -> DateStatement:
    found = _DATE_TIME.fullmatch(text)
    if not found:
        raise _Misfit(
            10,
            repr(text[10:]),
            "a whole date and then a time such as T23:20:30, with Z or +04:30 if the zone is known",
        )
    return DateStatement(text, _read_date(found["day"], 0).spans, level=0)


def _read_date(text: str, offset: int) -> DateStatement:
    """The statement of a single date, which stands ``offset`` characters into the whole."""
    if _LONG_YEAR_BEGINS.match(text):
        return _read_long_year(text, offset)
    found = _DATE.match(text)
    if not found:
        raise _Misfit(offset, repr(text) if text else "nothing", "a year, such as 1985")
    if found.end() < len(text):
        raise _Misfit(offset + found.end(), repr(text[found.end() :]), _what_may_follow(found))
    if found["year"] == "-0000":
        raise _Misfit(offset, "'-0000'", "0000, since the year zero has no sign")
    code = found["month"] or ""
    is_season = code.isdigit() and FIRST_PART_CODE <= int(code) <= LAST_PART_CODE
    if is_season:
        spans, is_hull = _days_of_part(found, offset)
    else:
        spans, is_hull = _days_of_date(found, offset)
    marks = "".join(found[f"q{place}"] or "" for place in range(6))
    return DateStatement(
        text,
        spans,
        _level_of_date(text, found, is_season=is_season),
        is_uncertain="?" in marks or "%" in marks,
        is_approximate="~" in marks or "%" in marks,
        is_hull=is_hull,
        is_season=is_season,
    )


def _days_of_part(found: re.Match[str], offset: int) -> tuple[Spans, bool]:
    if found["day"]:
        place = offset + found.start("day")
        raise _Misfit(place, repr(found["day"]), "no day after a part of the year")
    return days_of_part(found["year"], int(found["month"]))


def _days_of_date(found: re.Match[str], offset: int) -> tuple[Spans, bool]:
    year, month, day = found["year"], found["month"] or "XX", found["day"] or "XX"
    if not numbers_like(month, 12):
        raise _Misfit(
            offset + found.start("month"),
            repr(month),
            f"a month from 01 to 12, or a part of the year from {FIRST_PART_CODE} "
            f"to {LAST_PART_CODE}",
        )
    spans, is_hull = days_like(year, month, day)
    if not spans:
        place = offset + found.start("day")
        raise _Misfit(place, repr(day), f"a day that {year}-{month} has", *_length_of(year, month))
    return spans, is_hull


def _length_of(year: str, month: str) -> tuple[str, ...]:
    if "X" in year + month:
        return ()
    return (f"{year}-{month} has {days_in_month(int(year), int(month))} days",)


def _what_may_follow(found: re.Match[str]) -> str:
    if found["day"]:
        return "nothing after the day"
    if found["month"]:
        return "nothing more, or - and a day of two digits"
    return "nothing more, or - and a month of two digits"


def _level_of_date(text: str, found: re.Match[str], *, is_season: bool) -> int:
    bare = text.rstrip("?~%")
    if any(mark in bare for mark in "?~%") or (is_season and int(found["month"]) > 24):
        return 2
    if "X" in bare:
        return 1 if _SIMPLY_UNSPECIFIED.fullmatch(bare) else 2
    return 1 if is_season or bare != text or bare.startswith("-") else 0


def _read_long_year(text: str, offset: int) -> DateStatement:
    """The statement of a year with a Y, a power of ten or a number of significant digits."""
    found = _LONG_YEAR.match(text)
    if not found or found.end() < len(text):
        end = found.end() if found else 0
        expected = "a year such as Y170000002, Y17E7, 1950S2 or Y3388E2S3"
        raise _Misfit(offset + end, repr(text[end:]), expected)
    written = found["long"] or found["short"]
    digits = len(written.lstrip("-"))
    exponent = found["exponent"] or "0"
    if len(exponent) > 2 or digits + int(exponent) > MOST_YEAR_DIGITS:
        raise _Misfit(offset, repr(text), f"a year of at most {MOST_YEAR_DIGITS} digits")
    if found["long"] and not found["exponent"] and digits <= 4:
        plain = f"{written[:-digits]}{int(written[-digits:]):04d}"
        advice = f"Type {plain}: the letter Y is for years of more than four digits"
        raise _Misfit(offset, repr(text), "a year of more than four digits after Y", advice)
    year = int(written) * 10 ** int(exponent)
    digits += int(exponent)
    significant = int(found["significant"] or digits)
    if significant > digits:
        raise _Misfit(
            offset + found.start("significant"),
            repr(found["significant"]),
            f"at most {digits} significant digits, as the year has no more",
        )
    unit = 10 ** (digits - significant) if found["significant"] else 1
    lowest = abs(year) - abs(year) % unit
    highest = lowest + unit - 1
    if written.startswith("-"):
        lowest, highest = -highest, -lowest
    return DateStatement(
        text,
        Spans.between(day_number(lowest), day_number(highest, 12, 31)),
        2 if found["exponent"] or found["significant"] else 1,
        is_uncertain=found["q0"] in ("?", "%"),
        is_approximate=found["q0"] in ("~", "%"),
        estimated_year=year if found["significant"] else None,
    )


def _read_interval(text: str) -> DateStatement:
    """The statement of an interval: from the first day of its start to the last of its end."""
    first, _, last = text.partition("/")
    start, end = _read_end(first, 0), _read_end(last, len(first) + 1)
    given = [date for date in (start, end) if isinstance(date, DateStatement)]
    if not given:
        raise _Misfit(0, repr(text), "a date at one end at least")
    earliest = start.spans.earliest if isinstance(start, DateStatement) else None
    latest = end.spans.latest if isinstance(end, DateStatement) else None
    return replace(
        _gathered(text, given, Spans((_span(earliest, latest, len(first) + 1),))),
        level=max(0 if len(given) == 2 else 1, *(_level_in_interval(date) for date in given)),
        is_interval=True,
        start=EndKind.GIVEN if isinstance(start, DateStatement) else start,
        end=EndKind.GIVEN if isinstance(end, DateStatement) else end,
    )


def _read_end(text: str, offset: int) -> DateStatement | EndKind:
    if text in ("", ".."):
        return EndKind.OPEN if text else EndKind.UNKNOWN
    return _read_date(text, offset)


def _level_in_interval(date: DateStatement) -> int:
    """The level of a date as an end: unspecified digits there belong to level 2."""
    return 2 if "X" in date.text else date.level


def _span(earliest: int | None, latest: int | None, position: int) -> Span:
    if earliest is not None and latest is not None and latest < earliest:
        raise _Misfit(
            position,
            f"an end on {iso_date(latest)}",
            f"an end not before the start, {iso_date(earliest)}",
            "Put the earlier date first",
        )
    return Span(earliest, latest)


def _read_set(text: str) -> DateStatement:
    """The statement of a set: one of its dates, ``[...]``, or all of them, ``{...}``."""
    closing = "]" if text[0] == "[" else "}"
    if not text.endswith(closing):
        raise _Misfit(len(text), "the end of the text", f"{closing} to close the set")
    items = text[1:-1].split(",")
    given: list[DateStatement] = []
    spans: list[Span] = []
    offset = 1
    for place, item in enumerate(items):
        dates, found = _read_item(item, offset, (place == 0, place == len(items) - 1))
        given.extend(dates)
        spans.extend(found)
        offset += len(item) + 1
    union = Spans.of(spans)
    is_all_of, is_too_many = closing == "}", len(union.parts) > MOST_PARTS
    hull = Spans.between(union.earliest, union.latest)
    is_gapped = len(union.parts) > 1 and (is_all_of or is_too_many)
    return replace(
        _gathered(text, given, hull if is_gapped else union),
        level=2,
        is_one_of=not is_all_of,
        is_all_of=is_all_of,
        is_hull=is_gapped or any(date.is_hull for date in given),
        start=EndKind.OPEN if union.earliest is None else EndKind.GIVEN,
        end=EndKind.OPEN if union.latest is None else EndKind.GIVEN,
    )


def _read_item(
    item: str, offset: int, is_at_edge: tuple[bool, bool]
) -> tuple[list[DateStatement], Sequence[Span]]:
    """The dates in one item of a set, and the days it allows."""
    first, dots, last = item.partition("..")
    if not dots:
        date = _read_date(item, offset)
        return [date], date.spans.parts
    if (not first and not is_at_edge[0]) or (not last and not is_at_edge[1]):
        raise _Misfit(
            offset, repr(item), ".. without a date only at the very start or end of the set"
        )
    begin = _read_date(first, offset) if first else None
    position = offset + len(first) + 2
    end = _read_date(last, position) if last or not first else None
    span = _span(
        begin.spans.earliest if begin else None, end.spans.latest if end else None, position
    )
    return [date for date in (begin, end) if date], [span]


def _gathered(text: str, given: Sequence[DateStatement], spans: Spans) -> DateStatement:
    """A statement made of several: in doubt where any of them is."""
    return DateStatement(
        text,
        spans,
        level=0,
        is_uncertain=any(date.is_uncertain for date in given),
        is_approximate=any(date.is_approximate for date in given),
    )

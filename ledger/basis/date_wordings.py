"""What to type instead, for the ways people write dates outside the standard.

Nothing here reads a date: a wording such as "circa 1955" is refused by the reader in
:mod:`ledger.basis.edtf`, and this table only says how the standard writes what was probably
meant. The person decides, because most of these wordings can be meant in more than one way.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

MONTH_NAMES = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
SEASON_NAMES = {"spring": 21, "summer": 22, "autumn": 23, "fall": 23, "winter": 24}

_MONTH = r"(?P<month>jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\.?"
_DAY = r"(?P<day>\d{1,2})(?:st|nd|rd|th)?"
_YEAR = r"(?P<year>\d{4})"
_DATE = r"(?P<date>\d{4}(?:-\d\d(?:-\d\d)?)?)"
_ABOUT = r"(?:circa|about|around|approx(?:imately)?\.?|abt\.?|ca?\.?)"
_TO = r"(?:\s*[-\u2010-\u2015/]\s*|\s+(?:to|until|through|and)\s+)"


@dataclass(frozen=True, slots=True)
class Wording:
    """A sentence of advice, and the texts in it that the reader does read."""

    sentence: str
    suggestions: tuple[str, ...] = ()


Match = re.Match[str]


def _approximate(found: Match) -> Wording:
    return _one(f"{found['date']}~", "for an approximate date")


def _approximate_decade(found: Match) -> Wording:
    return _one(f"{found['decade']}X~", "for a decade that is itself approximate")


def _decade(found: Match) -> Wording:
    return _one(f"{found['decade']}X", "for some year of the decade")


def _part_of_decade(found: Match) -> Wording:
    decade = found["decade"]
    span = {"early": (0, 4), "mid": (3, 7), "late": (5, 9)}[found["part"].lower()]
    choice = f"[{decade}{span[0]}..{decade}{span[1]}]"
    return _either(f"{decade}X", "for some year of the decade", choice, "if those are the years")


def _years(found: Match) -> Wording | None:
    first, last = found["first"], found["last"]
    last = first[: 4 - len(last)] + last
    if last < first:
        return None
    return _either(
        f"[{first}..{last}]",
        "for one date somewhere in those years",
        f"{first}/{last}",
        "for something that lasted from the first to the last",
    )


def _either_year(found: Match) -> Wording:
    return _one(f"[{found['first']},{found['last']}]", "for one or the other")


def _before(found: Match) -> Wording:
    year = int(found["year"])
    return _either(
        f"[..{year - 1:04d}]", "for a date before that year", f"[..{year:04d}]", "to include it"
    )


def _after(found: Match) -> Wording:
    year = int(found["year"])
    return _either(
        f"[{year + 1:04d}..]", "for a date after that year", f"[{year:04d}..]", "to include it"
    )


def _not_after(found: Match) -> Wording:
    return _one(f"[..{found['date']}]", "for that date or an earlier one")


def _not_before(found: Match) -> Wording:
    return _one(f"[{found['date']}..]", "for that date or a later one")


def _named_day(found: Match) -> Wording:
    month = MONTH_NAMES.index(found["month"].lower()) + 1
    return _one(f"{found['year']}-{month:02d}-{int(found['day']):02d}", "for that day")


def _named_month(found: Match) -> Wording:
    month = MONTH_NAMES.index(found["month"].lower()) + 1
    return _one(f"{found['year']}-{month:02d}", "for that month")


def _season(found: Match) -> Wording:
    code = SEASON_NAMES[found["season"].lower()]
    year = found["year"]
    return _either(
        f"{year}-{code}",
        "for the season wherever it was",
        f"{year}-{code + 4}",
        "for the northern half of the earth",
    )


def _quarter(found: Match) -> Wording:
    return _one(f"{found['year']}-{32 + int(found['quarter'])}", "for that quarter of the year")


def _figures(found: Match) -> Wording:
    year, one, two = found["year"], int(found["one"]), int(found["two"])
    forms = [f"{year}-{m:02d}-{d:02d}" for m, d in dict.fromkeys(((one, two), (two, one)))]
    forms = [form for form in forms if 1 <= int(form[5:7]) <= 12 and 1 <= int(form[8:]) <= 28]
    if len(forms) == 2:
        return _either(forms[0], "if the month stood first", forms[1], "if the day did")
    if forms:
        return _one(forms[0], "for that day")
    return Wording("Write the year, the month and the day in this order: 1956-03-12")


def _figure_month(found: Match) -> Wording:
    return _one(f"{found['year']}-{int(found['one']):02d}", "for that month")


def _padded(found: Match) -> Wording:
    parts = [found["year"], f"{int(found['one']):02d}"]
    if found["two"]:
        parts.append(f"{int(found['two']):02d}")
    return _one("-".join(parts), "with two digits for month and day")


def _joined(found: Match) -> Wording:
    return _one(f"{found['year']}-{found['one']}-{found['two']}", "for that day")


def _doubt(found: Match) -> Wording:
    return _one(f"{found['date']}?", "for an uncertain date")


def _both_doubts(found: Match) -> Wording:
    return _one(f"{found['date']}%", "for a date both uncertain and approximate")


def _unread_digits(found: Match) -> Wording:
    digits = found["digits"] + "X" * (4 - len(found["digits"]))
    return _one(digits, "with a capital X for each digit that is not known")


def _from_then_on(found: Match) -> Wording:
    return _either(
        f"{found['date']}/..", "if it still goes on", f"{found['date']}/", "if the end is unknown"
    )


def _capitals(found: Match) -> Wording | None:
    capitals = found[0].upper()
    return None if capitals == found[0] else _one(capitals, "in capitals")


def _before_christ(found: Match) -> Wording:
    year = int(found["bc"]) - 1
    return _one(f"-{year:04d}" if year else "0000", "because the standard has a year zero")


def _week(_: Match) -> Wording:
    return Wording(
        "The standard has no weeks: give the first and the last day it may be, "
        "such as [1963-03-17..1963-03-23], or record the mark that shows the week",
        ("[1963-03-17..1963-03-23]",),
    )


def _two_digits(found: Match) -> Wording:
    return Wording(
        f"Write the year with four digits. If the century is not known, XX{found['year']} "
        "keeps it open",
        (f"XX{found['year']}",),
    )


def _no_date(_: Match) -> Wording:
    return Wording(
        "Leave the date out; say what was searched, or that nobody looked, as a non-value"
    )


def _spaced(found: Match) -> Wording:
    return _one(re.sub(r"\s*([\[\]{},/]|\.\.)\s*", r"\1", found[0]), "without spaces")


def _one(form: str, purpose: str) -> Wording:
    return Wording(f"Type {form} {purpose}", (form,))


def _either(form: str, purpose: str, other: str, other_purpose: str) -> Wording:
    return Wording(f"Type {form} {purpose}, or {other} {other_purpose}", (form, other))


_TABLE: tuple[tuple[str, Callable[[Match], Wording | None]], ...] = (
    (rf"{_ABOUT}\s*(?P<decade>\d{{3}})0'?s", _approximate_decade),
    (rf"{_ABOUT}\s*{_DATE}", _approximate),
    (r"(?:the\s+)?(?P<decade>\d{3})0'?s", _decade),
    (r"(?:the\s+)?(?P<part>early|mid|late)[\s-]+(?P<decade>\d{3})0'?s", _part_of_decade),
    (rf"(?:between\s+|from\s+)?(?P<first>\d{{4}}){_TO}(?P<last>\d{{4}}|\d\d)", _years),
    (r"(?P<first>\d{4})(?:\s+or\s+|\s*,\s*)(?P<last>\d{4})", _either_year),
    (rf"(?:before|pre)[\s-]*{_YEAR}", _before),
    (rf"(?:after|post)[\s-]*{_YEAR}", _after),
    (rf"(?:by|until|not\s+(?:after|later\s+than))\s+{_DATE}", _not_after),
    (rf"(?:from|since|not\s+(?:before|earlier\s+than))\s+{_DATE}", _not_before),
    (rf"{_DAY}\s+{_MONTH},?\s+{_YEAR}", _named_day),
    (rf"{_MONTH}\s+{_DAY},?\s+{_YEAR}", _named_day),
    (rf"{_YEAR},?\s+{_MONTH}\s+{_DAY}", _named_day),
    (rf"{_MONTH},?\s+{_YEAR}", _named_month),
    (rf"{_YEAR},?\s+{_MONTH}", _named_month),
    (rf"(?P<season>spring|summer|autumn|fall|winter)(?:\s+of)?,?\s+{_YEAR}", _season),
    (rf"(?:q(?P<quarter>[1-4]))[\s/-]*{_YEAR}", _quarter),
    (rf"{_YEAR}[\s/-]*q(?P<quarter>[1-4])", _quarter),
    (rf"(?P<one>\d{{1,2}})[./-](?P<two>\d{{1,2}})[./-]{_YEAR}", _figures),
    (rf"(?P<one>0?[1-9]|1[0-2])[./-]{_YEAR}", _figure_month),
    (rf"{_YEAR}[./-](?P<one>0?[1-9]|1[0-2])(?:[./-](?P<two>0?[1-9]|[12]\d|3[01]))?", _padded),
    (rf"{_YEAR}(?P<one>0[1-9]|1[0-2])(?P<two>0[1-9]|[12]\d|3[01])", _joined),
    (rf"{_DATE}\s*\(\?\)", _doubt),
    (rf"{_DATE}(?:\?~|~\?)", _both_doubts),
    (r"(?P<digits>\d{1,3})[?_.*-]{1,3}", _unread_digits),
    (r"(?P<digits>\d{1,3})[u]{1,3}", _unread_digits),
    (rf"{_DATE}\s*[-\u2010-\u2015]", _from_then_on),
    (r"y-?\d+(?:e\d+)?(?:s\d+)?", _capitals),
    (r"-?[\dx]{4}(?:-[\dx]{2}){0,2}", _capitals),
    (r"(?P<bc>\d{1,4})\s*b\.?\s?c\.?(?:e\.?)?", _before_christ),
    (rf"{_YEAR}-?w\d\d(?:-?\d)?|w(?:ee)?k.*|.*\bw(?:ee)?k\b.*", _week),
    (r"'?(?P<year>\d\d)", _two_digits),
    (
        r"unknown|undated|open|none|n\.?\s?d\.?|not\s+known|\?+|-+|/|\.\.|(?:\.\.)?/(?:\.\.)?",
        _no_date,
    ),
    (r"[\[{\s\d\-X?~%./,Y}\]]*", _spaced),
)
_WORDINGS = tuple(
    (re.compile(pattern, re.IGNORECASE | re.ASCII), advise) for pattern, advise in _TABLE
)


def advice_on(text: str) -> Wording | None:
    """How the standard writes what ``text`` probably means, or None where that is not known.

    >>> advice_on("circa 1955").suggestions
    ('1955~',)
    >>> advice_on("12/3/1956").suggestions
    ('1956-12-03', '1956-03-12')
    """
    for pattern, advise in _WORDINGS:
        found = pattern.fullmatch(text.strip())
        wording = advise(found) if found else None
        if wording:
            return wording
    return None

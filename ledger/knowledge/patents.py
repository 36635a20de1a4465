"""Patent notices: what a number, a date or the words alone say of the part that bears them.

Question answered: not before when was a part marked with these patents. A United States number
falls in the year whose first number, by the Patent Office's table, is the last not above it; the
part is not older than the first day of that year. Of several numbers the latest governs. That a
patent was applied for or is pending dates nothing by itself.

What it does not do: it never gives a latest date, since marks stay in use for decades; and it
reads no number of another country, or of a kind whose first numbers are not at hand.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from ledger.basis.date_wordings import MONTH_NAMES
from ledger.basis.spans import NO_DAY, Spans, day_number, days_in_month, iso_date
from ledger.knowledge.glyphs import collapsed
from ledger.knowledge.packs import Row
from ledger.knowledge.readings import MarkReading
from ledger.references import PatentYear

MOST_NUMBERS = 12
MOST_CHARACTERS = 400
# Beyond the first number of the last year held, so many more are taken to be of that year or
# later; what lies further out is no number yet granted.
MOST_BEYOND_TABLE = 1_500_000

_MONTHS = "|".join(MONTH_NAMES).upper()
_DIGIT = "[0-9?]"
# The word, and what may follow it as long as the notice goes on: figures, dates, small words.
_NOTICE = re.compile(
    r"\bPAT(?:ENT)?(?:[\u2019']?[SD]|ED)?\b"
    rf"(?P<rest>(?:[0-9?., :;&#/()+\u2019'-]|(?:{_MONTHS})[A-Z]*|(?<=[0-9])(?:ST|ND|RD|TH)\b"
    r"|(?:NOS?|NUMBERS?|AND|OTHERS?|U|S|US|USA|A|LETTERS|DES|DESIGNS?|D|RE|PATS?|PATENTS?|DATED|ON)(?![A-Z]))*)"
)
_BARE_DESIGN = re.compile(r"D[- ]?[0-9?]{1,3},[0-9?]{3}")
_PENDING = re.compile(
    r"\bPAT(?:ENT)?S?\b\.?[ -]?(?:IS |ARE )?(?:APPLIED|APPLICATION|APPL\b|APP\b|PENDING|PEND\b|PDG\b)"
)
_NUMBER = re.compile(
    r"(?<![0-9?])(?<![0-9?][,.])"
    r"(?P<kind>RE\.?|DES(?:IGN)?\.?(?: PAT(?:ENT)?S?\.?)?(?: NOS?\.?)?|D\.?|)[- ]?"
    rf"(?P<number>{_DIGIT}{{1,3}}(?:,{_DIGIT}{{3}})+|{_DIGIT}{{1,3}}(?:\.{_DIGIT}{{3}})+"
    rf"|{_DIGIT}{{1,2}} {_DIGIT}{{3}} {_DIGIT}{{3}}|{_DIGIT}{{4,8}})"
    rf"(?![0-9?]|[,.]{_DIGIT}{{3}})"
)
_DATE = re.compile(
    rf"\b(?P<month>{_MONTHS})[A-Z]*\.?[ -]?(?P<day>[0-9]{{1,2}})(?:ST|ND|RD|TH)?[., -]{{1,3}}"
    r"(?P<year>1[789][0-9]{2}|20[0-9]{2}|[\u2019']?[0-9]{2})\b"
)
_DESIGNS = re.compile(r"\bDES(?:IGN)?\b\.? ?$")
_ELSEWHERE = re.compile(
    r"\b(?:BRIT(?:ISH)?|GT\.? BRIT\w*|ENGLISH|U\.? ?K|GB|CAN(?:ADA|ADIAN)?|FR(?:ANCE|ENCH)?|BREVET\w*"
    r"|GER(?:MAN)?\w*|DEUTSCH\w*|D\.? ?R\.? ?P|D\.? ?B\.? ?P|DBGM|DRGM|JAP\w*|SWISS|SWED\w*|ITAL\w*)\b"
)
_OFFICE = re.compile(r"\bPAT(?:ENT)?S?\.? ?(?:(?:&|AND) ?T\.? ?M\.? ?)?OFF[A-Z.]*")


@dataclass(frozen=True, slots=True)
class _Notice:
    """One number or date of a notice: how it reads, the first day of its grant, and its row."""

    reading: str
    reason: str
    earliest: int | None
    row: Row[PatentYear] | None
    number: int | None = None


class PatentTable:
    """The first numbers of both series, ready to look up; build once and keep."""

    def __init__(self, rows: Iterable[Row[PatentYear]]) -> None:
        held = sorted(rows, key=lambda row: (row.row.first, row.row.year))
        self._rows = {
            series: tuple(row for row in held if row.row.series == series)
            for series in ("utility", "design")
        }
        self._firsts = {
            series: [row.row.first for row in held] for series, held in self._rows.items()
        }

    def year_of(self, series: str, number: int) -> Row[PatentYear] | None:
        """The row of the year in which the number was granted, or None where it is outside.

        The last year held stands for itself and those after it.
        """
        firsts = self._firsts[series]
        place = bisect_right(firsts, number) - 1
        if place < 0 or number > firsts[-1] + MOST_BEYOND_TABLE:
            return None
        return self._rows[series][place]

    def is_last(self, row: Row[PatentYear]) -> bool:
        """Whether the table goes no further than the year of the row."""
        return self._rows[row.row.series][-1] is row


def patent_readings(text: str, table: PatentTable) -> list[MarkReading]:
    """Every number and date of the patent notices in a mark; empty where it has none.

    The latest is used and the others say so. A notice may stand among other words.
    """
    if len(text) > MOST_CHARACTERS:
        return []
    plain = collapsed(text).upper()
    if "PAT" not in plain:
        return _bare_design(plain, table)
    plain = _OFFICE.sub(" ", plain)
    found: list[_Notice] = []
    for notice in _NOTICE.finditer(plain):
        before = plain[: notice.start()]
        found += [*_dates(notice["rest"]), *_numbers(before, notice["rest"], table)]
    if found:
        return _governed(found[:MOST_NUMBERS], is_said=True)
    return [_pending()] if _PENDING.search(plain) else []


def _bare_design(plain: str, table: PatentTable) -> list[MarkReading]:
    if not plain.startswith("D") or not _BARE_DESIGN.fullmatch(plain):
        return []
    return _governed(_numbers("", plain, table), is_said=False)


def _numbers(before: str, notice: str, table: PatentTable) -> list[_Notice]:
    without_dates = _DATE.sub(" ", notice)
    is_design = _DESIGNS.search(before) is not None
    is_elsewhere = _ELSEWHERE.search(before) is not None
    found: list[_Notice] = []
    for match in _NUMBER.finditer(without_dates):
        kind, written = match["kind"], match["number"]
        number = re.sub(r"[,. ]", "", written)
        if kind.startswith("RE"):
            found.append(_unread(f"reissue {written}", "the first numbers of reissues"))
        elif is_elsewhere:
            found.append(_unread(f"number {written}", "the first numbers of that country"))
        else:
            is_one = kind.startswith("D") or (is_design and len(number) < 7)
            found.append(_by_table("design" if is_one else "utility", number, table))
    return found


def _unread(what: str, missing: str) -> _Notice:
    reason = f"A patent notice; {missing} are not at hand, so it gives no date here."
    return _Notice(f"{what}: not dated", reason, None, None)


def _by_table(series: str, number: str, table: PatentTable) -> _Notice:
    """The notice of a number whose figures in doubt may be any."""
    lowest, highest = int(number.replace("?", "0")), int(number.replace("?", "9"))
    name = f"United States {'design ' if series == 'design' else ''}patent"
    written = f"{lowest:,}" if lowest == highest else f"{number} (a figure in doubt)"
    first, last = table.year_of(series, max(lowest, 1)), table.year_of(series, highest)
    if first is None:
        reason = f"{name} {written} is outside the Patent Office's table of first numbers."
        return _Notice(f"{name} {written}: no such number is known", reason, None, None)
    until = first if last is None else last
    years = f"{first.row.year}"
    if until is not first:
        years = f"{first.row.year} to {until.row.year}"
    elif table.is_last(first):
        years = f"{first.row.year} or later"
    reason = (
        f"Numbers of {first.row.year} begin at {first.row.first:,} ({first.row.confidence} "
        "confidence). The part is not older than that year; the mark may have been used for "
        f"decades after. If the number is not of the United States it says nothing. {first.row.note}"
    ).strip()
    if len(number) == 4 and 1790 <= lowest <= 2029:
        reason += f" If it is the year {lowest} and no number, the part is not older than that."
    earliest = day_number(first.row.year)
    number_read = lowest if lowest == highest else None
    return _Notice(f"{name} {written}, of {years}", reason, earliest, first, number_read)


def _dates(plain: str) -> list[_Notice]:
    """The dates of patents that a notice gives in words, as was asked for until 1927."""
    found: list[_Notice] = []
    for match in _DATE.finditer(plain):
        month, day = MONTH_NAMES.index(match["month"].lower()) + 1, int(match["day"])
        written = match["year"].lstrip("\u2019'")
        years = (int(written),) if len(written) == 4 else (1800 + int(written), 1900 + int(written))
        days = [
            day_number(year, month, day) for year in years if 1 <= day <= days_in_month(year, month)
        ]
        if not days:
            continue
        more = (
            "" if len(years) == 1 else f" The century is not told: {iso_date(days[-1])} fits too."
        )
        reason = (
            "The notice gives the date of a patent: the part is not older. From 1927 the number "
            f"had to be marked in place of the date (from memory).{more}"
        )
        found.append(_Notice(f"patent of {iso_date(days[0])}", reason, days[0], None))
    return found


def _governed(notices: Sequence[_Notice], *, is_said: bool) -> list[MarkReading]:
    """The readings of all notices, of which the one with the latest grant is used."""
    dated = [notice for notice in notices if notice.earliest is not None]
    latest = max(dated, key=lambda notice: notice.earliest or 0, default=None)
    found: list[MarkReading] = []
    for notice in notices:
        reading = _reading(notice)
        if notice is latest:
            others = " It is the latest of several and governs." if len(dated) > 1 else ""
            no_word = "" if is_said else " No word says that it is a patent, so it is not used."
            reason = f"{reading.reason}{others}{no_word}"
            found.append(replace(reading, reason=reason, is_used=is_said))
        elif notice.earliest is not None:
            reason = f"{reading.reason} A later one in the same mark governs."
            found.append(replace(reading, reason=reason))
        else:
            found.append(reading)
    return found


def _reading(notice: _Notice) -> MarkReading:
    row = notice.row
    return MarkReading(
        reading=notice.reading,
        reason=notice.reason,
        source=row.row.source if row else "the mark itself, as recorded",
        reference=row.id if row else "",
        spans=NO_DAY if notice.earliest is None else Spans.between(notice.earliest, None),
        bears_on="made",
        is_plain=True,
        is_used=False,
        number=notice.number,
        kind="fact",
    )


def _pending() -> MarkReading:
    reason = (
        "A patent was applied for and not yet granted when the mark was first used. Without the "
        "application this bounds nothing, and such marks outlive the grant and even a refusal."
    )
    return MarkReading(
        reading="patent applied for: no date",
        reason=reason,
        source="common practice, no source",
        reference="",
        spans=NO_DAY,
        bears_on=None,
        is_plain=True,
        is_used=False,
        kind="fact",
    )

"""A source-date code divided into its fields: the years, weeks and days that they allow.

Question answered: given a division into source, year and week, which years end in the figures,
which weeks exist, and who is the source. Everything here is of one division; which divisions
are tried, and what is made of the answers, is for :mod:`ledger.knowledge.source_dates`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import product

from ledger.basis.spans import REGISTER_RULES, Span, Spans, register_week
from ledger.knowledge.glyphs import Glyph
from ledger.knowledge.packs import Packs, Row
from ledger.knowledge.readings import MarkReading
from ledger.references import MarkLayout, SourceCode

MOST_DOUBTFUL = 3
MOST_SEPARATE = 24
GREATEST_WEEK = 53
MOST_NAMED = 6

Pair = tuple[int, int]

# The weeks of a few dozen years are asked for again and again.
week_of_register = cache(register_week)


@dataclass(frozen=True, slots=True)
class Code:
    """A code divided by a layout. ``is_sure`` says that the layout may be used for it."""

    layout: Row[MarkLayout]
    source: tuple[Glyph, ...]
    year: tuple[Glyph, ...]
    week: tuple[Glyph, ...]
    remark: str = ""
    is_sure: bool = True

    @property
    def dated(self) -> tuple[Glyph, ...]:
        """The glyphs of year and week."""
        return (*self.year, *self.week)

    def years(self, digits: str) -> range:
        """The years of the layout that end in the digits."""
        return years_ending((self.layout.row.first_year, self.layout.row.last_year), digits)

    def pairs(self) -> Iterator[Pair]:
        """Every (year, week) the glyphs allow, possible or not, in order."""
        if all([len(glyph.options) == 1 for glyph in self.dated]):  # noqa: C419 - it is asked often
            week = int(written_options(self.week))
            years = self.years(written_options(self.year))
            return ((year, week) for year in years)
        years_allowed = sorted({y for digits in texts(self.year) for y in self.years(digits)})
        return product(years_allowed, sorted(int(digits) for digits in texts(self.week)))

    def with_dated(self, dated: tuple[Glyph, ...]) -> Code:
        """The same code with other glyphs of year and week."""
        count = len(self.year)
        return Code(self.layout, self.source, dated[:count], dated[count:], "", self.is_sure)

    def reading(self, reading: str, reason: str, spans: Spans, how: str) -> MarkReading:
        """``how`` is used, plain (as recorded but without a date) or misread."""
        return MarkReading(
            reading=reading,
            reason=reason,
            source=self.layout.row.source,
            reference=self.layout.id,
            spans=spans,
            bears_on="made",
            is_plain=how != "misread",
            is_used=how == "used" and self.is_sure,
        )

    def divided(self) -> str:
        """How the code divides, in words."""
        fields = " ".join(written(field) for field in (self.source, self.year, self.week))
        remark = f" {self.remark}" if self.remark else ""
        return f"Read as {fields}: {self.layout.row.reading}.{remark}"


def texts(field: tuple[Glyph, ...]) -> list[str]:
    """Every run of digits that the field may be."""
    return ["".join(choice) for choice in product(*(glyph.digits() for glyph in field))]


def written(field: tuple[Glyph, ...]) -> str:
    """The field as it was recorded."""
    return "".join([glyph.written for glyph in field])


def days_of(pairs: Iterable[Pair]) -> Spans:
    """The days of all those weeks."""
    weeks = (week_of_register(*pair) for pair in pairs)
    return Spans.of(week[0] for week in weeks if week is not None)


@cache
def days_of_week(year: int, week: int) -> Spans:
    """The days of the one week."""
    return days_of([(year, week)])


def used_days(code: Code) -> tuple[Span, ...]:
    """The days of every week that the code may mean."""
    if all([len(glyph.options) == 1 for glyph in code.dated]):  # noqa: C419 - it is asked often
        row = code.layout.row
        year, week = (written_options(field) for field in (code.year, code.week))
        return _days_of_figures((row.first_year, row.last_year), year, int(week))
    return days_of(pair for pair in code.pairs() if 1 <= pair[1] <= GREATEST_WEEK).parts


def written_options(field: tuple[Glyph, ...]) -> str:
    """The figures of a field that is in no doubt."""
    return "".join([glyph.options for glyph in field])


@lru_cache(maxsize=1 << 14)
def _days_of_figures(years: tuple[int, int], year: str, week: int) -> tuple[Span, ...]:
    """The days of a week of every year of a layout that ends in the figures."""
    if not 1 <= week <= GREATEST_WEEK:
        return ()
    return days_of((each, week) for each in years_ending(years, year)).parts


def years_ending(years: tuple[int, int], figures: str) -> range:
    """The years, from the first to the last, that end in the figures.

    >>> list(years_ending((1940, 1969), "5"))
    [1945, 1955, 1965]
    """
    step = 10 ** len(figures)
    first = years[0] + (int(figures) - years[0]) % step
    return range(first, years[1] + 1, step)


@cache
def week_rules(year: int, week: int) -> str:
    """Which week rules of the register the days stand on, in words."""
    found = week_of_register(year, week)
    if found is None:
        return ""
    span, rules = found
    if len(rules) < len(REGISTER_RULES):
        return f"{year} has a week {week:02d} by one rule alone: {rules[0].value}."
    length = (span.latest or 0) - (span.earliest or 0) + 1
    if length > 7:
        return f"The week rules of the register differ by a week in {year}; the days cover both."
    return "The register's weeks run Sunday to Saturday; its week rules agree here."


@lru_cache(maxsize=8)
def companies(packs: Packs) -> dict[str, str]:
    """What is told of each source, never more surely than the list it comes from."""
    told = {
        "high": "{source} stands for {company} ({parts}; {origin}).",
        "medium": "{source} is listed as {company} ({parts}; medium confidence: {origin}).",
        "low": "{source} may be {company} ({parts}); low confidence, not a fact: {origin}.",
    }
    found: dict[str, list[str]] = {}
    for row in (found.row for found in packs.rows(SourceCode)):
        sentence = told[row.confidence].format(
            source=row.code, company=row.company, parts=row.parts, origin=row.source
        )
        found.setdefault(row.code, []).append(sentence)
    return {code: " ".join(sentences) for code, sentences in found.items()}


def company_of(source: tuple[Glyph, ...], packs: Packs) -> str:
    """What is known of the source of a code."""
    if any(glyph.is_doubtful for glyph in source):
        return f"The source {written(source)} is not read whole, so no maker is named."
    code = "".join([glyph.options for glyph in source])
    return companies(packs).get(code) or f"No list at hand names the source {code}."


def is_listed(source: tuple[Glyph, ...], packs: Packs) -> bool:
    """Whether a list names the source, or one of those it may be."""
    known = companies(packs)
    return any(code in known for code in texts(source))

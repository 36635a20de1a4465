"""The rows of a pack that tell how a mark is read: codes, signs, layouts and first numbers."""

from __future__ import annotations

import re
from typing import Literal, Self

from pydantic import Field, model_validator

from ledger.models import Count, LineId, Model, Text, YesNo, fault
from ledger.rows import Number, Pattern, Reference

FieldSigns = Literal["figures", "words", "Roman numerals", "signs"]
DATE_GROUPS = frozenset({"year", "month", "week", "day", "batch"})


class MarkLayout(Reference):
    """How a source-date code divides into source, year and week."""

    source_digits: Count
    year_digits: Count
    first_year: Count
    last_year: Count
    reading: Text
    known_sources_only: YesNo = Field(
        default=False, description="used only where a list names the source, and at its positions"
    )
    positions: tuple[LineId, ...] = Field(
        default=(), description="the components that bear such codes; letters count as digits there"
    )


class Confusion(Reference):
    """Two glyphs that are taken for one another."""

    glyphs: tuple[str, str]
    why: Text


class SourceCode(Reference):
    """Whose source code a number is, as far as is known."""

    code: Text
    company: Text
    parts: Text


class Sign(Model):
    """A sign of a code and the figures it may stand for, the oldest first."""

    sign: Text
    means: tuple[Count, ...] = Field(min_length=1)


class DateCode(Reference):
    """A way of writing a date or batch: a pattern and what its named groups stand for.

    Groups: ``year`` (its last one, two or all four figures), ``month``, ``week``, ``day``,
    ``batch``. Every year of the range that fits is a candidate.
    """

    pattern: Pattern = Field(description="matches the whole mark; groups year, month, week ...")
    reading: Text = Field(description="what the fields are, in words")
    positions: tuple[LineId, ...] = ()
    used: Literal["anywhere", "at positions", "by scheme"] = Field(
        default="at positions", description="where a date is drawn from it without a scheme"
    )
    bears_on: Literal["made", "completed"] | None = Field(
        default=None, description="without it, of the part itself, where marks date the part"
    )
    first_year: Count
    last_year: Count
    years: FieldSigns = "figures"
    months: FieldSigns = "figures"
    year_signs: tuple[Sign, ...] = ()
    month_signs: tuple[Sign, ...] = ()
    weeks: Literal["ISO 8601", "register"] = "ISO 8601"

    @model_validator(mode="after")
    def _fields_fit(self) -> Self:
        groups = frozenset(re.compile(self.pattern).groupindex)
        if unknown := groups - DATE_GROUPS:
            known = ", ".join(sorted(DATE_GROUPS))
            raise fault(f"the group {min(unknown)!r}", f"groups named {known}")
        if "day" in groups and "month" not in groups:
            raise fault("a day without a month", "both, or neither")
        if "week" in groups and "month" in groups:
            raise fault("a week beside a month", "one of them")
        for field, signs in ((self.years, self.year_signs), (self.months, self.month_signs)):
            if (field == "signs") != bool(signs):
                raise fault(f"{field} with {len(signs)} signs", "signs, and their table")
        if self.last_year < self.first_year:
            raise fault(f"{self.first_year} to {self.last_year}", "first_year <= last_year")
        return self


class PatentYear(Reference):
    """The first number of a series of patents in a year."""

    series: Literal["utility", "design"]
    year: Count
    first: Count


ValueSystem = Literal[
    "resistance",
    "capacitance",
    "tolerance",
    "tolerance in pF",
    "colour figure",
    "colour multiplier",
    "colour tolerance",
    "colour coefficient",
    "word of capacitance",
    "word of frequency",
]


class ValueSign(Reference):
    """What a letter, colour or word stands for in a value marked on a component.

    ``means`` is a power of ten for multipliers and units, a figure for a colour, a percentage
    (or picofarads, or parts per million and kelvin) for tolerances and coefficients. ``low`` is
    the lower limit where it is not the upper one with its sign turned.
    """

    sign: Text
    system: ValueSystem
    means: Number
    low: Number | None = None
    edition: str = Field(default="", description="of which edition alone it is so")

"""What is known about production: the rows of a pack and the catalogues of positions.

A reference statement is an assertion too: each row says from where it is known and how far it
can be relied on; a pack with a row that lacks either does not load.
"""

from __future__ import annotations

from typing import Literal, Self

from pydantic import Field, model_validator

from ledger.marking import (
    Confusion,
    DateCode,
    MarkLayout,
    PatentYear,
    Sign,
    SourceCode,
    ValueSign,
)
from ledger.models import (
    Count,
    DateText,
    LineId,
    Model,
    Note,
    Text,
    YesNo,
    fault,
)
from ledger.rows import Confidence, Number, Pattern, QuantityText, Reference, Scope, Share

__all__ = [
    "PACK_SECTIONS",
    "Catalogue",
    "CataloguePosition",
    "Caution",
    "Confidence",
    "Confusion",
    "DateCode",
    "Example",
    "Fact",
    "MarkLayout",
    "MatchingNumbers",
    "PackFile",
    "PatentYear",
    "Practice",
    "Prior",
    "Reach",
    "Reference",
    "Scope",
    "SerialRange",
    "SerialTable",
    "Sign",
    "SourceCode",
    "Specification",
    "Technology",
    "Timeline",
    "TraceKind",
    "Union",
    "ValueSign",
]

Reach = Literal["look", "open", "remove", "alter"]
LinkToParent = Literal["root", "integral", "captive", "mounted"]


class Prior(Model):
    """How often the part in this position left the works with an ordinary used example."""

    years: Count = Field(description="age of the example in years")
    low: Share
    middle: Share
    high: Share

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if not self.low <= self.middle <= self.high:
            raise fault(f"{self.low}, {self.middle}, {self.high}", "low <= middle <= high")
        return self


class CataloguePosition(Model):
    """A place in an instrument of one kind."""

    id: LineId
    name: Text
    link: LinkToParent
    parent: LineId | None = None
    many: YesNo = Field(default=False, description="several of it: pot.1, pot.volume ...")
    priors: tuple[Prior, ...] = Field(min_length=1)
    examine: Reach = Field(description="how far one has to go to see it")
    marks_date: Literal["made", "completed"] = "made"
    checks: tuple[Text, ...] = Field(default=(), description="what can be read or compared here")
    assembly: LineId | None = Field(default=None, description="harness, tuner set ...")
    lag: LineId | None = Field(
        default=None,
        description="the practice row with its median lag from made to fitted, where not the usual",
    )
    cautions: tuple[LineId, ...] = ()
    place: tuple[Count, Count] | None = Field(
        default=None, description="where it stands on the part map, in a square of 100 by 100"
    )

    @model_validator(mode="after")
    def _parent_fits_link(self) -> Self:
        if (self.link == "root") != (self.parent is None):
            raise fault(f"link {self.link} with parent {self.parent}", "a parent, unless a root")
        return self


class Union(Model):
    """Two roots that can belong together or not."""

    between: tuple[LineId, LineId]
    how: Text = Field(description="what joins them")
    priors: tuple[Prior, ...] = Field(min_length=1)


class Catalogue(Model):
    """The positions of one kind of instrument."""

    kind: LineId
    name: Text
    source: Text
    extends: YesNo = Field(default=False, description="adds to a kind that another pack defines")
    anchor: LineId | None = Field(
        default=None, description="the root whose completion is the instrument's"
    )
    positions: tuple[CataloguePosition, ...] = ()
    unions: tuple[Union, ...] = ()
    cautions: tuple[LineId, ...] = ()


class Example(Model):
    """One example on which a row rests."""

    instrument: LineId = Field(description="its id; the case's own id makes the row circular")
    source: Text
    serial: Count | None = None
    date: DateText | None = None


class Timeline(Reference):
    """When a feature was in production: what left the works with it did so in this span."""

    position: LineId
    feature: Text
    value: Text
    begins: DateText | None = None
    ends: DateText | None = None
    overlap_days: Count = Field(default=0, description="how far old and new ran side by side")
    serials: LineId | None = Field(default=None, description="the serial table for the two below")
    serial_first: Count | None = None
    serial_last: Count | None = None
    examples: tuple[Example, ...] = ()

    @model_validator(mode="after")
    def _has_an_end(self) -> Self:
        dated = self.begins is not None or self.ends is not None
        counted = self.serial_first is not None or self.serial_last is not None
        if dated == counted:
            raise fault("no span, or two", "begins/ends, or serials with serial_first/serial_last")
        if counted and self.serials is None:
            raise fault("serial numbers without a table", "serials: the id of a serial table")
        return self


class Specification(Reference):
    """How the works made it: a measure with its limits, or the values a feature could have."""

    position: LineId
    quantity: str = ""
    low: QuantityText | None = None
    high: QuantityText | None = None
    feature: str = ""
    values: tuple[Text, ...] = ()
    nearly_all_pass: YesNo = Field(
        default=False, description="replacements pass as well: passing then tells nothing"
    )
    outside: Literal["contradicts", "open question"] | None = Field(
        default=None,
        description=(
            "what a value outside means; without it, an open question for the resistance or "
            "capacitance of anything but a coil, which drifts and had variants, else a contradiction"
        ),
    )

    @model_validator(mode="after")
    def _measure_or_feature(self) -> Self:
        measure = bool(self.quantity) and (self.low is not None or self.high is not None)
        feature = bool(self.feature) and bool(self.values)
        if measure == feature:
            raise fault("no test, or two", "quantity with low or high, or feature with values")
        return self


class SerialRange(Model):
    """A run of numbers and when it was used."""

    first: Count
    last: Count
    date: DateText

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.last < self.first:
            raise fault(f"{self.first} to {self.last}", "first <= last")
        return self


class SerialTable(Reference):
    """A scheme of serial, batch or order numbers; ranges may overlap."""

    pattern: Pattern = Field(
        description="matches the whole mark; its group, or the one named number"
    )
    positions: tuple[LineId, ...] = ()
    bears_on: Literal["made", "completed"] = "completed"
    ranges: tuple[SerialRange, ...] = Field(min_length=1)


class Fact(Reference):
    """A general fact of law or technique: what bears this mark cannot be older."""

    mark: Pattern = Field(description="matches the whole mark, spaces and case aside")
    means: Text
    not_before: DateText | None = None
    not_after: DateText | None = None
    positions: tuple[LineId, ...] = ()

    @model_validator(mode="after")
    def _has_an_end(self) -> Self:
        if self.not_before is None and self.not_after is None:
            raise fault("neither not_before nor not_after", "at least one of them")
        return self


class Technology(Reference):
    """A material or technique of the trade at large: what shows it is not older.

    A feature speaks of it where one of ``values`` is among the words of its value and, unless
    ``features`` is empty, one of those among the words of its name; ``*`` is any word ending.
    """

    features: tuple[Text, ...] = Field(default=(), description="which features; none is any")
    values: tuple[Text, ...] = Field(min_length=1, description="words in what is said of it")
    means: Text
    not_before: DateText | None = None
    overlap_days: Count = Field(default=0, description="how much earlier it may have been about")
    common_from: DateText | None = Field(default=None, description="told, but bounds nothing")
    fades: DateText | None = Field(default=None, description="told, but bounds nothing")
    dates: Literal["made", "fitted"] = Field(
        default="made", description="fitted: of what joins or covers a part and can be renewed"
    )
    positions: tuple[LineId, ...] = ()

    @model_validator(mode="after")
    def _has_an_end(self) -> Self:
        if self.not_before is None and self.fades is None:
            raise fault("neither not_before nor fades", "at least one of them")
        return self


class MatchingNumbers(Reference):
    """That the works gave two positions the same number."""

    positions: tuple[LineId, LineId]
    what: Text


class Practice(Reference):
    """A starting value of practice: a rate, a lag, an allowance."""

    value: Number
    low: Number
    high: Number
    unit: Text

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if not self.low <= self.value <= self.high:
            raise fault(f"{self.low}, {self.value}, {self.high}", "low <= value <= high")
        return self


class TraceKind(Reference):
    """A kind of trace and how strongly it speaks for the first fitting.

    The two ratios are P(trace | first-fitted) / P(trace | replaced): against a service part of
    its time, and against a part chosen to match or moved over as a group.
    """

    name: Text
    against_service: tuple[Number, Number]
    against_matching: tuple[Number, Number]
    joins: YesNo = Field(default=False, description="shows one fitting occasion for all positions")
    suggests: str = Field(default="", description="the event it points to; open until explained")


class Caution(Reference):
    """What can hurt someone or break the law, shown beside the step it concerns."""

    says: Text
    defer_to: Text
    words: tuple[Text, ...] = Field(
        default=(), description="words in a line of a sheet that it concerns, besides positions"
    )


class PackFile(Model):
    """A file of reference statements and catalogues."""

    pack: LineId
    title: Text
    version: Text
    invented: YesNo = False
    licence: Text = "not stated"
    note: Note = ""
    catalogues: tuple[Catalogue, ...] = ()
    timelines: tuple[Timeline, ...] = ()
    specifications: tuple[Specification, ...] = ()
    serial_tables: tuple[SerialTable, ...] = ()
    facts: tuple[Fact, ...] = ()
    technologies: tuple[Technology, ...] = ()
    matching_numbers: tuple[MatchingNumbers, ...] = ()
    practices: tuple[Practice, ...] = ()
    trace_kinds: tuple[TraceKind, ...] = ()
    mark_layouts: tuple[MarkLayout, ...] = ()
    confusions: tuple[Confusion, ...] = ()
    source_codes: tuple[SourceCode, ...] = ()
    date_codes: tuple[DateCode, ...] = ()
    patent_years: tuple[PatentYear, ...] = ()
    value_signs: tuple[ValueSign, ...] = ()
    cautions: tuple[Caution, ...] = ()


# The sections of a pack, each a list of rows, in the order in which they are recorded.
PACK_SECTIONS = tuple(
    name
    for name in PackFile.model_fields
    if name not in ("pack", "title", "version", "invented", "licence", "note")
)

"""What is recorded about one instrument: the lines of a bench sheet.

Every model is closed (an unknown key is a fault) and frozen. Scalars arrive as the text that
was typed; each type here decides what that text may be. Dates stay as typed, in the Extended
Date/Time Format, so that nothing is lost between the sheet and the ledger.
"""

from __future__ import annotations

from typing import Literal, Self

from pydantic import Field, model_validator

from ledger.basis.quantities import QuantityUnreadable, read_measurement
from ledger.challenges import Answer, Challenge
from ledger.lines import (
    Count,
    DateText,
    Line,
    LineId,
    Model,
    Note,
    Position,
    Text,
    YesNo,
    YesNoUnknown,
    fault,
)
from ledger.masks import Mask
from ledger.searches import RegisterSearch

__all__ = [
    "ALWAYS_WITHHELD",
    "SECTIONS",
    "Answer",
    "Assertion",
    "BenchSheet",
    "Challenge",
    "Count",
    "Custody",
    "DateText",
    "Event",
    "Exhibit",
    "Feature",
    "Identity",
    "Instrument",
    "Line",
    "LineId",
    "Mark",
    "Mask",
    "Measurement",
    "Model",
    "NonValue",
    "Note",
    "Paper",
    "Part",
    "Placed",
    "Position",
    "Question",
    "RegisterSearch",
    "Shown",
    "Sighting",
    "Source",
    "Testimony",
    "Text",
    "Trace",
    "Work",
    "YesNo",
    "YesNoUnknown",
    "fault",
]

Event = Literal["completed", "dispatched", "first sold"]


class Instrument(Model):
    """The object of the case."""

    id: LineId
    kind: LineId = Field(description="which catalogue of positions applies")
    name: Text = Field(description="what a reader will see as its name")
    maker: str = Field(default="", description="taken to be by; says which references apply")
    model: str = Field(default="", description="taken to be this model")
    invented: YesNo = Field(default=False, description="an example, not a real object")
    collected: YesNo = Field(default=False, description="collectors seek it and parts to match")
    note: Note = ""


class Source(Line):
    """Where assertions come from: one sitting, one paper, one person's telling."""

    kind: Literal[
        "examination",
        "testimony",
        "document",
        "photograph",
        "publication",
        "comparison",
        "standard",
    ]
    title: Text
    by: str = Field(default="", description="who examined, told, wrote or photographed")
    date: DateText | None = Field(default=None, description="when it was examined, told, written")
    hand: Literal["first-hand", "relayed"] = "first-hand"
    copied_from: LineId | None = Field(
        default=None, description="the source this one repeats: the two then count as one"
    )
    exhibits: tuple[LineId, ...] = ()
    read_back: Literal["yes", "no"] | None = Field(
        default=None, description="whether what was told was read back to the teller"
    )
    signed: Literal["yes", "no"] | None = Field(
        default=None, description="whether the teller has signed what was written down"
    )


class Exhibit(Line):
    """A file that is kept under its SHA-256."""

    file: Text = Field(description="path of the file, from the folder of the sheet")
    caption: Text
    positions: tuple[Position, ...] = ()
    date: DateText | None = None
    masks: tuple[Mask, ...] = Field(
        default=(), max_length=100, description="regions to paint over where it is published"
    )


class Part(Line):
    """A thing that was in a position and no longer is, or that waits to be told apart."""

    position: Position
    name: Text
    kept: Literal["with the instrument", "elsewhere", "lost", "cannot be told"] = "cannot be told"


class Assertion(Line):
    """One claim by one source."""

    source: LineId


class Placed(Assertion):
    """An assertion about the part now in a position, or about a part named in ``parts``."""

    position: Position | None = None
    part: LineId | None = None

    @model_validator(mode="after")
    def _one_place(self) -> Self:
        if (self.position is None) == (self.part is None):
            found = "neither" if self.position is None else "both"
            raise fault(f"{found} of position and part", "exactly one of them")
        return self


class Identity(Assertion):
    """What a source says the instrument is."""

    what: Literal["maker", "model", "kind", "serial", "place", "name"]
    value: Text


class Mark(Placed):
    """Something written, stamped, printed or stuck on, as it stands."""

    text: Text = Field(
        description="glyph for glyph: ? for one that cannot be read, [38] for either of two"
    )
    legibility: Literal["clear", "worn", "partial"] = "clear"
    scheme: LineId | None = Field(
        default=None, description="read by this scheme only; without it, by all that fit"
    )
    reads: DateText | None = Field(
        default=None, description="the date it says, where it says one in words or figures"
    )
    bears_on: Literal["made", "completed"] | None = Field(
        default=None, description="what its date is the date of; without it, as the catalogue says"
    )
    method: str = ""
    exhibits: tuple[LineId, ...] = ()


def _check_measurement(value: str, uncertainty: str | None) -> None:
    try:
        read_measurement(value, uncertainty)
    except QuantityUnreadable as error:
        found = f"{value!r}" + (f" with uncertainty {uncertainty!r}" if uncertainty else "")
        raise fault(
            found, "a figure with its unit, such as 42.6 mm or 7.52 k", str(error)
        ) from error


class Measurement(Placed):
    """A figure with its unit and its doubt."""

    quantity: Text = Field(description="what was measured, in the words of the specification")
    value: Text
    uncertainty: str | None = None
    instrument: str = Field(default="", description="what it was measured with")
    temperature: str = ""
    circuit: str = Field(default="", description="isolated, in circuit, across what")
    exhibits: tuple[LineId, ...] = ()

    @model_validator(mode="after")
    def _is_readable(self) -> Self:
        _check_measurement(self.value, self.uncertainty)
        return self


class Feature(Placed):
    """How something is made or looks; ``presence: missing`` says that the position is empty."""

    feature: Text
    value: Text
    exhibits: tuple[LineId, ...] = ()


class Trace(Assertion):
    """What use, work or time has left, over one position or several together."""

    trace: LineId = Field(description="a kind of trace from the practice pack")
    positions: tuple[Position, ...] = ()
    parts: tuple[LineId, ...] = ()
    method: str = ""
    exhibits: tuple[LineId, ...] = ()

    @model_validator(mode="after")
    def _somewhere(self) -> Self:
        if not (self.positions or self.parts):
            raise fault("no positions", "at least one position or part")
        return self


class Work(Assertion):
    """Something done to the instrument after it was completed."""

    action: Literal["replaced", "altered", "repaired", "removed", "added", "refitted"]
    positions: tuple[Position, ...]
    date: DateText | None = None
    by: Literal["works", "workshop", "owner", "unknown"] = "unknown"
    replacement: Literal["service", "period", "modern", "works"] | None = Field(
        default=None, description="what kind of part was put in, where the source says so"
    )
    removed: tuple[LineId, ...] = Field(
        default=(), description="the parts that came out, named in parts"
    )
    retained: YesNoUnknown = "cannot be told"
    destroyed: Note = Field(default="", description="what evidence the work destroyed")
    explains: tuple[LineId, ...] = Field(default=(), description="observations it accounts for")
    materials: str = ""
    reversible: YesNoUnknown = "cannot be told"
    exhibits: tuple[LineId, ...] = ()

    @model_validator(mode="after")
    def _somewhere(self) -> Self:
        if not self.positions:
            raise fault("no positions", "at least one position")
        return self


class Custody(Assertion):
    """Who had it, from when to when. The holder is withheld from anything published."""

    holder: Text
    begins: DateText | None = None
    ends: DateText | None = None
    place: str = ""
    consent: Literal["given", "refused", "withdrawn", "not asked"] | None = Field(
        default=None, description="whether a living holder agrees to be in the record"
    )


class Shown(Model):
    """What a sighting shows of one position."""

    position: Position
    feature: Text
    value: Text
    same_as_now: YesNoUnknown = "cannot be told"


class Sighting(Assertion):
    """The instrument seen at a date, as in a photograph."""

    date: DateText
    same_instrument: YesNoUnknown = Field(
        description="whether figure, dings or marks show it to be this very object"
    )
    matched_by: str = ""
    shows: tuple[Shown, ...] = ()
    exhibits: tuple[LineId, ...] = ()


class Paper(Assertion):
    """What a paper says happened, and whether it names this very object."""

    paper: Text = Field(description="receipt, ledger leaf, warranty card, letter ...")
    says: Text
    event: Event | None = None
    date: DateText | None = None
    names_this_object: YesNoUnknown
    named_by: LineId | None = Field(
        default=None, description="the mark by which it names the object"
    )
    exhibits: tuple[LineId, ...] = ()


class Testimony(Assertion):
    """What somebody tells, in their own words."""

    says: Text
    question: str = Field(default="", description="what was asked, as it was asked")
    event: Event | None = None
    date: DateText | None = None
    dated_by: str = Field(
        default="", description="what the teller dates it by: a move, a birth, a bill"
    )
    positions: tuple[Position, ...] = ()


class NonValue(Assertion):
    """That nothing was read, and which of four very different nothings it is."""

    positions: tuple[Position, ...]
    value: Literal["searched, not found", "not examined", "not legible", "not applicable"]
    what: Text = Field(description="mark, trace, feature or paper that was looked for")
    method: str = Field(default="", description="how it was searched, and how far")
    why: str = Field(default="", description="why it was not examined or does not apply")

    @model_validator(mode="after")
    def _says_how(self) -> Self:
        if self.value == "searched, not found" and not self.method:
            raise fault("no method", "the method and extent of the search")
        if self.value == "not examined" and not self.why:
            raise fault("no why", "why it was not examined")
        return self


class Question(Line):
    """A question that stays open."""

    question: Text
    about: tuple[Position, ...] = ()


class BenchSheet(Model):
    """Everything one sheet holds about one instrument."""

    bench_sheet: Literal["1"] = Field(description="the number of this sheet format")
    instrument: Instrument
    sources: tuple[Source, ...] = ()
    exhibits: tuple[Exhibit, ...] = ()
    parts: tuple[Part, ...] = ()
    identity: tuple[Identity, ...] = ()
    marks: tuple[Mark, ...] = ()
    measurements: tuple[Measurement, ...] = ()
    features: tuple[Feature, ...] = ()
    traces: tuple[Trace, ...] = ()
    works: tuple[Work, ...] = ()
    custody: tuple[Custody, ...] = ()
    sightings: tuple[Sighting, ...] = ()
    papers: tuple[Paper, ...] = ()
    testimony: tuple[Testimony, ...] = ()
    non_values: tuple[NonValue, ...] = ()
    questions: tuple[Question, ...] = ()
    register_searches: tuple[RegisterSearch, ...] = ()
    challenges: tuple[Challenge, ...] = ()
    answers: tuple[Answer, ...] = ()


# The sections of a sheet, in the order in which their lines are recorded.
SECTIONS: dict[str, type[Line]] = {
    "sources": Source,
    "exhibits": Exhibit,
    "parts": Part,
    "identity": Identity,
    "marks": Mark,
    "measurements": Measurement,
    "features": Feature,
    "traces": Trace,
    "works": Work,
    "custody": Custody,
    "sightings": Sighting,
    "papers": Paper,
    "testimony": Testimony,
    "non_values": NonValue,
    "questions": Question,
    "register_searches": RegisterSearch,
    "challenges": Challenge,
    "answers": Answer,
}

# Fields that can identify a living person or invite theft are withheld unasked.
ALWAYS_WITHHELD: dict[str, tuple[str, ...]] = {
    "custody": ("holder", "place"),
    "answers": ("told",),
    "register_searches": ("asked", "answer", "reference", "by"),
}

"""What a ledger tells others: each line of a case as it may be shown, as plain values.

A field that is withheld is named and its value is not there. Notes and the file names of
exhibits stay with their owner. What another ledger told is read back into the same values, so
that both can be laid side by side; nothing of theirs becomes a line of one's own.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final, Literal

from ledger.findings import LineText, Report
from ledger.models import Model
from ledger.record.case import Case, Recorded

Manner = Literal["text", "date", "line", "part", "position", "supposition", "finding", "reference"]


@dataclass(frozen=True, slots=True)
class Slot:
    """How a field is told: by which term, and what its values are."""

    term: str
    manner: Manner = "text"


def _slots(*texts: str, **others: Slot) -> Mapping[str, Slot]:
    return MappingProxyType({**{name: Slot(name) for name in texts}, **others})


_SOURCED: Final = {"source": Slot("source", "line")}
_PLACED: Final = {
    **_SOURCED,
    "position": Slot("position", "position"),
    "part": Slot("part", "part"),
    "exhibits": Slot("exhibit", "line"),
}
_DATED: Final = {"date": Slot("date", "date")}
_AT: Final = {"positions": Slot("position", "position")}

# For each section of a sheet the fields that are told, and how.
SLOTS: Final[Mapping[str, Mapping[str, Slot]]] = MappingProxyType(
    {
        "sources": _slots(
            "by",
            "hand",
            "signed",
            kind=Slot("sourceKind"),
            read_back=Slot("readBack"),
            copied_from=Slot("copiedFrom", "line"),
            exhibits=Slot("exhibit", "line"),
            **_DATED,
        ),
        "exhibits": _slots("caption", **_AT, **_DATED),
        "parts": _slots("name", "kept", position=Slot("position", "position")),
        "identity": _slots("value", what=Slot("identifies"), **_SOURCED),
        "marks": _slots(
            "text",
            "legibility",
            "scheme",
            "method",
            reads=Slot("reads", "date"),
            bears_on=Slot("bearsOn"),
            **_PLACED,
        ),
        "measurements": _slots(
            "quantity",
            "value",
            "uncertainty",
            "temperature",
            "circuit",
            instrument=Slot("measuredWith"),
            **_PLACED,
        ),
        "features": _slots("feature", "value", **_PLACED),
        "traces": _slots(
            "method",
            trace=Slot("traceKind"),
            parts=Slot("part", "part"),
            exhibits=Slot("exhibit", "line"),
            **_SOURCED,
            **_AT,
        ),
        "works": _slots(
            "action",
            "replacement",
            "retained",
            "destroyed",
            "materials",
            "reversible",
            by=Slot("doneBy"),
            removed=Slot("removed", "part"),
            explains=Slot("explains", "line"),
            exhibits=Slot("exhibit", "line"),
            **_SOURCED,
            **_AT,
            **_DATED,
        ),
        "custody": _slots(
            "holder",
            "place",
            begins=Slot("begins", "date"),
            ends=Slot("ends", "date"),
            **_SOURCED,
        ),
        "sightings": _slots(
            same_instrument=Slot("sameInstrument"),
            matched_by=Slot("matchedBy"),
            exhibits=Slot("exhibit", "line"),
            **_SOURCED,
            **_DATED,
        ),
        "papers": _slots(
            "paper",
            "event",
            says=Slot("words"),
            names_this_object=Slot("namesThisObject"),
            named_by=Slot("namedBy", "line"),
            exhibits=Slot("exhibit", "line"),
            **_SOURCED,
            **_DATED,
        ),
        "testimony": _slots(
            "event",
            "question",
            says=Slot("words"),
            dated_by=Slot("datedBy"),
            **_SOURCED,
            **_DATED,
            **_AT,
        ),
        "non_values": _slots(
            "method", "why", value=Slot("nothing"), what=Slot("soughtFor"), **_SOURCED, **_AT
        ),
        "questions": _slots("question", about=Slot("position", "position")),
        "register_searches": _slots(
            "result",
            register_name=Slot("register"),
            exhibits=Slot("exhibit", "line"),
            **_DATED,
        ),
        "challenges": _slots(
            "by",
            "raised",
            "instead",
            says=Slot("words"),
            lines=Slot("doubtsLine", "line"),
            sources=Slot("doubtsSource", "line"),
            positions=Slot("doubtsPosition", "position"),
            parts=Slot("doubtsPart", "part"),
            suppositions=Slot("doubtsSupposition", "supposition"),
            insists=Slot("insistsOn", "supposition"),
            findings=Slot("disputes", "finding"),
            references=Slot("doubtsReference", "reference"),
            mark=Slot("readsOtherwise", "line"),
            mark_reads=Slot("otherReading"),
            exhibits=Slot("exhibit", "line"),
            **_DATED,
        ),
        "answers": _slots(
            "by",
            "concedes",
            "corrects",
            says=Slot("words"),
            at_entry=Slot("atEntry"),
            challenge=Slot("answersTo", "line"),
            lines=Slot("restsOnLine", "line"),
            findings=Slot("restsOnFinding", "finding"),
            exhibits=Slot("exhibit", "line"),
            **_DATED,
        ),
    }
)
# Fields that are told in a way of their own, or not at all.
TOLD_APART: Final = frozenset({"id", "title", "shows"})
NOT_TOLD: Final = frozenset({"note", "withhold", "file", "masks", "consent"})


@dataclass(frozen=True, slots=True)
class ToldShown:
    """What a sighting shows of one position."""

    position: str
    feature: str
    value: str
    same_as_now: str


@dataclass(frozen=True, slots=True)
class Told:
    """One line as it is told; ``values`` holds the fields that have a value, by name."""

    id: str
    section: str
    title: str
    sentence: str
    sequence: int
    hash: str
    values: tuple[tuple[str, tuple[str, ...]], ...] = ()
    withheld: tuple[str, ...] = ()
    shows: tuple[ToldShown, ...] = ()
    sha256: str = ""


@dataclass(frozen=True, slots=True)
class ToldInstrument:
    """An instrument with its lines, by id, and what its owner takes it to be."""

    id: str
    name: str
    kind: str
    maker: str
    model: str
    invented: bool
    lines: tuple[Told, ...]
    collected: bool = False


@dataclass(frozen=True, slots=True)
class Checkpoint:
    """The head of a ledger: what was told stood in it by then."""

    sequence: int
    hash: str
    recorded_at: str = ""


@dataclass(frozen=True, slots=True)
class ToldSet:
    """What a ledger told: under which base, as of which checkpoint."""

    base: str
    checkpoint: Checkpoint
    instruments: tuple[ToldInstrument, ...]


def told_instrument(case: Case, report: Report) -> ToldInstrument:
    """The instrument and its lines as they may be shown; the report says them in sentences."""
    said = {line.id: line for line in report.lines}
    about = case.instrument
    return ToldInstrument(
        about.id,
        about.name,
        about.kind,
        about.maker,
        about.model,
        about.invented,
        tuple(_told(case.lines[name], said.get(name)) for name in sorted(case.lines)),
        about.collected,
    )


def _told(recorded: Recorded[Any], said: LineText | None) -> Told:
    section = recorded.section
    values = [
        (name, found)
        for name in sorted(SLOTS.get(section, {}))
        if name not in recorded.withheld and (found := _values(getattr(recorded.line, name, ())))
    ]
    shows: Iterable[Model] = ()
    if section == "sightings" and "shows" not in recorded.withheld:
        shows = recorded.line.shows
    return Told(
        id=recorded.id,
        section=section,
        title=said.title if said else recorded.id,
        sentence=said.sentence if said else "",
        sequence=recorded.sequence,
        hash=recorded.hash,
        values=tuple(values),
        withheld=tuple(sorted(recorded.withheld & _given(recorded))),
        shows=tuple(ToldShown(**each.model_dump()) for each in shows),
        sha256=recorded.content_hash,
    )


def _given(recorded: Recorded[Any]) -> frozenset[str]:
    """The fields in which something was recorded, as far as that is a matter of this line."""
    return frozenset(
        name
        for name in type(recorded.line).model_fields
        if name not in ("note", "withhold") and getattr(recorded.line, name, None)
    )


def _values(value: object) -> tuple[str, ...]:
    """The values of a field as texts, each once: a set of triples knows no order."""
    if value is None or value in ("", ()):
        return ()
    if isinstance(value, bool):
        return ("yes" if value else "no",)
    if isinstance(value, tuple):
        return tuple(sorted({str(each) for each in value}))
    return (str(value),)

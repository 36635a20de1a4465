"""The plan of an examination: what to look at, in which order, and what each look may cost.

Pure functions from a catalogue and the lines that are recorded to the steps that remain. The
least invasive come first; what cannot be seen without changing the object is listed last, to be
recorded as not examined. Earlier readings are counted and never shown: whoever looks again should
not be told what was read before.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from ledger.bench.steps import STAGES, Found, Stage, examination
from ledger.knowledge.catalogues import CatalogueView
from ledger.knowledge.packs import Packs, Row
from ledger.models import (
    Feature,
    Line,
    Mark,
    Measurement,
    NonValue,
    Sighting,
    Testimony,
    Trace,
    Work,
)
from ledger.references import CataloguePosition, Caution, Reach

# In which stage a position is looked at, by how far one has to go to see it.
STAGE_OF: Final[Mapping[Reach, Stage]] = {
    "look": "outside",
    "open": "opened",
    "remove": "hardware off",
    "alter": "left alone",
}
# Words by which a check of a catalogue tells as what it is recorded; else it is a feature.
_MARK_WORDS: Final = frozenset(
    {
        "code",
        "codes",
        "stamp",
        "stamps",
        "stamped",
        "number",
        "numbers",
        "digits",
        "date",
        "signature",
        "inscription",
        "print",
        "label",
        "letters",
        "pencil",
        "mark",
        "marks",
        "brand",
    }
)
_MEASURE_WORDS: Final = frozenset(
    {
        "resistance",
        "value",
        "thickness",
        "radius",
        "diameter",
        "weight",
        "length",
        "height",
        "depth",
        "spacing",
        "drift",
    }
)
_TRACE_WORDS: Final = frozenset(
    {
        "joints",
        "joint",
        "footprint",
        "footprints",
        "shadow",
        "holes",
        "ring",
        "stubs",
        "fluorescence",
        "glue",
        "wear",
        "plugs",
    }
)
_BEHIND_GATES: Final[tuple[Stage, ...]] = ("opened", "hardware off", "left alone")
SEEN_BY_LIGHT: Final = frozenset({"fluorescence"})
_COUNTED: Final[Mapping[type[Line], str]] = {
    Mark: "mark",
    Measurement: "measurement",
    Feature: "feature",
    Trace: "trace",
    NonValue: "non-value",
}
NON_VALUES: Final[Mapping[str, str]] = {
    "searched, not found": "looked for, there is none to be seen: say how and how far you looked",
    "not examined": "nobody looked: say why",
    "not legible": "something is there and cannot be read: record what can be seen as a mark with ?",
    "not applicable": "this instrument has no such place, or the question does not arise: say why",
}


@dataclass(frozen=True, slots=True)
class Look:
    """One thing to look at: a row of the spreadsheet, a line of the form.

    ``recorded`` counts what the record has of it by kind, and shows no reading.
    """

    id: str
    stage: Stage
    position: str
    place: str
    look_for: str
    found: Found
    how: str = ""
    photograph: str = ""
    cautions: tuple[str, ...] = ()
    destroys: str = ""
    before: tuple[str, ...] = ()
    recorded: tuple[str, ...] = ()
    is_gate: bool = False
    is_many: bool = False


@dataclass(frozen=True, slots=True)
class Plan:
    """The looks in their order, with every caution that they call for."""

    kind: str
    kind_name: str
    looks: tuple[Look, ...]
    cautions: tuple[Row[Caution], ...]

    def of(self, stage: Stage) -> tuple[Look, ...]:
        """The looks of one stage, in order."""
        return tuple(look for look in self.looks if look.stage == stage)

    def open_looks(self) -> tuple[Look, ...]:
        """Those of which nothing is recorded yet."""
        return tuple(look for look in self.looks if not look.recorded)

    def gate(self, position: str) -> tuple[Look, ...]:
        """What has to be recorded before the part in that position is worked on.

        Everything less invasive that the record has nothing of: the gates of the stages before,
        and every other look at the same position.
        """
        reached = [look for look in self.looks if look.position == position]
        last = max((STAGES.index(look.stage) for look in reached), default=len(STAGES) - 1)
        return tuple(
            look
            for look in self.open_looks()
            if (look.is_gate or look.position == position) and STAGES.index(look.stage) <= last
        )


def plan(kind: str, packs: Packs, recorded: Iterable[Line] = ()) -> Plan:
    """The examination that an instrument of the kind needs, after what is recorded of it.

    Raises:
        UnknownName: no pack describes that kind.
    """
    view = packs.catalogue(kind)
    known = _known_by_position(recorded)
    looks = [
        *_general_looks(view, known),
        *(
            look
            for row in view.positions.values()
            for place in _places(row, known)
            for look in _position_looks(view, row, place, known)
        ),
    ]
    order = {stage: at for at, stage in enumerate(STAGES)}
    looks.sort(key=lambda look: order[look.stage])  # within a stage as the data has them
    wanted = dict.fromkeys((*view.cautions, *(name for look in looks for name in look.cautions)))
    return Plan(kind, view.name, _unique(looks), packs.cautions(wanted))


def _general_looks(view: CatalogueView, known: Mapping[str, Sequence[Line]]) -> list[Look]:
    found = []
    for step in examination().steps:
        if not step.is_for(view.kind):
            continue
        there = next((each for each in step.positions if view.find(each)), None)
        if there is None and step.only_there:
            continue
        position = there or view.anchor
        row = view.positions[position]
        place = _places(row, known)[0]
        found.append(
            Look(
                id=step.id,
                stage=step.stage,
                position=place,
                place=row.name,
                look_for=step.look_for,
                found=step.found,
                how=step.how,
                photograph=step.photograph,
                cautions=step.cautions,
                destroys=step.destroys,
                recorded=_counted(known.get(place, ()), step.look_for),
                is_gate=step.is_gate,
            )
        )
    return found


def _position_looks(
    view: CatalogueView, row: CataloguePosition, place: str, known: Mapping[str, Sequence[Line]]
) -> list[Look]:
    stage = STAGE_OF[row.examine]
    gates = tuple(
        step.look_for
        for step in examination().steps
        if step.is_gate and step.is_for(view.kind) and step.stage in _up_to(stage)
    )
    checks = row.checks or ("how it is made",)
    stages = [("under light" if _is_by_light(check, stage) else stage) for check in checks]
    looks = []
    for at, (check, reached) in enumerate(zip(checks, stages, strict=True)):
        is_first = reached not in stages[:at]  # what holds for all of them is said once
        looks.append(
            Look(
                id=f"{place}-{_slug(check)}"[:80].rstrip("-"),
                stage=reached,
                position=place,
                place=row.name,
                look_for=check,
                found=_found_as(check),
                photograph=f"{row.name}, whole and close, with a scale" if is_first else "",
                cautions=row.cautions if is_first else (),
                destroys=_cost(row),
                before=gates if is_first and reached in _BEHIND_GATES else (),
                recorded=_counted(known.get(place, ()), check),
                is_many=row.many,
            )
        )
    return looks


def _is_by_light(check: str, stage: Stage) -> bool:
    return stage == "outside" and bool(SEEN_BY_LIGHT & set(check.split()))


def _up_to(stage: Stage) -> tuple[Stage, ...]:
    return STAGES[: STAGES.index(stage) + 1]


def _cost(row: CataloguePosition) -> str:
    """What seeing the position may destroy, by how far one has to go and how it is joined."""
    if row.examine == "remove":
        return "turning screws and lifting the part ends what slots, edges and dust show"
    if row.examine == "alter":
        return "it cannot be seen without changing it"
    if row.examine == "open" and row.link == "captive":
        return "do not force it: the part cannot come off without traces"
    return ""


def _found_as(check: str) -> Found:
    """As what a check is most often recorded, by its last telling word; a person may say other.

    >>> _found_as("source-date code"), _found_as("bolt shadow"), _found_as("moulding")
    ('mark', 'trace', 'feature')
    """
    words = set(check.replace("-", " ").replace("'s", "").split())
    if words & _TRACE_WORDS:
        return "trace"
    if words & _MEASURE_WORDS:
        return "measurement"
    return "mark" if words & _MARK_WORDS else "feature"


def _places(row: CataloguePosition, known: Mapping[str, Sequence[Line]]) -> tuple[str, ...]:
    """The position as it is written in a sheet: those named in the record, or the first of them."""
    if not row.many:
        return (row.id,)
    named = tuple(name for name in known if name.partition(".")[0] == row.id and "." in name)
    return named or (f"{row.id}.1",)


def _known_by_position(recorded: Iterable[Line]) -> dict[str, list[Line]]:
    found: dict[str, list[Line]] = {}
    for line in recorded:
        for position in positions_of(line):
            found.setdefault(position, []).append(line)
    return found


def positions_of(line: Line) -> tuple[str, ...]:
    """The positions that a line speaks of, as written in it."""
    if isinstance(line, Mark | Measurement | Feature):
        return () if line.position is None else (line.position,)
    if isinstance(line, Trace | Work | NonValue | Testimony):
        return line.positions
    return tuple(shown.position for shown in line.shows) if isinstance(line, Sighting) else ()


def _counted(lines: Sequence[Line], check: str) -> tuple[str, ...]:
    """How many lines of each kind speak of what the check looks for, in words."""
    wanted = set(_slug(check).split("-")) - {"and", "or", "of", "the", "in", "on", "a", "by"}
    counts: dict[str, int] = {}
    for line in lines:
        name = _COUNTED.get(type(line))
        if name is not None and _speaks_of(line, check, wanted):
            counts[name] = counts.get(name, 0) + 1
    return tuple(f"{count} {name}{'' if count == 1 else 's'}" for name, count in counts.items())


def _speaks_of(line: Line, check: str, wanted: set[str]) -> bool:
    if isinstance(line, Mark):
        return _found_as(check) == "mark"
    said = ""
    if isinstance(line, Feature):
        said = line.feature
    elif isinstance(line, Measurement):
        said = line.quantity
    elif isinstance(line, Trace):
        said = line.trace
    elif isinstance(line, NonValue):
        said = line.what
    stems = {word.rstrip("s") for word in wanted}
    return bool(stems & {word.rstrip("s") for word in _slug(said).split("-")})


def _unique(looks: Iterable[Look]) -> tuple[Look, ...]:
    """The looks, each once: what a step of the whole asks of a place, its own row need not."""
    found: dict[tuple[str, str], Look] = {}
    for look in looks:
        found.setdefault((look.position, look.look_for), look)
    return tuple(found.values())


def _slug(text: str) -> str:
    """The text as part of an id."""
    kept = "".join(glyph if glyph.isascii() and glyph.isalnum() else " " for glyph in text.lower())
    return "-".join(kept.split())

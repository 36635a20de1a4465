"""What is this instrument made of, and which of its parts came in on one occasion?

Question answered: for every position and part of a case, its root, its parents, the occasion
on which it was fitted, and the suppositions that must hold for it to speak of completion.

Method: parts whose joints show one occasion (kinds of trace that ``join``) are put together
into one fitting event, transitively; a root is never in an event, since it is not fitted into
anything. Evidence from an integral part passes through its parents; evidence never passes from
one root to another except through the unions between them.

Cost: linear in positions and traces.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ledger.knowledge.catalogues import CatalogueView
from ledger.knowledge.packs import Packs
from ledger.models import Feature, Mark, Measurement, NonValue, Part, Sighting, Trace, Work
from ledger.record.case import Case, Recorded
from ledger.references import Union

# The name of a fitting event whose parts belong to no one assembly.
PARTS_TOGETHER = "parts-together"

# The events of the instrument in their order; the making of a part is none of them.
EVENTS = ("completed", "dispatched", "first sold")


@dataclass(frozen=True, slots=True)
class FittingEvent:
    """Positions fitted on one occasion; ``traces`` are the lines that show it."""

    id: str
    name: str
    positions: tuple[str, ...]
    traces: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Anatomy:
    """The positions a case speaks of, with their parts, parents and fitting events."""

    case: Case
    view: CatalogueView
    positions: tuple[str, ...]
    removed: Mapping[str, Recorded[Part]]
    events: Mapping[str, FittingEvent]
    altered: frozenset[str]

    # -- naming -----------------------------------------------------------------------------

    def name(self, place: str) -> str:
        """The plain name of a position, removed part or fitting event."""
        if place.startswith("part/"):
            part = self.removed[place.removeprefix("part/")]
            position = self.name(part.line.position)
            return f"former {position}" if "name" in part.withheld else part.line.name
        row = self.view.find(place)
        if row is None:
            return place.replace("-", " ")
        _, dot, suffix = place.partition(".")
        return f"{row.name} ({suffix.replace('-', ' ')})" if dot else row.name

    def position_of(self, place: str) -> str:
        """The position of a place: a removed part's is the one it was in."""
        if place.startswith("part/"):
            return self.removed[place.removeprefix("part/")].line.position
        return place

    def is_root(self, place: str) -> bool:
        """Whether the place is a root now in the instrument."""
        row = self.view.find(place)
        return row is not None and row.link == "root"

    def is_integral(self, place: str) -> bool:
        """Whether the part cannot have been first-fitted unless its parent was."""
        row = self.view.find(self.position_of(place))
        return row is not None and row.link == "integral"

    def root_of(self, place: str) -> str:
        """The root that the place hangs from."""
        return self.view.root_of(self.position_of(place))

    def event_of(self, place: str) -> str:
        """The id of the fitting event of a position; the position itself where it is alone."""
        found = self.events.get(place)
        return found.id if found else place

    # -- moments ----------------------------------------------------------------------------

    def completed(self, place: str) -> str:
        """The moment at which the instrument of the place's root was completed."""
        return f"completed:{self.root_of(place)}"

    def fitted(self, place: str) -> str:
        """The moment at which the part was fitted; a root's is its completion."""
        return self.completed(place) if self.is_root(place) else f"fitted:{self.event_of(place)}"

    def moment_of(self, event: str) -> str:
        """The moment of an event of the instrument; completion is that of its anchor."""
        return f"completed:{self.view.anchor}" if event == "completed" else event

    @staticmethod
    def made(place: str) -> str:
        """The moment at which the part was made."""
        return f"made:{place}"

    # -- suppositions -----------------------------------------------------------------------

    def first_fitted(self, place: str) -> str:
        """The supposition that the part (or all parts of its event) left the works with it."""
        return f"first-fitted:{self.event_of(place)}"

    def fitting(self, place: str) -> tuple[str, ...]:
        """What must hold for the part to have been fitted at its root's completion."""
        if self.is_root(place):
            return ()
        found = [self.first_fitted(place)]
        at: str | None = self.position_of(place)
        while at is not None and self.is_integral(at):
            at = self.view.parent_of(at)
            if at is not None and not self.is_root(at):
                found.append(self.first_fitted(at))
        return tuple(dict.fromkeys(found))

    def makeup(self, place: str) -> tuple[str, ...]:
        """What must hold for the part to be now as it left the works."""
        as_made = self.is_root(place) or place in self.altered
        own = (f"as-made:{place}",) if as_made else ()
        return (*self.fitting(place), *own)

    def belonging(self, place: str) -> tuple[str, ...]:
        """What must hold for a reference about the instrument to speak of the place's root."""
        path = self.view.union_path(self.view.anchor, self.root_of(place)) or ()
        return tuple(self.union_id(union) for union in path)

    def union_id(self, union: Union) -> str:
        """The supposition that two roots belong together."""
        return f"joined:{union.between[0]}+{union.between[1]}"


def anatomy_of(case: Case, packs: Packs) -> Anatomy:
    """The anatomy of the case's instrument, by its kind's catalogue.

    Raises:
        UnknownName: no pack has a catalogue for that kind.
    """
    view = packs.catalogue(case.instrument.kind)
    removed = {part.id: part for part in case.of(Part)}
    events = _fitting_events(case, packs, view)
    altered = frozenset(
        position
        for work in case.of(Work)
        if work.line.action == "altered"
        for position in work.line.positions
    )
    return Anatomy(case, view, _positions(case, view), removed, events, altered)


def _positions(case: Case, view: CatalogueView) -> tuple[str, ...]:
    """All positions spoken of, then those of the catalogue that nobody spoke of."""
    named: dict[str, None] = {}
    for recorded in case.lines.values():
        for position in positions_of(recorded):
            named.setdefault(position)
    for position in tuple(named):
        for ancestor in view.ancestors(position):
            named.setdefault(ancestor)
    bases = {position.partition(".")[0] for position in named}
    ordered: list[str] = []
    for row in view.positions:
        mine = [position for position in named if position.partition(".")[0] == row]
        ordered.extend(sorted(mine) if row in bases else [row])
    return (*ordered, *sorted(position for position in named if view.find(position) is None))


def positions_of(recorded: Recorded[Any]) -> tuple[str, ...]:
    """The positions of the instrument as it is now that a line speaks of."""
    line = recorded.line
    if isinstance(line, Mark | Measurement | Feature):
        return (line.position,) if line.position is not None else ()
    if isinstance(line, Trace | Work | NonValue):
        return line.positions
    if isinstance(line, Sighting):
        return tuple(shown.position for shown in line.shows)
    return ()


def _fitting_events(case: Case, packs: Packs, view: CatalogueView) -> dict[str, FittingEvent]:
    groups: list[tuple[set[str], list[str]]] = []
    for trace in case.of(Trace):
        kind = packs.trace_kind(trace.line.trace)
        if kind is None or not kind.row.joins:
            continue
        members = {p for p in trace.line.positions if not _is_root(view, p)}
        traces = [trace.id]
        apart = []
        for others, lines in groups:
            if others & members:
                members |= others
                traces = [*lines, *traces]
            else:
                apart.append((others, lines))
        groups = [*apart, (members, traces)]
    events: dict[str, FittingEvent] = {}
    used: Counter[str] = Counter()
    # One occasion may have reached over several roots; evidence does not: each root's own.
    within = [
        ({m for m in members if view.root_of(m) == root}, lines)
        for members, lines in groups
        for root in sorted({view.root_of(m) for m in members})
    ]
    for members, lines in sorted(within, key=lambda group: sorted(group[0])):
        if len(members) < 2:
            continue
        name = _event_name(view, members)
        used[name] += 1
        event_id = name if used[name] == 1 else f"{name}-{used[name]}"
        event = FittingEvent(event_id, name, tuple(sorted(members)), tuple(lines))
        events.update(dict.fromkeys(event.positions, event))
    return events


def _is_root(view: CatalogueView, position: str) -> bool:
    row = view.find(position)
    return row is not None and row.link == "root"


def _event_name(view: CatalogueView, members: set[str]) -> str:
    """The assembly that all members belong to; else that they are parts fitted as one."""
    rows = [view.find(member) for member in sorted(members)]
    assemblies = {row.assembly if row else None for row in rows}
    if len(assemblies) == 1:
        (only,) = assemblies
        if only is not None:
            return only
    return PARTS_TOGETHER

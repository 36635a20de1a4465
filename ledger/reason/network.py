"""What follows from what, as a network: moments, suppositions, bounds, relations, clashes.

Question answered: none yet. This is the form in which the rules leave their results for
:mod:`ledger.reason.tighten` to decide.

A moment is a day to be found (``completed:body``, ``made:pot.1``, ``done:rewiring``). A bound
keeps a moment within spans of days, a relation keeps one moment a number of days before
another, a clash says that some suppositions exclude one another whatever the days. Each holds
only if all its suppositions do, and keeps the rule and premises it came from.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from ledger.basis.spans import Spans


@dataclass(frozen=True, slots=True)
class Supposition:
    """Something that has to hold. ``prior`` is the chance that it does, taken from practice.

    ``prior_at_most`` is the high end of the range that practice states for it.

    Suppositions of one ``group`` are one piece of doubt: giving up several costs as much as
    giving up the dearest.
    """

    id: str
    kind: str
    subject: str
    sentence: str
    prior: float
    prior_from: str
    group: str
    prior_at_most: float = 0.99


@dataclass(frozen=True, slots=True)
class Bound:
    """``moment`` lies within ``spans`` if all of ``suppositions`` hold."""

    id: str
    moment: str
    spans: Spans
    rule: str
    sentence: str
    premises: tuple[str, ...]
    suppositions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Relation:
    """``earlier`` + ``gap_days`` <= ``later`` if all of ``suppositions`` hold."""

    id: str
    earlier: str
    later: str
    gap_days: int
    rule: str
    sentence: str
    premises: tuple[str, ...]
    suppositions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Clash:
    """The suppositions cannot all hold, whatever the days."""

    id: str
    rule: str
    sentence: str
    premises: tuple[str, ...]
    suppositions: tuple[str, ...]


Constraint = Bound | Relation | Clash


@dataclass(slots=True)
class Network:
    """All constraints of a case, in the order in which the rules gave them."""

    bounds: list[Bound] = field(default_factory=list)
    relations: list[Relation] = field(default_factory=list)
    clashes: list[Clash] = field(default_factory=list)

    def constraints(self) -> tuple[Constraint, ...]:
        """Bounds, then relations, then clashes."""
        return (*self.bounds, *self.relations, *self.clashes)

    def moments(self) -> tuple[str, ...]:
        """Every moment named, in alphabetical order."""
        names = {bound.moment for bound in self.bounds}
        names.update(relation.earlier for relation in self.relations)
        names.update(relation.later for relation in self.relations)
        return tuple(sorted(names))

    def suppositions(self) -> tuple[str, ...]:
        """Every supposition that something depends on, in alphabetical order."""
        return tuple(sorted({name for c in self.constraints() for name in c.suppositions}))

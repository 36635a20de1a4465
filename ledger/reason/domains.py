"""Domains of moments, and how an end of one moves the end of another.

Question answered: given the spans a moment may lie in and a relation to another moment, where
does its end have to go?

Method: an end moves to the nearest day that is left in the domain; it remembers the relation and
bounds that moved it.

Cost: a binary search in the spans for each move.

What it does not do: repeat until nothing moves; that is :mod:`ledger.reason.tighten`.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable
from dataclasses import dataclass

from ledger.basis.spans import Span, Spans

# Moments held within spans besides what the network says of them.
Held = tuple[tuple[str, Spans], ...]

OPEN_LOW = -(1 << 60)
OPEN_HIGH = 1 << 60


@dataclass(frozen=True, slots=True)
class Step:
    """Why an end stands where it does: a relation from another moment, or domain bounds.

    ``before`` is why the other moment's end stood where it did when it moved this one: in a circle
    of relations it may have been moved on by this one since.
    """

    relation: int | None
    bounds: tuple[int, ...]
    before: Step | None = None


@dataclass(frozen=True, slots=True)
class Domain:
    """The spans of a moment under some suppositions, as parallel tuples of ends."""

    firsts: tuple[int, ...]
    lasts: tuple[int, ...]
    mask: int
    bounds: tuple[int, ...]


NO_STEP = Step(None, ())
ANY = Domain((OPEN_LOW,), (OPEN_HIGH,), 0, ())


@dataclass(slots=True)
class Pass:
    """One end of every moment after tightening; ``conflict`` is a mask where there is no way.

    ``met`` then says where: the relation that pushed a moment out of its domain, and the moment.
    """

    ends: list[int]
    masks: list[int]
    steps: list[Step]
    conflict: int | None = None
    met: tuple[int | None, int] | None = None


@dataclass(frozen=True, slots=True)
class Arc:
    """``source`` + ``gap`` is a least value of ``target``; ``index`` is the relation's own."""

    source: int
    target: int
    gap: int
    mask: int
    index: int


@dataclass(frozen=True, slots=True)
class Side:
    """The two passes differ only in direction: earliest days forward, latest days backward."""

    arcs: list[list[Arc]]
    is_low: bool

    def outer(self, domain: Domain) -> int:
        """The end of the domain on this side."""
        return domain.firsts[0] if self.is_low else domain.lasts[-1]

    def moves(self, found: Pass, domain: Domain, arc: Arc) -> bool:
        """Move the arc's target end if it must; True when it moved or met a conflict."""
        source = found.ends[arc.source]
        if source in (OPEN_LOW, OPEN_HIGH):
            return False
        day = source + arc.gap if self.is_low else source - arc.gap
        standing = found.ends[arc.target]
        if day <= standing if self.is_low else day >= standing:
            return False
        snapped = _snapped_up(domain, day) if self.is_low else _snapped_down(domain, day)
        mask = found.masks[arc.source] | arc.mask
        if snapped is None:
            found.conflict, found.met = mask | domain.mask, (arc.index, arc.target)
            return True
        leapt = snapped != day
        found.ends[arc.target] = snapped
        found.masks[arc.target] = mask | domain.mask if leapt else mask
        why = domain.bounds if leapt else ()
        found.steps[arc.target] = Step(arc.index, why, found.steps[arc.source])
        return True


def _snapped_up(domain: Domain, day: int) -> int | None:
    """The first day of the domain not before ``day``."""
    i = bisect_left(domain.lasts, day)
    return None if i == len(domain.lasts) else max(day, domain.firsts[i])


def _snapped_down(domain: Domain, day: int) -> int | None:
    """The last day of the domain not after ``day``."""
    i = bisect_left(domain.firsts, day + 1)
    return None if i == 0 else min(day, domain.lasts[i - 1])


def held_within(domain: Domain, spans: Spans) -> Domain:
    """The domain cut to the spans; what it rests on stays the same."""
    mine = [
        (
            max(first, OPEN_LOW if s.earliest is None else s.earliest),
            min(last, OPEN_HIGH if s.latest is None else s.latest),
        )
        for first, last in zip(domain.firsts, domain.lasts, strict=True)
        for s in spans
    ]
    left = sorted((first, last) for first, last in mine if first <= last)
    return Domain(
        tuple(first for first, _ in left),
        tuple(last for _, last in left),
        domain.mask,
        domain.bounds,
    )


def span_between(low: int, high: int) -> Span:
    """The span of two ends, open where an end is."""
    return Span(None if low == OPEN_LOW else low, None if high == OPEN_HIGH else high)


def mask_of_all(masks: Iterable[int]) -> int:
    """All suppositions of the masks together."""
    found = 0
    for mask in masks:
        found |= mask
    return found


def circle_through(came_by: list[Arc | None], start: int) -> tuple[Arc, ...]:
    """The circle that the way back from ``start`` runs into, in the order of the days."""
    at = start
    for _ in came_by:
        arc = came_by[at]
        at = at if arc is None else arc.source
    circle: list[Arc] = []
    stop = at
    while (arc := came_by[at]) is not None:
        circle.append(arc)
        at = arc.source
        if at == stop:
            break
    return tuple(reversed(circle))

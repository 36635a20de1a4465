"""Domains of moments, relations as arcs between them, and what a pass over them finds.

Question answered: given the spans that a moment may lie in, which days are left, on either side?

Method: the spans of a moment are kept as runs of days, as parallel tuples of their ends. The last
days are found as first days are, with all days counted backwards: a relation from the earlier to
the later moment then leads from the later to the earlier, and an end is always pushed upwards.

Cost: linear in spans.

What it does not do: move one end by another; that is :mod:`ledger.reason.sweeps`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple, TypeAlias

from ledger.basis.spans import Span, Spans

# Moments held within spans besides what the network says of them.
Held = tuple[tuple[str, Spans], ...]

OPEN_LOW = -(1 << 60)
OPEN_HIGH = 1 << 60

# Why an end stands where it does: a relation from another moment (None for the moment's own
# domain), the bounds that shaped the domain, and why the other moment's end stood where it did
# when it moved this one: in a circle of relations it may have been moved on by this one since.
# A tuple, since every move of a pass makes one.
Step: TypeAlias = "tuple[int | None, tuple[int, ...], Step | None]"
NO_STEP: Step = (None, (), None)


@dataclass(frozen=True, slots=True)
class Domain:
    """The runs of days of a moment under some suppositions, as parallel tuples of ends."""

    firsts: tuple[int, ...]
    lasts: tuple[int, ...]
    mask: int
    bounds: tuple[int, ...]

    def up_to(self, run: int) -> Domain:
        """The domain without that run and those after it."""
        return Domain(self.firsts[:run], self.lasts[:run], self.mask, self.bounds)

    def beyond(self, run: int) -> Domain:
        """The domain without the runs before that one."""
        return Domain(self.firsts[run:], self.lasts[run:], self.mask, self.bounds)


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


class Arc(NamedTuple):
    """``source`` + ``gap`` is a least value of ``target``; ``constraint`` is its index."""

    source: int
    target: int
    gap: int
    mask: int
    constraint: int


def domain_of(spans: Spans, mask: int, bounds: tuple[int, ...]) -> Domain:
    """The spans as a domain that rests on the mask and the bounds."""
    firsts = tuple(OPEN_LOW if s.earliest is None else s.earliest for s in spans)
    lasts = tuple(OPEN_HIGH if s.latest is None else s.latest for s in spans)
    return Domain(firsts, lasts, mask, bounds)


def backwards(domain: Domain) -> Domain:
    """The domain with its days counted backwards."""
    return Domain(
        tuple(-day for day in reversed(domain.lasts)),
        tuple(-day for day in reversed(domain.firsts)),
        domain.mask,
        domain.bounds,
    )


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

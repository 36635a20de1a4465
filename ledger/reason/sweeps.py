"""How far does one end of every moment move, and why?

Question answered: for some suppositions in force, the first days of all moments that the bounds
and relations in force leave; the last days likewise, counted backwards.

Method: the days that are left form one least solution whatever the order in which relations are
gone through (see :mod:`ledger.reason.tighten`), so that two ways of finding them agree. *Ends
alone* are found by going through the relations in the order of the moments: moments that lie on
no circle of relations are peeled off at both ends (Kahn, "Topological sorting of large networks",
Communications of the ACM 5, 1962) and need one visit; the rest is gone through until nothing
moves. *Ends with reasons* are found from a queue of the moments that have moved; which of several
equal reasons is met first is part of the answer, so that this order is fixed. Most questions are
whether and how far, and need no reasons.

Cost: two or three visits to each relation whose earlier end moves; with reasons up to twice that.
One moment narrowed after the others are settled costs only what it moves.

What it does not do: see circles of relations that no days fit: open ends would move on for ever.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import deque
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from ledger.basis.spans import EVER, Spans
from ledger.reason.domains import (
    ANY,
    NO_STEP,
    OPEN_LOW,
    Arc,
    Domain,
    Pass,
    Step,
    backwards,
    domain_of,
    held_within,
)

# A bound as its index in the network, the suppositions it depends on and its spans.
BoundAt = tuple[int, int, Spans]
# The index of a moment, and the spans that it is held within.
HeldAt = tuple[tuple[int, Spans], ...]
NOTHING: frozenset[int] = frozenset()


class Domains:
    """The domains of all moments under any suppositions, each worked out once."""

    def __init__(self, bounds: Sequence[Sequence[BoundAt]]) -> None:
        self._bounds = bounds
        self.moments = range(len(bounds))
        self.bounded = [at for at, given in enumerate(bounds) if given]
        # Of every bounded moment: itself, the suppositions that matter, domains forwards and back.
        self._known: list[tuple[int, int, dict[int, Domain], dict[int, Domain]]] = []
        self._at_bound: dict[int, int] = {}
        for at in self.bounded:
            mask = 0
            for i, of_bound, _ in bounds[at]:
                mask |= of_bound
                self._at_bound[i] = at
            self._known.append((at, mask, {}, {}))

    def at(self, at: int, kept: int, without: Iterable[int] = ()) -> Domain:
        """The days of one moment under ``kept``, leaving out bounds by index."""
        spans, mask, active = EVER, 0, []
        for i, of_bound, days in self._bounds[at]:
            if of_bound & ~kept == 0 and i not in without:
                spans = days if spans is EVER else spans.intersection(days)
                mask |= of_bound
                active.append(i)
        return domain_of(spans, mask, tuple(active))

    def gappy(self, kept: int) -> list[int]:
        """The moments whose days under ``kept`` are not one run."""
        return [at for at in self.bounded if len(self.at(at, kept).firsts) > 1]

    def all(
        self, kept: int, without: frozenset[int], held: HeldAt, *, is_low: bool
    ) -> list[Domain]:
        """The days of all moments; counted backwards unless ``is_low``."""
        found = [ANY] * len(self._bounds)
        for at, mask, forwards, back in self._known:
            known, key = forwards if is_low else back, kept & mask
            domain = known.get(key)
            if domain is None:
                domain = self.at(at, kept)
                known[key] = domain = domain if is_low else backwards(domain)
            found[at] = domain
        for at in {self._at_bound[i] for i in without if i in self._at_bound}:
            domain = self.at(at, kept, without)
            found[at] = domain if is_low else backwards(domain)
        for at, spans in held:
            if is_low:
                found[at] = held_within(found[at], spans)
            else:
                found[at] = backwards(held_within(backwards(found[at]), spans))
        return found


@dataclass(frozen=True, slots=True)
class Order:
    """The moments before all circles of relations, those that may lie on one, and those after."""

    first: tuple[int, ...]
    circling: tuple[int, ...]
    last: tuple[int, ...]

    def backwards(self) -> Order:
        """The order when every relation is turned round."""
        return Order(self.last[::-1], self.circling, self.first[::-1])


def order_of(many: int, arcs: Sequence[Arc]) -> Order:
    """So many moments in the order of the arcs, as far as there is one.

    >>> order_of(4, [Arc(3, 1, 0, 0, 0), Arc(1, 2, 0, 0, 1), Arc(2, 1, 0, 0, 2), Arc(2, 0, 0, 0, 3)])
    Order(first=(3,), circling=(1, 2), last=(0,))
    """
    ahead: list[list[int]] = [[] for _ in range(many)]
    behind: list[list[int]] = [[] for _ in range(many)]
    for source, target, *_ in arcs:
        ahead[source].append(target)
        behind[target].append(source)
    is_left = [True] * many
    first = _peeled(is_left, ahead, behind)
    last = _peeled(is_left, behind, ahead)
    # Those with the most relations, such as completions, come last: they are pushed by the rest.
    circling = sorted((at for at in range(many) if is_left[at]), key=lambda at: len(ahead[at]))
    return Order(tuple(first), tuple(circling), tuple(reversed(last)))


def _peeled(
    is_left: list[bool], ahead: Sequence[Sequence[int]], behind: Sequence[Sequence[int]]
) -> list[int]:
    """The moments that nothing left leads to, one after another; they are no longer left."""
    count = [sum(is_left[at] for at in given) for given in behind]
    found = [at for at, many in enumerate(count) if not many and is_left[at]]
    for at in found:
        is_left[at] = False
        for other in ahead[at]:
            count[other] -= 1
            if not count[other] and is_left[other]:
                found.append(other)
    return found


class Settled(NamedTuple):
    """The domain of every moment, and its end after tightening."""

    domains: list[Domain]
    ends: list[int]


class Side:
    """The passes for one end; the two sides differ only in the direction in which days count."""

    def __init__(
        self, domains: Domains, arcs: Sequence[Arc], order: Order, *, is_low: bool
    ) -> None:
        self._domains = domains
        self._is_low = is_low
        self._arcs: list[list[Arc]] = [[] for _ in domains.moments]
        for arc in arcs:
            self._arcs[arc.source].append(arc)
        inner = set(order.circling)
        self.circling = [
            arc for at in order.circling for arc in self._arcs[at] if arc.target in inner
        ]
        self._rounds = tuple(
            ([(at, self._arcs[at]) for at in moments if self._arcs[at]], is_repeated)
            for moments, is_repeated in (
                (order.first, False),
                (order.circling, True),
                (order.last, False),
            )
        )

    def ends(
        self, kept: int, without: frozenset[int] = NOTHING, held: HeldAt = ()
    ) -> list[int] | None:
        """The end of every moment; None where there is no way."""
        found = self.settled(kept, without, held)
        return None if found is None else found.ends

    def settled(
        self, kept: int, without: frozenset[int] = NOTHING, held: HeldAt = ()
    ) -> Settled | None:
        """The domains of all moments and their ends; None where there is no way."""
        domains = self._domains.all(kept, without, held, is_low=self._is_low)
        ends, has_moved = [OPEN_LOW] * len(domains), [False] * len(domains)
        for at in (*self._domains.bounded, *(at for at, _ in held)):
            firsts = domains[at].firsts
            if not firsts:
                return None
            ends[at] = firsts[0]
            has_moved[at] = firsts[0] != OPEN_LOW
        found = Settled(domains, ends)
        return found if self._settle(found, has_moved, ~kept, without) else None

    def narrowed(self, before: Settled, kept: int, at: int, domain: Domain) -> Settled | None:
        """What is left where one moment has the domain, part of the one it had before."""
        i = bisect_left(domain.lasts, before.ends[at])
        if i == len(domain.lasts):
            return None
        found = Settled(before.domains.copy(), before.ends.copy())
        has_moved = [False] * len(found.ends)
        found.domains[at] = domain
        if domain.firsts[i] > found.ends[at]:
            found.ends[at], has_moved[at] = domain.firsts[i], True
        return found if self._settle(found, has_moved, ~kept, NOTHING) else None

    def _settle(
        self, found: Settled, has_moved: list[bool], given_up: int, without: frozenset[int]
    ) -> bool:
        """Move every end as far as those that have moved push it; whether there is a way."""
        domains, ends = found
        # The innermost loop of all reasoning with days: nothing is called unless an end moves.
        for moments, is_repeated in self._rounds:
            is_moving = True
            while is_moving:
                is_moving = False
                for at, arcs in moments:
                    if not has_moved[at]:
                        continue
                    has_moved[at] = False
                    end = ends[at]
                    for _, target, gap, mask, constraint in arcs:
                        day = end + gap
                        if day <= ends[target] or mask & given_up or constraint in without:
                            continue
                        domain = domains[target]
                        if day > domain.lasts[-1]:
                            return False
                        if len(domain.lasts) > 1:
                            day = max(day, domain.firsts[bisect_left(domain.lasts, day)])
                        ends[target] = day
                        has_moved[target], is_moving = True, is_repeated
        return True

    def tightened(self, kept: int, without: frozenset[int] = NOTHING, held: HeldAt = ()) -> Pass:
        """The end of every moment with its reason, or where the passes met a conflict."""
        domains = self._domains.all(kept, without, held, is_low=self._is_low)
        many = len(domains)
        ends, masks = [OPEN_LOW] * many, [0] * many
        steps: list[Step] = [NO_STEP] * many
        found = Pass(ends, masks, steps)
        waiting: deque[int] = deque()
        for at in dict.fromkeys((*self._domains.bounded, *(at for at, _ in held))):
            domain = domains[at]
            if not domain.firsts:
                found.conflict, found.met = domain.mask, (None, at)
                return self._counted(found)
            if domain.firsts[0] != OPEN_LOW:
                ends[at], masks[at] = domain.firsts[0], domain.mask
                steps[at] = (None, domain.bounds, None)
                waiting.append(at)
        given_up = ~kept
        queued = set(waiting)
        while waiting:
            at = waiting.popleft()
            queued.discard(at)
            for _, target, gap, of_arc, constraint in self._arcs[at]:
                day = ends[at] + gap
                if day <= ends[target] or of_arc & given_up or constraint in without:
                    continue
                domain, mask = domains[target], masks[at] | of_arc
                why: tuple[int, ...] = ()
                i = bisect_left(domain.lasts, day)
                if i == len(domain.lasts):
                    found.conflict, found.met = mask | domain.mask, (constraint, target)
                    return self._counted(found)
                if day < domain.firsts[i]:
                    day, mask, why = domain.firsts[i], mask | domain.mask, domain.bounds
                ends[target], masks[target] = day, mask
                steps[target] = (constraint, why, steps[at])
                if target not in queued:
                    waiting.append(target)
                    queued.add(target)
        return self._counted(found)

    def _counted(self, found: Pass) -> Pass:
        """The pass with its days counted forwards."""
        if not self._is_low:
            found.ends = [-day for day in found.ends]
        return found

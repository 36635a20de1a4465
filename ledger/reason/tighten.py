"""Which days are still possible, and is there any way at all?

Question answered: whether suppositions can hold together, and the earliest and latest day of
every moment if they do, with the reasons.

Method: arc consistency over unions of spans. Every constraint is either unary or a difference
``x + d <= y``; such constraints are closed under the componentwise minimum, so arc consistency
decides whether they can all hold, and the earliest (and, by symmetry, latest) days it leaves
are themselves a solution (Jeavons and Cooper, "Tractable constraints on ordered domains",
Artificial Intelligence 79, 1995). Circles of relations that no day can satisfy are found first
by Bellman and Ford's method, since open domains would never meet an end.

Cost: a pass is linear in the relations for each time an end moves; ends move at most once for
every span of every domain they reach.

What it does not do: the days between the ends need not all be possible; which are is decided by
:meth:`Tightener.possible`, which branches on the gaps that are left.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator

from ledger.basis.spans import EVER, NO_DAY, Span, Spans
from ledger.reason.domains import (
    ANY,
    NO_STEP,
    OPEN_HIGH,
    OPEN_LOW,
    Arc,
    Domain,
    Held,
    Pass,
    Side,
    Step,
    circle_through,
    held_within,
    mask_of_all,
    span_between,
)
from ledger.reason.network import Network, Relation


class Tightener:
    """A network made ready for many questions; suppositions are bits of an integer mask.

    >>> from ledger.basis.spans import Spans, day_number
    >>> from ledger.reason.network import Bound
    >>> made = Bound("b", "made", Spans.between(day_number(1956, 7, 15), None), "", "", (), ("s",))
    >>> order = Relation("r", "made", "completed", 0, "", "", (), ("f",))
    >>> ready = Tightener(Network([made], [order]))
    >>> ready.earliest("completed", ready.everything) == day_number(1956, 7, 15)
    True
    >>> ready.earliest("completed", ready.mask(["s"])) is None
    True
    """

    def __init__(self, network: Network) -> None:
        self.network = network
        self.names = network.suppositions()
        self.bits = {name: 1 << i for i, name in enumerate(self.names)}
        self.everything = (1 << len(self.names)) - 1
        self.moments = network.moments()
        self._at = {name: i for i, name in enumerate(self.moments)}
        self._bounds: list[list[tuple[int, int, Spans]]] = [[] for _ in self.moments]
        for i, bound in enumerate(network.bounds):
            place = self._bounds[self._at[bound.moment]]
            place.append((i, self.mask(bound.suppositions), bound.spans))
        self._forward = [self._arc(i, r, forward=True) for i, r in enumerate(network.relations)]
        self._gaining = tuple(arc for arc in self._forward if arc.gap > 0)
        backward = [self._arc(i, r, forward=False) for i, r in enumerate(network.relations)]
        self._lows = Side(self._by_source(self._forward), is_low=True)
        self._highs = Side(self._by_source(backward), is_low=False)
        self._bounded = [at for at, bounds in enumerate(self._bounds) if bounds]
        self._masks_at = [mask_of_all(mask for _, mask, _ in bounds) for bounds in self._bounds]
        self._clashes = [self.mask(c.suppositions) for c in network.clashes]
        self._domains: list[dict[int, Domain]] = [{} for _ in self.moments]

    def _by_source(self, arcs: Iterable[Arc]) -> list[list[Arc]]:
        found: list[list[Arc]] = [[] for _ in self.moments]
        for arc in arcs:
            found[arc.source].append(arc)
        return found

    def _arc(self, index: int, relation: Relation, *, forward: bool) -> Arc:
        earlier, later = self._at[relation.earlier], self._at[relation.later]
        mask = self.mask(relation.suppositions)
        if forward:
            return Arc(earlier, later, relation.gap_days, mask, index)
        return Arc(later, earlier, relation.gap_days, mask, index)

    def mask(self, suppositions: Iterable[str]) -> int:
        """The suppositions as a mask; names on which nothing depends are left out."""
        found = 0
        for name in suppositions:
            found |= self.bits.get(name, 0)
        return found

    def named(self, mask: int) -> tuple[str, ...]:
        """The suppositions of a mask, in alphabetical order."""
        return tuple(name for name in self.names if mask & self.bits[name])

    # -- questions ---------------------------------------------------------------------------

    def conflict_within(self, kept: int) -> int | None:
        """A mask of suppositions within ``kept`` that cannot all hold, or None.

        The mask is a conflict, not always a smallest one.
        """
        for clash in self._clashes:
            if clash & ~kept == 0:
                return clash
        circle = self._circle(kept)
        if circle is not None:
            return mask_of_all(arc.mask for arc in circle)
        return self.lows(kept).conflict

    def clashing_chains(self, conflict: int) -> tuple[tuple[int, ...], tuple[int, ...]]:
        """The two chains that meet in a conflict, as constraint indices.

        The first leads from what was seen to the moment where they clash; the second holds what
        stands there. A clash, or a circle of relations, is one chain and the second is empty.
        """
        bounds, relations = len(self.network.bounds), len(self.network.relations)
        for i, clash in enumerate(self._clashes):
            if clash & ~conflict == 0:
                return (bounds + relations + i,), ()
        circle = self._circle(conflict)
        if circle is not None:
            return tuple(bounds + arc.index for arc in circle), ()
        found = self.lows(conflict)
        if found.met is None:
            return (), ()
        relation, at = found.met
        standing = self.domain(at, conflict, frozenset()).bounds
        if relation is None:
            return standing[:1], standing[1:]
        earlier = self.network.relations[relation].earlier
        return (*self.steps_to(found, earlier), bounds + relation), standing

    def conflict_with(self, kept: int, moment: str, spans: Spans) -> int | None:
        """As :meth:`conflict_within`, with ``moment`` held within ``spans`` besides."""
        found = self.conflict_within(kept)
        if found is not None or moment not in self._at:
            return found
        return self.lows(kept, (), ((moment, spans),)).conflict

    def conflict_held(self, kept: int, held: Held) -> int | None:
        """As :meth:`conflict_within`, with several moments held besides."""
        found = self.conflict_within(kept)
        return found if found is not None else self.lows(kept, (), held).conflict

    def low_of(self, moment: str, kept: int, held: Held) -> int | None:
        """The first possible day of a moment with others held; None when that side is open."""
        day = self.lows(kept, (), held).ends[self._at[moment]]
        return None if day == OPEN_LOW else day

    def high_of(self, moment: str, kept: int, held: Held) -> int | None:
        """The last possible day of a moment with others held; None when that side is open."""
        day = self.highs(kept, (), held).ends[self._at[moment]]
        return None if day == OPEN_HIGH else day

    def reaches(self) -> Iterator[tuple[tuple[str, ...], int]]:
        """For every constraint the moments it speaks of and the suppositions it depends on."""
        for bound in self.network.bounds:
            yield (bound.moment,), self.mask(bound.suppositions)
        for relation in self.network.relations:
            yield (relation.earlier, relation.later), self.mask(relation.suppositions)
        for mask in self._clashes:
            yield (), mask

    def possible(self, kept: int, moment: str, most_branches: int = 256) -> Spans | None:
        """Exactly the days that ``moment`` can be while all of ``kept`` hold; none if they cannot.

        Where no domain has a gap left between its ends, the days form one run (differences over
        runs of days are convex); otherwise each gap is decided both ways. None where that would
        take more than ``most_branches``: then only the ends are known.
        """
        if moment not in self._at:
            return EVER
        if self.conflict_within(kept) is not None:
            return NO_DAY
        reached = self._reached(kept, self._at[moment])
        found: list[Span] = []
        waiting: list[tuple[tuple[str, Spans], ...]] = [()]
        branches = 0
        while waiting:
            branches += 1
            if branches > most_branches:
                return None
            held = waiting.pop()
            low, high = self.lows(kept, (), held), self.highs(kept, (), held)
            if low.conflict is not None or high.conflict is not None:
                continue
            gap = self._gap(kept, held, (low, high), reached)
            if gap is None:
                at = self._at[moment]
                found.append(span_between(low.ends[at], high.ends[at]))
                continue
            where, last_before, first_after = gap
            waiting.append((*held, (where, Spans.between(None, last_before))))
            waiting.append((*held, (where, Spans.between(first_after, None))))
        return Spans.of(found)

    def _reached(self, kept: int, start: int) -> frozenset[int]:
        """The moments that relations in force tie to ``start``, and itself."""
        beside: list[list[int]] = [[] for _ in self.moments]
        for arc in self._forward:
            if arc.mask & ~kept == 0:
                beside[arc.source].append(arc.target)
                beside[arc.target].append(arc.source)
        seen, frontier = {start}, [start]
        while frontier:
            for at in beside[frontier.pop()]:
                if at not in seen:
                    seen.add(at)
                    frontier.append(at)
        return frozenset(seen)

    def _gap(
        self,
        kept: int,
        held: Held,
        passes: tuple[Pass, Pass],
        reached: frozenset[int],
    ) -> tuple[str, int, int] | None:
        """A gap between the ends of a moment's domain: where, the day before it, the day after."""
        domains = self._domains_held(kept, frozenset(), held)
        low, high = passes
        for at in sorted(reached):
            domain = domains[at]
            for last, first in zip(domain.lasts, domain.firsts[1:], strict=False):
                if last >= low.ends[at] and first <= high.ends[at]:
                    return self.moments[at], last, first
        return None

    def earliest(self, moment: str, kept: int, without: Iterable[int] = ()) -> int | None:
        """The first possible day of ``moment`` under ``kept``; None when that side is open.

        Asked of suppositions that can all hold: on a circle of relations that no days fit, ends
        would move for ever.
        """
        if moment not in self._at:
            return None
        day = self.lows(kept, without).ends[self._at[moment]]
        return None if day == OPEN_LOW else day

    def latest(self, moment: str, kept: int, without: Iterable[int] = ()) -> int | None:
        """The last possible day of ``moment`` under ``kept``; None when that side is open.

        Asked of suppositions that can all hold, as :meth:`earliest`.
        """
        if moment not in self._at:
            return None
        day = self.highs(kept, without).ends[self._at[moment]]
        return None if day == OPEN_HIGH else day

    def lows(self, kept: int, without: Iterable[int] = (), held: Held = ()) -> Pass:
        """The first possible day of every moment, with the reason for each."""
        return self._tightened(kept, frozenset(without), held, self._lows)

    def highs(self, kept: int, without: Iterable[int] = (), held: Held = ()) -> Pass:
        """The last possible day of every moment, with the reason for each."""
        return self._tightened(kept, frozenset(without), held, self._highs)

    # -- the pass ----------------------------------------------------------------------------

    def domain(self, at: int, kept: int, without: frozenset[int]) -> Domain:
        """The spans of one moment under ``kept``, leaving out constraints by index."""
        if without:
            return self._intersected(at, kept, without)
        key = kept & self._masks_at[at]
        known = self._domains[at]
        if key not in known:
            known[key] = self._intersected(at, kept, without)
        return known[key]

    def _intersected(self, at: int, kept: int, without: frozenset[int]) -> Domain:
        spans, mask, active = EVER, 0, []
        for i, of_bound, days in self._bounds[at]:
            if of_bound & ~kept == 0 and i not in without:
                spans, mask = spans.intersection(days), mask | of_bound
                active.append(i)
        firsts = tuple(OPEN_LOW if s.earliest is None else s.earliest for s in spans)
        lasts = tuple(OPEN_HIGH if s.latest is None else s.latest for s in spans)
        return Domain(firsts, lasts, mask, tuple(active))

    def _domains_held(self, kept: int, without: frozenset[int], held: Held) -> list[Domain]:
        domains = [ANY] * len(self.moments)
        for at in self._bounded:
            domains[at] = self.domain(at, kept, without)
        for moment, spans in held:
            at = self._at[moment]
            domains[at] = held_within(domains[at], spans)
        return domains

    def _tightened(  # noqa: C901 - the innermost loop, kept in one place for its speed
        self, kept: int, without: frozenset[int], held: Held, side: Side
    ) -> Pass:
        domains = self._domains_held(kept, without, held)
        many = len(domains)
        found = Pass([OPEN_LOW if side.is_low else OPEN_HIGH] * many, [0] * many, [NO_STEP] * many)
        waiting: deque[int] = deque()
        for at in dict.fromkeys((*self._bounded, *(self._at[moment] for moment, _ in held))):
            domain = domains[at]
            if not domain.firsts:
                found.conflict, found.met = domain.mask, (None, at)
                return found
            end = side.outer(domain)
            if end not in (OPEN_LOW, OPEN_HIGH):
                found.ends[at], found.masks[at] = end, domain.mask
                found.steps[at] = Step(None, domain.bounds)
                waiting.append(at)
        count = len(self.network.bounds)
        given_up, sign = ~kept, 1 if side.is_low else -1
        queued = set(waiting)
        while waiting:
            at = waiting.popleft()
            queued.discard(at)
            for arc in side.arcs[at]:
                # Most arcs move nothing: that is seen here, before anything is called.
                if (found.ends[at] - found.ends[arc.target]) * sign + arc.gap <= 0:
                    continue
                if arc.mask & given_up or (without and count + arc.index in without):
                    continue
                if side.moves(found, domains[arc.target], arc):
                    if found.conflict is not None:
                        return found
                    if arc.target not in queued:
                        waiting.append(arc.target)
                        queued.add(arc.target)
        return found

    def _circle(self, kept: int) -> tuple[Arc, ...] | None:
        """A circle of relations whose gaps add up to more than nothing, or None."""
        given_up = ~kept
        if all(arc.mask & given_up for arc in self._gaining):
            return None
        arcs = [arc for arc in self._forward if not arc.mask & given_up]
        reach = [0] * len(self.moments)
        came_by: list[Arc | None] = [None] * len(self.moments)
        moved = -1
        for _ in range(len(self.moments) + 1):
            moved = -1
            for arc in arcs:
                if reach[arc.source] + arc.gap > reach[arc.target]:
                    reach[arc.target] = reach[arc.source] + arc.gap
                    came_by[arc.target] = arc
                    moved = arc.target
            if moved < 0:
                return None
        return circle_through(came_by, moved)

    def steps_to(self, found: Pass, moment: str) -> tuple[int, ...]:
        """Constraint indices (bounds, then relations) that put the moment's end where it is.

        In order from what was seen to the moment; empty where the end is open.
        """
        count = len(self.network.bounds)
        chain: list[int] = []
        step = found.steps[self._at[moment]] if moment in self._at else None
        while step is not None:
            chain.extend(reversed(step.bounds))
            if step.relation is not None:
                chain.append(count + step.relation)
            step = step.before
        return tuple(dict.fromkeys(reversed(chain)))

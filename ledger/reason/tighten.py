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
every span of every domain they reach. Most questions need no reasons and are answered without
(:mod:`ledger.reason.sweeps`); passes, ends and circles are kept by the suppositions in force.

What it does not do: the days between the ends need not all be possible; which are is decided by
:meth:`Tightener.possible`, which branches on the gaps that are left.
"""

from __future__ import annotations

from collections.abc import Iterable

from ledger.basis.spans import EVER, NO_DAY, Span, Spans
from ledger.reason.domains import (
    ANY,
    OPEN_LOW,
    Arc,
    Domain,
    Held,
    Pass,
    backwards,
    circle_through,
    mask_of_all,
    span_between,
)
from ledger.reason.network import Network
from ledger.reason.sweeps import BoundAt, Domains, HeldAt, Settled, Side, order_of

# So many answers are kept at the most; then they are forgotten, and worked out anew if asked for.
ANSWERS_KEPT = 2_000


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
        bounds: list[list[BoundAt]] = [[] for _ in self.moments]
        for i, bound in enumerate(network.bounds):
            bounds[self._at[bound.moment]].append((i, self.mask(bound.suppositions), bound.spans))
        self._forward = [
            Arc(self._at[each.earlier], self._at[each.later], each.gap_days, mask, i)
            for i, (each, mask) in enumerate(
                ((each, self.mask(each.suppositions)) for each in network.relations),
                len(network.bounds),
            )
        ]
        backward = [Arc(arc.target, arc.source, *arc[2:]) for arc in self._forward]
        self._domains = Domains(bounds)
        order = order_of(len(self.moments), self._forward)
        self._lows = Side(self._domains, self._forward, order, is_low=True)
        self._highs = Side(self._domains, backward, order.backwards(), is_low=False)
        self._gaining = [arc.mask for arc in self._lows.circling if arc.gap > 0]
        self._on_circles = mask_of_all(arc.mask for arc in self._lows.circling)
        self._clashes = [self.mask(c.suppositions) for c in network.clashes]
        self._reaches = (
            *(((self.moments[at],), mask) for at, each in enumerate(bounds) for _, mask, _ in each),
            *(
                ((self.moments[arc.source], self.moments[arc.target]), arc.mask)
                for arc in self._forward
            ),
            *(((), mask) for mask in self._clashes),
        )
        # Answers by the suppositions in force.
        self._dated = mask_of_all(arc.mask for arc in self._forward)
        self._dated |= mask_of_all(mask for given in bounds for _, mask, _ in given)
        self._known_circles: dict[int, tuple[Arc, ...] | None] = {}
        self._known_ends: dict[tuple[bool, int], list[int] | None] = {}
        self._known_passes: dict[tuple[bool, int], Pass] = {}

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
            if not clash & ~kept:
                return clash
        circle = self._circle(kept)
        if circle is not None:
            return mask_of_all(arc.mask for arc in circle)
        if self._ends(kept, is_low=True) is not None:
            return None
        return self.lows(kept).conflict

    def can_hold(self, kept: int, held: Held = ()) -> bool:
        """Whether all of ``kept`` can hold, with some moments held within days besides."""
        if any(not clash & ~kept for clash in self._clashes) or self._circle(kept) is not None:
            return False
        return self._ends(kept, held=self._held_at(held), is_low=True) is not None

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
            return tuple(arc.constraint for arc in circle), ()
        found = self.lows(conflict)
        if found.met is None:
            return (), ()
        relation, at = found.met
        standing = self._domains.at(at, conflict).bounds
        if relation is None:
            return standing[:1], standing[1:]
        earlier = self.network.relations[relation - bounds].earlier
        return (*self.steps_to(found, earlier), relation), standing

    def conflict_with(self, kept: int, moment: str, spans: Spans) -> int | None:
        """As :meth:`conflict_within`, with ``moment`` held within ``spans`` besides."""
        return self.conflict_held(kept, ((moment, spans),) if moment in self._at else ())

    def conflict_held(self, kept: int, held: Held) -> int | None:
        """As :meth:`conflict_within`, with several moments held besides."""
        found = self.conflict_within(kept)
        if found is not None or not held or self.can_hold(kept, held):
            return found
        return self.lows(kept, (), held).conflict

    def low_of(self, moment: str, kept: int, held: Held) -> int | None:
        """The first possible day of a moment with others held; None when that side is open."""
        return self._end(moment, kept, (), held, is_low=True)

    def high_of(self, moment: str, kept: int, held: Held) -> int | None:
        """The last possible day of a moment with others held; None when that side is open."""
        return self._end(moment, kept, (), held, is_low=False)

    def reaches(self) -> tuple[tuple[tuple[str, ...], int], ...]:
        """For every constraint the moments it speaks of and the suppositions it depends on."""
        return self._reaches

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
        at = self._at[moment]
        gappy = self._gappy(kept, at)
        found: list[Span] = []
        low, high = self._lows.settled(kept), self._highs.settled(kept)
        waiting: list[tuple[Settled | None, Settled | None, int, Domain]] = [(low, high, -1, ANY)]
        branches = 0
        while waiting:
            branches += 1
            if branches > most_branches:
                return None
            low, high, where, domain = waiting.pop()
            if where >= 0 and low and high:
                low = self._lows.narrowed(low, kept, where, domain)
                high = self._highs.narrowed(high, kept, where, backwards(domain))
            if low is None or high is None:
                continue
            gap = _gap(low, high, gappy)
            if gap is None:
                found.append(span_between(low.ends[at], -high.ends[at]))
            else:
                where, *halves = gap
                waiting.extend((low, high, where, half) for half in halves)
        return Spans.of(found)

    def _gappy(self, kept: int, start: int) -> list[int]:
        """The moments with gaps in their domains that relations in force tie to ``start``."""
        gappy = self._domains.gappy(kept)
        if not gappy:
            return []
        beside: list[list[int]] = [[] for _ in self.moments]
        for arc in self._forward:
            if not arc.mask & ~kept:
                beside[arc.source].append(arc.target)
                beside[arc.target].append(arc.source)
        seen, frontier = {start}, [start]
        while frontier:
            for at in beside[frontier.pop()]:
                if at not in seen:
                    seen.add(at)
                    frontier.append(at)
        return [at for at in gappy if at in seen]

    def earliest(self, moment: str, kept: int, without: Iterable[int] = ()) -> int | None:
        """The first possible day of ``moment`` under ``kept``; None when that side is open.

        Asked of suppositions that can all hold: on a circle of relations that no days fit, ends
        would move for ever.
        """
        return self._end(moment, kept, without, (), is_low=True)

    def latest(self, moment: str, kept: int, without: Iterable[int] = ()) -> int | None:
        """The last possible day of ``moment`` under ``kept``; None when that side is open.

        Asked of suppositions that can all hold, as :meth:`earliest`.
        """
        return self._end(moment, kept, without, (), is_low=False)

    def lows(self, kept: int, without: Iterable[int] = (), held: Held = ()) -> Pass:
        """The first possible day of every moment, with the reason for each."""
        return self._pass(kept, frozenset(without), held, is_low=True)

    def highs(self, kept: int, without: Iterable[int] = (), held: Held = ()) -> Pass:
        """The last possible day of every moment, with the reason for each."""
        return self._pass(kept, frozenset(without), held, is_low=False)

    # -- the passes --------------------------------------------------------------------------

    def _held_at(self, held: Held) -> HeldAt:
        return tuple((self._at[moment], spans) for moment, spans in held)

    def _end(
        self, moment: str, kept: int, without: Iterable[int], held: Held, *, is_low: bool
    ) -> int | None:
        if moment not in self._at:
            return None
        ends = self._ends(kept, frozenset(without), self._held_at(held), is_low=is_low)
        if ends is None:
            return None
        day = ends[self._at[moment]]
        if day == OPEN_LOW:
            return None
        return day if is_low else -day

    def _ends(
        self,
        kept: int,
        without: frozenset[int] = frozenset(),
        held: HeldAt = (),
        *,
        is_low: bool,
    ) -> list[int] | None:
        """The ends on one side, the last days counted backwards; None where there is no way."""
        side = self._lows if is_low else self._highs
        if without or held:
            return side.ends(kept, without, held)
        key, known = (is_low, kept & self._dated), self._known_ends
        if key not in known:
            if len(known) >= ANSWERS_KEPT:
                known.clear()
            known[key] = side.ends(kept)
        return known[key]

    def _pass(self, kept: int, without: frozenset[int], held: Held, *, is_low: bool) -> Pass:
        side = self._lows if is_low else self._highs
        if without or held:
            return side.tightened(kept, without, self._held_at(held))
        key, known = (is_low, kept & self._dated), self._known_passes
        if key not in known:
            if len(known) >= ANSWERS_KEPT:
                known.clear()
            known[key] = side.tightened(kept)
        return known[key]

    def _circle(self, kept: int) -> tuple[Arc, ...] | None:
        """A circle of relations whose gaps add up to more than nothing, or None."""
        given_up = ~kept
        if all(mask & given_up for mask in self._gaining):
            return None
        key, known = kept & self._on_circles, self._known_circles
        if key not in known:
            if len(known) >= ANSWERS_KEPT:
                known.clear()
            is_none = self._circle_among(self._lows.circling, kept) is None
            known[key] = None if is_none else self._circle_among(self._forward, kept)
        return known[key]

    def _circle_among(self, given: Iterable[Arc], kept: int) -> tuple[Arc, ...] | None:
        """The circle that Bellman and Ford's method runs into among the arcs in force."""
        arcs = [arc for arc in given if not arc.mask & ~kept]
        reach = [0] * len(self.moments)
        came_by: list[Arc | None] = [None] * len(self.moments)
        moved = -1
        for _ in range(len(self.moments) + 1):
            moved = -1
            for arc in arcs:
                day = reach[arc.source] + arc.gap
                if day > reach[arc.target]:
                    reach[arc.target] = day
                    came_by[arc.target] = arc
                    moved = arc.target
            if moved < 0:
                return None
        return circle_through(came_by, moved)

    def steps_to(self, found: Pass, moment: str) -> tuple[int, ...]:
        """Constraint indices (bounds, then relations) that put the moment's end where it is.

        In order from what was seen to the moment; empty where the end is open.
        """
        chain: list[int] = []
        step = found.steps[self._at[moment]] if moment in self._at else None
        while step is not None:
            relation, bounds, step = step
            chain.extend(reversed(bounds))
            if relation is not None:
                chain.append(relation)
        return tuple(dict.fromkeys(reversed(chain)))


def _gap(low: Settled, high: Settled, gappy: Iterable[int]) -> tuple[int, Domain, Domain] | None:
    """A moment with a gap between its ends, and its domain before and after the gap."""
    for at in gappy:
        whole = low.domains[at]
        for i in range(1, len(whole.firsts)):
            if whole.lasts[i - 1] >= low.ends[at] and whole.firsts[i] <= -high.ends[at]:
                return at, whole.up_to(i), whole.beyond(i)
    return None

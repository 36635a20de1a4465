"""The smallest sets of suppositions to give up, cheapest first.

Question answered: within one set of suppositions that may be given up, all minimal conflicts and
all minimal sets to give up so that what is kept can hold.

Method: the sets to give up are the minimal hitting sets of the conflicts (Reiter, "A theory of
diagnosis from first principles", Artificial Intelligence 32, 1987). Candidates are tried
cheapest first; one that leaves a conflict standing has that conflict made minimal by leaving out
one supposition after another, and is then split on it. A set is tried once only, and one that
contains a set already found is passed over, so what is found is minimal (Greiner, Smith and
Wilkerson, Artificial Intelligence 41, 1989, corrected the original's cutting of subtrees; here
containment is checked instead).

Cost: one tightening for each candidate that meets all known conflicts, and one for each
supposition of each new conflict. The number of sets can grow exponentially: the search stops at
stated limits and says so.

What it does not do: see that two conflicts have nothing to do with one another; that is
:mod:`ledger.reason.reconcile`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import reduce
from heapq import heappop, heappush, heapreplace
from math import log
from operator import or_
from typing import NamedTuple

from ledger.reason.network import Supposition
from ledger.reason.tighten import Tightener

# In the search a supposition that practice thinks likelier wrong than right still costs something
# to give up: otherwise a larger set could be cheaper and would be met before a minimal one.
LEAST_COST = 0.05
# Giving up a further supposition of a group already in doubt costs little, but not nothing.
FURTHER_COST = 0.02


@dataclass(frozen=True, slots=True)
class Limits:
    """Where a search stops."""

    accounts: int = 400
    questions: int = 4_000


# What giving up a set comes to: the dearest of each group, in units, and how many more there are.
Bill = tuple[int, int]


class Costs:
    """What it costs to give up suppositions: the log of the prior odds that they hold.

    Within one group only the dearest counts in full, since one doubt gives up all of them. Sums
    are kept in whole units, so small that every cost is a whole number of them: they are exact,
    and the same in whatever order they are taken.
    """

    def __init__(self, ready: Tightener, suppositions: Mapping[str, Supposition]) -> None:
        costs: dict[int, float] = {}
        groups: dict[str, int] = {}
        for name, bit in ready.bits.items():
            found = suppositions[name]
            costs[bit] = log(found.prior / (1 - found.prior))
            groups[found.group] = groups.get(found.group, 0) | bit
        raised = {bit: max(cost, LEAST_COST) for bit, cost in costs.items()}
        every = (*costs.values(), *raised.values())
        self._to_one = max((cost.as_integer_ratio()[1] for cost in every), default=1)
        self._units = {bit: _in_units(cost, self._to_one) for bit, cost in costs.items()}
        self._raised = {bit: _in_units(cost, self._to_one) for bit, cost in raised.items()}
        self._group = {bit: groups[suppositions[name].group] for name, bit in ready.bits.items()}
        self._known: dict[int, float] = {}

    def of(self, mask: int) -> float:
        """The cost of giving up every supposition of the mask.

        Less than nothing where practice thinks it likelier wrong than right.
        """
        if mask not in self._known:
            self._known[mask] = self.sum_of(self.bill(mask))
        return self._known[mask]

    def to_search(self, mask: int) -> float:
        """The cost with every supposition costing something.

        Never less for a larger mask, so that the cheapest sets are met first.
        """
        return self.sum_of(self._billed(mask, self._raised))

    def sum_of(self, bill: Bill) -> float:
        """The cost as a number, rounded once."""
        units, further = bill
        return units / self._to_one + FURTHER_COST * further

    def bill(self, mask: int) -> Bill:
        """What :meth:`of` comes to, unrounded."""
        return self._billed(mask, self._units)

    def and_one_more(self, bill: Bill, mask: int, bit: int) -> Bill:
        """What :meth:`to_search` comes to for ``mask``, whose own is ``bill``, with one bit more."""
        units, further = bill
        beside = mask & self._group[bit]
        if not beside:
            return units + self._raised[bit], further
        dearest = max(self._raised[other] for other in bits_of(beside))
        return units + max(0, self._raised[bit] - dearest), further + 1

    def in_order(self, mask: int) -> tuple[tuple[int, int, int], ...]:
        """Of each supposition of the mask its cost in units, itself and its group; cheapest first."""
        return tuple(sorted((self._raised[bit], bit, self._group[bit]) for bit in bits_of(mask)))

    def paid(self, mask: int) -> dict[int, int]:
        """For each group in the mask, the units of the dearest of it."""
        found: dict[int, int] = {}
        for bit in bits_of(mask):
            group = self._group[bit]
            found[group] = max(found.get(group, 0), self._raised[bit])
        return found

    def groups_of(self, mask: int) -> int:
        """All suppositions that share a group with one of the mask."""
        return reduce(or_, (self._group[bit] for bit in bits_of(mask)), 0)

    def are_apart(self, mask: int, other: int) -> bool:
        """Whether no group has suppositions in both: what they cost then adds up."""
        return not self.groups_of(mask) & other

    def _billed(self, mask: int, units: Mapping[int, int]) -> Bill:
        total, further = 0, 0
        while mask:
            bit = mask & -mask
            members = mask & self._group[bit]
            mask ^= members
            if members == bit:
                total += units[bit]
            else:
                total += max(units[one] for one in bits_of(members))
                further += members.bit_count() - 1
        return total, further


def _in_units(cost: float, to_one: int) -> int:
    numerator, denominator = cost.as_integer_ratio()
    return numerator * (to_one // denominator)


def bits_of(mask: int) -> Iterator[int]:
    """The single bits of a mask, lowest first."""
    while mask:
        bit = mask & -mask
        yield bit
        mask ^= bit


def places_of(mask: int) -> Iterator[int]:
    """The places of the bits of a mask, lowest first."""
    while mask:
        bit = mask & -mask
        yield bit.bit_length() - 1
        mask ^= bit


def minimal_conflict(ready: Tightener, kept: int) -> int | None:
    """One smallest conflict within ``kept``, or None where all of it can hold."""
    found = ready.conflict_within(kept)
    if found is None:
        return None
    for bit in bits_of(found):
        if not found & bit:
            continue
        smaller = ready.conflict_within(found & ~bit)
        if smaller is not None:
            found = smaller
    return found


@dataclass(frozen=True, slots=True)
class Search:
    """What a search found, in the order of its costs, and whether that is all there is."""

    accounts: tuple[int, ...]
    is_complete: bool


def search(
    ready: Tightener,
    costs: Costs,
    given: tuple[int, int],
    conflicts: list[int],
    limits: Limits,
) -> Search:
    """The minimal sets to give up besides the first mask of ``given``, none of its second.

    Conflicts that are met are added to ``conflicts``, where those already known stand.
    """
    given_up, insisted_on = given
    candidates = Candidates(costs)
    for conflict in conflicts:
        if not conflict & given_up:
            candidates.add(conflict & ~insisted_on)
    accounts: list[int] = []
    questions = 0
    while (mask := candidates.cheapest()) is not None:
        if len(accounts) >= limits.accounts or questions >= limits.questions:
            return Search(tuple(accounts), is_complete=False)
        questions += 1
        unmet = minimal_conflict(ready, ready.everything & ~(mask | given_up))
        if unmet is None:
            accounts.append(mask)
            candidates.settle()
        else:
            conflicts.append(unmet)
            candidates.add(unmet & ~insisted_on)
    return Search(tuple(accounts), is_complete=True)


class Part(NamedTuple):
    """All sets with every supposition of ``mask`` and none of ``barred``.

    None of them that meets all conflicts costs less than ``at_least``: the cheapest sort first.
    """

    at_least: float
    mask: int
    barred: int
    bill: Bill


class Candidates:
    """The minimal sets that meet every conflict added so far, cheapest first.

    The sets are divided again and again. A part whose mask misses a conflict is divided by which
    supposition of it comes in, those before it staying out, so that no set is come by twice. What
    is still to be paid is at least the cheapest supposition of each conflict that is not met, as
    far as these share no group: the part that promises most is looked at first (Hart, Nilsson and
    Raphael, IEEE Transactions on Systems Science and Cybernetics 4, 1968). A part in which some
    supposition meets no conflict by itself holds no minimal set; it rests until a conflict is
    added that only one supposition of its mask meets.
    """

    def __init__(self, costs: Costs) -> None:
        self._costs = costs
        # Every conflict is a bit; for every supposition the conflicts that it meets.
        self._met_by: dict[int, int] = {}
        self._conflicts: list[int] = []
        self._in_order: list[tuple[tuple[int, int, int], ...]] = []
        self._waiting: list[Part] = [Part(0.0, 0, 0, (0, 0))]
        self._resting: list[Part] = []

    def add(self, conflict: int) -> None:
        """Take in a further conflict."""
        place = 1 << len(self._conflicts)
        for bit in bits_of(conflict):
            self._met_by[bit] = self._met_by.get(bit, 0) | place
        self._conflicts.append(conflict)
        self._in_order.append(self._costs.in_order(conflict))
        resting: list[Part] = []
        for part in self._resting:
            meeting = part.mask & conflict
            if meeting and not meeting & (meeting - 1):
                heappush(self._waiting, part)
            else:
                resting.append(part)
        self._resting = resting

    def settle(self) -> None:
        """Take the cheapest away."""
        heappop(self._waiting)

    def cheapest(self) -> int | None:
        """The cheapest minimal set; None where there is none left. It stays until settled."""
        while self._waiting:
            part = self._waiting[0]
            met, met_once = self._met(part.mask)
            if any(not self._met_by[bit] & met_once for bit in bits_of(part.mask)):
                self._resting.append(heappop(self._waiting))
                continue
            unmet = ~met & ((1 << len(self._conflicts)) - 1)
            if not unmet:
                return part.mask
            heappop(self._waiting)
            self._divide(part, unmet)
        return None

    def _met(self, mask: int) -> tuple[int, int]:
        """The conflicts that the mask meets, and those that it meets by one supposition only."""
        met, met_twice = 0, 0
        while mask:
            bit = mask & -mask
            mask ^= bit
            here = self._met_by[bit]
            met_twice |= met & here
            met |= here
        return met, met & ~met_twice

    def _divide(self, part: Part, unmet: int) -> None:
        """Put the part's own parts in its place, by the unmet conflict with the least left."""
        paid = self._costs.paid(part.mask)
        total, chosen, few = 0, 0, 1 << 30
        for i in places_of(unmet):
            left = [each for each in self._in_order[i] if not each[1] & part.barred]
            if not left:
                return
            least = min(cost - paid.get(group, 0) for cost, _, group in left)
            if least > 0:
                total += least
                for group in {group for _, _, group in left}:
                    paid[group] = paid.get(group, 0) + least
            if len(left) < few:
                chosen, few = i, len(left)
        self._part(part, chosen, total, paid)

    def _part(self, part: Part, chosen: int, total: int, paid: dict[int, int]) -> None:
        barred = part.barred
        before = self._costs.paid(part.mask)
        for _, bit, group in self._in_order[chosen]:
            if bit & barred:
                continue
            units, further = self._costs.and_one_more(part.bill, part.mask, bit)
            others = total - paid.get(group, 0) + before.get(group, 0)
            at_least = max(part.at_least, self._costs.sum_of((units + others, further)))
            heappush(self._waiting, Part(at_least, part.mask | bit, barred, (units, further)))
            barred |= bit


def _contains_any(mask: int, accounts: Iterable[int]) -> bool:
    return any(account & mask == account for account in accounts)


def minimal_hitting_sets(families: Iterable[int]) -> tuple[int, ...]:
    """All minimal masks that share a bit with each of the given masks (Berge's method).

    >>> sorted(minimal_hitting_sets([0b011, 0b110]))
    [2, 5]
    """
    found = [0]
    for family in families:
        hit = [mask for mask in found if mask & family]
        wider = {mask | bit for mask in found if not mask & family for bit in bits_of(family)}
        found = minimal([*hit, *wider])
    return tuple(mask for mask in found if mask)


def minimal(masks: Iterable[int]) -> list[int]:
    """The masks that contain no other, in order of size and value."""
    kept: list[int] = []
    for mask in sorted(set(masks), key=lambda m: (m.bit_count(), m)):
        if not _contains_any(mask, kept):
            kept.append(mask)
    return kept

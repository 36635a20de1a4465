"""What does it cost to give up suppositions?

Question answered: how one set of suppositions to give up ranks beside another by prior odds, and
which of a product of sets are the cheapest.

Method: the log of the prior odds that each holds, the dearest of each group in full. Every cost is
kept as a whole number of units, a power of two of them to one, which a float always is of some: sums
are exact and are rounded once, when they are told.

Cost: linear in the suppositions of a set; of a product, one sum for each set kept and each that is
joined to it.

What it does not do: weigh the evidence; that is :mod:`ledger.reason.posteriors`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import reduce
from heapq import nsmallest
from math import inf, log
from operator import or_

from ledger.reason.network import Supposition
from ledger.reason.tighten import Tightener

# In the search a supposition that practice thinks likelier wrong than right still costs something
# to give up: otherwise a larger set could be cheaper and would be met before a minimal one.
LEAST_COST = 0.05
# Giving up a further supposition of a group already in doubt costs little, but not nothing.
FURTHER_COST = 0.02

# What giving up a set comes to: the dearest of each group, in units, and how many more there are.
Bill = tuple[int, int]
# What a supposition costs to search, in units, the supposition, and its group.
Price = tuple[int, int, int]
# What a set comes to but for the groups that several families share, and the dearest of each of these.
_Apart = tuple[int, int, tuple[float, ...]]
_Joined = tuple[float, int, _Apart]


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
        numbers = {group: i for i, group in enumerate(groups.values())}
        self._number = {bit: numbers[group] for bit, group in self._group.items()}
        self.more_than_any = max(self._raised.values(), default=0) + 1
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

    def prices(self, mask: int) -> tuple[Price, ...]:
        """What each supposition of the mask costs to search, the dearest first."""
        found = ((self._raised[bit], bit, self._number[bit]) for bit in bits_of(mask))
        return tuple(sorted(found, reverse=True))

    def dearest(self, mask: int) -> dict[int, int]:
        """For each group in the mask, the units of the dearest of it."""
        found: dict[int, int] = {}
        for bit in bits_of(mask):
            group = self._number[bit]
            found[group] = max(found.get(group, 0), self._raised[bit])
        return found

    def groups_of(self, mask: int) -> int:
        """All suppositions that share a group with one of the mask."""
        return reduce(or_, (self._group[bit] for bit in bits_of(mask)), 0)

    def cheapest_joined(
        self, given_up: int, families: Sequence[Sequence[int]], at_most: int
    ) -> list[int]:
        """The cheapest of ``given_up`` with one mask of each family, in order of cost and value.

        After each family so many are kept at the most.
        """
        shared = self._shared((given_up, *(reduce(or_, family, 0) for family in families)))
        groups = tuple(dict.fromkeys(self._group[bit] for bit in bits_of(shared)))

        def taken_apart(mask: int) -> _Apart:
            """What adds up, and the dearest of each group of which several families have some."""
            dearest = (
                max((self._units[bit] for bit in bits_of(mask & group)), default=-inf)
                for group in groups
            )
            return (*self._billed(mask & ~shared, self._units), tuple(dearest))

        listed = [(self.of(given_up), given_up, taken_apart(given_up))]
        for family in families:
            # Most masks of a family have the same of the shared groups: what that comes to is
            # worked out once for all of them.
            others: dict[tuple[float, ...], list[tuple[int, int, int]]] = {}
            for mask in family:
                units, further, of_shared = taken_apart(mask)
                others.setdefault(of_shared, []).append((mask, units, further))
            found: dict[int, _Joined] = {}
            for _, mask, (units, further, of_shared) in listed:
                for more_shared, members in others.items():
                    dearest = tuple(map(max, of_shared, more_shared))
                    beside = [int(each) for each in dearest if each > -inf]
                    in_full, spared = units + sum(beside), further - len(beside)
                    for other, more_units, more in members:
                        joined = mask | other
                        bill = (
                            in_full + more_units,
                            spared + more + (joined & shared).bit_count(),
                        )
                        apart = (units + more_units, further + more, dearest)
                        found[joined] = (self.sum_of(bill), joined, apart)
            listed = nsmallest(at_most, found.values())
        self._known.update((mask, cost) for cost, mask, _ in listed)
        return [mask for _, mask, _ in listed]

    def _shared(self, masks: Iterable[int]) -> int:
        """All suppositions of groups of which more than one of the masks has some."""
        met, shared = 0, 0
        for mask in masks:
            groups = self.groups_of(mask)
            shared |= met & groups
            met |= groups
        return shared

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

"""Which sets of suppositions meet all known conflicts, cheapest first?

Question answered: the minimal hitting sets of conflicts that become known one after another, in
the order of their cost (equal ones in the order of their masks).

Method: best first, by what a set costs already and what it has to cost at the least until it meets
the conflicts that it misses (Hart, Nilsson and Raphael, IEEE Transactions on Systems Science and
Cybernetics 4, 1968). That least is put together from the conflicts one after another, each paid for
as far as its cheapest supposition is not paid for yet: a solution of the dual linear program, so
never too much (Bar-Yehuda and Even, Journal of Algorithms 2, 1981).

Cost: for each division one look at every conflict that is missed. The number of divisions can grow
exponentially; who asks says how many it may take.

What it does not do: find conflicts; that is :mod:`ledger.reason.hitting`.
"""

from __future__ import annotations

from heapq import heappop, heappush
from typing import NamedTuple

from ledger.reason.costs import Bill, Costs, Price, bits_of, places_of


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

    The sets are divided again and again: a part whose mask misses a conflict is divided by which
    supposition of it comes in, those before it staying out, so that no set is come by twice. A part
    in which some supposition meets no conflict by itself holds no minimal set; it rests until a
    conflict is added that only one supposition of its mask meets.
    """

    def __init__(self, costs: Costs) -> None:
        self._costs = costs
        # Every conflict is a bit; for every supposition the conflicts that it meets.
        self._met_by: dict[int, int] = {}
        self._conflicts: list[int] = []
        self._prices: list[tuple[Price, ...]] = []
        self._groups: list[tuple[int, ...]] = []
        self.divided = 0
        self._waiting: list[Part] = [Part(0.0, 0, 0, (0, 0))]
        self._resting: list[Part] = []

    def add(self, conflict: int) -> None:
        """Take in a further conflict."""
        place = 1 << len(self._conflicts)
        for bit in bits_of(conflict):
            self._met_by[bit] = self._met_by.get(bit, 0) | place
        self._conflicts.append(conflict)
        prices = self._costs.prices(conflict)
        self._prices.append(prices)
        self._groups.append(tuple(dict.fromkeys(group for _, _, group in prices)))
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

    def are_all(self) -> bool:
        """Whether nothing is left to be looked at."""
        return not self._waiting

    def cheapest(self, divisions: int) -> int | None:
        """The cheapest minimal set, which stays until settled.

        None where there is none left, or after so many divisions in all.
        """
        while self._waiting:
            part = self._waiting[0]
            met, met_once = self._met(part.mask)
            if any(not self._met_by[bit] & met_once for bit in bits_of(part.mask)):
                self._resting.append(heappop(self._waiting))
                continue
            unmet = ~met & ((1 << len(self._conflicts)) - 1)
            if not unmet:
                return part.mask
            if self.divided >= divisions:
                return None
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
        self.divided += 1
        before, barred = self._costs.dearest(part.mask), part.barred
        # What is paid in each group: for the mask, then for one conflict after another. Most of
        # the time of a search goes here, so that no conflict is copied.
        paid = dict(before)
        total, chosen, best = 0, -1, (len(self._met_by) + 1, 0)
        for i in places_of(unmet):
            many, least = 0, self._costs.more_than_any
            for units, bit, group in self._prices[i]:
                if not bit & barred:
                    many += 1
                    least = min(least, units - paid.get(group, 0))
            if not many:
                return
            if least > 0:
                total += least
                for group in self._groups[i]:
                    paid[group] = paid.get(group, 0) + least
            if many < best[0] or (many == best[0] and least > best[1]):
                best, chosen = (many, least), i
        for _, bit, group in self._prices[chosen]:
            if bit & barred:
                continue
            units, further = self._costs.and_one_more(part.bill, part.mask, bit)
            # What was to be paid in the group of the bit may be paid by it.
            others = total - paid.get(group, 0) + before.get(group, 0)
            at_least = max(part.at_least, self._costs.sum_of((units + others, further)))
            heappush(self._waiting, Part(at_least, part.mask | bit, barred, (units, further)))
            barred |= bit

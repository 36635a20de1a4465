"""Have these doubts anything to do with one another?

Question answered: whether every combination of the accounts of several doubts is possible.

Method: with the hinges (the completions of the roots) held on some days, constraints that depend
on different doubts share no moment and no doubted supposition. So if every account of every
doubt is possible on the same days, every combination of them is: a proof at the cost of the sum.
Where no such days are found, only the doubts that stand in the way are tried in all
combinations, each with days of its own.

Cost: one tightening for each account of each doubt, a few times over.

What it does not do: find the accounts.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from math import prod

from ledger.basis.spans import Spans
from ledger.reason.costs import bits_of
from ledger.reason.domains import Held
from ledger.reason.hitting import minimal_conflict
from ledger.reason.tighten import Tightener

COMBINATIONS_AT_MOST = 400
# A hinge that nothing bounds is held on some day, here in 1950; which one does not matter.
ANY_DAY = 711_858


@dataclass(frozen=True, slots=True)
class Doubt:
    """Suppositions that stand or fall together, and the minimal ways to settle them."""

    mask: int
    accounts: tuple[int, ...]


def doubts_apart(ready: Tightener, conflicts: Iterable[int], hinges: Sequence[str]) -> list[int]:
    """The doubted suppositions, taken apart into those that can have to do with one another."""
    given = list(conflicts)
    doubted = 0
    for conflict in given:
        doubted |= conflict
    classes = _Classes()
    for conflict in given:
        classes.join(list(bits_of(conflict)))
    for moments, mask in ready.reaches():
        shared = [name for name in moments if name not in hinges]
        classes.join([*shared, *bits_of(mask & doubted)])
    found: dict[str | int, int] = {}
    for bit in bits_of(doubted):
        key = classes.of(bit)
        found[key] = found.get(key, 0) | bit
    return sorted(found.values())


class _Classes:
    """Moments and suppositions (as bits) put together into classes (union and find)."""

    def __init__(self) -> None:
        self._above: dict[str | int, str | int] = {}

    def of(self, name: str | int) -> str | int:
        """The one that stands for the class."""
        at = name
        while (above := self._above.get(at, at)) != at:
            at = above
        self._above[name] = at
        return at

    def join(self, names: Sequence[str | int]) -> None:
        """Put all of them into one class."""
        if len(names) < 2:
            return
        first = self.of(names[0])
        for name in names[1:]:
            self._above[self.of(name)] = first


class Independence:
    """Several doubts, and the days on which their accounts are possible.

    ``settled`` is an account of the whole: what is given up while one doubt is tried alone.
    """

    def __init__(
        self, ready: Tightener, settled: int, doubts: Sequence[Doubt], hinges: Sequence[str]
    ) -> None:
        self._ready = ready
        self._settled = settled
        self._doubts = doubts
        self._hinges = hinges
        self._known: dict[tuple[int, Held], bool] = {}

    def clash(self) -> int | None:
        """None if all combinations are possible, else a conflict; 0 if that cannot be decided."""
        worst: list[Doubt] = list(self._doubts)
        for days in self._days(self._ready.everything & ~self._settled):
            failing = [d for d in self._doubts if not self._all_possible(d, self._settled, days)]
            if not failing:
                return None
            worst = min(worst, failing, key=len)
        if prod(len(doubt.accounts) for doubt in worst) > COMBINATIONS_AT_MOST:
            return 0
        rest = [doubt for doubt in self._doubts if doubt not in worst]
        for combination in product(*(doubt.accounts for doubt in worst)):
            clash = self._clash_with(combination, worst, rest)
            if clash is not None:
                return clash
        return None

    def _clash_with(
        self, combination: tuple[int, ...], joined: Sequence[Doubt], rest: Sequence[Doubt]
    ) -> int | None:
        given_up = self._settled
        for doubt, account in zip(joined, combination, strict=True):
            given_up = (given_up & ~doubt.mask) | account
        kept = self._ready.everything & ~given_up
        conflict = minimal_conflict(self._ready, kept)
        if conflict is not None:
            return conflict
        for days in self._days(kept):
            if self._ready.can_hold(kept, days) and all(
                self._all_possible(doubt, given_up, days) for doubt in rest
            ):
                return None
        return 0

    def _all_possible(self, doubt: Doubt, given_up: int, days: Held) -> bool:
        """Whether each account of the doubt is possible with the hinges held on those days.

        What else is given up does not matter once the hinges are held, as long as it is possible
        on those days by itself; so the answer is kept for the days.
        """
        key = (doubt.mask, days)
        if key not in self._known:
            others = given_up & ~doubt.mask
            self._known[key] = all(
                self._ready.can_hold(self._ready.everything & ~(others | account), days)
                for account in doubt.accounts
            )
        return self._known[key]

    def _days(self, kept: int) -> Iterator[Held]:
        """Days for the hinges that are possible together: the earliest, the latest, one between."""
        for which in range(3):
            held: Held = ()
            for hinge in self._hinges:
                low = self._ready.low_of(hinge, kept, held)
                high = self._ready.high_of(hinge, kept, held)
                day = _day_between(low, high, which)
                held = (*held, (hinge, Spans.between(day, day)))
            yield held


def _day_between(low: int | None, high: int | None, which: int) -> int:
    if low is None or high is None:
        return next((day for day in (low, high) if day is not None), ANY_DAY)
    return (low, high, (low + high) // 2)[which]

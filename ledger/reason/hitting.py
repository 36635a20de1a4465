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
from heapq import heappop, heappush
from math import fsum, inf, log

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


class Costs:
    """What it costs to give up suppositions: the log of the prior odds that they hold.

    Within one group only the dearest counts in full, since one doubt gives up all of them.
    """

    def __init__(self, ready: Tightener, suppositions: Mapping[str, Supposition]) -> None:
        self._of: dict[int, tuple[float, str]] = {}
        self._summed_up: dict[int, float] = {}
        for name, bit in ready.bits.items():
            found = suppositions[name]
            self._of[bit] = (log(found.prior / (1 - found.prior)), found.group)

    def of(self, mask: int) -> float:
        """The cost of giving up every supposition of the mask.

        Less than nothing where practice thinks it likelier wrong than right.
        """
        if mask not in self._summed_up:
            self._summed_up[mask] = self._summed(mask, -inf)
        return self._summed_up[mask]

    def to_search(self, mask: int) -> float:
        """The cost with every supposition costing something.

        Never less for a larger mask, so that the cheapest sets are met first.
        """
        return self._summed(mask, LEAST_COST)

    def _summed(self, mask: int, least: float) -> float:
        # The innermost loop of the search for accounts: the bits are taken apart here.
        dearest: dict[str, float] = {}
        many = mask.bit_count()
        while mask:
            bit = mask & -mask
            mask ^= bit
            cost, group = self._of[bit]
            cost = max(cost, least)
            if cost > dearest.get(group, -inf):
                dearest[group] = cost
        return fsum(dearest.values()) + FURTHER_COST * (many - len(dearest))


def bits_of(mask: int) -> Iterator[int]:
    """The single bits of a mask, lowest first."""
    while mask:
        bit = mask & -mask
        yield bit
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
    accounts: list[int] = []
    waiting: list[tuple[float, int]] = [(0.0, 0)]
    tried = {0}
    questions = 0
    while waiting and len(accounts) < limits.accounts and questions < limits.questions:
        _, mask = heappop(waiting)
        if _contains_any(mask, accounts):
            continue
        unmet = next((c for c in conflicts if not c & (mask | given_up)), None)
        if unmet is None:
            questions += 1
            unmet = minimal_conflict(ready, ready.everything & ~(mask | given_up))
            if unmet is None:
                accounts.append(mask)
                continue
            conflicts.append(unmet)
        for bit in bits_of(unmet & ~insisted_on):
            wider = mask | bit
            if wider not in tried:
                tried.add(wider)
                heappush(waiting, (costs.to_search(wider), wider))
    return Search(tuple(accounts), all(_contains_any(mask, accounts) for _, mask in waiting))


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

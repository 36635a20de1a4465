"""What cannot all be true, and what would have to be given up?

Question answered: all minimal conflicts among the suppositions, and all minimal accounts: the
smallest sets of suppositions to give up so that the rest can all hold.

Method: accounts are the minimal hitting sets of the conflicts and conflicts those of the
accounts (Reiter, "A theory of diagnosis from first principles", Artificial Intelligence 32,
1987). Candidate sets are tried cheapest first; one that leaves a conflict standing has that
conflict made minimal by leaving out one supposition after another, and is then split on it.
A set is tried once only, and one that contains an account is passed over, so what is found is
minimal (the correction of Greiner, Smith and Wilkerson, Artificial Intelligence 41, 1989, to
the original pruning is met by checking containment, never by cutting subtrees).

Cost: the number of accounts can grow as the product of independent conflicts. The search stops
at stated limits and then says what it left out; up to there the accounts are the cheapest, in
order. When it ends by itself both lists are complete.

What it does not do: weigh. The order is by prior odds from practice, not by all the evidence.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from heapq import heappop, heappush
from math import inf, log

from ledger.reason.network import Supposition
from ledger.reason.tighten import Tightener

ACCOUNTS_AT_MOST = 400
QUESTIONS_AT_MOST = 6_000
# In the search a supposition that practice thinks likelier wrong than right still costs something
# to give up: otherwise a larger set could be cheaper and would be met before a minimal one.
LEAST_COST = 0.05
# Giving up a further supposition of a group already in doubt costs little, but not nothing.
FURTHER_COST = 0.02


@dataclass(frozen=True, slots=True)
class Reconciliation:
    """Conflicts and accounts as masks of suppositions, each list in a fixed order.

    ``accounts`` are in order of ``costs``. ``is_complete`` says that nothing was left out.
    """

    conflicts: tuple[int, ...]
    accounts: tuple[int, ...]
    costs: tuple[float, ...]
    is_complete: bool


class Costs:
    """What it costs to give up suppositions: the log of the prior odds that they hold.

    Within one group only the dearest counts in full, since one doubt gives up all of them.
    """

    def __init__(self, ready: Tightener, suppositions: Mapping[str, Supposition]) -> None:
        self._of: dict[int, tuple[float, str]] = {}
        for name, bit in ready.bits.items():
            found = suppositions[name]
            self._of[bit] = (log(found.prior / (1 - found.prior)), found.group)

    def of(self, mask: int) -> float:
        """The cost of giving up every supposition of the mask; less than nothing where practice
        thinks it likelier wrong than right.
        """
        return self._summed(mask, -inf)

    def to_search(self, mask: int) -> float:
        """The cost with every supposition costing something.

        Never less for a larger mask, so that the cheapest sets are met first.
        """
        return self._summed(mask, LEAST_COST)

    def _summed(self, mask: int, least: float) -> float:
        dearest: dict[str, float] = {}
        further = 0
        for bit in bits_of(mask):
            cost, group = self._of[bit]
            further += group in dearest
            dearest[group] = max(cost, least, dearest.get(group, -inf))
        return sum(dearest[group] for group in sorted(dearest)) + FURTHER_COST * further


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


def reconcile(
    ready: Tightener,
    costs: Costs,
    accounts_at_most: int = ACCOUNTS_AT_MOST,
    questions_at_most: int = QUESTIONS_AT_MOST,
) -> Reconciliation:
    """All minimal conflicts and accounts, or the cheapest accounts up to the limits."""
    conflicts: list[int] = []
    accounts: list[int] = []
    waiting: list[tuple[float, int]] = [(0.0, 0)]
    tried = {0}
    questions = 0
    while waiting and len(accounts) < accounts_at_most and questions < questions_at_most:
        _, given_up = heappop(waiting)
        if any(account & given_up == account for account in accounts):
            continue
        unmet = next((c for c in conflicts if not c & given_up), None)
        if unmet is None:
            questions += 1
            unmet = minimal_conflict(ready, ready.everything & ~given_up)
            if unmet is None:
                accounts.append(given_up)
                continue
            conflicts.append(unmet)
        for bit in bits_of(unmet):
            wider = given_up | bit
            if wider not in tried:
                tried.add(wider)
                heappush(waiting, (costs.to_search(wider), wider))
    is_complete = not any(
        not any(account & given_up == account for account in accounts) for _, given_up in waiting
    )
    if is_complete:
        conflicts = list(minimal_hitting_sets(accounts))
    accounts.sort(key=lambda mask: (costs.of(mask), ready.named(mask)))
    return Reconciliation(
        tuple(sorted(conflicts, key=lambda mask: (mask.bit_count(), ready.named(mask)))),
        tuple(accounts),
        tuple(costs.of(account) for account in accounts),
        is_complete,
    )


def minimal_hitting_sets(families: Iterable[int]) -> tuple[int, ...]:
    """All minimal masks that share a bit with each of the given masks (Berge's method).

    >>> sorted(minimal_hitting_sets([0b011, 0b110]))
    [2, 5]
    """
    found = [0]
    for family in families:
        hit = [mask for mask in found if mask & family]
        wider = {mask | bit for mask in found if not mask & family for bit in bits_of(family)}
        found = _minimal([*hit, *wider])
    return tuple(mask for mask in found if mask) if found != [0] else ()


def _minimal(masks: Iterable[int]) -> list[int]:
    """The masks that contain no other, in order of size and value."""
    kept: list[int] = []
    for mask in sorted(set(masks), key=lambda m: (m.bit_count(), m)):
        if not any(other & mask == other for other in kept):
            kept.append(mask)
    return kept

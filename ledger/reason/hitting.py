"""The smallest sets of suppositions to give up, cheapest first.

Question answered: within one set of suppositions that may be given up, all minimal conflicts and
all minimal sets to give up so that what is kept can hold.

Method: the sets to give up are the minimal hitting sets of the conflicts (Reiter, "A theory of
diagnosis from first principles", Artificial Intelligence 32, 1987). The cheapest set that meets all
conflicts known so far is tried; where it leaves a conflict standing, that one is made minimal by
leaving out one supposition after another, and becomes known. So what is tried is minimal for what
is known, and each question is the same however the sets are come by (the trees of the original,
corrected by Greiner, Smith and Wilkerson, Artificial Intelligence 41, 1989, give way to
:mod:`ledger.reason.candidates`).

Cost: one tightening for each set tried, and one for each supposition of each new conflict. The
number of sets can grow exponentially: the search stops at stated limits and says so.

What it does not do: see that two conflicts have nothing to do with one another; that is
:mod:`ledger.reason.reconcile`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ledger.reason.candidates import Candidates
from ledger.reason.costs import Costs, bits_of
from ledger.reason.tighten import Tightener

__all__ = [
    "Costs",
    "Limits",
    "Search",
    "account_at_once",
    "minimal",
    "minimal_conflict",
    "minimal_hitting_sets",
    "search",
]


@dataclass(frozen=True, slots=True)
class Limits:
    """Where a search stops.

    After so many accounts or questions whether a set can hold, for each search; after so many
    divisions of what is to be tried for all searches of a reconciliation, which is what keeps a case
    of some hundred conflicts that hang together within a second.
    """

    accounts: int = 400
    questions: int = 4_000
    divisions: int = 6_000


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
    divisions: int = 0


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
    while (mask := candidates.cheapest(limits.divisions)) is not None:
        if len(accounts) >= limits.accounts or questions >= limits.questions:
            return Search(tuple(accounts), is_complete=False, divisions=candidates.divided)
        questions += 1
        unmet = minimal_conflict(ready, ready.everything & ~(mask | given_up))
        if unmet is None:
            accounts.append(mask)
            candidates.settle()
        else:
            conflicts.append(unmet)
            candidates.add(unmet & ~insisted_on)
    return Search(tuple(accounts), candidates.are_all(), candidates.divided)


def account_at_once(
    ready: Tightener, costs: Costs, given: tuple[int, int], conflicts: list[int]
) -> int | None:
    """One minimal set to give up, found without search and not always the cheapest; or None.

    What is given and the conflicts are those of :func:`search`.
    """
    given_up, insisted_on = given
    kept, mask = ready.everything & ~given_up, 0
    while True:
        unmet = next((c for c in conflicts if not c & (mask | given_up)), None)
        if unmet is None:
            unmet = minimal_conflict(ready, kept & ~mask)
            if unmet is None:
                break
            conflicts.append(unmet)
        if not unmet & ~insisted_on:
            return None
        mask |= costs.prices(unmet & ~insisted_on)[-1][1]
    for _, bit, _ in costs.prices(mask):
        if ready.can_hold(kept & ~mask | bit):
            mask ^= bit
    return mask


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

"""What cannot all be true, and what would have to be given up?

Question answered: all minimal conflicts among the suppositions, and all minimal accounts: the
smallest sets of suppositions to give up so that the rest can all hold (Reiter 1987).

Method: accounts of doubts that have nothing to do with one another multiply, so that they are
not listed but kept as products.

*Taking apart.* Two suppositions belong to one doubt if they stand in one conflict, or if
constraints that depend on them share a moment other than the hinges (the completions, through
which alone independent parts of an instrument meet). Each doubt is searched by
:mod:`ledger.reason.hitting` with the others settled in the cheapest way.

*Proof.* That the doubts are independent is proved, not assumed: see
:mod:`ledger.reason.independence`.

*Branching.* One supposition (a single false memory, say) can stand against everything and tie
all doubts into one. Accounts are then divided by whether they give it up: either way the rest
falls apart again. It is tried where some conflict met so far rests on that supposition alone
among all that is doubted otherwise. Conflicts met later can spoil that: accounts that give up
more than they need to are then found and left out one by one.

Cost: the sum, not the product, of the accounts of the doubts. Limits are stated in
:class:`ledger.reason.hitting.Limits`; beyond them the result says that it is not complete. Half of
the work allowed is spent on finding out how to branch. Where even the cheapest account is not found
within it, one that is minimal but perhaps dearer is found at once instead.

What it does not do: weigh. The order is by prior odds from practice; the first of them are put in
the order of their exact chance by :mod:`ledger.reason.posteriors`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import reduce
from itertools import product
from math import prod
from operator import or_

from ledger.reason.costs import Costs, bits_of
from ledger.reason.hitting import (
    Limits,
    Search,
    account_at_once,
    minimal,
    minimal_hitting_sets,
    search,
)
from ledger.reason.independence import Doubt, Independence, doubts_apart
from ledger.reason.tighten import Tightener

EVEN_COST = 1e-9
# Of more accounts than this only the first are weighed one by one.
FEW_TO_COMPARE = 20
BRANCHES_AT_MOST = 4
# Where a search finds more than these it is first tried to branch.
FEW_ACCOUNTS = 48
# So many accounts of a branch are gone through one by one where some may not be minimal.
SPELT_OUT_AT_MOST = 2_000


@dataclass(frozen=True, slots=True)
class Branch:
    """Accounts that all give up ``given_up``, and settle each of ``doubts`` in one of its ways."""

    given_up: int
    doubts: tuple[Doubt, ...]
    is_complete: bool = True

    @property
    def total(self) -> int:
        """How many accounts there are."""
        return prod(len(doubt.accounts) for doubt in self.doubts)

    def giving_up(self, bit: int) -> int:
        """In how many of them the supposition is given up."""
        if self.given_up & bit:
            return self.total
        for doubt in self.doubts:
            if doubt.mask & bit:
                giving = sum(bool(account & bit) for account in doubt.accounts)
                return giving * (self.total // len(doubt.accounts))
        return 0


@dataclass(frozen=True, slots=True)
class Reconciliation:
    """Conflicts and accounts as masks of suppositions, each list in a fixed order.

    There are ``total`` accounts, in ``branches`` of products; ``accounts`` lists the likeliest
    with their ``costs``. ``is_complete`` says that nothing was left out of branches and conflicts;
    where it is not, all that is there is true, and ``total`` is how many accounts were found.
    """

    conflicts: tuple[int, ...]
    branches: tuple[Branch, ...]
    accounts: tuple[int, ...]
    costs: tuple[float, ...]
    is_complete: bool

    @property
    def total(self) -> int:
        """How many minimal accounts there are."""
        return sum(branch.total for branch in self.branches)

    def giving_up(self, bit: int) -> int:
        """In how many of all accounts the supposition is given up."""
        return sum(branch.giving_up(bit) for branch in self.branches)


def spelt_out(branch: Branch) -> list[int]:
    """Every account of the branch, its product multiplied out."""
    ways = product(*(doubt.accounts for doubt in branch.doubts))
    return [reduce(or_, way, branch.given_up) for way in ways]


def reconcile(
    ready: Tightener,
    costs: Costs,
    hinges: Sequence[str] = (),
    limits: Limits | None = None,
) -> Reconciliation:
    """All minimal conflicts and accounts, or the cheapest accounts up to the limits.

    Args:
        ready: the network.
        costs: what it costs to give up each supposition.
        hinges: the moments through which alone independent parts meet; with none, everything
            that shares a moment is one doubt.
        limits: where a search stops.
    """
    return _Work(
        ready, costs, tuple(h for h in hinges if h in ready.moments), limits or Limits()
    ).done()


def _is_of(branch: Branch, account: int) -> bool:
    """Whether the account is one of the product of the branch."""
    rest = account & ~branch.given_up
    for doubt in branch.doubts:
        if rest & doubt.mask not in doubt.accounts:
            return False
        rest &= ~doubt.mask
    return branch.given_up & ~account == 0 and rest == 0


class _Work:
    """One reconciliation under way: the conflicts met so far, shared by all its searches."""

    def __init__(
        self, ready: Tightener, costs: Costs, hinges: tuple[str, ...], limits: Limits
    ) -> None:
        self._ready = ready
        self._costs = costs
        self._hinges = hinges
        self._limits = limits
        # While it is found out how to branch, half of the work is kept for the searches after that.
        self._divisions, self._is_trial = limits.divisions // 2, True
        self._conflicts: list[int] = []

    def done(self) -> Reconciliation:
        """Branch on one supposition after another while that takes the rest apart."""
        branches: list[Branch] = []
        given_up = 0
        full = self._limits
        while len(branches) < BRANCHES_AT_MOST:
            self._limits = replace(full, accounts=min(FEW_ACCOUNTS, full.accounts))
            branch = self._solve(given_up, 0)
            hub = None if branch.is_complete else self._hub(given_up)
            if hub is None:
                break
            self._limits = replace(full, accounts=min(FEW_ACCOUNTS * 4, full.accounts))
            kept = self._solve(given_up, hub)
            if not kept.is_complete:
                break
            branches.append(kept)
            given_up |= hub
        self._limits = full
        self._divisions, self._is_trial = self._divisions + full.divisions // 2, False
        branches.append(branch if branch.is_complete else self._solve(given_up, 0))
        return self._result(branches)

    def _result(self, found: Sequence[Branch]) -> Reconciliation:
        is_complete = all(branch.is_complete for branch in found)
        conflicts = self._all_conflicts(found, is_complete=is_complete)
        branches = [self._only_minimal(branch) for branch in found]
        is_complete = all(branch.is_complete for branch in branches)
        listed: set[int] = set()
        for branch in branches:
            listed.update(self._cheapest(branch))
        accounts = self._in_order(listed)[: self._limits.accounts]
        accounts = self._with_opposite(branches, accounts)
        return Reconciliation(
            conflicts,
            tuple(branches),
            tuple(accounts),
            tuple(self._costs.of(mask) for mask in accounts),
            is_complete,
        )

    def _with_opposite(self, branches: Sequence[Branch], accounts: list[int]) -> list[int]:
        """The accounts, and second the one that settles otherwise all that is as cheap otherwise.

        Of many even doubts the first so many accounts settle some in one way only, by nothing but
        the order of names: without it, what is even would seem to be given up by every account.
        """
        found = next((each for each in branches if accounts and _is_of(each, accounts[0])), None)
        if found is None or found.total <= FEW_TO_COMPARE:
            return accounts
        opposite, least = accounts[0], self._costs.of(accounts[0])
        for doubt in found.doubts:
            others = (opposite & ~doubt.mask | account for account in doubt.accounts)
            even = (m for m in others if m != opposite and self._costs.of(m) <= least + EVEN_COST)
            opposite = next(even, opposite)
        if opposite == accounts[0]:
            return accounts
        others_first = [account for account in accounts[1:] if account != opposite]
        return [accounts[0], opposite, *others_first][: len(accounts)]

    def _cheapest(self, branch: Branch) -> list[int]:
        families = [doubt.accounts for doubt in branch.doubts]
        return self._costs.cheapest_joined(branch.given_up, families, self._limits.accounts)

    def _only_minimal(self, branch: Branch) -> Branch:
        """The branch without accounts that need not give up all of what the branch gives up."""
        reached = branch.given_up
        for doubt in branch.doubts:
            for account in doubt.accounts:
                reached |= account
        if not branch.is_complete or all(
            any(c & reached == bit for c in self._conflicts) for bit in bits_of(branch.given_up)
        ):
            return branch
        is_complete = branch.total <= SPELT_OUT_AT_MOST
        listed = spelt_out(branch) if is_complete else self._cheapest(branch)
        return self._listed(branch.given_up, listed, is_complete=is_complete)

    def _listed(self, given_up: int, candidates: Iterable[int], *, is_complete: bool) -> Branch:
        """A branch of those candidates that are accounts and minimal, one by one."""
        accounts = tuple(
            mask & ~given_up for mask in self._in_order(set(candidates)) if self._is_minimal(mask)
        )
        mask = 0
        for account in accounts:
            mask |= account
        return Branch(given_up, (Doubt(mask, accounts),), is_complete)

    def _is_minimal(self, account: int) -> bool:
        """Whether giving up all of the mask is enough, and nothing of it can be spared."""
        alone = 0
        for conflict in self._conflicts:
            met = conflict & account
            if not met:
                return False
            if not met & (met - 1):
                alone |= met
        kept = self._ready.everything & ~account
        return self._ready.can_hold(kept) and not any(
            self._ready.can_hold(kept | bit) for bit in bits_of(account & ~alone)
        )

    def _in_order(self, masks: Iterable[int]) -> list[int]:
        return sorted(masks, key=lambda m: (self._costs.of(m), m))

    def _all_conflicts(self, branches: Sequence[Branch], *, is_complete: bool) -> tuple[int, ...]:
        """Every conflict met and, where the accounts are complete, all that they imply."""
        found = list(self._conflicts)
        if is_complete:
            for branch in branches:
                insisted_on = self._insisted_on(branches, branch)
                for doubt in branch.doubts:
                    for conflict in minimal_hitting_sets(doubt.accounts):
                        is_alone = not self._ready.can_hold(conflict)
                        found.append(conflict if is_alone else conflict | insisted_on)
        return tuple(sorted(minimal(found), key=lambda m: (m.bit_count(), m)))

    @staticmethod
    def _insisted_on(branches: Sequence[Branch], branch: Branch) -> int:
        """The hub that a branch insists on: what the next branch gives up besides."""
        at = branches.index(branch)
        if at + 1 == len(branches):
            return 0
        return branches[at + 1].given_up & ~branch.given_up

    def _solve(self, given_up: int, insisted_on: int) -> Branch:
        """The accounts that give up all of the first and nothing of the second, as a product."""
        first = self._search(given_up, insisted_on, replace(self._limits, accounts=1))
        account = next(iter(first.accounts), None)
        if account is None and not first.is_complete:
            account = account_at_once(
                self._ready, self._costs, (given_up, insisted_on), self._conflicts
            )
        if account is None:
            return Branch(given_up, (Doubt(0, ()),))
        settled = given_up | account
        while True:
            known = len(self._conflicts)
            groups = doubts_apart(
                self._ready, self._open_conflicts(given_up, insisted_on), self._hinges
            )
            doubts, is_complete = self._search_groups(given_up, insisted_on, settled, groups)
            if len(self._conflicts) > known:
                again = doubts_apart(
                    self._ready, self._open_conflicts(given_up, insisted_on), self._hinges
                )
                if again != groups:
                    continue
            if not is_complete:
                return self._stopped(given_up, settled, doubts)
            if len(doubts) < 2:
                return Branch(given_up, doubts)
            clash = Independence(self._ready, settled, doubts, self._hinges).clash()
            if clash is None:
                return Branch(given_up, doubts)
            if clash == 0:
                return self._solve_as_one(given_up, insisted_on, settled, doubts)
            self._conflicts.append(clash)

    def _solve_as_one(
        self, given_up: int, insisted_on: int, settled: int, doubts: Sequence[Doubt]
    ) -> Branch:
        """The doubts searched together, where nothing shows them to be independent."""
        found = self._search(given_up, insisted_on, self._limits)
        if not found.is_complete:
            return self._stopped(given_up, settled, (Doubt(0, found.accounts),))
        # New conflicts may have brought in suppositions that none of the doubts had.
        whole = 0
        for mask in (*(doubt.mask for doubt in doubts), *found.accounts):
            whole |= mask
        return Branch(given_up, (Doubt(whole, found.accounts),))

    def _stopped(self, given_up: int, settled: int, doubts: tuple[Doubt, ...]) -> Branch:
        """What is left of a search that stopped at a limit: only what is sure to be an account.

        That the doubts are independent has not been proved then. A trial is told nothing: what
        stops is searched again.
        """
        if self._is_trial:
            return Branch(given_up, (), is_complete=False)
        cheapest = self._cheapest(Branch(given_up, doubts))
        return self._listed(given_up, (settled, *cheapest), is_complete=False)

    def _search_groups(
        self, given_up: int, insisted_on: int, settled: int, groups: Sequence[int]
    ) -> tuple[tuple[Doubt, ...], bool]:
        """Each doubt with its accounts, the others being settled as in the cheapest account."""
        doubts: list[Doubt] = []
        is_complete = True
        for group in groups:
            found = self._search(given_up | (settled & ~group), insisted_on, self._limits)
            doubts.append(Doubt(group, found.accounts or (settled & group,)))
            is_complete = is_complete and found.is_complete
        return tuple(doubts), is_complete

    def _search(self, given_up: int, insisted_on: int, limits: Limits) -> Search:
        # No search may use up what is left for those that follow.
        limits = replace(limits, divisions=self._divisions // (4 if self._is_trial else 2))
        given = (given_up, insisted_on)
        found = search(self._ready, self._costs, given, self._conflicts, limits)
        self._divisions -= found.divisions
        return found

    def _open_conflicts(self, given_up: int, insisted_on: int) -> list[int]:
        return [c & ~insisted_on for c in self._conflicts if not c & given_up]

    def _hub(self, given_up: int) -> int | None:
        """The supposition that stands in most conflicts, if one of them rests on it alone."""
        standing = [c for c in self._conflicts if not c & given_up]
        counted = {
            bit: sum(bool(c & bit) for c in standing)
            for bit in {bit for c in standing for bit in bits_of(c)}
        }
        for bit in sorted(counted, key=lambda b: (-counted[b], b)):
            elsewhere = 0
            for conflict in standing:
                elsewhere |= 0 if conflict & bit else conflict
            alone = any(c & bit and not c & ~bit & elsewhere for c in standing)
            if counted[bit] > 2 and alone:
                return bit
        return None

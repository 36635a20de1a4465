"""What is the exact joint weight of a few choices and one date, given what depends on what?

Question answered: the weight of every step of one date axis, and of every value of a variable,
summed exactly over all other variables.

Method: variable elimination (Zhang and Poole, "Exploiting causal independence in Bayesian network
inference", Journal of Artificial Intelligence Research 5, 1996; the example of Lauritzen and
Spiegelhalter, Journal of the Royal Statistical Society B 50, 1988, is among the tests), with the
date axis carried along in every table: given the date most choices are independent, so that
tables stay small and each sum is taken for all dates at once. Variables that nothing ties together
but the date are summed apart, and what was summed is remembered for the next question that leaves
those factors as they are. Tables hold logarithms. The order is fixed: the variable whose
elimination makes the smallest table comes first, then the name.

Cost: linear in the axis, exponential in the number of variables that meet in one table. A
problem that needs a larger table than allowed is refused with its size, never approximated.

What it does not do: know what the variables mean.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from math import prod

import numpy as np
from numpy.typing import NDArray

Table = NDArray[np.float64]

CELLS_AT_MOST = 1 << 23
LEAST_LOG = -1e300
# Groups of so few states are summed in one go.
STATES_AT_ONCE = 32


class TooTangled(Exception):
    """The sum cannot be taken exactly within the size allowed; ``cells`` is the size it needs."""

    def __init__(self, variables: Sequence[str], cells: int) -> None:
        self.variables = tuple(variables)
        self.cells = cells
        super().__init__(
            f"{len(self.variables)} choices meet in one table of {cells:,} cells; "
            f"at most {CELLS_AT_MOST:,} are taken"
        )


@dataclass(frozen=True, slots=True, eq=False)
class Factor:
    """The logarithm of a weight over some variables and the date; each is its own, by identity.

    ``table`` has one axis for each of ``variables``, in order, and last the date axis, which is
    of length 1 where the weight does not depend on the date.
    """

    variables: tuple[str, ...]
    table: Table


Memo = dict[tuple[frozenset[Factor], tuple[str, ...]], Table]


class Weighing:
    """Factors over variables of known sizes and one date axis.

    Args:
        sizes: how many values each variable has.
        factors: the weights.
        steps: the length of the date axis.
        memo: what was summed before, of factors that may come again; it is added to.

    >>> half = np.log([0.5, 0.5])
    >>> coin = Factor(("coin",), half[:, None])
    >>> seen = Factor(("coin",), np.log([[0.9, 0.1], [0.1, 0.9]]))
    >>> found = Weighing({"coin": 2}, [coin, seen], 2)
    >>> np.round(np.exp(found.over(())), 3).tolist()
    [0.5, 0.5]
    >>> np.round(found.chances("coin"), 3).tolist()
    [0.5, 0.5]
    """

    def __init__(
        self,
        sizes: Mapping[str, int],
        factors: Iterable[Factor],
        steps: int,
        memo: Memo | None = None,
    ) -> None:
        self.sizes = sizes
        self.steps = steps
        self._memo: Memo = {} if memo is None else memo
        self._groups = _apart(tuple(factors))
        self._weights: Table | None = None

    def over(self, scope: Sequence[str]) -> Table:
        """The logarithm of the summed weight of each value of the scope at each step.

        One axis for each variable of the scope, in order, and the date last.

        Raises:
            TooTangled: a table would be too large.
        """
        cells = prod(self.sizes[name] for name in scope) * self.steps
        if cells > CELLS_AT_MOST:
            raise TooTangled(scope, cells)
        shape = (*(self.sizes[name] for name in scope), self.steps)
        total = np.zeros(shape)
        for names, group in self._groups:
            kept = tuple(name for name in scope if name in names)
            total += placed(kept, self._summed(group, kept), scope)
        return total

    def knows(self, name: str) -> bool:
        """Whether any factor speaks of the variable."""
        return any(name in names for names, _ in self._groups)

    def weights(self) -> Table:
        """The share of each step of the date in the whole; all zeros where nothing is possible."""
        if self._weights is None:
            self._weights = normalised(self.over(()))
        return self._weights

    def chances(self, name: str) -> Table:
        """The share of each value of the variable in the whole.

        Raises:
            TooTangled: a table would be too large.
        """
        group = next((group for names, group in self._groups if name in names), None)
        if group is None:
            return np.full(self.sizes[name], 1 / self.sizes[name])
        given = self._given_date(group, name)
        found: Table = (
            given[:, 0] * self.weights().sum() if given.shape[-1] == 1 else given @ self.weights()
        )
        return found

    def expected(self, name: str, scope: tuple[str, ...], weights: Table) -> Table:
        """The share of each value of the variable, under other weights of a scope and the date.

        Args:
            name: the variable.
            scope: variables, in the order of the axes of ``weights``; not ``name``.
            weights: the share of each state of the scope and each step.
        """
        names, group = next(each for each in self._groups if name in each[0])
        kept = tuple(each for each in scope if each in names)
        others = tuple(i for i, each in enumerate(scope) if each not in names)
        shares = weights.sum(axis=others)
        given = self._given_date(group, name, kept)
        found: Table = (given * shares).reshape(self.sizes[name], -1).sum(axis=1)
        return found

    def log_total(self) -> float:
        """The logarithm of the summed weight of everything; minus infinity where nothing can be."""
        return log_sum(self.over(()))

    def _given_date(
        self, group: tuple[Factor, ...], name: str, kept: tuple[str, ...] = ()
    ) -> Table:
        """The chance of each value, given what is kept and the step."""
        key = (frozenset(group), ("given date", name, *kept))
        if key not in self._memo:
            apart = self._summed(group, (name, *kept))
            top = apart.max(axis=0)
            weights = np.exp(apart - np.where(np.isneginf(top), 0.0, top))
            total = weights.sum(axis=0)
            self._memo[key] = weights / np.where(total > 0, total, 1.0)
        return self._memo[key]

    def _summed(self, group: tuple[Factor, ...], kept: tuple[str, ...]) -> Table:
        """The factors of one group, with everything summed out but what is kept."""
        key = (frozenset(group), kept)
        if key not in self._memo:
            names = tuple(sorted({name for factor in group for name in factor.variables}))
            if names and not kept and prod(self.sizes[name] for name in names) <= STATES_AT_ONCE:
                self._sum_at_once(group, names)
            else:
                self._memo[key] = _product(self._eliminated(list(group), kept), kept)
        return self._memo[key]

    def _sum_at_once(self, group: tuple[Factor, ...], names: tuple[str, ...]) -> None:
        """Sum out the few variables of a group, and keep the chances of each given the date.

        Most groups are small: one exponential then serves the sum and every chance.
        """
        logs = _product(group, names)
        axes = tuple(range(len(names)))
        firm = np.maximum(logs.max(axis=axes), LEAST_LOG)
        weights = np.exp(logs - firm)
        total = weights.sum(axis=axes)
        key = frozenset(group)
        with np.errstate(divide="ignore"):
            self._memo[key, ()] = np.log(total) + firm
        weights /= np.where(total > 0, total, 1.0)
        for axis, name in enumerate(names):
            others = tuple(each for each in axes if each != axis)
            self._memo[key, ("given date", name)] = weights.sum(axis=others) if others else weights

    def _eliminated(self, factors: list[Factor], keep: Sequence[str]) -> list[Factor]:
        """The factors that are left once every variable that is not kept has been summed out."""
        while True:
            names = sorted({n for f in factors for n in f.variables if n not in keep})
            if not names:
                return factors
            name = min(names, key=lambda n: (self._cells(factors, n), n))
            beside = [factor for factor in factors if name in factor.variables]
            scope = sorted({n for factor in beside for n in factor.variables} - {name})
            cells = self._cells(factors, name)
            if cells > CELLS_AT_MOST:
                raise TooTangled([name, *scope], cells)
            table = np.asarray(log_sums(_product(beside, (name, *scope))))
            factors = [factor for factor in factors if name not in factor.variables]
            factors.append(Factor(tuple(scope), table))

    def _cells(self, factors: Sequence[Factor], name: str) -> int:
        """The size of the table that summing out the variable takes."""
        beside = [factor for factor in factors if name in factor.variables]
        scope = {n for factor in beside for n in factor.variables}
        dated = any(factor.table.shape[-1] > 1 for factor in beside)
        return prod(self.sizes[n] for n in scope) * (self.steps if dated else 1)


def _apart(factors: tuple[Factor, ...]) -> tuple[tuple[frozenset[str], tuple[Factor, ...]], ...]:
    """The factors in groups that share no variable, in the order of their first factors."""
    groups: list[tuple[set[str], list[int]]] = []
    for i, factor in enumerate(factors):
        names, members = set(factor.variables), [i]
        left = []
        for others, known in groups:
            if others & names:
                names |= others
                members = [*known, *members]
            else:
                left.append((others, known))
        groups = [*left, (names, members)]
    return tuple(
        (frozenset(names), tuple(factors[i] for i in sorted(members))) for names, members in groups
    )


def placed(names: tuple[str, ...], table: Table, scope: Sequence[str]) -> Table:
    """The table with one axis for each name of the scope, of length 1 where it has none."""
    if tuple(scope) == names:
        return table
    order = [names.index(name) for name in scope if name in names]
    turned = np.transpose(table, (*order, table.ndim - 1))
    sizes = iter(turned.shape[:-1])
    shape = [next(sizes) if name in names else 1 for name in scope]
    return turned.reshape((*shape, turned.shape[-1]))


def _product(factors: Sequence[Factor], scope: Sequence[str]) -> Table:
    """The sum of the logarithms, with one axis for each name of the scope and the date last."""
    tables = [placed(factor.variables, factor.table, scope) for factor in factors]
    if not tables:
        return np.zeros((1,) * (len(scope) + 1))
    # The small ones first: most do not depend on the date.
    return reduce(np.add, sorted(tables, key=lambda table: table.size))


def log_sums(logs: Table) -> Table:
    """The logarithm of the sum along the first axis; minus infinity where all are nothing.

    >>> [round(float(x), 6) for x in log_sums(np.log([[1.0, 2.0], [3.0, 2.0]]))]
    [1.386294, 1.386294]
    """
    top = logs.max(axis=0)
    firm = np.maximum(top, LEAST_LOG)  # where all are nothing there is nothing to scale by
    shares = logs - firm
    np.exp(shares, out=shares)
    with np.errstate(divide="ignore"):
        found: Table = np.log(shares.sum(axis=0))
    found += firm
    return found


def log_sum(logs: Table) -> float:
    """The logarithm of the sum of everything in the table."""
    return float(log_sums(logs.reshape(-1)))


def normalised(logs: Table) -> Table:
    """The weights as shares of their sum; all zeros where every weight is nothing.

    >>> normalised(np.log([1.0, 3.0])).tolist()
    [0.25, 0.75]
    """
    top = np.max(logs)
    if not np.isfinite(top):
        return np.zeros_like(logs)
    weights = np.exp(logs - top)
    shares: Table = weights / weights.sum()
    return shares

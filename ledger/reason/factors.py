"""What is the exact joint weight of a few choices and one date, given what depends on what?

Question answered: the weight of every day step of one axis, and of every value of every
variable, summed exactly over all other variables.

Method: variable elimination (Zhang and Poole, "Exploiting causal independence in Bayesian network
inference", Journal of Artificial Intelligence Research 5, 1996; the example of Lauritzen and
Spiegelhalter, Journal of the Royal Statistical Society B 50, 1988, is among the tests), with the
date axis carried along in every table: given the date most choices are independent, so that
tables stay small and each sum is taken for all dates at once. Tables hold logarithms. The order
is fixed: the variable whose elimination makes the smallest table comes first, then the name.

Cost: linear in the axis, exponential in the number of variables that meet in one table. A
problem that needs a larger table than allowed is refused with its size, never approximated.

What it does not do: know what the variables mean.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import prod

import numpy as np
from numpy.typing import NDArray

Table = NDArray[np.float64]

CELLS_AT_MOST = 1 << 22


class TooTangled(Exception):
    """The sum cannot be taken exactly within the size allowed; ``cells`` is the size it needs."""

    def __init__(self, variables: Sequence[str], cells: int) -> None:
        self.variables = tuple(variables)
        self.cells = cells
        super().__init__(
            f"{len(self.variables)} choices meet in one table of {cells:,} cells; "
            f"at most {CELLS_AT_MOST:,} are taken"
        )


@dataclass(frozen=True, slots=True)
class Factor:
    """The logarithm of a weight over some variables and the date.

    ``table`` has one axis for each of ``variables``, in order, and last the date axis, which is
    of length 1 where the weight does not depend on the date.
    """

    variables: tuple[str, ...]
    table: Table


class Weighing:
    """Factors over variables of known sizes and one date axis.

    >>> half = np.log([0.5, 0.5])
    >>> coin = Factor(("coin",), half[:, None])
    >>> seen = Factor(("coin",), np.log([[0.9, 0.1], [0.1, 0.9]]))
    >>> found = Weighing({"coin": 2}, [coin, seen], 2)
    >>> np.round(np.exp(found.over_date()), 3).tolist()
    [0.5, 0.5]
    """

    def __init__(self, sizes: Mapping[str, int], factors: Iterable[Factor], steps: int) -> None:
        self.sizes = dict(sorted(sizes.items()))
        self.factors = tuple(factors)
        self.steps = steps

    def over_date(self, given: Mapping[str, int] | None = None) -> Table:
        """The logarithm of the summed weight of each step of the date axis.

        Args:
            given: values that some variables are held to.

        Raises:
            TooTangled: a table would be too large.
        """
        left = self._eliminated(self._held(given or {}), keep=())
        return np.broadcast_to(_product(left, ()), (self.steps,)).copy()

    def over_variable(self, name: str, given: Mapping[str, int] | None = None) -> Table:
        """The logarithm of the summed weight of each value of a variable at each step.

        The result has the values along its first axis and the dates along its second.

        Raises:
            TooTangled: a table would be too large.
        """
        left = self._eliminated(self._held(given or {}), keep=(name,))
        table = _product(left, (name,))
        return np.broadcast_to(table, (self.sizes[name], self.steps)).copy()

    def joint(self, scope: Sequence[str]) -> Table:
        """The logarithm of the product of all factors over the variables of the scope and the date.

        Raises:
            TooTangled: the table would be too large.
        """
        cells = prod(self.sizes[name] for name in scope) * self.steps
        if cells > CELLS_AT_MOST:
            raise TooTangled(scope, cells)
        shape = (*(self.sizes[name] for name in scope), self.steps)
        return np.broadcast_to(
            _product(self._eliminated(list(self.factors), scope), scope), shape
        ).copy()

    def _held(self, given: Mapping[str, int]) -> list[Factor]:
        held: list[Factor] = []
        for factor in self.factors:
            table, names = factor.table, list(factor.variables)
            for name in factor.variables:
                if name in given:
                    at = names.index(name)
                    table = np.take(table, given[name], axis=at)
                    names.pop(at)
            held.append(Factor(tuple(names), table))
        return held

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
            table = np.logaddexp.reduce(_product(beside, (name, *scope)), axis=0)
            factors = [factor for factor in factors if name not in factor.variables]
            factors.append(Factor(tuple(scope), table))

    def _cells(self, factors: Sequence[Factor], name: str) -> int:
        """The size of the table that summing out the variable takes."""
        beside = [factor for factor in factors if name in factor.variables]
        scope = {n for factor in beside for n in factor.variables}
        dated = any(factor.table.shape[-1] > 1 for factor in beside)
        return prod(self.sizes[n] for n in scope) * (self.steps if dated else 1)


def _product(factors: Sequence[Factor], scope: Sequence[str]) -> Table:
    """The sum of the logarithms, with one axis for each name of the scope and the date last."""
    total: Table = np.zeros((1,) * (len(scope) + 1))
    for factor in factors:
        order = [factor.variables.index(name) for name in scope if name in factor.variables]
        table = np.transpose(factor.table, (*order, factor.table.ndim - 1))
        shape: list[int] = []
        sizes = iter(table.shape[:-1])
        shape.extend(next(sizes) if name in factor.variables else 1 for name in scope)
        total = total + table.reshape((*shape, table.shape[-1]))
    return total


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

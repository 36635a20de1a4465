"""What are the tables worth that are tied together but for the date?

Question answered: for tables of which each shares a variable with another, the summed weight of
each step of the date, and the chances of each variable given the step.

Method: variable elimination (Zhang and Poole, "Exploiting causal independence in Bayesian network
inference", Journal of Artificial Intelligence Research 5, 1996), with the date axis carried along
in every table: given the date most choices are independent, so that tables stay small and each sum
is taken for all dates at once. The order is fixed: the variable whose elimination makes the
smallest table comes first, then the name. Going back through what each variable was summed out of
gives the chances of all (Jensen, Lauritzen and Olesen, "Bayesian updating in causal probabilistic
networks by local computations", Computational Statistics Quarterly 4, 1990: collect, then
distribute). A group of few states is summed in one go. What was summed is kept. Besides the date,
an axis of other terms can be carried along, so that the sums on all of them are taken at once.

Cost: linear in the axis, exponential in the number of variables that meet in one table. A
problem that needs a larger table than allowed is refused with its size, never approximated.

What it does not do: join groups; that is :mod:`ledger.reason.sums`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import prod

import numpy as np

from ledger.reason.factors import (
    LEAST_LOG,
    Factor,
    Table,
    cut_to,
    log_sums,
    placed,
    product_of,
    refuse_beyond,
    shares_of,
    summed_over,
)

# Groups of so few states are summed in one go.
STATES_AT_ONCE = 32
Cut = tuple[tuple[str, tuple[int, ...]], ...]


@dataclass(frozen=True, slots=True)
class _Bucket:
    """A variable as it was summed out: the product of what spoke of it, and what was left.

    The axes of ``table`` are the variable and then ``scope``, which is that of ``summed``.
    """

    name: str
    scope: tuple[str, ...]
    table: Table
    summed: Table


@dataclass(slots=True, eq=False)
class Group:
    """Tables that are tied together but for the date, with what was summed of them.

    Axes that are named in ``beside`` are carried along as the date is, just before it.
    """

    factors: tuple[Factor, ...]
    sizes: Mapping[str, int]
    steps: int
    beside: tuple[str, ...] = ()
    names: tuple[str, ...] = ()
    _sums: dict[tuple[str, ...], Table] = field(default_factory=dict)
    _given: dict[tuple[str, ...], Table] = field(default_factory=dict)
    _rows: dict[Cut, Table] = field(default_factory=dict)
    _held: dict[Cut, Table] = field(default_factory=dict)
    _buckets: tuple[_Bucket, ...] = ()

    def __post_init__(self) -> None:
        spoken = {name for each in self.factors for name in each.variables}
        self.names = tuple(sorted(spoken.difference(self.beside)))

    @property
    def widest(self) -> int:
        """How many cells the largest table has that is made for the sums."""
        if not self._buckets:
            return prod(self.sizes[name] for name in self.names) * self.steps
        return max(bucket.table.size for bucket in self._buckets)

    def summed(self, kept: tuple[str, ...] = ()) -> Table:
        """The logarithm of the weight, with everything summed out but what is kept.

        Raises:
            TooTangled: a table would be too large.
        """
        if kept not in self._sums:
            if self._is_small and not set(self.names) <= set(kept):
                self._sum_at_once(kept)
            else:
                buckets: list[_Bucket] = []
                left = (*kept, *self.beside)
                self._sums[kept] = product_of(self._eliminated(left, buckets), left)
                if not kept:
                    self._buckets = tuple(buckets)
        return self._sums[kept]

    def within(self, factors: tuple[Factor, ...], first: int, end: int) -> Group:
        """The group over some of its steps, with what was summed of it; its tables as given."""

        def seen(table: Table) -> Table:
            return table if table.shape[-1] == 1 else table[..., first:end]

        found = Group(factors, self.sizes, end - first)
        found._sums = {(): seen(self.summed())}
        found._given = {key: seen(table) for key, table in self._given.items() if len(key) == 1}
        found._buckets = tuple(
            replace(each, table=seen(each.table), summed=seen(each.summed))
            for each in self._buckets
        )
        return found

    def summed_held(self, held: Mapping[str, Sequence[int]]) -> Table:
        """The same with only some values of some variables counted, and nothing kept."""
        own = tuple((name, tuple(held[name])) for name in self.names if name in held)
        if not own:
            return self.summed()
        if own not in self._held:
            values = dict(own)
            sizes = {**self.sizes, **{name: len(each) for name, each in own}}
            factors = tuple(cut_to(factor, values) for factor in self.factors)
            left = Group(factors, sizes, self.steps)
            self._held[own] = left.summed()
        return self._held[own]

    def given(self, name: str, kept: tuple[str, ...] = ()) -> Table:
        """The chance of each value, given what is kept and the step."""
        key = (name, *kept)
        if key not in self._given:
            if self._is_small:
                self._sum_at_once(kept)
            elif kept:
                self._given[key] = shares_of(self.summed(key))
            else:
                self._give_all()
        return self._given[key]

    def rows(self, values: Cut) -> Table:
        """The chance of one value of each of some variables, given the step: a row for each."""
        if values not in self._rows:
            given = [self.given(name)[value] for name, (value,) in values]
            self._rows[values] = np.stack(np.broadcast_arrays(*given))
        return self._rows[values]

    @property
    def _is_small(self) -> bool:
        return prod(self.sizes[name] for name in self.names) <= STATES_AT_ONCE

    def _sum_at_once(self, kept: tuple[str, ...]) -> None:
        """Sum out the few variables of a group but those kept, and keep the chances of each.

        Most groups are small: one exponential then serves the sum and every chance.
        """
        summed = tuple(name for name in self.names if name not in kept)
        logs = product_of(self.factors, (*summed, *kept, *self.beside))
        axes = tuple(range(len(summed)))
        firm = np.maximum(logs.max(axis=axes), LEAST_LOG)
        weights = logs - firm
        np.exp(weights, out=weights)
        total = weights.sum(axis=axes)
        with np.errstate(divide="ignore"):
            self._sums[kept] = np.log(total) + firm
        weights *= 1 / np.where(total > 0, total, 1.0)
        for axis, name in enumerate(summed):
            others = tuple(each for each in axes if each != axis)
            self._given[name, *kept] = weights.sum(axis=others) if others else weights

    def _give_all(self) -> None:
        """The chances of every variable, each given the date.

        Back from the last variable that was summed out to the first: each is given by what was
        left beside it, whose chances are known by then.
        """
        self.summed()
        known: dict[str, tuple[tuple[str, ...], Table]] = {}
        for bucket in reversed(self._buckets):
            own = tuple(name for name in bucket.scope if name not in self.beside)
            scope = (bucket.name, *own, *self.beside)
            joint = np.exp(bucket.table - np.maximum(bucket.summed, LEAST_LOG))
            joint = placed((bucket.name, *bucket.scope), joint, scope)
            if own:
                others, weights = next(each for each in known.values() if set(own) <= set(each[0]))
                left = summed_over(others, weights, (*own, *self.beside))
                joint = joint * placed(*left, scope[1:])
            known[bucket.name] = (scope, joint)
            self._given[bucket.name,] = summed_over(scope, joint, (bucket.name, *self.beside))[1]

    def _eliminated(self, keep: Sequence[str], buckets: list[_Bucket]) -> list[Factor]:
        """The tables that are left once every variable that is not kept has been summed out.

        What each variable was summed out of is added to the ``buckets``.
        """
        factors = list(self.factors)
        while True:
            names = sorted({n for f in factors for n in f.variables if n not in keep})
            if not names:
                return factors
            name = min(names, key=lambda n: (self._cells(factors, n), n))
            beside = [factor for factor in factors if name in factor.variables]
            scope = tuple(sorted({n for factor in beside for n in factor.variables} - {name}))
            refuse_beyond((name, *scope), self._cells(factors, name))
            table = product_of(beside, (name, *scope))
            summed = np.asarray(log_sums(table))
            buckets.append(_Bucket(name, scope, table, summed))
            factors = [factor for factor in factors if name not in factor.variables]
            factors.append(Factor(scope, summed))

    def _cells(self, factors: Sequence[Factor], name: str) -> int:
        """The size of the table that summing out the variable takes."""
        beside = [factor for factor in factors if name in factor.variables]
        scope = {n for factor in beside for n in factor.variables}
        dated = any(factor.table.shape[-1] > 1 for factor in beside)
        return prod(self.sizes[n] for n in scope) * (self.steps if dated else 1)

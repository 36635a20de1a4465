"""What is the exact joint weight of a few choices and one date, given what depends on what?

Question answered: the weight of every step of one date axis, and of every value of a variable,
summed exactly over all other variables.

Method: variables that nothing ties together but the date are summed apart
(:mod:`ledger.reason.groups`), and what was summed serves every question that leaves those tables as
they are; where a few tables are replaced, only their groups are summed again. The example of
Lauritzen and Spiegelhalter, Journal of the Royal Statistical Society B 50, 1988, is among the tests.

Cost: linear in the axis and the groups.

What it does not do: know what the variables mean.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import lru_cache, reduce
from math import prod

import numpy as np

from ledger.reason.factors import (
    Factor,
    Held,
    Table,
    cut_to,
    log_sum,
    normalised,
    placed,
    refuse_beyond,
)
from ledger.reason.groups import Cut, Group

Memo = dict[frozenset[Factor], Group]


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
        given = tuple(factors)
        parts = _apart(tuple(factor.variables for factor in given))
        self.groups = [self._group(tuple(given[i] for i in members)) for members in parts]
        self.at = {name: i for i, group in enumerate(self.groups) for name in group.names}
        self._usual: Weighing | None = None
        self._changed: tuple[int, ...] = ()
        self._total: Table | None = None
        self._weights: Table | None = None
        self._rows: dict[tuple[tuple[str, int], ...], tuple[tuple[str, ...], Table]] = {}

    def _group(self, factors: tuple[Factor, ...]) -> Group:
        key = frozenset(factors)
        if key not in self._memo:
            self._memo[key] = Group(factors, self.sizes, self.steps)
        return self._memo[key]

    def replacing(self, changes: Mapping[Factor, Factor], *, is_kept: bool = True) -> Weighing:
        """The same with some factors in the place of others of the same variables.

        Args:
            changes: the new factors by the old ones.
            is_kept: whether what is summed of the new ones is remembered.
        """
        found = Weighing(self.sizes, (), self.steps, self._memo)
        found.groups, found.at = list(self.groups), self.at
        changed: list[int] = []
        for i, group in enumerate(self.groups):
            if any(factor in changes for factor in group.factors):
                own = tuple(changes.get(factor, factor) for factor in group.factors)
                found.groups[i] = (
                    self._group(own) if is_kept else Group(own, self.sizes, self.steps)
                )
                changed.append(i)
        found._usual, found._changed = self, tuple(changed)
        return found

    def within(self, first: int, end: int, seen: Callable[[Factor], Factor]) -> Weighing:
        """The same over some of the steps, ``seen`` giving each factor over those; none is summed."""
        found = Weighing(self.sizes, (), end - first, self._memo)
        found.at = self.at
        for group in self.groups:
            factors = tuple(seen(factor) for factor in group.factors)
            cut = group.within(factors, first, end)
            found.groups.append(self._memo.setdefault(frozenset(factors), cut))
        return found

    def over(self, scope: Sequence[str], held: Held | None = None) -> Table:
        """The logarithm of the summed weight of each value of the scope at each step.

        One axis for each variable of the scope, in order, and the date last.

        Args:
            scope: what is not summed out.
            held: for variables that are, by name, the values that are counted.

        Raises:
            TooTangled: a table would be too large.
        """
        if held:
            return self._cut_to(held).over(scope)
        if not scope:
            return self._over_all()
        refuse_beyond(scope, prod(self.sizes[name] for name in scope) * self.steps)
        within = {self.at[name] for name in scope if name in self.at}
        total = np.zeros((*(self.sizes[name] for name in scope), self.steps))
        total += self.without(within)
        for i in sorted(within):
            group = self.groups[i]
            kept = tuple(name for name in scope if name in group.names)
            total += placed(kept, group.summed(kept), scope)
        return total

    def _over_all(self) -> Table:
        if self._total is None:
            self._total = self._from_usual()
        if self._total is None:
            self._total = np.zeros(self.steps)
            for group in self.groups:
                self._total += group.summed()
        return self._total

    def _from_usual(self) -> Table | None:
        """The total of what this is like, with only the groups that are not the same replaced."""
        if self._usual is None:
            return None
        left = self._usual.without(set(self._changed))
        return reduce(np.add, (self.groups[i].summed() for i in self._changed), left)

    def without(self, places: set[int]) -> Table:
        """The total of all groups but those."""
        total = self._over_all()
        sums = [self.groups[i].summed() for i in sorted(places)]
        if all(np.isfinite(each).all() for each in sums):
            return reduce(np.subtract, sums, total)
        others = (each.summed() for i, each in enumerate(self.groups) if i not in places)
        return reduce(np.add, others, np.zeros(self.steps))

    def _cut_to(self, held: Held) -> Weighing:
        """The same with only some values of some variables."""
        values = {name: tuple(held[name]) for name in sorted(held)}
        sizes = {**self.sizes, **{name: len(each) for name, each in values.items()}}
        cut = [cut_to(factor, values) for group in self.groups for factor in group.factors]
        return Weighing(sizes, cut, self.steps)

    def knows(self, name: str) -> bool:
        """Whether any factor speaks of the variable."""
        return name in self.at

    def weights(self) -> Table:
        """The share of each step of the date in the whole; all zeros where nothing is possible."""
        if self._weights is None:
            self._weights = normalised(self.over(()))
        return self._weights

    def log_total(self, held: Held | None = None) -> float:
        """The logarithm of the summed weight of everything; minus infinity where nothing can be.

        Args:
            held: for variables by name, the values that are counted; of the others all are.
        """
        if not held:
            return log_sum(self.over(()))
        places = {self.at[name] for name in held if name in self.at}
        sums = (self.groups[i].summed_held(held) for i in sorted(places))
        return log_sum(reduce(np.add, sums, self.without(places)))

    def given(self, name: str, scope: tuple[str, ...] = ()) -> Table:
        """The chance of each value of a variable that is known, given a scope and the step.

        One axis for the variable and one for each of the scope, in order, the date last; of length
        1 where the chance does not depend on it.
        """
        group = self.groups[self.at[name]]
        kept = tuple(each for each in scope if each in group.names)
        return placed((name, *kept), group.given(name, kept), (name, *scope))

    def chances(self, name: str) -> Table:
        """The share of each value of the variable in the whole.

        Raises:
            TooTangled: a table would be too large.
        """
        if name not in self.at:
            return np.full(self.sizes[name], 1 / self.sizes[name])
        given, weights = self.groups[self.at[name]].given(name), self.weights()
        found: Table = given[:, 0] * weights.sum() if given.shape[-1] == 1 else given @ weights
        return found

    def chances_of(self, values: Mapping[str, int]) -> dict[str, float]:
        """The share of one value of each variable that is known, by name."""
        names, rows = self.rows_of(values)
        return dict(zip(names, (rows @ self.weights()).tolist(), strict=True))

    def rows_of(self, values: Mapping[str, int]) -> tuple[tuple[str, ...], Table]:
        """The chance of one value of each variable that is known, given the step."""
        key = tuple(values.items())
        if key not in self._rows:
            names: list[str] = []
            rows = [np.zeros((0, self.steps))]
            for group in self.groups:
                own = _cut_of(group, values)
                if own:
                    names += [name for name, _ in own]
                    rows.append(np.broadcast_to(group.rows(own), (len(own), self.steps)))
            self._rows[key] = (tuple(names), np.concatenate(rows))
        return self._rows[key]


def _cut_of(group: Group, values: Mapping[str, int]) -> Cut:
    return tuple((name, (values[name],)) for name in group.names if name in values)


@lru_cache(maxsize=1024)
def _apart(spoken: tuple[tuple[str, ...], ...]) -> tuple[tuple[int, ...], ...]:
    """The factors, by the variables that they speak of, in groups that share none.

    In the order of their first factors; a case asks for the same groups again and again.
    """
    groups: list[tuple[set[str], list[int]]] = []
    for i, variables in enumerate(spoken):
        names, members = set(variables), [i]
        left = []
        for others, known in groups:
            if others & names:
                names |= others
                members = [*known, *members]
            else:
                left.append((others, known))
        groups = [*left, (names, members)]
    return tuple(tuple(sorted(members)) for _, members in groups)

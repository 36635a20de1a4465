"""What are the sums on many other terms, all taken at once?

Question answered: for tables that were summed, and many sets of others to stand in the place of
some of them, the weight of each step of the date on each of those terms, and the chances of the
variables.

Method: given the date the groups of :mod:`ledger.reason.sums` are independent, so that other tables
change the sums of their own groups alone; all else is taken over. The turns that touch a group are
one more axis of its tables, carried along as the date is, and the chance of whatever they leave as
it is, is one product of matrices: turns by steps, and steps by variables.

Cost: for each group that of its sums times the turns that touch it; for each turn one row of steps.

What it does not do: say what the turns are.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ledger.reason.factors import LEAST_LOG, Factor, Table, placed
from ledger.reason.groups import Group
from ledger.reason.sums import Weighing

TURN = "turn"
# So many cells of one table at a time stay near the processor.
CELLS_AT_ONCE = 1 << 18


@dataclass(frozen=True, slots=True)
class _Turned:
    """What a group comes to on the turns ``at``: the weight of each, and the chances asked for."""

    at: NDArray[np.intp]
    summed: Table
    rows: Mapping[str, Table]


class Turns:
    """Sums on many terms, each with some tables in the place of others of the same variables.

    Args:
        usual: the sums of the tables as they were.
        changes: for each turn the new tables by the old ones.
        values: for variables by name, the value whose chance is asked for.

    >>> seen = Factor(("coin",), np.log([[0.9, 0.1], [0.1, 0.9]]))
    >>> unseen = Factor(("coin",), np.log([[0.5, 0.5], [0.5, 0.5]]))
    >>> turns = Turns(Weighing({"coin": 2}, [seen], 2), [{}, {seen: unseen}], {"coin": 0})
    >>> np.round(np.exp(turns.over(())), 3).tolist()
    [[1.0, 1.0], [1.0, 1.0]]
    >>> names, chances = turns.chances()
    >>> names, np.round(chances, 3).tolist()
    (('coin',), [[0.5], [0.5]])
    """

    def __init__(
        self,
        usual: Weighing,
        changes: Sequence[Mapping[Factor, Factor]],
        values: Mapping[str, int] | None = None,
    ) -> None:
        self.usual = usual
        self.count = len(changes)
        self._changes = changes
        self._values = values or {}
        self._touching = self._touched()
        self._sums: dict[int, list[_Turned]] = {}
        self._groups: dict[int, list[tuple[NDArray[np.intp], Group]]] = {}
        self._totals: Table | None = None
        self._weights: Table | None = None
        self._log_totals: Table = np.zeros(0)

    def _touched(self) -> dict[int, list[NDArray[np.intp]]]:
        """The turns that touch each group, as many at a time as is good for it."""
        places = {f: i for i, group in enumerate(self.usual.groups) for f in group.factors}
        by_place: dict[int, list[int]] = {}
        for turn, changed in enumerate(self._changes):
            for place in {places[factor] for factor in changed if factor in places}:
                by_place.setdefault(place, []).append(turn)
        found: dict[int, list[NDArray[np.intp]]] = {}
        for place in sorted(by_place):
            at, group = np.array(by_place[place]), self.usual.groups[place]
            group.summed()
            some = max(CELLS_AT_ONCE // group.widest, 1)
            found[place] = [at[i : i + some] for i in range(0, len(at), some)]
        return found

    def _groups_at(self, place: int) -> list[tuple[NDArray[np.intp], Group]]:
        """A group on the turns that touch it, kept for more than one question."""
        if place not in self._groups:
            self._groups[place] = [(at, self._on(place, at)) for at in self._touching[place]]
        return self._groups[place]

    def _on(self, place: int, at: NDArray[np.intp]) -> Group:
        return _on_turns(self.usual.groups[place], [self._changes[turn] for turn in at])

    def _summed(self, place: int) -> list[_Turned]:
        """What a group comes to on the turns that touch it; its tables are not kept."""
        if place not in self._sums:
            groups = self._groups.get(place) or (
                (at, self._on(place, at)) for at in self._touching[place]
            )
            self._sums[place] = [self._of(at, group) for at, group in groups]
        return self._sums[place]

    def _of(self, at: NDArray[np.intp], group: Group) -> _Turned:
        asked = [name for name in group.names if name in self._values]
        rows = {name: group.given(name)[self._values[name]].copy() for name in asked}
        return _Turned(at, group.summed(), rows)

    def over(self, scope: tuple[str, ...]) -> Table:
        """The logarithm of the summed weight of each value of the scope at each turn and step.

        One axis for each variable of the scope, in order, then the turn, and the date last.
        """
        if not scope:
            return self._over_all()
        usual = self.usual
        within = {usual.at[name] for name in scope if name in usual.at}
        logs = self._without(within)
        shape = (*(usual.sizes[name] for name in scope), *logs.shape)
        found = np.broadcast_to(logs, shape).copy()
        for place in sorted(within):
            group = usual.groups[place]
            kept = tuple(name for name in scope if name in group.names)
            usually = placed((*kept,), group.summed(kept), scope)[..., None, :]
            block = np.broadcast_to(usually, (*usually.shape[:-2], self.count, usual.steps)).copy()
            if place in self._touching:
                for at, turned in self._groups_at(place):
                    summed = placed((*kept, TURN), turned.summed(kept), (*scope, TURN))
                    block[..., at, :] = summed
            found += block
        return found

    def _over_all(self) -> Table:
        if self._totals is None:
            self._totals = self._without(set())
        return self._totals

    def _without(self, places: set[int]) -> Table:
        """The totals of all groups but those, by turn and step."""
        usual = self.usual
        gained = [place for place in self._touching if place not in places]
        # What is nothing as usual has no gain that could be added: such groups are added whole.
        apart = {place for place in gained if not np.isfinite(usual.groups[place].summed()).all()}
        found = np.tile(usual.without(places | apart), (self.count, 1))
        for place in gained:
            usually = usual.groups[place].summed()
            if place in apart:
                block = np.tile(usually + np.zeros(usual.steps), (self.count, 1))
                for turned in self._summed(place):
                    block[turned.at] = turned.summed
                found += block
                continue
            for turned in self._summed(place):
                found[turned.at] += turned.summed - usually
        return found

    def log_totals(self) -> Table:
        """The logarithm of the weight of everything, for each turn."""
        self.weights()
        return self._log_totals

    def weights(self) -> Table:
        """For each turn the share of each step; all zeros where nothing is possible."""
        if self._weights is None:
            logs = self._over_all()
            firm = np.maximum(logs.max(axis=-1), LEAST_LOG)
            weights = logs - firm[:, None]
            np.exp(weights, out=weights)
            total = weights.sum(axis=-1)
            with np.errstate(divide="ignore"):
                self._log_totals = np.log(total) + firm
            weights *= 1 / np.where(total > 0, total, 1.0)[:, None]
            self._weights = weights
        return self._weights

    def chances(self) -> tuple[tuple[str, ...], Table]:
        """The variables that are known of those asked for, and at each turn the chance of each."""
        names, rows = self.usual.rows_of(self._values)
        weights = self.weights()
        found = weights @ rows.T
        columns = {name: i for i, name in enumerate(names)}
        for place in self._touching:
            for turned in self._summed(place):
                shares = weights[turned.at]
                for name, given in turned.rows.items():
                    found[turned.at, columns[name]] = (given * shares).sum(axis=-1)
        return names, found

    def given(self, name: str, scope: tuple[str, ...], values: slice) -> Table:
        """The chances of some values of a variable that is known, given a scope, turn and step.

        Axes as of :meth:`over`, that of the values first; any may be of length 1.
        """
        group = self.usual.groups[self.usual.at[name]]
        kept = tuple(each for each in scope if each in group.names)
        found = self.usual.given(name, scope)[values][..., None, :]
        place = self.usual.at[name]
        for at, turned in self._groups_at(place) if place in self._touching else ():
            given = turned.given(name, kept)[values]
            given = placed((name, *kept, TURN), given, (name, *scope, TURN))
            sizes = zip(found.shape[:-2], given.shape[:-2], strict=True)
            steps = max(found.shape[-1], given.shape[-1])
            found = np.broadcast_to(
                found, (*(max(each) for each in sizes), self.count, steps)
            ).copy()
            found[..., at, :] = given
        return found


def _on_turns(group: Group, changes: Sequence[Mapping[Factor, Factor]]) -> Group:
    """The group with some of its tables replaced in each turn."""
    factors: list[Factor] = []
    for factor in group.factors:
        if not any(factor in changed for changed in changes):
            factors.append(factor)
            continue
        tables = np.broadcast_arrays(*(changed.get(factor, factor).table for changed in changes))
        factors.append(Factor((*factor.variables, TURN), np.stack(tables, axis=-2)))
    sizes = {**group.sizes, TURN: len(changes)}
    return Group(tuple(factors), sizes, group.steps, (TURN,))

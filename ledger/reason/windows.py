"""Which weeks can be left out, and how do chances move with a table, without summing anew?

Question answered: the weeks of a root that hold all but next to nothing of the chance on the usual
terms, whether they do so on others, and the chances of a choice when tables that speak of it are
replaced by others.

Method: what the weeks left out may hold on other terms is at most what they hold on the usual ones
times the greatest gain of any state; where that is not next to nothing, all weeks are taken. The
weight of each state and week changes as the tables that speak of it do (Bayes's rule).

Cost: linear in the states and weeks that are kept.

What it does not do: approximate; what is left out is bounded at a hundred-thousand-millionth.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import expm1, inf, log

import numpy as np

from ledger.reason.factors import Factor, Table, log_sum, normalised, placed
from ledger.reason.sums import Weighing

# Weeks that together hold less are left out, where what may be lost by it stays below the latter.
LEFT_OUT, MOST_LOST = 1e-24, 1e-11
WORTH_CUTTING = 0.7
# Shares that are too small for a number count as this much.
LEAST_LOST = 1e-300


@dataclass(frozen=True, slots=True)
class Window:
    """The weeks of the anchor that hold all but next to nothing of the chance on the usual terms.

    ``log_total`` is the logarithm of the weight of everything, ``lost`` the share outside.
    """

    first: int
    end: int
    log_total: float
    lost: float

    @classmethod
    def of(cls, weighing: Weighing) -> Window | None:
        """The window of what was weighed; None where it would leave out few weeks, or nothing is."""
        weights = weighing.weights()
        if not weights.any():
            return None
        first = int(np.searchsorted(np.cumsum(weights), LEFT_OUT))
        end = len(weights) - int(np.searchsorted(np.cumsum(weights[::-1]), LEFT_OUT))
        if end - first > WORTH_CUTTING * len(weights):
            return None
        lost = float(weights[:first].sum() + weights[end:].sum())
        return cls(first, end, weighing.log_total(), max(lost, LEAST_LOST))

    def cut(self, factor: Factor) -> Factor:
        """The table over the weeks of the window, if it is dated."""
        if factor.table.shape[-1] == 1:
            return factor
        table = np.ascontiguousarray(factor.table[..., self.first : self.end])
        return Factor(factor.variables, table)

    def is_enough(self, log_total: float, excess: float) -> bool:
        """Whether the weeks outside are next to nothing on other terms as well.

        Args:
            log_total: of the weight of the weeks inside, on those terms.
            excess: the greatest logarithm by which any state outside can have gained weight.
        """
        return log(self.lost) + excess + self.log_total - log_total < log(MOST_LOST)


@dataclass(frozen=True, slots=True)
class Shared:
    """The chance of each state of some variables and each week of a root, from ``first`` on.

    Weeks that hold next to nothing are left out at both ends.
    """

    names: tuple[str, ...]
    table: Table
    first: int

    @classmethod
    def of(cls, names: tuple[str, ...], whole: Table) -> Shared:
        """What is worth keeping of the weeks."""
        by_week = whole.reshape(-1, whole.shape[-1]).sum(axis=0)
        at = np.flatnonzero(by_week > LEFT_OUT)
        if not len(at):
            return cls(names, whole, 0)
        first, end = int(at[0]), int(at[-1]) + 1
        return cls(names, whole[..., first:end], first)

    def by_week(self, weighing: Weighing, name: str) -> Table:
        """The chance of each value of a variable that the root alone knows, and each kept week."""
        return weighing.expected_by_week(name, self.names, self.table, self.first)

    def with_own(self, weighing: Weighing, own: tuple[str, ...], log_total: float) -> Joint:
        """The same jointly with variables that the root alone knows, on the scale of the whole."""
        given = weighing.given_jointly(own, self.names)
        if given.shape[-1] > 1:
            given = given[..., self.first : self.first + self.table.shape[-1]]
        with np.errstate(divide="ignore"):
            logs = np.log(given * self.table) + log_total
        end = self.first + self.table.shape[-1]
        window = Window(self.first, end, log_total, LEFT_OUT * weighing.steps)
        return Joint((*own, *self.names), logs, window, frozenset(own))


@dataclass(frozen=True, slots=True)
class Joint:
    """The logarithms of the weights of the states of some variables and the weeks of a root.

    ``own`` are the variables that this root alone knows, if it is not the anchor: only tables that
    speak of one of them are on its weeks.
    """

    names: tuple[str, ...]
    logs: Table
    window: Window | None
    own: frozenset[str] = frozenset()

    def with_tables(self, changed: Iterable[tuple[Factor, Factor]]) -> Table | None:
        """The chances of the first variable with some tables in the place of others.

        None where that cannot be told from these weights.
        """
        logs, excess = self.logs, 0.0
        for old, new in changed:
            if self.own and self.own.isdisjoint(old.variables):
                return None
            with np.errstate(invalid="ignore"):
                gained = new.table - old.table
            top = float(gained.max())
            if np.isnan(top):  # what can be on neither terms
                gained = np.where(np.isnan(gained), 0.0, gained)
                top = float(gained.max())
            if top == inf:
                return None
            excess += top
            if self.window is not None and gained.shape[-1] > 1:
                gained = gained[..., self.window.first : self.window.end]
            logs = logs + placed(old.variables, gained, self.names)
        if self.window is not None and not self.window.is_enough(log_sum(logs), excess):
            return None
        found: Table = normalised(logs).reshape(len(logs), -1).sum(axis=1)
        return found

    def with_odds(self, prior: Factor, moved: float) -> Table | None:
        """The chances of the first variable with the odds of its first value moved in its prior.

        None where that cannot be told from these weights.

        Args:
            prior: its prior as it was; the shares among the other values stay as they are.
            moved: by how much the logarithm of the odds is greater, in every week.
        """
        seen = prior if self.window is None else self.window.cut(prior)
        table = placed(prior.variables, seen.table, self.names)
        logs = self.logs - np.log1p(np.exp(table[:1]) * expm1(moved))
        logs[0] += moved
        if self.window is not None and not self.window.is_enough(log_sum(logs), abs(moved)):
            return None
        found: Table = normalised(logs).reshape(len(logs), -1).sum(axis=1)
        return found

"""What does a root other than the anchor say, and what is known of its own choices?

Question answered: what a root that was summed over its own weeks says of the anchor's week, and the
chances of what it alone speaks of, given the anchor's week and what the two share.

Method: the week of such a root is the instrument's if the unions between them hold, and any week if
not: what it says is its weight in that week, or the mean over all of its weeks; the chances of its
own choices are those given that week, or those over all of its weeks.

Cost: linear in the states that it shares and its weeks.

What it does not do: sum what it says with all else; that is :mod:`ledger.reason.roots`.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log

import numpy as np

from ledger.reason.factors import LEAST_LOG, Factor, Table, normalised, placed
from ledger.reason.plans import RootFirst
from ledger.reason.sums import Weighing

VALUE = "value"
LEAST_SHARE = 1e-300


@dataclass(frozen=True, slots=True)
class Inner:
    """A root other than the anchor, over its own weeks, and what it says of the anchor's.

    ``own`` are the tables that were summed for it, ``logs`` what they come to for each state of
    what it shares with others and each of its weeks.
    """

    first: RootFirst
    own: tuple[Factor, ...]
    weighing: Weighing
    logs: Table
    factor: Factor

    @property
    def scope(self) -> tuple[str, ...]:
        """The axes of ``logs`` but for the weeks."""
        return self.first.scope

    @property
    def unions(self) -> tuple[str, ...]:
        """The unions between it and the anchor."""
        return self.first.unions

    @property
    def shared(self) -> tuple[str, ...]:
        """The unions, and what else it shares with others."""
        return (*self.unions, *(name for name in self.scope if name not in self.unions))

    def weights(self, rest: Table, names: tuple[str, ...]) -> Table:
        """The chance of each state of some choices and each week of this root's completion.

        Args:
            rest: the logarithm of the weight of all but this root, by those and the anchor's week.
            names: the choices: the unions, then at least what else is shared.
        """
        own = self.weighing.over(names)
        weeks = own.shape[-1]
        apart = _mean(rest) + log(rest.shape[-1] / weeks)
        found = np.broadcast_to(apart, (*rest.shape[:-1], weeks)).copy()
        if self.unions:
            found[(1,) * len(self.unions)] = rest[(1,) * len(self.unions)]
        return normalised(found + own)


def said_across(unions: tuple[str, ...], joint: Table, scope: tuple[str, ...]) -> Factor:
    """What a root says of the anchor's date, by whether the unions between them hold."""
    others = tuple(name for name in scope if name not in unions)
    weeks = joint.shape[-1]
    sizes = (*(joint.shape[scope.index(name)] for name in others), weeks)
    table = np.broadcast_to(
        placed(scope, joint, (*unions, *others)), (*(2 for _ in unions), *sizes)
    )
    apart = _mean(table)
    if not unions:
        return Factor(others, apart)
    found = np.broadcast_to(apart, table.shape).copy()
    found[(1,) * len(unions)] = table[(1,) * len(unions)]
    return Factor((*unions, *others), found)


def given_across(
    unions: tuple[str, ...], scope: tuple[str, ...], own: Table, given: Table, at: slice
) -> tuple[tuple[str, ...], Table]:
    """The chances of a choice given the states of the scope and the anchor's week, with their axes.

    If the roots belong together those are the chances given this root's week; if not, those over
    all of its weeks, which are the same for any of the anchor's.

    Args:
        unions: those between the root and the anchor.
        scope: the names of the axes of ``own`` but for the root's weeks.
        own: the chance of each of the root's weeks given the scope, by the root's own tables.
        given: the chances of each value, first, given the scope and the root's week.
        at: the anchor's weeks that are asked for.
    """
    others = tuple(name for name in scope if name not in unions)
    names = (*unions, VALUE, *others)
    apart = placed((VALUE, *scope), (given * own).sum(axis=-1, keepdims=True), names)
    if not unions:
        return names, apart
    together = placed((VALUE, *scope), given, names)
    together = together[..., at] if given.shape[-1] > 1 else together
    weeks = own[..., at].shape[-1]
    found = np.broadcast_to(apart, (*(2 for _ in unions), *apart.shape[len(unions) : -1], weeks))
    found = found.copy()
    ones = tuple(min(1, size - 1) for size in together.shape[: len(unions)])
    found[(1,) * len(unions)] = together[ones]
    return names, found


def shares_by_week(logs: Table) -> Table:
    """The weights as shares of their sum over the weeks; all zeros where that is nothing."""
    found: Table = np.exp(logs - np.maximum(logs.max(axis=-1, keepdims=True), LEAST_LOG))
    found /= np.maximum(found.sum(axis=-1, keepdims=True), LEAST_SHARE)
    return found


def _mean(logs: Table) -> Table:
    """The logarithm of the mean weight over the weeks, as an axis of one."""
    top = logs.max(axis=-1, keepdims=True)
    firm = np.where(np.isneginf(top), 0.0, top)
    with np.errstate(divide="ignore"):
        found: Table = np.log(np.exp(logs - firm).mean(axis=-1, keepdims=True)) + firm
    return found

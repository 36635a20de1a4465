"""Tables of logarithms over a few choices and one date: how they are put together and summed.

Question answered: none by itself; this is what :mod:`ledger.reason.groups` and
:mod:`ledger.reason.sums` reckon with.

Method: a table has one axis for each of its variables, in order, and the date axis last, of length
1 where the date does not matter. It holds logarithms, so that products are sums and nothing is too
small to be told from nothing.

Cost: linear in the cells. A table that would be larger than allowed is refused with its size.

What it does not do: know what the variables mean.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import reduce

import numpy as np
from numpy.typing import NDArray

Table = NDArray[np.float64]

Held = Mapping[str, Sequence[int]]

CELLS_AT_MOST = 1 << 23
LEAST_LOG = -1e300


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


def refuse_beyond(variables: Sequence[str], cells: int) -> None:
    """Nothing, unless the table would be too large.

    Raises:
        TooTangled: it would.
    """
    if cells > CELLS_AT_MOST:
        raise TooTangled(variables, cells)


def cut_to(factor: Factor, held: Mapping[str, tuple[int, ...]]) -> Factor:
    """The factor with only those values of variables that are held; a single value is no choice."""
    if not any(name in held for name in factor.variables):
        return factor
    table: Table = factor.table
    left: list[str] = []
    for name in factor.variables:
        values = held.get(name)
        axis = len(left)
        if values is not None and len(values) == 1:
            table = np.take(table, values[0], axis)
            continue
        if values is not None:
            table = np.take(table, values, axis)
        left.append(name)
    return Factor(tuple(left), table)


def summed_over(
    names: tuple[str, ...], table: Table, kept: tuple[str, ...]
) -> tuple[tuple[str, ...], Table]:
    """The table of weights summed over all of its variables but those kept, in their order."""
    others = tuple(i for i, name in enumerate(names) if name not in kept)
    left = tuple(name for name in names if name in kept)
    return left, (table.sum(axis=others) if others else table)


def shares_of(logs: Table) -> Table:
    """The weights as shares of their sum along the first axis; all zeros where that is nothing."""
    weights: Table = np.exp(logs - np.maximum(logs.max(axis=0), LEAST_LOG))
    total = weights.sum(axis=0)
    weights /= np.where(total > 0, total, 1.0)
    return weights


def placed(names: tuple[str, ...], table: Table, scope: Sequence[str]) -> Table:
    """The table with one axis for each name of the scope, of length 1 where it has none."""
    if tuple(scope) == names:
        return table
    order = [names.index(name) for name in scope if name in names]
    turned = np.transpose(table, (*order, table.ndim - 1))
    sizes = iter(turned.shape[:-1])
    shape = [next(sizes) if name in names else 1 for name in scope]
    return turned.reshape((*shape, turned.shape[-1]))


def product_of(factors: Sequence[Factor], scope: Sequence[str]) -> Table:
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

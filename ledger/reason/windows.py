"""Which weeks can be left out?

Question answered: the weeks of the anchor that hold all but next to nothing of the chance on the
usual terms, and whether they do so on others.

Method: what the weeks left out may hold on other terms is at most what they hold on the usual ones
times the greatest gain of any state; where that is not next to nothing, all weeks are taken.

Cost: linear in the weeks.

What it does not do: promise more than ten places. A chance on other terms than the usual ones may be
off by a hundred-thousand-millionth, which is far below what is told; the usual one never is.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log

import numpy as np

from ledger.reason.factors import Factor
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

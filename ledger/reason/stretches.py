"""Into which stretches of time is a date best told that is not known yet?

Question answered: steps of a quarter year or more over the years in which the instrument may have
been completed and some years on either side, and one long stretch before and one after; and for
each week of fitting the chance that a part was made within each stretch.

Method: the year steps widen until there are few enough of them.

Cost: linear in the axis times the stretches.

What it does not do: read a mark.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import numpy as np

from ledger.basis.spans import calendar_date, day_number
from ledger.reason.factors import Table
from ledger.reason.likelihoods import DAYS_A_WEEK

STEPS_AT_MOST = 20
OPEN_SHARE = 0.001
YEARS_BEFORE, YEARS_AFTER = 3, 2


YearRun = tuple[int | None, int | None]


def years_in_words(run: YearRun) -> str:
    """A run of years in words.

    >>> years_in_words((None, 1946)), years_in_words((1947, 1947)), years_in_words((1948, 1952))
    ('before 1947', 'in 1947', 'in 1948 to 1952')
    """
    first, last = run
    if first is None:
        return "in any year" if last is None else f"before {last + 1}"
    if last is None:
        return f"after {first - 1}"
    return f"in {first}" if first == last else f"in {first} to {last}"


@dataclass(frozen=True, slots=True)
class Stretches:
    """Runs of weeks that a date is told in: ``ends[i]`` up to, not with, ``ends[i + 1]``."""

    ends: tuple[int, ...]
    years: tuple[int | None, ...]
    weeks: int

    def made_within(self, shares: Table) -> Table:
        """For each stretch and week of fitting the chance that a part was made in the stretch.

        Args:
            shares: the chance of each number of weeks from made to fitted.
        """
        upto = np.concatenate([[0.0], np.cumsum(shares / shares.sum())])
        fitted = np.arange(self.weeks)
        # Made before week ``end`` is fitted more than ``week - end`` weeks later.
        before = [1 - upto[np.clip(fitted - end + 1, 0, len(upto) - 1)] for end in self.ends[1:-1]]
        edges = np.stack([np.zeros(self.weeks), *before, np.ones(self.weeks)])
        found: Table = np.diff(edges, axis=0)
        return found

    @property
    def shares(self) -> Table:
        """The share of each stretch in the axis."""
        return np.diff(np.array(self.ends, dtype=float)) / self.weeks

    def told(self) -> tuple[tuple[YearRun, ...], tuple[int, ...]]:
        """Runs of years from before all to after all, and for each stretch in which it is told."""
        named = [year for year in dict.fromkeys(self.years) if year is not None]
        stride = named[1] - named[0] if len(named) > 1 else 1
        runs = ((year, year + stride - 1) for year in named)
        places = (1 + named.index(year) for year in self.years if year is not None)
        return (
            ((None, named[0] - 1), *runs, (named[-1] + stride, None)),
            (0, *places, len(named) + 1),
        )

    def flags(self) -> Table:
        """For each stretch the weeks that lie in it."""
        found = np.zeros((len(self.ends) - 1, self.weeks))
        for i in range(len(self.ends) - 1):
            found[i, self.ends[i] : self.ends[i + 1]] = 1.0
        return found


def stretches_of(first_day: int, weeks: Table) -> Stretches:
    """Steps within the likely years of completion and some before and after, and long stretches."""
    upto = np.cumsum(weeks)
    low = int(np.searchsorted(upto, OPEN_SHARE * upto[-1]))
    high = int(np.searchsorted(upto, (1 - OPEN_SHARE) * upto[-1]))
    begins = calendar_date(first_day + DAYS_A_WEEK * low)[0] - YEARS_BEFORE
    ends = calendar_date(first_day + DAYS_A_WEEK * min(high, len(weeks) - 1))[0] + YEARS_AFTER
    count = ends - begins + 1
    parts = max(1, min(4, STEPS_AT_MOST // count))
    stride = ceil(count / STEPS_AT_MOST)
    years = range(begins, ends + 1, stride)
    days = [day_number(year, 1 + 12 // parts * part) for year in years for part in range(parts)] + [
        day_number(begins + stride * len(years))
    ]
    places = [round((day - first_day) / DAYS_A_WEEK) for day in days]
    inner = sorted({place for place in places if 0 < place < len(weeks)})
    named: list[int | None] = [
        calendar_date(first_day + DAYS_A_WEEK * place + 3)[0] for place in inner[:-1]
    ]
    return Stretches((0, *inner, len(weeks)), (None, *named, None), len(weeks))

"""Into which stretches of time is a date best told that is not known yet?

Question answered: steps of a quarter year or more over the years in which the instrument may well
have been completed and their neighbours, and long stretches of the years between; and for each week
of fitting the chance that a part was made within each stretch.

Method: a year is taken in steps if it, one of the two after it or the one before it has more than
its share of the chance; that share grows until there are few enough of them.

Cost: linear in the axis times the stretches.

What it does not do: read a mark.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ledger.basis.spans import calendar_date, day_number
from ledger.reason.factors import Table
from ledger.reason.likelihoods import DAYS_A_WEEK

STEPS_AT_MOST = 24
LEAST_SHARE = 0.01
YEARS_BEFORE, YEARS_AFTER = 2, 1


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
    """Runs of weeks that a date is told in: ``ends[i]`` up to, not with, ``ends[i + 1]``.

    ``told`` says for each of them to which of the ``runs`` of years it belongs.
    """

    ends: tuple[int, ...]
    runs: tuple[YearRun, ...]
    told: tuple[int, ...]
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

    def flags(self) -> Table:
        """For each stretch the weeks that lie in it."""
        found = np.zeros((len(self.ends) - 1, self.weeks))
        for i in range(len(self.ends) - 1):
            found[i, self.ends[i] : self.ends[i + 1]] = 1.0
        return found


def stretches_of(first_day: int, weeks: Table) -> Stretches:
    """Steps within the years that are open, long stretches of the others.

    Args:
        first_day: the first day of the axis.
        weeks: the chance of each of its weeks.
    """
    begins = calendar_date(first_day)[0]
    ends = calendar_date(first_day + DAYS_A_WEEK * len(weeks) - 1)[0]
    years = range(begins, ends + 1)
    of_year = [_week_of(first_day, year) for year in (*years, ends + 1)]
    upto = np.concatenate([[0.0], np.cumsum(weeks)])
    mass = np.diff(upto[np.clip(of_year, 0, len(weeks))])
    is_open = _open_years(mass)
    parts = max(1, min(4, STEPS_AT_MOST // max(int(is_open.sum()), 1)))
    starts: list[tuple[int, int]] = []
    runs: list[tuple[int, int]] = []
    for i, year in enumerate(years):
        if is_open[i] or i == 0 or is_open[i - 1]:
            runs.append((year, year))
            split = parts if is_open[i] else 1
            starts += [
                (_week_of(first_day, year, 1 + 12 // parts * part), len(runs) - 1)
                for part in range(split)
            ]
        else:
            runs[-1] = (runs[-1][0], year)
    inner = [(week, run) for week, run in starts[1:] if 0 < week < len(weeks)]
    named: list[YearRun] = [*runs]
    named[0], named[-1] = (None, runs[0][1]), (runs[-1][0] if len(runs) > 1 else None, None)
    return Stretches(
        (0, *(week for week, _ in inner), len(weeks)),
        tuple(named),
        (starts[0][1], *(run for _, run in inner)),
        len(weeks),
    )


def _week_of(first_day: int, year: int, month: int = 1) -> int:
    """The week of the axis that a month begins in or nearest to."""
    return round((day_number(year, month) - first_day) / DAYS_A_WEEK)


def _open_years(mass: Table) -> NDArray[np.bool_]:
    """Which years are taken in steps."""
    share = LEAST_SHARE
    while True:
        likely = np.flatnonzero(mass >= share)
        found = np.zeros(len(mass), dtype=bool)
        for year in likely.tolist():
            found[max(year - YEARS_BEFORE, 0) : year + YEARS_AFTER + 1] = True
        if found.sum() <= STEPS_AT_MOST or share > 1:
            return found
        share *= 2

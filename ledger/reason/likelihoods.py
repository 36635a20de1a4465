"""How likely is what was seen, week by week of a completion that might have been?

Question answered: for a date mark, a label, a feature, a paper or an account, the logarithm of
its chance for every week in which the instrument may have been completed, under each way in
which its part may have come there.

Method: four ways, from practice. *First*: the part left the works with the instrument; its lag
from made to completed is log-normal with a share of old stock (common practice, no source).
*Service*: fitted at any time since, with parts of that time. *Period*: a part chosen to match.
*Transplant*: a part moved over from another example of about the same time. A mark reads as it
was with the chance of its legibility; misread, it may say any code there is.

Cost: linear in the axis for each reading.

What it does not do: join evidence; that is :mod:`ledger.reason.weigh`.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import erf, exp, log, sqrt

import numpy as np

from ledger.basis.spans import Spans
from ledger.knowledge.packs import Packs
from ledger.reason.factors import Table

WAYS = ("first", "service", "period", "transplant")
DAYS_A_WEEK = 7
WEEKS_A_YEAR = 52.1775
# Chances that are never nothing: a rule of practice has exceptions.
LEAST_CHANCE = 1e-7
# How far the parts of a chosen or a transplanted group lie from the time of completion, on average.
PERIOD_YEARS = 1.0
TRANSPLANT_YEARS = 1.5


@dataclass(frozen=True, slots=True)
class Axis:
    """Weeks from ``first_day`` on, each the seven days that begin there."""

    first_day: int
    weeks: int

    def days(self, week: int) -> tuple[int, int]:
        """The first and last day of a week of the axis."""
        first = self.first_day + DAYS_A_WEEK * week
        return first, first + DAYS_A_WEEK - 1

    def share(self, spans: Spans) -> Table:
        """For each week the share of its days that lie within the spans."""
        starts = self.first_day + DAYS_A_WEEK * np.arange(self.weeks)
        found = np.zeros(self.weeks)
        for span in spans:
            low = -np.inf if span.earliest is None else float(span.earliest)
            high = np.inf if span.latest is None else float(span.latest)
            overlap = np.minimum(starts + 6, high) - np.maximum(starts, low) + 1
            found += np.clip(overlap, 0, DAYS_A_WEEK) / DAYS_A_WEEK
        return np.minimum(found, 1.0)


@dataclass(frozen=True, slots=True)
class Lag:
    """The chance of each number of weeks from made to completed, 0 upward."""

    chances: Table

    @classmethod
    def of_practice(cls, packs: Packs, median_row: str, weeks: int) -> Lag:
        """The log-normal lag of the practice pack with its share of old stock.

        Old stock lies evenly over one to five years; beyond that, once in a thousand, evenly over
        the rest of the axis.
        """
        median = packs.practice(median_row).row.value
        sigma = packs.practice("lag-component-sigma").row.value
        old = packs.practice("lag-component-tail-share").row.value
        lags = np.arange(weeks)
        ends = np.array([_log_normal_below(w + 1, median, sigma) for w in lags])
        fresh = np.diff(ends, prepend=0.0)
        year, five = round(WEEKS_A_YEAR), round(5 * WEEKS_A_YEAR)
        stock = ((lags >= year) & (lags < five)).astype(float)
        stock /= max(stock.sum(), 1.0)
        rest = np.full(weeks, 1.0 / weeks)
        return cls((1 - old) * fresh * 0.999 + old * stock * 0.999 + 0.001 * rest)


def _log_normal_below(weeks: float, median: float, sigma: float) -> float:
    return 0.5 * (1 + erf((log(weeks) - log(median)) / (sigma * sqrt(2))))


def fitted_in(axis: Axis, spans: Spans, lag: Lag, reading: Reading) -> Table:
    """For each week in which a part may have been fitted, the chance of its mark as it is read."""
    made = np.convolve(axis.share(spans), lag.chances)[: axis.weeks]
    chance: Table = reading.legible * made + (1 - reading.legible) / reading.codes + LEAST_CHANCE
    return chance


@dataclass(frozen=True, slots=True)
class Reading:
    """How far a mark can be relied on to be read aright, and how many codes it may be misread as."""

    legible: float
    codes: int


def by_ways(by_week: Table, fitted_by: Table | None = None) -> Table:
    """For each week of completion and each way, the chance of what is on parts fitted together.

    A service part was fitted in some week from completion to the end of the axis, evenly, or by
    what a record says of the week (``fitted_by``); a chosen part, or one moved over, is of about
    the time of completion whenever it was fitted.

    Args:
        by_week: the chance of everything on the parts, given the week in which they were fitted.
        fitted_by: for each week the chance that the fitting was then, where a record says so.
    """
    weeks = len(by_week)
    if fitted_by is None:
        left = np.arange(weeks, 0, -1)
        later = np.cumsum(by_week[::-1])[::-1] / left
    else:
        later = np.cumsum((by_week * fitted_by)[::-1])[::-1]
    near_by = np.convolve(by_week, _laplace(PERIOD_YEARS), mode="same")[:weeks]
    apart = np.convolve(by_week, _laplace(TRANSPLANT_YEARS), mode="same")[:weeks]
    return np.stack([by_week, later, near_by, apart])


def _laplace(years: float) -> Table:
    """Weights of a symmetric spread with the given mean deviation in years."""
    reach = round(6 * years * WEEKS_A_YEAR)
    offsets = np.abs(np.arange(-reach, reach + 1)) / (years * WEEKS_A_YEAR)
    weights = np.exp(-offsets)
    spread: Table = weights / weights.sum()
    return spread


def near(axis: Axis, spans: Spans, weeks_90: float) -> Table:
    """For each week the density, by weeks, of a date told for it as one within the spans.

    A Laplace spread of which nine in ten lie within ``weeks_90`` of the truth, evenly over the
    spans.
    """
    inside = axis.share(spans)
    total = max(inside.sum(), 1.0)
    scale = max(weeks_90 / log(10), 0.5)
    reach = min(axis.weeks, round(12 * scale) + 1)
    offsets = np.abs(np.arange(-reach, reach + 1)) / scale
    kernel = np.exp(-offsets)
    kernel /= kernel.sum()
    smeared: Table = np.convolve(inside, kernel, mode="full")[reach : reach + axis.weeks]
    return smeared / total


def not_after(axis: Axis, spans: Spans) -> Table:
    """For each week the chance that it is not after a day within the spans."""
    latest = spans.latest
    if latest is None:
        return np.ones(axis.weeks)
    starts = axis.first_day + DAYS_A_WEEK * np.arange(axis.weeks)
    return np.clip((latest - starts + 1) / DAYS_A_WEEK, 0.0, 1.0)


def within_softly(axis: Axis, spans: Spans, overlap_weeks: float) -> Table:
    """For each week how far a feature was in production: 1 inside, falling off over the overlap."""
    inside = axis.share(spans)
    scale = max(overlap_weeks, 4.0)
    reach = min(axis.weeks, round(8 * scale) + 1)
    ramp = np.exp(-np.arange(1, reach + 1) / scale)
    soft = inside.copy()
    for i, weight in enumerate(ramp, 1):
        soft[i:] = np.maximum(soft[i:], weight * inside[:-i])
        soft[:-i] = np.maximum(soft[:-i], weight * inside[i:])
    return soft


def log_odds(probability: float) -> float:
    """The logarithm of the odds.

    >>> round(log_odds(0.5), 6)
    0.0
    """
    return log(probability / (1 - probability))


def from_log_odds(value: float) -> float:
    """The probability of log-odds.

    >>> from_log_odds(0.0)
    0.5
    """
    return 1 / (1 + exp(-value))

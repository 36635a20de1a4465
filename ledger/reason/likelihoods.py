"""How likely is what was seen, week by week of a completion that might have been?

Question answered: for a date mark, a label, a feature, a paper or an account, its chance for every
week in which the instrument may have been completed, under each way in which its part may have
come there.

Method: four ways, from practice. *First*: the part left the works with the instrument. *Service*:
fitted in any week since, with parts of that time. *Period*: a part chosen to match, of about the
time of completion. *Transplant*: a part moved over from another example, completed at about the
same time. From made to fitted the lag is log-normal, with a share of old stock (common practice,
no source). A mark reads as it was made, or with a small chance as a code that is taken for it by
one glyph; a mark that is wrong altogether may say any code there is.

Cost: linear in the axis for each reading; sums against an exponential are taken as running sums.

What it does not do: join evidence; that is :mod:`ledger.reason.weighing`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import erf, exp, log, sqrt

import numpy as np

from ledger.basis.spans import Spans
from ledger.reason.factors import Table

WAYS = ("first", "service", "period", "transplant")
FIRST, SERVICE, PERIOD, TRANSPLANT = range(len(WAYS))
DAYS_A_WEEK = 7
WEEKS_A_YEAR = 52.1775
# Beyond five years in stock, once in a thousand, any age: a rule of practice has exceptions.
ANY_AGE = 0.001
STOCK_YEARS = (1, 5)
# A running sum may grow by this many powers of e before it has to be taken piece by piece.
STEEPEST = 600.0
# So many weeks are shifted by the lags one by one sooner than all at once.
FEW_WEEKS = 200


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
        found = np.zeros(self.weeks)
        self.add_share(found, spans)
        return np.minimum(found, 1.0, out=found)

    def add_share(self, found: Table, spans: Spans, weight: float = 1.0) -> None:
        """Add to each week of ``found`` the share of its days within the spans, times a weight."""
        end = DAYS_A_WEEK * self.weeks
        for span in spans:
            low = 0 if span.earliest is None else max(span.earliest - self.first_day, 0)
            high = end if span.latest is None else min(span.latest - self.first_day + 1, end)
            if low >= high:
                continue
            (first, into), (last, upto) = divmod(low, DAYS_A_WEEK), divmod(high, DAYS_A_WEEK)
            if first == last:
                found[first] += weight * (high - low) / DAYS_A_WEEK
                continue
            if into:
                found[first] += weight * (DAYS_A_WEEK - into) / DAYS_A_WEEK
                first += 1
            found[first:last] += weight
            if upto:
                found[last] += weight * upto / DAYS_A_WEEK

    def not_after(self, spans: Spans) -> Table:
        """For each week the share of its days that are not after the last day of the spans."""
        latest = spans.latest
        return np.ones(self.weeks) if latest is None else self.share(Spans.between(None, latest))


def lag_chances(weeks: int, median: float, sigma: float, old_share: float) -> Table:
    """The chance that the week of fitting is so many weeks after that of making, 0 to ``weeks``.

    Log-normal, with ``old_share`` of it lying evenly over one to five years. Two days so many whole
    weeks apart, and a part of one, are in weeks that are as often one further apart.

    >>> lags = lag_chances(700, 10, 0.9, 0.05)
    >>> bool(abs(lags.sum() - 1) < 1e-3), int(np.argmax(np.cumsum(lags) > 0.5))
    (True, 11)
    """
    ends = [
        0.5 * (1 + erf((log(w) - log(median)) / (sigma * sqrt(2)))) for w in range(1, weeks + 1)
    ]
    whole = np.diff(np.array(ends), prepend=0.0)
    fresh = between_days(whole)
    lags = np.arange(weeks)
    first, last = (round(years * WEEKS_A_YEAR) for years in STOCK_YEARS)
    stock = ((lags >= first) & (lags < last)).astype(float)
    stock /= max(stock.sum(), 1.0)
    found: Table = (1 - ANY_AGE) * ((1 - old_share) * fresh + old_share * stock) + ANY_AGE / weeks
    return found


def between_days(by_whole_weeks: Table) -> Table:
    """The chance of each number of weeks between the weeks of two days, by the whole ones between.

    >>> between_days(np.array([1.0, 0.0])).tolist()
    [0.5, 0.5]
    """
    found: Table = (by_whole_weeks + np.concatenate([[0.0], by_whole_weeks[:-1]])) / 2
    return found


def by_ways(by_week: Table, spread_years: tuple[float, float]) -> Table:
    """For each way and week of completion, the chance of what is on parts fitted together.

    Args:
        by_week: the chance of everything on the parts, given the week in which they were fitted.
        spread_years: how far, on average, a chosen part and a donor lie from the completion; both
            lie on the axis, since nothing is younger than the latest look.

    Returns:
        One row for each of :data:`WAYS`.
    """
    weeks = len(by_week)
    found = np.empty((len(WAYS), weeks))
    found[FIRST] = by_week
    np.divide(np.cumsum(by_week[::-1])[::-1], np.arange(weeks, 0, -1), out=found[SERVICE])
    means = tuple(years * WEEKS_A_YEAR for years in spread_years)
    if weeks <= STEEPEST * min(means):
        found[PERIOD:] = _spread_at_once(by_week, means)
    else:
        for way, mean in zip((PERIOD, TRANSPLANT), means, strict=True):
            found[way] = spread_evenly(by_week, mean) / on_axis(weeks, mean)
    return found


def _spread_at_once(table: Table, means: tuple[float, ...]) -> Table:
    """The table spread as by :func:`spread_evenly`, by each mean, over what lies on the axis.

    The running sums of all, forwards and back, are taken in one go.
    """
    grown, faded, scale = _grown_and_scale(len(table), means)
    both = np.empty((2, *grown.shape))
    np.multiply(table, grown, out=both[0])
    np.multiply(table[::-1], grown, out=both[1])
    sums = np.cumsum(both, axis=-1, out=both)
    sums *= faded
    found: Table = sums[0] + sums[1, :, ::-1]
    found -= table
    found *= scale
    return found


@lru_cache(maxsize=64)
def _grown_and_scale(weeks: int, means: tuple[float, ...]) -> tuple[Table, Table, Table]:
    """For each mean what :func:`_grown` says, the inverse, and what its spread is multiplied with."""
    keeps = [exp(-1 / mean) for mean in means]
    grown = np.stack([_grown(weeks, keep) for keep in keeps])
    scale = np.stack(
        [
            (1 - keep) / (1 + keep) / on_axis(weeks, mean)
            for keep, mean in zip(keeps, means, strict=True)
        ]
    )
    return grown, 1 / grown, scale


def fitted_in(by_week: Table, when: Table) -> Table:
    """For each week of completion, the chance of the parts if they were fitted ``when``, since."""
    found: Table = np.cumsum((by_week * when)[::-1])[::-1]
    return found


def spread_evenly(table: Table, mean_weeks: float) -> Table:
    """The table averaged over a two-sided exponential spread with that mean deviation in weeks.

    Weights at whole weeks; what lies beyond the axis counts as nothing.

    >>> [round(float(x), 4) for x in spread_evenly(np.array([0.0, 1.0, 0.0]), 1.0)]
    [0.17, 0.4621, 0.17]
    """
    keep = exp(-1 / mean_weeks)
    after = running(table, keep)
    before = running(table[::-1], keep)[::-1]
    found: Table = (after + before - table) * ((1 - keep) / (1 + keep))
    return found


@lru_cache(maxsize=64)
def on_axis(weeks: int, mean_weeks: float) -> Table:
    """For each week of an axis, how much of the spread about it lies on the axis."""
    found = spread_evenly(np.ones(weeks), mean_weeks)
    found.flags.writeable = False
    return found


def running(table: Table, keep: float) -> Table:
    """The running sum in which what came before fades by ``keep`` with each step.

    >>> running(np.array([1.0, 0.0, 0.0]), 0.5).tolist()
    [1.0, 0.5, 0.25]
    """
    steps = max(int(STEEPEST / -log(keep)), 1)
    found = np.empty_like(table)
    carried = 0.0
    for start in range(0, len(table), steps):
        part = table[start : start + steps]
        grown = _grown(min(steps, len(table)), keep)[: len(part)]
        sums = np.cumsum(part * grown)
        if carried:
            sums += carried * keep
        np.divide(sums, grown, out=found[start : start + steps])
        carried = float(found[start + len(part) - 1])
    return found


@lru_cache(maxsize=64)
def _grown(steps: int, keep: float) -> Table:
    """How much what fades by ``keep`` with each step was greater so many steps before."""
    found: Table = keep ** -np.arange(steps, dtype=float)
    found.flags.writeable = False
    return found


def later_by(table: Table, lags: Table) -> Table:
    """The chance of each week, by the chances of the week before and of the lag after it.

    What falls beyond the end is left out. Where few weeks can be, each is taken by itself.

    >>> later_by(np.array([0.5, 0.5, 0.0]), np.array([0.25, 0.75])).tolist()
    [0.125, 0.5, 0.375]
    """
    weeks = len(table)
    at = np.flatnonzero(table)
    if len(at) > FEW_WEEKS:
        return np.convolve(table, lags)[:weeks]
    found = np.zeros(weeks)
    for week, chance in zip(at.tolist(), table[at].tolist(), strict=True):
        part = found[week : week + len(lags)]
        part += chance * lags[: len(part)]
    return found


def waited(table: Table, mean_weeks: float) -> Table:
    """The chance, by week, of what ``table`` says of an event that follows this long after.

    The wait is exponential with that mean; the result is by the week of the event before.

    >>> [round(float(x), 3) for x in waited(np.array([0.0, 0.0, 1.0]), 1.0)]
    [0.159, 0.432, 0.316]
    """
    keep = exp(-1 / mean_weeks)
    return between_days(running(table[::-1], keep) * (1 - keep))[::-1]


def near(axis: Axis, spans: Spans, weeks_90: float) -> Table:
    """For each week the chance that just these days are told for it.

    Nine in ten dates told lie within ``weeks_90`` of the truth, in a two-sided exponential; a
    date told as a span counts as any of its weeks, and one told to the day as its week. Nothing where
    the days are off the axis.
    """
    inside = axis.share(spans)
    mean = max(weeks_90 / log(10), 0.5)
    whole = float(inside.sum())
    return spread_evenly(inside, mean) / whole if whole > 0 else inside


def within_softly(axis: Axis, spans: Spans, overlap_weeks: float) -> Table:
    """For each week how far a feature was in production: 1 inside, fading over the overlap."""
    fade = np.arange(axis.weeks) / max(overlap_weeks, 4.0)
    inside = axis.share(spans)
    at = np.flatnonzero(inside > 0)
    if not len(at):
        return inside
    places = np.arange(axis.weeks)
    place = np.searchsorted(at, places)
    ahead = np.abs(at[np.minimum(place, len(at) - 1)] - places)
    behind = np.abs(places - at[np.maximum(place - 1, 0)])
    soft: Table = np.exp(-fade[np.minimum(ahead, behind)])
    return np.where(inside > 0, inside, soft)


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

"""Laws of the chances of dates: each fast sum against the plain loop that it stands for.

The percentiles of the lags are those that the trade states, each "common practice, no source";
they are set down here from practice, not from a publication.
"""

from __future__ import annotations

from itertools import pairwise
from math import exp, log

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from ledger.basis.spans import EVER, Spans
from ledger.reason.likelihoods import (
    ANY_AGE,
    FIRST,
    PERIOD,
    SERVICE,
    TRANSPLANT,
    WAYS,
    WEEKS_A_YEAR,
    Axis,
    between_days,
    by_ways,
    fitted_in,
    from_log_odds,
    lag_chances,
    log_odds,
    near,
    running,
    spread_evenly,
    waited,
    within_softly,
)

CLOSE = 1e-10

tables = hnp.arrays(
    np.float64, st.integers(1, 60), elements=st.floats(0, 1, allow_subnormal=False, width=32)
)
means = st.floats(0.3, 200)


# -- running sums --------------------------------------------------------------------------------


@settings(max_examples=200)
@given(table=tables, keep=st.floats(0.001, 0.999))
def test_a_running_sum_is_the_plain_loop(table, keep):
    carried, expected = 0.0, []
    for value in table:
        carried = value + keep * carried
        expected.append(carried)
    np.testing.assert_allclose(running(table, keep), expected, rtol=CLOSE, atol=1e-300)


@pytest.mark.parametrize("keep", [1e-12, 0.1, 0.9, 0.9999], ids=str)
def test_a_running_sum_along_a_long_axis_neither_overflows_nor_drifts(keep):
    table = np.random.default_rng(5).uniform(size=20_000)
    found = running(table, keep)
    carried = 0.0
    for i, value in enumerate(table):
        carried = value + keep * carried
        assert found[i] == pytest.approx(carried, rel=1e-9)


@settings(max_examples=150)
@given(table=tables, mean=means)
def test_a_spread_is_the_plain_double_loop(table, mean):
    keep = exp(-1 / mean)
    places = np.arange(len(table))
    weights = keep ** np.abs(places[:, None] - places[None, :]) * (1 - keep) / (1 + keep)
    np.testing.assert_allclose(spread_evenly(table, mean), weights @ table, rtol=1e-8, atol=1e-14)


@given(mean=st.floats(0.5, 60))
def test_a_spread_keeps_what_is_far_from_the_ends_and_its_mean_deviation(mean):
    table = np.zeros(4001)
    table[2000] = 1
    found = spread_evenly(table, mean)
    assert found.sum() == pytest.approx(1, abs=1e-9)
    away = np.abs(np.arange(4001) - 2000) @ found
    # Of a two-sided geometric spread the mean deviation is 1 / sinh(1 / mean).
    assert away == pytest.approx(1 / np.sinh(1 / mean), rel=1e-6)


@settings(max_examples=150)
@given(table=tables, mean=means)
def test_a_wait_is_the_plain_loop_over_the_weeks_after(table, mean):
    keep = exp(-1 / mean)

    def chance(weeks):
        whole = [(1 - keep) * keep**each if each >= 0 else 0 for each in (weeks, weeks - 1)]
        return sum(whole) / 2

    expected = [
        sum(chance(later - week) * table[later] for later in range(week, len(table)))
        for week in range(len(table))
    ]
    np.testing.assert_allclose(waited(table, mean), expected, rtol=1e-8, atol=1e-14)


# -- lags ----------------------------------------------------------------------------------------


@settings(max_examples=40)
@given(mean=st.floats(1, 60))
def test_the_mean_wait_is_the_mean(mean):
    table = np.zeros(3000)
    table[-1] = 1
    chances = waited(table, mean)[::-1]
    assert chances.sum() == pytest.approx(1, abs=1e-9)
    # Weeks of an exponential wait: counted from week to week they are the wait itself on average.
    assert np.arange(3000) @ chances == pytest.approx(mean, rel=0.09 / mean)


def test_days_apart_are_in_weeks_that_are_as_often_one_further_apart():
    # By days: every day of a week for the making, every lag of three whole weeks and a part.
    apart = [(made + lag) // 7 for made in range(7) for lag in range(21, 28)]
    chances = between_days(np.array([0.0, 0.0, 0.0, 1.0, 0.0]))
    assert chances.tolist() == [0, 0, 0, 0.5, 0.5]
    assert apart.count(3) / len(apart) == pytest.approx(chances[3], abs=0.5 / 7 + 1e-9)
    assert apart.count(4) / len(apart) == pytest.approx(chances[4], abs=0.5 / 7 + 1e-9)


@settings(max_examples=60)
@given(
    median=st.floats(1, 60), sigma=st.floats(0.5, 1.2), old=st.floats(0, 0.3), weeks=st.just(780)
)
def test_the_chances_of_lags_add_up_to_nearly_one(median, sigma, old, weeks):
    lags = lag_chances(weeks, median, sigma, old)
    assert (lags >= ANY_AGE / weeks * 0.999).all()
    beyond = 1 - lags.sum()
    # What the log-normal has beyond fifteen years is left out, and nothing else.
    assert -1e-9 <= beyond <= 0.02


def test_old_stock_lies_evenly_over_one_to_five_years():
    with_stock, without = (lag_chances(780, 10, 0.9, share) for share in (0.2, 0.0))
    stock = with_stock - 0.8 * without
    inside = stock[52:261]
    assert inside.sum() == pytest.approx(0.2, abs=0.001)
    assert np.ptp(inside) < 1e-9


def quantile(lags, share):
    """The weeks at which the running sum reaches the share, each number of weeks about itself."""
    sums = np.concatenate([[0.0], np.cumsum(lags)])
    return float(np.interp(share, sums, np.arange(len(sums)) - 0.5))


# Common practice, no source: 10 %, median, 90 % and 97.5 % of the weeks from made to completed, of
# parts that do not come from old stock; then how far, in per cent, the model may be off each. One
# spread serves all classes: it is that of pots and capacitors of a model sold in numbers, and is
# too narrow in the tails of the others, most so of odd values and of loudspeakers.
STATED = [
    ("pots and capacitors, high volume", (3, 10, 32, 58), (6, 2, 2, 3)),
    ("pots, odd value or slow model", (8, 26, 100, 208), (4, 2, 18, 28)),
    ("stamp on neck or body", (2, 6, 20, 40), (9, 2, 6, 13)),
    ("transformer", (2, 8, 26, 52), (27, 2, 3, 11)),
    ("loudspeaker", (1, 6, 20, 52), (90, 2, 6, 33)),
]


@pytest.mark.parametrize(
    ("weeks", "per_cent"), [row[1:] for row in STATED], ids=[row[0] for row in STATED]
)
def test_lags_have_the_percentiles_of_practice_as_far_as_one_spread_holds_them(weeks, per_cent):
    lags = lag_chances(1500, weeks[1], 0.9, 0.0)
    for share, stated, off in zip((0.1, 0.5, 0.9, 0.975), weeks, per_cent, strict=True):
        assert quantile(lags, share) == pytest.approx(stated, rel=off / 100)


def test_old_stock_moves_the_upper_percentiles_only():
    # Common practice, no source: about one part in twenty lay one to five years before use.
    lags = lag_chances(780, 10, 0.9, 0.05)
    assert quantile(lags, 0.1) == pytest.approx(3, rel=0.1)
    assert quantile(lags, 0.5) == pytest.approx(10, rel=0.08)
    assert 32 < quantile(lags, 0.9) < 52
    assert 52 < quantile(lags, 0.975) < 5 * WEEKS_A_YEAR


def test_the_latest_of_four_independent_parts_has_the_lag_of_practice():
    # Common practice, no source: the latest of about four independent parts lies about four weeks
    # before completion, not ten.
    beyond = 1 - np.cumsum(lag_chances(780, 10, 0.9, 0.0))
    latest = np.diff(1 - beyond**4, prepend=0.0)
    assert quantile(latest, 0.5) == pytest.approx(4, rel=0.05)


# -- ways ----------------------------------------------------------------------------------------


@settings(max_examples=80)
@given(table=tables, spreads=st.tuples(st.floats(0.05, 4), st.floats(0.05, 4)))
def test_each_way_is_the_plain_loop_over_the_weeks_of_fitting(table, spreads):
    found = by_ways(table, spreads)
    assert found.shape == (len(WAYS), len(table))
    np.testing.assert_array_equal(found[FIRST], table)
    for week in range(len(table)):
        later = table[week:]
        assert found[SERVICE, week] == pytest.approx(sum(later) / len(later), rel=1e-9, abs=1e-15)
    for way, years in ((PERIOD, spreads[0]), (TRANSPLANT, spreads[1])):
        mean = years * WEEKS_A_YEAR
        on_axis = spread_evenly(np.ones(len(table)), mean)
        np.testing.assert_allclose(found[way], spread_evenly(table, mean) / on_axis)


def test_a_part_of_which_nothing_is_known_is_as_likely_either_way():
    np.testing.assert_allclose(by_ways(np.ones(500), (1.0, 1.5)), 1, rtol=1e-9)


@given(table=tables, place=st.integers(0, 59))
def test_a_part_fitted_in_a_known_week_has_the_chances_of_that_week_for_all_before(table, place):
    at = place % len(table)
    when = np.zeros(len(table))
    when[at] = 1
    found = fitted_in(table, when)
    assert found[: at + 1] == pytest.approx(table[at])
    assert not found[at + 1 :].any()


# -- the axis ------------------------------------------------------------------------------------


@given(
    first=st.integers(-50, 50),
    weeks=st.integers(1, 30),
    ends=st.lists(st.tuples(st.integers(-100, 300), st.integers(0, 80)), min_size=1, max_size=4),
)
def test_the_share_of_a_week_is_the_share_of_its_days(first, weeks, ends):
    axis = Axis(first, weeks)
    spans = Spans.of(span for low, more in ends for span in Spans.between(low, low + more))
    inside = {day for low, more in ends for day in range(low, low + more + 1)}
    expected = [
        sum(day in inside for day in range(axis.days(w)[0], axis.days(w)[1] + 1)) / 7
        for w in range(weeks)
    ]
    assert axis.share(spans) == pytest.approx(expected)


def test_the_weeks_of_an_axis_follow_one_another_without_a_gap():
    axis = Axis(-3, 6)
    assert [axis.days(i)[0] for i in range(6)] == [-3, 4, 11, 18, 25, 32]
    assert all(axis.days(i)[1] + 1 == axis.days(j)[0] for i, j in pairwise(range(6)))


def test_open_spans_cover_the_axis_to_its_end():
    axis = Axis(0, 4)
    assert axis.share(EVER).tolist() == [1, 1, 1, 1]
    assert axis.share(Spans.between(14, None)).tolist() == [0, 0, 1, 1]
    assert axis.share(Spans.between(None, 6)).tolist() == [1, 0, 0, 0]


def test_not_after_asks_the_last_day_alone():
    axis = Axis(0, 4)
    assert axis.not_after(Spans.between(14, 20)).tolist() == [1, 1, 1, 0]
    assert axis.not_after(Spans.between(14, None)).tolist() == [1, 1, 1, 1]


@pytest.mark.parametrize("weeks_90", [4, 26, 104, 260], ids=lambda w: f"{w} weeks")
def test_nine_in_ten_dates_told_lie_within_the_stated_weeks_of_the_truth(weeks_90):
    axis = Axis(0, 8001)
    told = near(axis, Spans.between(4000 * 7, 4000 * 7 + 6), weeks_90)
    assert told.sum() == pytest.approx(1, abs=1e-6)
    # Whole weeks: what lies nearer than half a week beyond counts as within.
    within = told[4000 - weeks_90 : 4001 + weeks_90].sum()
    assert within == pytest.approx(0.9, abs=0.05 if weeks_90 < 10 else 0.012)
    np.testing.assert_allclose(told, told[::-1], rtol=1e-9)


@pytest.mark.parametrize("days", [1, 3, 7, 31, 365], ids=lambda days: f"{days} days")
def test_a_date_is_told_with_the_same_chance_in_all_however_exactly(days):
    axis = Axis(0, 4000)
    told = near(axis, Spans.between(14_000, 14_000 + days - 1), 8)
    assert told.sum() == pytest.approx(1, abs=1e-6)


def test_a_date_off_the_axis_is_told_for_no_week():
    assert not near(Axis(0, 100), Spans.between(9_000, 9_010), 8).any()


def test_a_date_told_as_a_year_counts_as_any_of_its_weeks():
    axis = Axis(0, 520)
    year = Spans.between(260 * 7, 260 * 7 + 364)
    each = [near(axis, Spans.between(d * 7, d * 7 + 6), 8) for d in range(260, 312)]
    np.testing.assert_allclose(
        near(axis, year, 8)[255:320], np.mean(each, axis=0)[255:320], rtol=0.05
    )


@given(span=st.tuples(st.integers(0, 60), st.integers(0, 60)), overlap=st.floats(0, 60))
def test_a_feature_fades_over_its_overlap_and_never_rises_outwards(span, overlap):
    axis = Axis(0, 160)
    low, more = span
    found = within_softly(axis, Spans.between(low * 7, (low + more) * 7 + 6), overlap)
    assert (found[low : low + more + 1] == 1).all()
    assert (np.diff(found[: low + 1]) >= 0).all()
    assert (np.diff(found[low + more :]) <= 0).all()
    away = low + more + 8
    assert found[away] == pytest.approx(exp(-8 / max(overlap, 4.0)))


def test_a_feature_between_two_runs_fades_from_the_nearer_one():
    axis = Axis(0, 120)
    runs = Spans.of([*Spans.between(0, 69), *Spans.between(700, 769)])
    found = within_softly(axis, runs, 10)
    # The runs are weeks 0 to 9 and 100 on; week 54 is the last that is nearer to the first.
    assert found[20] == pytest.approx(exp(-11 / 10))
    assert found[54] == pytest.approx(exp(-45 / 10))
    assert found[95] == pytest.approx(exp(-5 / 10))


@given(share=st.floats(0.001, 0.999))
def test_log_odds_come_back(share):
    assert from_log_odds(log_odds(share)) == pytest.approx(share)
    assert log_odds(share) == pytest.approx(-log_odds(1 - share), abs=1e-9)
    assert log_odds(0.75) == pytest.approx(log(3))

"""Probabilities published in JCGM 106:2012, from memory; each is recomputed here."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.basis.conformity import (
    Passing,
    acceptance_limits,
    conformance_probability,
    conformance_within_bound,
    least_reading_beyond,
)


@pytest.mark.parametrize(
    ("value", "uncertainty", "low", "high", "published"),
    [
        (-5.47, 0.05, None, -5.40, 0.92),
        (509.7, 8.6, 490.0, None, 0.99),
        (13.6, 1.8, 12.5, 16.3, 0.66),
    ],
    ids=["breakdown voltage of a diode", "burst pressure", "viscosity, both sides"],
)
def test_published_probabilities_of_conformance_come_out(value, uncertainty, low, high, published):
    assert round(conformance_probability(value, uncertainty, low, high), 2) == published


def test_the_published_speed_shows_the_limit_exceeded():
    # JCGM 106: limit 100 km/h, relative standard uncertainty 2 %, probability 99.9 %: 107 km/h.
    assert round(least_reading_beyond(100, 0.02, 0.999)) == 107


def test_an_instrument_too_uncertain_shows_nothing():
    with pytest.raises(ValueError, match="cannot show"):
        least_reading_beyond(100, 0.5, 0.999)


def test_guard_bands_draw_the_limits_in():
    assert acceptance_limits(10.0, 20.0, 1.0) == (11.0, 19.0)
    assert acceptance_limits(None, 20.0, -1.0) == (None, 21.0)
    with pytest.raises(ValueError, match="nothing between"):
        acceptance_limits(10.0, 11.0, 1.0)


def test_a_value_on_its_limit_conforms_with_even_chance():
    assert conformance_probability(10, 1, low=10) == pytest.approx(0.5)
    assert conformance_within_bound(10, 1, low=10) == pytest.approx(0.5)


@pytest.mark.parametrize("chance", [conformance_probability, conformance_within_bound])
def test_reversed_limits_and_negative_doubts_are_refused(chance):
    with pytest.raises(ValueError, match="reversed"):
        chance(1, 1, 3, 2)
    with pytest.raises(ValueError, match="not negative"):
        chance(1, -1, 2, 3)


VALUE = st.floats(-1e6, 1e6)
DOUBT = st.floats(0, 1e5)
LIMIT = st.none() | VALUE


@given(VALUE, DOUBT, LIMIT, LIMIT)
def test_every_chance_is_one_and_no_limit_is_surely_met(value, doubt, one, other):
    low, high = one, other
    if low is not None and high is not None:
        low, high = min(low, high), max(low, high)
    for chance in (conformance_probability, conformance_within_bound):
        assert 0 <= chance(value, doubt, low, high) <= 1
        assert chance(value, doubt) == 1


@given(VALUE, DOUBT, VALUE)
def test_what_is_above_one_limit_is_below_the_other_side_of_it(value, doubt, limit):
    for chance in (conformance_probability, conformance_within_bound):
        if value != limit:
            above, below = chance(value, doubt, low=limit), chance(value, doubt, high=limit)
            assert above + below == pytest.approx(1)


@given(VALUE, st.floats(0.1, 1e5), VALUE, st.floats(0.1, 1e5))
def test_the_bound_is_sure_exactly_where_all_of_it_is_within(value, half_width, low, width):
    high = low + width
    chance = conformance_within_bound(value, half_width, low, high)
    if low <= value - half_width and value + half_width <= high:
        assert chance == pytest.approx(1)
    if value + half_width < low or high < value - half_width:
        assert chance == 0


# -- what passing tells ------------------------------------------------------------------------


def test_a_test_that_nearly_everything_passes_tells_nothing():
    passing = Passing(0.98, 0.95)
    assert passing.tells_nothing
    assert passing.ratio_of_passing == pytest.approx(1.03, abs=0.005)
    assert passing.in_words().endswith("which tells nothing.")


def test_failing_what_nearly_everything_passes_can_still_tell():
    assert Passing(0.999, 0.95).ratio_of_failing == pytest.approx(1 / 50)


def test_a_test_that_few_replacements_pass_tells_something():
    passing = Passing(0.85, 0.02)
    assert not passing.tells_nothing
    assert "42.5 times" in passing.in_words()


SHARE = st.floats(0.01, 0.99)


@given(SHARE, SHARE)
def test_passing_and_failing_never_tell_the_same_way(first, replacements):
    passing = Passing(first, replacements)
    assert (passing.ratio_of_passing - 1) * (passing.ratio_of_failing - 1) <= 1e-9


@pytest.mark.parametrize("share", [0.0, 1.0, 1.5], ids=str)
def test_a_share_of_none_or_all_is_refused(share):
    with pytest.raises(ValueError, match="not between"):
        Passing(0.5, share)

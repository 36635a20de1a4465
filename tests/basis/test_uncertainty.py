"""Worked examples of JCGM 100:2008 (GUM), data and results from memory, recomputed here."""

from __future__ import annotations

from math import cos, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.basis.uncertainty import (
    combined_uncertainty,
    correlation,
    effective_degrees_of_freedom,
    line_through,
    mean,
    mean_uncertainty,
    uncertainty_of_bound,
)

# Table H.2: five readings taken together of voltage, current and phase angle.
VOLTS = (5.007, 4.994, 5.005, 4.990, 4.999)
AMPERES = (0.019663, 0.019639, 0.019640, 0.019685, 0.019678)
RADIANS = (1.0456, 1.0438, 1.0468, 1.0428, 1.0433)
# Table H.6: readings of a thermometer and the correction found at each.
DEGREES = (21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511)
CORRECTIONS = (
    -0.171,
    -0.169,
    -0.166,
    -0.159,
    -0.164,
    -0.165,
    -0.156,
    -0.157,
    -0.159,
    -0.161,
    -0.160,
)


def test_the_gauge_block_of_h1_has_the_published_uncertainty():
    # JCGM 100 H.1.3: 25, 9.7, 2.9 and 16.6 nm give 32 nm; the second-order terms 34 nm.
    parts = (25.0, 9.7, 2.9, 16.6)
    whole = combined_uncertainty([1.0] * 4, parts)
    assert whole == pytest.approx(31.67, abs=0.02)
    assert round(combined_uncertainty([1.0] * 6, (*parts, 11.7, 1.7))) == 34
    # H.1.6: 16 degrees of freedom, and with t = 2.92 for 99 % an expanded uncertainty of 93 nm.
    degrees = effective_degrees_of_freedom(parts, (18, 25.6, 50, 2))
    assert int(degrees) == 16
    assert round(2.92 * 32) == 93


def test_readings_of_h2_have_the_published_means_spreads_and_correlations():
    assert mean(VOLTS) == pytest.approx(4.9990, abs=5e-5)
    assert mean(AMPERES) == pytest.approx(0.0196610, abs=5e-8)
    assert mean(RADIANS) == pytest.approx(1.04446, abs=5e-6)
    assert mean_uncertainty(VOLTS) == pytest.approx(0.0032, abs=5e-5)
    assert mean_uncertainty(AMPERES) == pytest.approx(0.0095e-3, abs=5e-8)
    assert mean_uncertainty(RADIANS) == pytest.approx(0.00075, abs=5e-6)
    assert correlation(VOLTS, AMPERES) == pytest.approx(-0.36, abs=0.006)
    assert correlation(VOLTS, RADIANS) == pytest.approx(0.86, abs=0.006)
    assert correlation(AMPERES, RADIANS) == pytest.approx(-0.65, abs=0.006)


@pytest.mark.parametrize(
    ("which", "published", "uncertainty"),
    [("R", 127.732, 0.071), ("X", 219.847, 0.295), ("Z", 254.260, 0.236)],
    ids=["resistance", "reactance", "impedance"],
)
def test_the_results_of_h2_come_out_with_their_correlations(which, published, uncertainty):
    volts, amperes, radians = mean(VOLTS), mean(AMPERES), mean(RADIANS)
    impedance = volts / amperes
    share = {"R": cos(radians), "X": sin(radians), "Z": 1.0}[which]
    turned = {"R": -sin(radians), "X": cos(radians), "Z": 0.0}[which]
    whole = combined_uncertainty(
        (share / amperes, -share * impedance / amperes, turned * impedance),
        [mean_uncertainty(each) for each in (VOLTS, AMPERES, RADIANS)],
        {
            (0, 1): correlation(VOLTS, AMPERES),
            (0, 2): correlation(VOLTS, RADIANS),
            (1, 2): correlation(AMPERES, RADIANS),
        },
    )
    assert impedance * share == pytest.approx(published, abs=0.001)
    assert whole == pytest.approx(uncertainty, abs=0.001)


def test_the_calibration_line_of_h3_is_the_published_one():
    line = line_through([t - 20 for t in DEGREES], CORRECTIONS)
    assert line.intercept == pytest.approx(-0.1712, abs=5e-5)
    assert line.intercept_uncertainty == pytest.approx(0.0029, abs=5e-5)
    assert line.slope == pytest.approx(0.00218, abs=5e-6)
    assert line.slope_uncertainty == pytest.approx(0.00067, abs=5e-6)
    assert line.correlation == pytest.approx(-0.930, abs=5e-4)
    assert line.scatter == pytest.approx(0.0035, abs=5e-5)
    height, doubt = line.at(10)
    assert height == pytest.approx(-0.1494, abs=5e-5)
    assert doubt == pytest.approx(0.0041, abs=5e-5)


def test_a_bound_of_100_is_a_standard_uncertainty_of_58():
    # JCGM 100, 4.3.7: a over root three.
    assert uncertainty_of_bound(100) == pytest.approx(57.735, abs=0.001)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: mean([]),
        lambda: mean_uncertainty([1.0]),
        lambda: correlation([1.0, 1.0], [1.0, 2.0]),
        lambda: line_through([1.0, 2.0], [1.0, 2.0]),
        lambda: line_through([1.0, 1.0, 1.0], [1.0, 2.0, 3.0]),
    ],
    ids=["no values", "one value", "no spread", "two points", "one place"],
)
def test_too_few_readings_are_refused(wrong):
    with pytest.raises(ValueError, match=r"."):
        wrong()


AMOUNT = st.floats(-1e3, 1e3)
DOUBT = st.floats(0, 1e3)


@given(st.lists(st.tuples(AMOUNT, DOUBT), min_size=1, max_size=5))
def test_doubts_that_are_not_correlated_never_cancel(inputs):
    sensitivities, doubts = zip(*inputs, strict=True)
    whole = combined_uncertainty(sensitivities, doubts)
    assert whole >= max(abs(c * u) for c, u in inputs) * (1 - 1e-9) - 1e-150  # squares underflow


@given(DOUBT, DOUBT)
def test_fully_correlated_doubts_add_or_cancel(one, other):
    together = combined_uncertainty((1, 1), (one, other), {(0, 1): 1.0})
    apart = combined_uncertainty((1, 1), (one, other), {(0, 1): -1.0})
    assert together == pytest.approx(one + other, abs=1e-6)
    assert apart == pytest.approx(abs(one - other), abs=1e-3)

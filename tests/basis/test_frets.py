"""Fret positions against the usual published tables, recomputed from the two rules."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.basis.frets import (
    EIGHTEEN,
    EQUAL,
    cents_sharp,
    compare_frets,
    fit_frets,
    fret_distance,
)

# The table of equal temperament as it is commonly published, for 25.5 in and for 1000.
INCHES_OF_FRETS = (1.431, 2.782, 4.057, 5.261, 6.397, 7.469, 8.481, 9.436, 10.338, 11.189)
INCHES_OF_FRETS = (*INCHES_OF_FRETS, 11.992, 12.750, 19.125)
INCHES = dict(zip((*range(1, 13), 24), INCHES_OF_FRETS, strict=True))
THOUSAND = (56.126, 109.101, 159.104, 206.299, 250.846, 292.893, 332.580, 370.039, 405.396)
THOUSAND = (*THOUSAND, 438.769, 470.268, 500.000)
HALF_WIDTH_MM = 0.3


def measured(scale, rule=EQUAL, frets=range(1, 21), half_width=HALF_WIDTH_MM):
    return {fret: (round(fret_distance(scale, fret, rule), 1), half_width) for fret in frets}


@pytest.mark.parametrize(("fret", "inches"), INCHES.items(), ids=str)
def test_the_published_table_for_25_5_inches_comes_out(fret, inches):
    assert round(fret_distance(25.5, fret), 3) == inches


def test_the_published_table_for_a_thousand_comes_out():
    assert tuple(round(fret_distance(1000, fret), 3) for fret in range(1, 13)) == THOUSAND


def test_the_division_constant_of_equal_temperament_is_the_published_one():
    # 17.817 is the figure in use; from memory, recomputed.
    assert 1 / fret_distance(1, 1) == pytest.approx(17.817154, abs=1e-6)
    assert 1 / fret_distance(1, 1, EIGHTEEN) == pytest.approx(18)


def test_the_rule_of_eighteen_leaves_the_octave_short():
    # On 650 mm the twelfth fret stands 2.364 mm short of half: 1187.455 cents (recomputed).
    assert fret_distance(650, 12, EIGHTEEN) == pytest.approx(322.636, abs=5e-4)
    short = cents_sharp(650, 325, fret_distance(650, 12, EIGHTEEN))
    assert short == pytest.approx(1187.455 - 1200, abs=5e-4)


@pytest.mark.parametrize("rule", [EQUAL, EIGHTEEN])
def test_measured_frets_give_back_their_scale_and_rule(rule):
    found = compare_frets(measured(648, rule))
    assert found.better.rule == rule
    assert found.better.fits
    assert found.can_tell
    assert abs(found.better.scale_mm - 648) < 3 * found.better.scale_doubt_mm
    assert found.better.typical_mm < 0.05 < found.other.typical_mm


def test_one_fret_put_in_elsewhere_is_the_only_one_that_does_not_fit():
    distances = measured(648)
    distances[7] = (distances[7][0] + 1.5, HALF_WIDTH_MM)
    fit = fit_frets(distances)
    assert [verdict.fret for verdict in fit.frets if not verdict.fits] == [7]
    (seventh,) = (verdict for verdict in fit.frets if verdict.fret == 7)
    assert seventh.residual_mm == pytest.approx(1.5, abs=0.1)
    # 1.5 mm of the 432.5 mm that are left is 6.0 cents, sharp because it stands further up.
    assert seventh.cents == pytest.approx(6.0, abs=0.4)


def test_three_frets_near_the_nut_cannot_tell_the_rules_apart():
    assert not compare_frets(measured(648, frets=(1, 2, 3), half_width=0.5)).can_tell


@pytest.mark.parametrize(
    "distances",
    [
        {},
        {1: (36.4, 0.2), 2: (70.9, 0.2)},
        {1: (36.4, 0.0), 2: (70.9, 0.2), 3: (103.4, 0.2)},
        {1: (-1.0, 0.2), 2: (70.9, 0.2), 3: (103.4, 0.2)},
        {0: (1.0, 0.2), 2: (70.9, 0.2), 3: (103.4, 0.2)},
    ],
    ids=["none", "two", "no doubt", "behind the nut", "the nut itself"],
)
def test_what_cannot_be_fitted_is_refused(distances):
    with pytest.raises(ValueError, match=r"fret"):
        fit_frets(distances)


def test_a_rule_or_fret_that_is_not_there_is_refused():
    with pytest.raises(ValueError, match="no fret"):
        fret_distance(650, 99)
    with pytest.raises(ValueError, match="no rule"):
        fit_frets(measured(648), "rule of nineteen")
    with pytest.raises(ValueError, match="before the bridge"):
        cents_sharp(650, 325, 650)


@given(
    st.floats(300, 1200),
    st.sampled_from([EQUAL, EIGHTEEN]),
    st.sets(st.integers(1, 24), min_size=3),
    st.lists(st.floats(-1, 1), min_size=24, max_size=24),
    st.floats(0.05, 0.5),
)
def test_errors_within_their_doubt_never_lose_the_scale(scale, rule, frets, errors, half_width):
    distances = {
        fret: (fret_distance(scale, fret, rule) + half_width * error, half_width)
        for fret, error in zip(sorted(frets), errors, strict=False)
    }
    fit = fit_frets(distances, rule)
    assert len(fit.frets) == len(frets)
    # However the errors fall, the scale is off by no more than the worst of them would make it.
    nearest = min(fret_distance(1, fret, rule) for fret in frets)
    assert abs(fit.scale_mm - scale) <= half_width / nearest * (1 + 1e-9)


@given(
    st.dictionaries(
        st.integers(1, 48), st.tuples(st.floats(0.1, 2e3), st.floats(0.01, 10)), min_size=3
    )
)
def test_any_distances_give_a_verdict_for_every_fret(distances):
    found = compare_frets(distances)
    for fit in (found.better, found.other):
        assert [verdict.fret for verdict in fit.frets] == sorted(distances)
    assert found.log10_ratio >= 0

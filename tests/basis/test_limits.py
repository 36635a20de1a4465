"""Measured values against limits, checked by trying every value of a small grid."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.basis.limits import Standing, compare

ENDS = st.one_of(st.none(), st.integers(-10, 10))


def test_a_value_below_its_limits_is_told_with_the_least_and_the_most_it_lacks():
    found = compare(Decimal("42.6"), Decimal("0.1"), Decimal("43.4"), Decimal("44.0"))
    assert (found.standing, found.plain_standing) == (Standing.BELOW, Standing.BELOW)
    assert (found.least, found.most) == (Fraction("0.8"), Fraction("1.4"))
    assert (found.least_possible, found.most_possible) == (Fraction("0.7"), Fraction("1.5"))
    assert found.is_conflict
    assert found.in_words("") == "below the limits, short by 0.8 to 1.4"


@pytest.mark.parametrize(
    ("value", "doubt", "low", "high", "words", "is_conflict"),
    [
        (5, 1, 4, 6, "within the limits", False),
        (5, None, None, None, "within the limits", False),
        (5, 2, 4, 7, "within the limits, but its uncertainty reaches up to 1 beyond them", False),
        (
            5,
            2,
            None,
            6,
            "within the limits, but its uncertainty reaches up to 1 beyond them",
            False,
        ),
        (
            3,
            1,
            4,
            6,
            "below the limits, short by 1 to 3, but its uncertainty reaches into them",
            False,
        ),
        (3, 1, 5, None, "below the limits, short by at least 2", True),
        (8, 1, None, 6, "above the limits, over by at least 2", True),
        (8, 1, 6, 6, "above the limits, over by 2", True),
        (
            8,
            2,
            4,
            6,
            "above the limits, over by 2 to 4, but its uncertainty reaches into them",
            False,
        ),
        (8, None, 4, 6, "above the limits, over by 2 to 4", True),
        (5, 9, 4, 6, "within the limits, but its uncertainty reaches up to 8 beyond them", False),
    ],
    ids=str,
)
def test_comparisons_are_told_in_words(value, doubt, low, high, words, is_conflict):
    found = compare(value, doubt, low, high)
    assert found.in_words("") == words
    assert found.is_conflict == is_conflict


def test_amounts_are_told_in_the_unit_asked_for():
    found = compare(Fraction("0.0426"), None, Fraction("0.0434"), Fraction("0.044"))
    assert found.in_words("mm") == "below the limits, short by 0.8 to 1.4 mm"


@pytest.mark.parametrize(("doubt", "low", "high"), [(-1, 0, 1), (0, 2, 1)], ids=["doubt", "limits"])
def test_a_negative_uncertainty_and_reversed_limits_are_refused(doubt, low, high):
    with pytest.raises(ValueError, match="cannot be negative, nor limits reversed"):
        compare(1, doubt, low, high)


@given(st.integers(-12, 12), st.integers(0, 6), ENDS, ENDS)
def test_the_standing_is_what_trying_every_value_finds(value, doubt, low, high):
    if low is not None and high is not None and high < low:
        low, high = high, low
    found = compare(value, doubt, low, high)
    # Halves are enough: every limit is whole.
    reach = [Fraction(value) + Fraction(step, 2) for step in range(-2 * doubt, 2 * doubt + 1)]
    inside = [(low is None or tried >= low) and (high is None or tried <= high) for tried in reach]
    assert (found.standing is Standing.WITHIN) == all(inside)
    if found.is_conflict:
        assert not any(inside)
    if not any(inside):
        # The limits may lie between two values that are both possible.
        below = [low is not None and tried < low for tried in reach]
        assert found.is_conflict == (all(below) or not any(below))


@given(st.integers(-12, 12), st.integers(0, 6), ENDS, ENDS)
def test_the_distances_are_those_of_the_nearest_and_farthest_allowed_values(
    value, doubt, low, high
):
    if low is not None and high is not None and high < low:
        low, high = high, low
    found = compare(value, doubt, low, high)
    bottom, top = (-99 if low is None else low), (99 if high is None else high)
    allowed = range(bottom, top + 1)
    assert found.least == min(abs(value - one) for one in allowed)
    assert found.least_possible <= found.least
    if found.plain_standing is Standing.WITHIN:
        assert found.most == 0
        assert found.most_possible == max(0, bottom - (value - doubt), value + doubt - top)
    elif low is not None and high is not None:
        assert found.most == max(abs(value - one) for one in allowed)
        assert found.most_possible == found.most + doubt
    else:
        assert found.most is found.most_possible is None

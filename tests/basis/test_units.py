"""The table of units itself."""

from fractions import Fraction

from ledger.basis.units import (
    BASE_UNITS,
    SMALLER_UNITS,
    TWO_MEANINGS,
    UNIT_NAMES,
    UNITS,
    decimal_of,
)


def test_every_dimension_has_one_base_unit():
    assert set(BASE_UNITS) == {unit.dimension for unit in UNITS.values()}
    for dimension, unit in BASE_UNITS.items():
        assert (unit.dimension, unit.size, unit.zero) == (dimension, 1, 0)


def test_every_name_means_one_known_unit_and_none_has_two_meanings():
    assert set(UNIT_NAMES.values()) == set(UNITS)
    assert not set(UNIT_NAMES) & set(TWO_MEANINGS)
    for meanings in TWO_MEANINGS.values():
        assert set(meanings) <= set(UNITS)


def test_smaller_units_go_a_whole_number_of_times_into_the_larger():
    ratios = {
        larger: UNITS[larger].size / UNITS[smaller].size
        for larger, smaller in SMALLER_UNITS.items()
    }
    assert ratios == {"ft": 12, "lb": 16}


def test_decimals_are_exact_where_they_can_be():
    assert str(decimal_of(Fraction(1, 64))) == "0.015625"
    assert str(decimal_of(Fraction(1, 3))) == "0.333333333333"

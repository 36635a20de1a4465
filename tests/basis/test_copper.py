"""Copper against IEC 60028 and tables of wire as they are quoted (from memory where so marked)."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.basis.copper import (
    WireTable,
    at_reference,
    copper_factor,
    wire_diameter_mil,
    wire_resistance,
    wire_resistance_uncertainty,
)

METRES_IN_1000_FT = 304.8


@pytest.mark.parametrize(
    ("celsius", "factor"), [(25, 1.01965), (0, 0.9214), (30, 1.0393)], ids=["25", "0", "30"]
)
def test_the_factor_of_iec_60028_comes_out(celsius, factor):
    assert float(copper_factor(Fraction(celsius))) == pytest.approx(factor, abs=5e-6)


def test_a_coil_of_8000_ohms_reads_8314_at_30_degrees():
    # Own numbers by the formula of IEC 60028.
    assert Fraction(8000) * copper_factor(Fraction(30)) == Fraction("8314.4")
    assert at_reference(Fraction("8314.4"), Fraction(30)) == 8000


@pytest.mark.parametrize(
    ("gauge", "published"),
    [(18, 6.385), (20, 10.15), (30, 103.2), (36, 414.8), (40, 1049), (42, 1668)],
    ids=str,
)
def test_wire_by_the_gauge_law_has_the_published_resistance(gauge, published):
    # 18, 20 and 30 as a cable tester's table quotes them; the finer ones from memory.
    ohms = wire_resistance(gauge) * METRES_IN_1000_FT
    assert float(f"{ohms:.4g}") == pytest.approx(published, rel=5e-4)


@pytest.mark.parametrize(
    ("gauge", "published"), [(40, 1080), (41, 1320), (42, 1660), (43, 2140), (44, 2590)], ids=str
)
def test_wire_of_rounded_diameter_has_the_resistance_of_later_tables(gauge, published):
    # From memory of later tables; three figures are all that they give.
    ohms = wire_resistance(gauge, WireTable.ROUNDED) * METRES_IN_1000_FT
    assert float(f"{ohms:.3g}") == pytest.approx(published, rel=2.5e-3)


def test_the_two_tables_differ_by_2_9_percent_at_number_40():
    law, rounded = (wire_resistance(40, table) for table in WireTable)
    assert rounded / law - 1 == pytest.approx(0.029, abs=5e-4)


def test_the_gauge_law_holds_at_its_two_fixed_points():
    assert wire_diameter_mil(36) == pytest.approx(5)
    assert wire_diameter_mil(36) * 92 ** (39 / 39) == pytest.approx(460)


def test_a_doubt_of_one_percent_in_diameter_is_two_in_resistance():
    doubt = wire_resistance_uncertainty(36, 0.05)
    assert doubt / wire_resistance(36) == pytest.approx(0.02)


def test_a_kelvin_of_doubt_is_added_in_quadrature():
    both = wire_resistance_uncertainty(36, 0.05, 1.0) / wire_resistance(36)
    assert both**2 == pytest.approx(0.02**2 + 0.00393**2)


def test_what_is_no_temperature_or_no_gauge_is_refused():
    with pytest.raises(ValueError, match="no temperature"):
        copper_factor(Fraction(-300))
    with pytest.raises(ValueError, match="not one of"):
        wire_resistance(51)


@given(st.fractions(1, 10**7), st.fractions(-50, 200))
def test_warming_and_cooling_give_the_resistance_back(ohms, celsius):
    assert at_reference(ohms * copper_factor(celsius), celsius) == ohms

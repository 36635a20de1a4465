from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.basis.copper import copper_factor
from ledger.basis.electrical import isolated_resistance, side_by_side, without_load
from ledger.basis.quantities import read_measurement

AT_20 = "20 ± 0 °C"


def resistance(value, doubt=None, circuit="", temperature="", **other):
    return isolated_resistance(read_measurement(value, doubt), circuit, temperature, **other)


def test_a_coil_read_across_a_control_has_more_than_it_reads():
    # 7.52 k across 500 k is a coil of 7.63 k: two resistances in parallel, own numbers.
    coil = resistance("7.52 k", None, "across a 500 k control", AT_20)
    assert round(float(coil.ohms) / 1000, 2) == 7.63
    assert "500 kΩ" in coil.corrected[0]
    assert not coil.uncorrected


def test_ten_kelvin_move_a_coil_of_that_kind_by_0_30_k():
    # IEC 60028: 0.393 % a kelvin.
    cold = resistance("7.63 k", None, "isolated", "20 C").ohms
    warm = resistance("7.63 k", None, "isolated", "30 C").ohms
    assert float(cold - warm) / 1000 == pytest.approx(0.29, abs=0.01)
    assert float(Fraction(7630) * (copper_factor(Fraction(30)) - 1)) == pytest.approx(300, abs=0.5)


def test_both_doubts_go_into_the_bounds():
    coil = resistance("7.52 k", "0.02 k", "across a 500 k ± 20 % control", AT_20)
    assert coil.low_ohms == without_load(Fraction(7500), Fraction(600_000))
    assert coil.high_ohms == without_load(Fraction(7540), Fraction(400_000))
    assert coil.doubts == 2


def test_a_control_without_a_tolerance_is_allowed_that_of_practice():
    told = resistance("7.52 k", None, "across a 500 k ± 20 % control", AT_20)
    untold = resistance("7.52 k", None, "across a 500 k control", AT_20)
    assert (untold.low_ohms, untold.high_ohms) == (told.low_ohms, told.high_ohms)
    assert "allowing 20 %" in untold.corrected[0]


def test_the_standard_uncertainty_is_that_of_the_law_of_propagation():
    coil = resistance("7.52 k", "0.02 k", "isolated", AT_20)
    assert coil.uncertainty_ohms == pytest.approx(20 / 3**0.5)


def test_in_circuit_only_the_lower_bound_is_left():
    primary = resistance("262 ohm", "3 ohm", "in circuit", AT_20)
    assert (primary.low_ohms, primary.high_ohms, primary.half_width_ohms) == (259, None, None)
    assert "unknown across it" in primary.uncorrected[0]


def test_an_untold_temperature_widens_a_coil_and_leaves_a_control_alone():
    coil = resistance("7.52 k", "0.02 k", "isolated")
    control = resistance("500 k", "1 k", "isolated", is_copper=False)
    assert coil.low_ohms == Fraction(7500) / copper_factor(Fraction(30))
    assert coil.high_ohms == Fraction(7540) / copper_factor(Fraction(10))
    assert "10 to 30 °C" in coil.uncorrected[0]
    assert (control.low_ohms, control.high_ohms) == (499_000, 501_000)
    assert not control.uncorrected


@pytest.mark.parametrize("temperature", ["warm", "-200 C", "21"], ids=str)
def test_a_temperature_that_cannot_be_used_is_said_to_be_so(temperature):
    coil = resistance("7.52 k", None, "isolated", temperature)
    assert coil.ohms == 7520
    assert len(coil.uncorrected) == 1


def test_a_reading_above_the_control_across_it_is_not_corrected():
    found = resistance("600 k", None, "across 500 k", is_copper=False)
    assert (found.ohms, found.high_ohms) == (600_000, None)
    assert "cannot have read so much" in found.uncorrected[0]


def test_what_is_no_resistance_is_refused():
    with pytest.raises(ValueError, match="no resistance"):
        resistance("42.6 mm")
    with pytest.raises(ValueError, match="greater than 0"):
        side_by_side(Fraction(0))
    with pytest.raises(ValueError, match="less than either"):
        without_load(Fraction(5), Fraction(5))


OHMS = st.fractions(1, 10**6)


@given(OHMS, OHMS)
def test_taking_a_load_out_undoes_putting_it_in(coil, load):
    assert without_load(side_by_side(coil, load), load) == coil


@given(
    st.integers(1, 20_000),
    st.integers(0, 100),
    st.integers(30_000, 10**6),
    st.integers(0, 50),
    st.integers(-10, 60),
)
def test_the_truth_is_within_the_bounds(coil, doubt_percent, load, off_percent, celsius):
    # A coil of known resistance, a control off by less than it says, and a thermometer a kelvin off.
    warm = coil * copper_factor(Fraction(celsius))
    real_load = load * (1 + Fraction(off_percent, 250))
    read = side_by_side(warm, real_load)
    shown = round(float(read), 3)
    found = isolated_resistance(
        read_measurement(f"{shown:.3f} ohm", f"{1 + shown * doubt_percent / 1e4:.3f} ohm"),
        f"across a {load} ohm control",
        f"{celsius + 1} C",
    )
    assert found.low_ohms <= coil
    assert found.high_ohms is None or coil <= found.high_ohms
    assert found.low_ohms <= found.ohms

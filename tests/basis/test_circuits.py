from __future__ import annotations

from contextlib import suppress
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.basis.circuits import read_circuit, read_temperature
from ledger.basis.quantities import QuantityUnreadable


@pytest.mark.parametrize(
    ("text", "ohms"),
    [
        ("across a 500 k control", [500_000]),
        ("Across the 500k volume control", [500_000]),
        ("across 500K", [500_000]),
        ("in parallel with a 1 meg control", [1_000_000]),
        ("across the 500 k volume and the 250 k tone control", [500_000, 250_000]),
        ("across two 500 k controls", [500_000, 500_000]),
        ("loaded by 2 x 250 kΩ", [250_000, 250_000]),
        ("across a 47 ohm resistor", [47]),
        ("one end lifted, then across a 0.5 M control", [500_000]),
    ],
    ids=str,
)
def test_what_lay_across_is_read(text, ohms):
    circuit = read_circuit(text)
    assert circuit.connection == "across"
    assert [load.ohms for load in circuit.loads] == ohms


def test_the_tolerance_of_a_control_is_read_with_it():
    (load,) = read_circuit("across a 500 k ± 10 % control").loads
    assert load.half_width_ohms == 50_000
    assert read_circuit("across a 500 k control").loads[0].half_width_ohms is None


@pytest.mark.parametrize(
    ("text", "connection"),
    [
        ("isolated", "isolated"),
        ("one end lifted at the jack by the owner's leave, volume full", "isolated"),
        ("out of circuit", "isolated"),
        ("not isolated", "in circuit"),
        ("in circuit, valves out, discharged", "in circuit"),
        ("at the jack", "in circuit"),
        ("across the volume control", "in circuit"),
        ("across 0 k", "in circuit"),
        ("", "not told"),
        ("volume full", "not told"),
    ],
    ids=lambda text: text or "nothing",
)
def test_words_of_connection_are_told_apart(text, connection):
    assert read_circuit(text).connection == connection


@pytest.mark.parametrize(
    ("text", "celsius", "half_width"),
    [
        ("21 C", 21, None),
        ("about 21 °C", 21, None),
        ("68 F", 20, None),
        ("21 degrees C", 21, None),
        ("21.5 Celsius", Fraction("21.5"), None),
        ("21 ± 1 °C", 21, 1),
        ("21 ± 0.5 C", 21, Fraction("0.5")),
        ("21 C ± 1 K", 21, 1),
        ("21 °C ± 1", 21, 1),
        ("68 F ± 1 K", 20, 1),
        ("70 ± 1.8 F", Fraction(190, 9), 1),
        ("19 to 23 C", 21, 2),
        ("19-23 °C", 21, 2),
        ("-5 C", -5, None),
    ],
    ids=str,
)
def test_temperatures_are_read(text, celsius, half_width):
    read = read_temperature(text)
    assert read.celsius == celsius
    assert read.half_width_k == half_width


@pytest.mark.parametrize(
    "text", ["warm", "21", "room temperature", "21 k", "C", "21 kelvin C"], ids=str
)
def test_what_is_no_temperature_is_refused(text):
    with pytest.raises(QuantityUnreadable):
        read_temperature(text)


@given(st.text(max_size=200))
def test_any_words_are_read_or_refused(text):
    assert read_circuit(text).connection
    with suppress(QuantityUnreadable):
        assert read_temperature(text)

"""Letter codes, three figures and old words, against the tables of IEC 60062."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.knowledge.component_values import (
    ValueSigns,
    capacitance_code,
    code_readings,
    resistance_code,
)
from ledger.references import ValueSign


@pytest.fixture(scope="module")
def read(packs):
    signs = ValueSigns(packs.rows(ValueSign))
    return lambda text: code_readings(text, signs)


def values(found, quantity):
    return [r.value for r in found if r.quantity == quantity and "figures" not in r.reason[:14]]


# "RKM code", resistance table (Wikipedia, citing IEC 60062).
RESISTANCES = {
    "R47": "0.47",
    "4R7": "4.7",
    "470R": "470",
    "4K7": "4700",
    "47K": "47000",
    "47K3": "47300",
    "470K": "470000",
    "4M7": "4700000",
}
# The same code for capacitance, in picofarads; from memory of IEC 60062.
PICOFARADS = {
    "p33": "0.33",
    "3p3": "3.3",
    "33p": "33",
    "330p": "330",
    "n33": "330",
    "3n3": "3300",
    "33n": "33000",
    "330n": "330000",
    "µ33": "330000",
    "3µ3": "3300000",
    "33µ": "33000000",
    "330µ": "330000000",
    "m33": "330000000",
    "3m3": "3300000000",
}


@pytest.mark.parametrize(("text", "ohms"), RESISTANCES.items(), ids=RESISTANCES)
def test_a_letter_stands_for_point_and_power_of_a_resistance(read, text, ohms):
    found = read(text)
    assert [r.value for r in found if r.quantity == "resistance"] == [Fraction(ohms)]
    assert found[0].source
    assert found[0].references


@pytest.mark.parametrize(("text", "picofarads"), PICOFARADS.items(), ids=PICOFARADS)
def test_a_letter_stands_for_point_and_power_of_a_capacitance(read, text, picofarads):
    farads = Fraction(picofarads) / 10**12
    assert [r.value for r in read(text) if r.quantity == "capacitance"] == [farads]
    assert read(text.replace("µ", "u")) == read(text)
    assert read(text.replace("µ", "\N{GREEK SMALL LETTER MU}")) == read(text)


# Tolerance letters of IEC 60062, from memory.
@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("4K7F", "4653", "4747"),
        ("4K7 G", "4606", "4794"),
        ("4K7J", "4465", "4935"),
        ("4K7K", "4230", "5170"),
        ("4K7M", "3760", "5640"),
        ("4K7N", "3290", "6110"),
        ("10KB", "9990", "10010"),
    ],
    ids=str,
)
def test_a_letter_after_the_value_is_its_tolerance(read, text, low, high):
    (reading,) = [r for r in read(text) if r.quantity == "resistance"]
    assert (reading.low, reading.high) == (Fraction(low), Fraction(high))


def test_a_tolerance_may_lie_more_to_one_side(read):
    # Z is -20 % to +80 %: IEC 60062, from memory.
    (reading,) = read("10nZ")
    assert (reading.low * 10**9, reading.high * 10**9) == (8, 18)


def test_below_ten_picofarads_the_tolerance_is_in_picofarads(read):
    # C is 0.25 pF there and 0.25 % elsewhere: IEC 60062, from memory.
    (small,) = read("4p7C")
    assert (small.low * 10**12, small.high * 10**12) == (Fraction("4.45"), Fraction("4.95"))
    (large,) = read("47pC")
    assert large.high * 10**12 == Fraction("47.1175")


def test_a_letter_of_one_edition_says_so(read):
    (reading,) = [r for r in read("1K0A") if r.quantity == "resistance"]
    assert "before 2016" in reading.reason
    assert "low confidence" in reading.reason


def test_three_figures_on_a_capacitor_are_listed_beside_a_letter_code(read):
    # 104 is 100 nF and 104 K is 104 kilohms by the letter code: both are listed.
    found = read("104K")
    assert [(r.quantity, r.reading) for r in found] == [
        ("resistance", "104 kΩ"),
        ("capacitance", "100 nF ±10 %"),
    ]
    assert [r.reading for r in read("229")] == ["2.2 pF"]
    assert read("000") == []


# Old words: common practice, no source.
@pytest.mark.parametrize(
    ("text", "quantity", "value"),
    [
        (".05 MFD", "capacitance", Fraction(5, 10**8)),
        ("0.1 mfd.", "capacitance", Fraction(1, 10**7)),
        ("250 MMFD", "capacitance", Fraction(25, 10**11)),
        ("500 µµF", "capacitance", Fraction(5, 10**10)),
        ("500 uuf", "capacitance", Fraction(5, 10**10)),
        ("20 MF", "capacitance", Fraction(2, 10**5)),
        ("60 cycles", "frequency", Fraction(60)),
        ("50 c/s", "frequency", Fraction(50)),
        ("455 KC", "frequency", Fraction(455_000)),
        ("60 Hz", "frequency", Fraction(60)),
    ],
    ids=str,
)
def test_an_old_word_is_its_unit(read, text, quantity, value):
    assert [r.value for r in read(text) if r.quantity == quantity] == [value]


def test_cycles_are_told_to_be_no_bound(read):
    assert "no bound" in read("60 cycles")[0].reason


def test_what_is_hardly_ever_made_is_flagged(read):
    (reading,) = [r for r in read("470T") if r.quantity == "resistance"]
    assert not reading.is_plausible
    assert "look again" in reading.reason


@pytest.mark.parametrize("text", ["", "K", "R", "10-7-62", "J8", "hello", "4k7", "47KX9"], ids=str)
def test_what_is_no_value_is_not_read(read, text):
    assert read(text) == []


@given(st.integers(1, 999), st.integers(-2, 6))
def test_a_printed_resistance_is_read_back(read, figure, power):
    value = figure * Fraction(10) ** power
    code = resistance_code(value)
    assert code is not None
    assert value in [r.value for r in read(code) if r.quantity == "resistance"]


@given(st.integers(1, 999), st.integers(-14, -6))
def test_a_printed_capacitance_is_read_back(read, figure, power):
    value = figure * Fraction(10) ** power
    code = capacitance_code(value)
    assert code is not None
    assert value in [r.value for r in read(code) if r.quantity == "capacitance"]


def test_what_has_no_code_of_three_figures_is_not_printed():
    assert resistance_code(Fraction(1, 3)) is None
    assert resistance_code(Fraction(0)) is None
    assert resistance_code(Fraction(10) ** 13) is None


@given(st.text(max_size=200) | st.text("0123456789RKMpnµuJ. mfdMFDcs/", max_size=12))
def test_any_text_is_read_or_not_and_never_fails(read, text):
    for reading in read(text):
        assert reading.low is None or reading.low <= reading.value <= reading.high

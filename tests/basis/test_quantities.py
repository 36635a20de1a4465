"""Figures with units: exact definitions, old spellings, refusals and measurements."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.basis.quantities import (
    MOST_CHARACTERS,
    Quantity,
    QuantityUnreadable,
    quantity_of,
    read_measurement,
    read_quantity,
)
from ledger.basis.units import TWO_MEANINGS, UNIT_NAMES, UNITS


def refusal(text, dimension=None):
    with pytest.raises(QuantityUnreadable) as caught:
        read_quantity(text, dimension)
    return caught.value


@pytest.mark.parametrize(
    ("text", "amount"),
    [
        # NIST Special Publication 811 (2008), appendix B.8 (from memory): exact factors.
        ("1 in", "0.0254"),
        ("1 ft", "0.3048"),
        ("1 mil", "0.0000254"),
        ("1 lb", "0.45359237"),
        ("1 oz", "0.028349523125"),
        # The same publication: kelvin from Celsius and Fahrenheit.
        ("0 °C", "273.15"),
        ("212 °F", "373.15"),
        ("-40 °F", "233.15"),
        ("-40 °C", "233.15"),
        # BIPM, SI prefixes.
        ("1 mm", "0.001"),
        ("7.52 k", "7520"),
        ("1 MΩ", "1000000"),
        ("1 µF", "0.000001"),
        ("60 kHz", "60000"),
    ],
    ids=str,
)
def test_units_have_their_exact_published_size(text, amount):
    assert read_quantity(text).in_base == Fraction(amount)


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        *(("42.60 mm", "42.60 mm"), (".02 mfd", "0.02 µF"), ("42.6mm", "42.6 mm")),
        *(("1 5/8 in", "1.625 in"), ('1 5/8"', "1.625 in"), ("1-5/8 in.", "1.625 in")),
        *(("5/64 in", "0.078125 in"), ("1\u00bd\u2033", "1.5 in"), ("\u215e inch", "0.875 in")),
        *(("3 ft 4 in", "40 in"), ("3'4\"", "40 in"), ("3\u2032 4 1/2\u2033", "40.5 in")),
        *(("3 ft", "3 ft"), ("-1 ft 6 in", "-18 in"), ("7 lb 3 oz", "115 oz")),
        *(("470R", "470 Ω"), ("1M", "1 MΩ"), ("47k", "47 kΩ"), ("4.7 \u2126", "4.7 Ω")),
        *(("470 ohms", "470 Ω"), ("2.2 megohm", "2.2 MΩ"), ("100 kΩ", "100 kΩ")),
        *(("0.1 MFD", "0.1 µF"), ("0.1 uF", "0.1 µF"), ("0.1 \u03bcF", "0.1 µF")),
        *(("500 mmfd", "500 pF"), ("500 uuF", "500 pF"), ("500 µµF", "500 pF")),
        *(("60 c/s", "60 Hz"), ("60 cps", "60 Hz"), ("3.5 mH", "3.5 mH"), ("8 H", "8 H")),
        *(("13.5°", "13.5°"), ("13.5 deg", "13.5°"), ("20 °C", "20 °C"), ("21", "21")),
        *(
            ("\u22125 V", "-5 V"),
            ("+5 mV", "5 mV"),
            ("120 mA", "120 mA"),
            ("290 kelvin", "290 kelvin"),
        ),
    ],
    ids=str,
)
def test_the_trades_ways_of_writing_are_read(text, shown):
    # Spellings such as mfd, mmfd and cps: common practice, no source.
    quantity = read_quantity(text)
    assert str(quantity) == shown
    assert read_quantity(shown) == quantity


def test_old_and_new_names_of_the_same_unit_are_equal():
    assert read_quantity("100 µµF") == read_quantity("100 pF") == read_quantity("100 mmfd")
    assert read_quantity("1000 pF").in_base == read_quantity("1 nF").in_base
    assert read_quantity("12 in").in_base == read_quantity("1 ft").in_base
    assert read_quantity("68 °F").in_base == read_quantity("20 °C").in_base


@pytest.mark.parametrize(
    ("text", "position"),
    [
        *(("", 0), ("mm", 0), ("about 5 mm", 0), ("5 parsec", 2), ("5 mm extra", 5)),
        *(("42,6 mm", 2), ("1e5 Ω", 1), ("1/3 in", 2), ("4/0 in", 2), ("1 5/2048 in", 4)),
        *(("3 ft 13 in", 0), ("3 ft 4", 0), ("3 ft 4 mm", 0), ("3 ft -4 in", 0), ("5 %", 2)),
        *(("3 ft 4 in 5", 10), ("3 ft in", 5), ("7.52 KOHM", 5), ("12 V DC", 5)),
        *(("5 K", 2), ("5 F", 2), ("5 mF", 2), ("5 MF", 2), ("\u0665 mm", 0)),
    ],
    ids=repr,
)
def test_what_is_no_figure_with_a_known_unit_is_refused_at_its_place(text, position):
    fault = refusal(text)
    assert fault.position == position
    assert f"at character {position + 1}: found {fault.found}; expected" in str(fault)


def test_a_text_without_end_is_refused_by_its_length():
    assert refusal("1" * (MOST_CHARACTERS + 1)).found == f"{MOST_CHARACTERS + 1} characters"


def test_letters_with_two_meanings_are_asked_about_unless_the_dimension_is_known():
    assert "kΩ or kelvin" in refusal("470K").advice
    assert str(read_quantity("470K", "resistance")) == "470 kΩ"
    assert str(read_quantity("300 K", "temperature")) == "300 kelvin"
    assert str(read_quantity("72 F", "temperature")) == "72 °F"
    assert str(read_quantity("1 F", "capacitance")) == "1 farad"
    assert refusal("20 mF", "capacitance").advice == "If you mean µF, type that"
    assert refusal("300 K", "length").found == "'K'"


def test_a_unit_in_the_wrong_case_is_answered_with_the_right_one():
    assert refusal("7.52 KOHM").advice == "Type kohm"
    assert refusal("5 HZ").advice == "Type Hz"
    assert refusal("5 parsec").advice == ""


def test_a_quantity_of_another_dimension_than_asked_for_is_refused():
    assert refusal("5 V", "length").expected == "length, not voltage"


def test_a_quantity_is_told_in_another_unit_of_its_dimension():
    assert str(read_quantity('1 5/8"').in_unit("mm")) == "41.275 mm"
    assert str(read_quantity("25 mm").in_unit("in")) == "0.984251968504 in"
    assert str(read_quantity("212 °F").in_unit("°C")) == "100 °C"
    assert str(quantity_of(Fraction(7520), "kΩ")) == "7.52 kΩ"
    with pytest.raises(ValueError, match="V does not measure length"):
        read_quantity("25 mm").in_unit("V")


@pytest.mark.parametrize(
    ("value", "doubt", "shown"),
    [
        ("42.6 ± 0.1 mm", None, "42.6 mm ± 0.1 mm"),
        ("42.6 mm ± 0.1 mm", "", "42.6 mm ± 0.1 mm"),
        ("42.6 mm +/- 0.1", None, "42.6 mm ± 0.1 mm"),
        ("42.6 mm", "0.1 mm", "42.6 mm ± 0.1 mm"),
        ("42.6 mm", "0.1", "42.6 mm ± 0.1 mm"),
        ("42.6 mm", "1 %", "42.6 mm ± 0.426 mm"),
        ("42.6 mm ± 1%", None, "42.6 mm ± 0.426 mm"),
        ("-5 V", "10 %", "-5 V ± 0.5 V"),
        ("7.52 kΩ", "50 ohm", "7.52 kΩ ± 0.05 kΩ"),
        ("3 ft 4 in ± 1/16 in", None, "40 in ± 0.0625 in"),
        ("20 °C", "0.9 °F", "20 °C ± 0.5 °C"),
        ("42.6 mm", "0 mm", "42.6 mm ± 0 mm"),
        ("42.6 mm", None, "42.6 mm"),
        ("42.6 mm", "", "42.6 mm"),
        ("21", "1", "21 ± 1"),
    ],
    ids=str,
)
def test_a_measurement_is_read_with_its_doubt(value, doubt, shown):
    measured = read_measurement(value, doubt)
    assert str(measured) == shown
    assert read_measurement(shown) == measured


def test_a_doubt_that_was_not_told_is_not_zero():
    assert read_measurement("42.6 mm").uncertainty is None
    assert read_measurement("42.6 mm", "0").uncertainty == 0
    assert read_measurement("42.6 mm").low == read_measurement("42.6 mm").high


def test_the_ends_of_a_measurement_are_exact():
    measured = read_measurement("42.6 ± 0.1 mm")
    assert (measured.low, measured.high) == (Fraction("0.0425"), Fraction("0.0427"))
    warm = read_measurement("20 °C ± 0.5 °C")
    assert (warm.low, warm.high) == (Fraction("292.65"), Fraction("293.65"))


@pytest.mark.parametrize(
    ("value", "doubt", "position"),
    [
        ("42.6 ± 0.1 mm", "1 %", 5),
        ("42.6 mm", "-1 mm", 0),
        ("42.6 mm ± -0.1", None, 9),
        ("42.6 mm", "1 V", 0),
        ("42.6 ±", None, 6),
        ("42.6 ± mm", None, 6),
        ("x ± 0.1 mm", None, 0),
        ("42.6 mm", "-1 %", 0),
        ("42.6 mm", "some", 0),
        ("42.6 mm", "1/3", 2),
    ],
    ids=str,
)
def test_a_doubt_that_cannot_be_read_is_refused(value, doubt, position):
    with pytest.raises(QuantityUnreadable) as caught:
        read_measurement(value, doubt)
    assert caught.value.position == position


def test_limits_of_another_dimension_are_no_limits():
    with pytest.raises(ValueError, match=r"5 V is no limit for 42\.6 mm"):
        read_measurement("42.6 mm").against(None, read_quantity("5 V"))


def test_a_measurement_against_limits_in_other_units_is_compared_exactly():
    measured = read_measurement("1 5/8 in ± 1/64 in")
    found = measured.against(read_quantity("41.275 mm"), None)
    assert (found.least, found.is_conflict) == (0, False)
    found = measured.against(None, read_quantity("40.8 mm"))
    assert found.is_conflict
    assert found.in_words("mm") == "above the limits, over by at least 0.475 mm"


NAMES = st.sampled_from(sorted(UNIT_NAMES) + sorted(TWO_MEANINGS))
FIGURES = st.sampled_from(["1", "42.6", "1 5/8", ".5", "5.", "1/3", "-3", "0", "½", "1,5", "± 2"])
ANYTHING = st.one_of(
    st.text(max_size=70),
    st.lists(st.one_of(NAMES, FIGURES, st.sampled_from([" ", "±", "%", "'", "/"])), max_size=8).map(
        "".join
    ),
)
DIMENSIONS = st.sampled_from([None, *sorted({unit.dimension for unit in UNITS.values()})])


def quantity_or_fault(text, dimension):
    try:
        return read_quantity(text, dimension)
    except QuantityUnreadable as fault:
        return fault


@given(ANYTHING, DIMENSIONS)
def test_every_text_gives_a_quantity_or_a_refusal(text, dimension):
    found = quantity_or_fault(text, dimension)
    if isinstance(found, QuantityUnreadable):
        assert found.expected
        assert found.position >= 0
    else:
        assert read_quantity(str(found)) == found
        assert dimension in (None, found.dimension)


@given(ANYTHING, st.one_of(st.none(), ANYTHING))
def test_every_pair_of_texts_gives_a_measurement_or_a_refusal(value, doubt):
    try:
        found = read_measurement(value, doubt)
    except QuantityUnreadable:
        return
    assert found.low <= found.quantity.in_base <= found.high


@given(
    st.decimals(-(10**9), 10**9, allow_nan=False, places=6),
    st.sampled_from(sorted(UNITS)),
)
def test_every_quantity_reads_again_from_its_own_text(value, unit):
    quantity = Quantity(value, unit, UNITS[unit].dimension)
    assert read_quantity(str(quantity)) == quantity
    assert quantity_of(quantity.in_base, unit) == quantity


@given(st.integers(0, 99), st.integers(0, 6), st.integers(0, 63))
def test_fractions_of_an_inch_are_exact(whole, power, top):
    bottom = 2**power
    quantity = read_quantity(f"{whole} {top}/{bottom} in")
    assert Fraction(quantity.value) == whole + Fraction(top, bottom)
    assert quantity.in_base == (whole + Fraction(top, bottom)) * Fraction("0.0254")


@given(st.integers(0, 50), st.decimals(0, Decimal("11.999"), places=3))
def test_feet_and_inches_are_added_exactly(feet, inches):
    assert Fraction(read_quantity(f"{feet} ft {inches} in").value) == feet * 12 + Fraction(inches)

"""Colours on resistors, against the colour table of IEC 60062."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.knowledge.colour_bands import colour_readings
from ledger.knowledge.component_values import ValueSigns
from ledger.references import ValueSign

FIGURES = ["black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white"]
TOLERANCES = {"brown": "1", "red": "2", "green": "0.5", "blue": "0.25", "violet": "0.1"}
TOLERANCES |= {"gold": "5", "silver": "10"}


@pytest.fixture(scope="module")
def read(packs):
    signs = ValueSigns(packs.rows(ValueSign))
    return lambda text: colour_readings(text, signs)


@pytest.mark.parametrize(
    ("text", "reading"),
    [
        # The colour table of IEC 60062, from memory.
        ("yellow violet red gold", "4.7 kΩ ±5 %"),
        ("Yellow-Violet-Red-Gold", "4.7 kΩ ±5 %"),
        ("yellow purple red golden", "4.7 kΩ ±5 %"),
        ("brown black black red brown", "10 kΩ ±1 %"),
        ("brown black orange", "10 kΩ ±20 %"),
        ("brown black orange none", "10 kΩ ±20 %"),
        ("red red gold silver", "2.2 Ω ±10 %"),
        ("green blue silver gold", "0.56 Ω ±5 %"),
        ("brown black black red brown red", "10 kΩ ±1 %, ±50 ppm/K"),
    ],
    ids=str,
)
def test_bands_are_read_from_the_edge(read, text, reading):
    found = read(text)
    shown = {r.reading for r in found if r.is_plain}
    assert shown == {reading}


def test_the_coefficient_is_told_by_the_last_of_six(read):
    # Black 250, brown 100, red 50, orange 15, yellow 25, green 20, blue 10, violet 5, grey 1 in
    # parts per million and kelvin: IEC 60062, from memory.
    expected = [250, 100, 50, 15, 25, 20, 10, 5, 1]
    found = [
        next(r for r in read(f"brown black black red brown {colour}") if r.is_plain)
        for colour in FIGURES[:9]
    ]
    assert [r.coefficient_ppm_per_kelvin for r in found] == expected


def test_grey_is_a_tolerance_of_two_editions_and_both_are_listed(read):
    # 0.01 % by the edition of 2016, 0.05 % before: IEC 60062, from memory.
    found = [r for r in read("yellow violet black red grey") if r.is_plain]
    assert {r.reading for r in found} == {"47 kΩ ±0.01 %", "47 kΩ ±0.05 %"}
    editions = {r.reading[-6:]: "before 2016" in r.reason for r in found}
    assert editions == {"0.01 %": False, "0.05 %": True}


@pytest.mark.parametrize(("colour", "share"), [("orange", "0.05"), ("yellow", "0.02")], ids=str)
def test_orange_and_yellow_are_tolerances_since_2016_only(read, colour, share):
    (reading,) = [r for r in read(f"yellow violet black red {colour}") if r.is_plain]
    assert f"±{share} %" in reading.reading
    assert "2016 and later" in reading.reason


def test_pink_is_a_multiplier_since_2016(read):
    (reading,) = [r for r in read("red red pink gold") if r.is_plain]
    assert reading.value == Fraction(22, 1000)
    assert "2016 and later" in reading.reason


def test_a_row_that_is_hardly_ever_made_is_flagged(read):
    # 33 x 10^9 ohms: the standard's colours allow it and nobody makes it.
    (reading,) = [r for r in read("orange orange white silver") if r.is_plain]
    assert reading.value == 33 * 10**9
    assert not reading.is_plausible


def test_the_other_end_is_listed_and_is_not_plain(read):
    found = read("brown black black red brown")
    backward = [r for r in found if not r.is_plain]
    assert [r.reading for r in backward] == ["120 Ω ±1 %"]
    assert "other end" in backward[0].reason


def test_body_end_and_dot_are_read_in_that_order(read):
    # Body first figure, end second, dot noughts: common practice, no source.
    (reading,) = read("body yellow, end violet, dot orange")
    assert (reading.value, reading.low, reading.high) == (47_000, 37_600, 56_400)
    (four,) = read("body yellow end violet dot orange other end silver")
    assert four.reading == "47 kΩ ±10 %"


@pytest.mark.parametrize(
    "text",
    [
        "",
        "yellow",
        "red red",
        "yellow violet red mauve",
        "gold red red",
        "seven words of no colour at all",
    ],
    ids=str,
)
def test_what_is_no_row_of_colours_is_not_read(read, text):
    assert [r for r in read(text) if r.is_plain] == []


@given(
    st.lists(st.integers(0, 9), min_size=3, max_size=3),
    st.integers(-2, 6),
    st.sampled_from(sorted(TOLERANCES)),
)
def test_printed_bands_are_read_back(read, digits, power, tolerance):
    multiplier = {-1: "gold", -2: "silver"}.get(power) or FIGURES[power]
    bands = [*(FIGURES[digit] for digit in digits), multiplier, tolerance]
    value = int("".join(map(str, digits))) * Fraction(10) ** power
    margin = value * Fraction(TOLERANCES[tolerance]) / 100
    plain = [r for r in read(" ".join(bands)) if r.is_plain]
    assert [(r.value, r.low, r.high) for r in plain] == [(value, value - margin, value + margin)]


@given(st.lists(st.sampled_from([*FIGURES, "gold", "silver", "pink", "none"]), max_size=7))
def test_any_row_of_colours_is_read_or_not_and_never_fails(read, colours):
    for reading in read(" ".join(colours)):
        assert reading.low <= reading.value <= reading.high

"""Stamped and coded dates: every order, century and cycle that the figures allow."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.basis.edtf import read_date
from ledger.basis.spans import iso_date
from ledger.knowledge.production_codes import DateCodes, roman_number
from ledger.references import DateCode


@pytest.fixture(scope="module")
def read(packs):
    codes = DateCodes(packs.rows(DateCode))

    def reader(text, row=None):
        found = [(r.row.id, reading) for r, reading in codes.readings(text)]
        return [reading.reading for name, reading in found if row is None or name == row]

    return reader


@pytest.fixture(scope="module")
def codes(packs):
    return DateCodes(packs.rows(DateCode))


# Year letters A to X without G, I, O and Q over twenty years, and month characters: IEC 60062,
# from memory of the standard.
LETTERS = [letter for letter in "ABCDEFGHIJKLMNOPQRSTUVWX" if letter not in "GIOQ"]


@pytest.mark.parametrize(
    ("text", "days"),
    [
        ("J8", ["1977-08", "1997-08", "2017-08"]),
        ("X1", ["1989-01", "2009-01", "2029-01"]),
        ("UD", ["1986-12", "2006-12", "2026-12"]),
        ("A O", ["1970-10", "1990-10", "2010-10"]),
        ("N5", ["1981-05", "2001-05", "2021-05"]),
    ],
    ids=str,
)
def test_a_letter_and_a_month_have_every_cycle_of_twenty_years(read, text, days):
    assert read(text, "iec-letter-year-month") == days


def test_the_letters_of_the_years_run_over_twenty_years(read):
    for place, letter in enumerate(LETTERS):
        years = [f"{first + place}-03" for first in (1970, 1990, 2010)]
        assert read(f"{letter}3", "iec-letter-year-month") == years
    for letter in "GIOQYZ":
        assert read(f"{letter}3", "iec-letter-year-month") == []


def test_a_figure_and_a_month_have_every_cycle_of_ten_years(read):
    # IEC 60062, the two-character code of ten years; from memory.
    years = [f"{year}-08" for year in range(1955, 2030, 10)]
    assert read("58", "iec-figure-year-month") == years
    assert read("5O", "iec-figure-year-month")[0] == "1955-10"


def test_four_figures_are_a_year_and_a_week_by_iso_8601(codes):
    found = {r.row.id: reading for r, reading in codes.readings("9610")}
    reading = found["iec-year-week"]
    monday = date.fromisocalendar(1996, 10, 1).isoformat()
    assert iso_date(reading.spans.earliest) == monday
    assert "low confidence" in reading.reason


def test_weeks_that_a_year_lacks_are_not_read(read):
    # 1996 has 52 weeks and 1998 has 53: ISO 8601, the usual list of long years.
    assert read("9653", "iec-year-week") == []
    assert read("9853", "iec-year-week") == ["1998, week 53"]
    assert read("9600", "iec-year-week") == []


def test_the_one_character_code_is_told_without_a_date(codes):
    found = {r.row.id: reading for r, reading in codes.readings("K")}
    reading = found["iec-one-character"]
    assert not reading.spans
    assert "not known here" in reading.reason


# Orders of day, month and year: common practice, no source.
@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("10-7-62", {"1862-07-10", "1962-07-10", "1862-10-07", "1962-10-07"}),
        ("10/11/1954", {"1954-11-10", "1954-10-11"}),
        ("25.12.1938", {"1938-12-25"}),
        ("13 14 1950", set()),
        ("29-2-1955", set()),
        ("1962-07-10", {"1962-07-10"}),
        ("1956-07", {"1956-07"}),
        ("11 SEP 1958", {"1958-09-11"}),
        ("SEPT. 14, 1962", {"1962-09-14"}),
        ("Sept 14th, '62", {"1862-09-14", "1962-09-14"}),
        ("June 1938", {"1938-06"}),
        ("31 JUN 1938", set()),
        ("12.VI.1954", {"1954-06-12"}),
        ("MCMLIV", {"1954"}),
        ("MDCCXLIII", {"1743"}),
        ("WK 12 1962", {"1962, week 12"}),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_a_stamp_has_every_order_that_the_calendar_allows(read, text, expected):
    assert set(read(text)) == expected


def test_two_figures_below_32_beside_a_month_may_be_a_day(codes):
    found = {r.row.id for r, _ in codes.readings("JUN 12")}
    assert found == {"month-word-low-year"}


def test_month_letters_are_read_with_and_without_the_letter_i(read):
    # Which of the two a maker used: common practice, no source.
    assert read("K62", "month-letter-all-letters") == ["1962-11"]
    assert read("K62", "month-letter-without-i") == ["1962-10"]
    assert read("I62", "month-letter-without-i") == []


def test_a_glyph_in_doubt_is_every_glyph_it_may_be(read):
    assert read("J[38]", "iec-letter-year-month") == [
        f"{year}-{month}" for year in (1977, 1997, 2017) for month in ("03", "08")
    ]
    assert read("1? SEP 1958", "day-month-word-year") == [f"1958-09-{d}" for d in range(10, 20)]
    (many,) = read("1? SEP 19[567]?", "day-month-word-year")
    assert many == "one of 300 dates from 1950 to 1979"
    assert read("??-??-????") == []


@pytest.mark.parametrize(
    ("text", "number"),
    # The usual rules of subtraction, and the long form met on title pages: common practice, no source.
    [
        ("I", 1),
        ("IV", 4),
        ("XLII", 42),
        ("MCMLIV", 1954),
        ("MDCCCCX", 1910),
        ("MMXXVI", 2026),
        ("IIX", None),
        ("VX", None),
        ("", None),
        ("ABC", None),
    ],
    ids=str,
)
def test_roman_numerals_are_read_in_their_usual_forms(text, number):
    assert roman_number(text) == number


def _roman(number):
    signs = ("M", 1000), ("CM", 900), ("D", 500), ("CD", 400), ("C", 100), ("XC", 90), ("L", 50)
    signs += ("XL", 40), ("X", 10), ("IX", 9), ("V", 5), ("IV", 4), ("I", 1)
    written = ""
    for sign, value in signs:
        written += sign * (number // value)
        number %= value
    return written


@given(st.integers(1, 3999))
def test_a_printed_roman_numeral_is_read_back(number):
    assert roman_number(_roman(number)) == number


@given(st.dates(date(1850, 1, 1), date(2029, 12, 31)), st.sampled_from("-/. "))
def test_a_printed_stamp_is_among_its_readings(codes, day, mark):
    months = ["JAN", "FEB", "MAR", "APR", "MAY", "JUN", "JUL", "AUG", "SEP", "OCT", "NOV", "DEC"]
    for text in (
        f"{day.day}{mark}{day.month}{mark}{day.year}",
        f"{day.month}{mark}{day.day}{mark}{day.year}",
        f"{day.year}{mark}{day.month}{mark}{day.day}",
        f"{day.day:02d}{mark}{day.month:02d}{mark}{day.year % 100:02d}",
        f"{day.day} {months[day.month - 1]} {day.year}",
        f"{months[day.month - 1]} {day.day}, {day.year % 100:02d}",
    ):
        assert day.isoformat() in {reading.reading for _, reading in codes.readings(text)}, text


@given(st.text("0123456789ABJKXMCVI-/. ", max_size=12))
def test_a_reading_without_a_week_is_a_date_of_the_standard_format(codes, text):
    for row, reading in codes.readings(text):
        assert not reading.is_used
        if reading.spans and "week" not in reading.reading and "one of" not in reading.reading:
            assert read_date(reading.reading).spans == reading.spans, (row.id, reading.reading)


@given(st.text(max_size=200))
def test_any_text_is_read_or_not_and_never_fails(codes, text):
    for _, reading in codes.readings(text):
        assert reading.reason

"""Source-date codes, held against the register's own example and against enumeration."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.basis.spans import iso_date, register_week
from ledger.knowledge.packs import Packs, built_in_packs
from ledger.knowledge.source_dates import Place, source_date_readings
from ledger.references import SourceCode


def used(text, packs):
    return [r for r in source_date_readings(text, packs) if r.is_used]


@pytest.mark.parametrize("text", ["113-9910", "1139910", "113 99 10", "113.99.10"])
def test_the_example_of_the_register_gives_the_days_it_prints(packs, text):
    # Electronic Components Industry Association, "EIA Source Codes" (ecianow.org):
    # 113-9910 is 1999, week 10, March 7-13.
    reading, *others = source_date_readings(text, packs)
    assert all("of 4 figures" in r.reason and not r.is_used for r in others)
    assert reading.reading == "1999, week 10"
    assert str(reading.spans) == "1999-03-07/1999-03-13"
    assert reading.reference == "standards/source-date-3-2-2"
    assert "Electronic Components Industry Association" in reading.source
    assert reading.is_used
    assert reading.bears_on == "made"


def test_one_digit_of_the_year_lists_every_decade_and_prefers_none(packs):
    readings = used("220542", packs)
    assert [r.reading for r in readings] == [f"{y}, week 42" for y in (1945, 1955, 1965)]
    for reading in readings:
        assert reading.is_plain
        assert "does not tell the decade" in reading.reason
    assert "1945, 1965 fit as well" in readings[1].reason


@pytest.mark.parametrize("week", ["00", "54", "58", "77", "99"])
def test_an_impossible_week_gives_no_date(packs, week):
    readings = source_date_readings(f"912 6{week}", packs)
    assert readings
    assert not any(r.is_used for r in readings)
    assert readings[0].is_plain
    assert not readings[0].spans
    assert "must be read again" in readings[0].reason


def test_the_likely_misreadings_of_week_58_are_shown_and_not_used(packs):
    # 8 for 0 and 8 for 3: common practice, no source.
    misread = [r for r in source_date_readings("912 658", packs) if not r.is_plain]
    assert sorted(r.reading for r in misread) == [
        "1946, week 50",
        "1956, week 50",
        "1956, week 53",
        "1966, week 50",
    ]
    for reading in misread:
        assert not reading.is_used
        assert reading.spans
        assert "must be read again" in reading.reason


def test_week_53_of_1956_is_there_by_one_rule_alone_and_says_so(packs):
    readings = source_date_readings("912 653", packs)
    (reading,) = [r for r in readings if r.is_used]
    assert reading.reading == "1956, week 53"
    assert "by one rule alone" in reading.reason
    # 1946 began on a Tuesday and 1966 on a Saturday: neither has a week 53 by either rule.
    assert date(1946, 1, 1).strftime("%A") == "Tuesday"
    assert date(1966, 1, 1).strftime("%A") == "Saturday"
    absent = [r for r in readings if not r.is_used]
    assert [r.reading for r in absent] == ["1946, week 53", "1966, week 53"]
    assert all(r.is_plain and not r.spans for r in absent)


def test_a_six_digit_code_of_the_cases_has_its_week_in_each_decade(packs):
    readings = used("912-611", packs)
    starts = [iso_date(r.spans.earliest) for r in readings]
    assert starts == ["1946-03-10", "1956-03-11", "1966-03-13"]


def test_a_seven_digit_code_is_of_one_year(packs):
    (reading,) = used("912 6614", packs)
    assert str(reading.spans) == "1966-04-03/1966-04-09"


def test_a_glyph_in_doubt_is_read_every_way_that_is_possible(packs):
    weeks = {r.reading[-2:] for r in used("912 6?1", packs)}
    assert weeks == {"01", "11", "21", "31", "41", "51"}
    (reading,) = used("137 66[38]3", packs)
    assert reading.reading == "1966, week 33"
    assert "week 83 as well, which no year has" in reading.reason


def test_where_the_weeks_are_too_many_each_year_is_one_reading(packs):
    readings = used("912 6??", packs)
    assert [r.reading[:4] for r in readings] == ["1946", "1956", "1966"]


@pytest.mark.parametrize("text", ["912 ???", "912 ????", "??? ???", "??? ????"])
def test_where_too_little_is_legible_no_date_is_given(packs, text):
    (reading,) = source_date_readings(text, packs)
    assert not reading.is_used
    assert not reading.spans
    assert "Too little" in reading.reason


def test_a_year_that_the_layout_never_had_gives_no_date(packs):
    readings = source_date_readings("912 3014", packs)
    assert not any(r.is_used for r in readings)
    assert "No year from 1950 to 2001 ends in 30" in readings[0].reason


def test_a_maker_is_named_no_more_surely_than_the_list_it_is_from(packs):
    def told(code):
        return source_date_readings(f"{code} 6614", packs)[0].reason

    assert "220 stands for" in told("220")
    assert "134 is listed as" in told("134")
    assert "101 may be" in told("101")
    assert "not a fact" in told("101")
    assert "No list at hand names the source 912" in told("912")
    assert "no maker is named" in told("9?2")


@pytest.mark.parametrize(
    "text",
    ["", "912", "9126", "91266141", "9-12611", "A12611", "912/611", "1956-07-15", "4213"],
    ids=lambda text: text or "nothing",
)
def test_what_is_no_source_date_code_has_no_reading(packs, text):
    assert source_date_readings(text, packs) == ()


@given(st.text(max_size=200))
def test_any_text_is_read_or_not_and_never_fails(packs, text):
    for reading in source_date_readings(text, packs):
        assert reading.reason
        assert reading.is_plain or not reading.is_used
        assert reading.spans or not reading.is_used


@given(
    st.integers(100, 999),
    st.lists(
        st.sampled_from(["0", "1", "3", "5", "8", "?", "[38]", "[05]"]), min_size=3, max_size=4
    ),
)
def test_the_days_used_are_those_found_by_trying_every_year_and_week(packs, source, glyphs):
    first, last = (1940, 1969) if len(glyphs) == 3 else (1950, 2001)
    options = [{"?": "0123456789"}.get(g, g.strip("[]")) for g in glyphs]
    if all(len(option) == 10 for option in options) or sum(len(o) > 1 for o in options) > 3:
        return
    days = set()
    for year in range(first, last + 1):
        for week in range(1, 54):
            written = f"{year}"[-(len(glyphs) - 2) :] + f"{week:02d}"
            found = register_week(year, week)
            if found and all(c in o for c, o in zip(written, options, strict=True)):
                days.update(range(found[0].earliest, found[0].latest + 1))
    readings = used(f"{source} {''.join(glyphs)}", packs)
    told = {d for r in readings for s in r.spans for d in range(s.earliest, s.latest + 1)}
    assert told == days


def test_two_controls_of_1954_read_as_weeks_8_and_23_with_the_other_decades_beside(packs):
    # Weeks and days: common practice, no source; the days follow from the register's example.
    first = {r.reading: r for r in used("134-408", packs)}
    second = {r.reading: r for r in used("137423", packs)}
    assert list(first) == [f"{year}, week 08" for year in (1944, 1954, 1964)]
    assert list(second) == [f"{year}, week 23" for year in (1944, 1954, 1964)]
    eighth, later = first["1954, week 08"].spans, second["1954, week 23"].spans
    assert iso_date(eighth.earliest) == "1954-02-21"
    assert iso_date(later.earliest) == "1954-06-06"
    assert later.earliest - eighth.earliest == 15 * 7


def test_seven_figures_divide_in_two_ways_and_both_are_listed(packs):
    # 137-66-33 and its other division: the ambiguity follows from sources above 999.
    found = source_date_readings("1376633", packs)
    assert [r.reading for r in found if r.is_used] == ["1966, week 33"]
    others = [r for r in found if not r.is_used]
    assert [r.reading for r in others] == [f"{y}, week 33" for y in (1946, 1956, 1966)]
    assert all("1376 6 33" in r.reason and r.is_plain and r.spans for r in others)
    assert all("no list names it" in r.reason for r in others)


def test_a_source_of_two_figures_is_used_where_a_list_names_it(packs):
    # Label 67 -01 12A is 2001, week 12: the maker's own answers to questions (eminence.com).
    (reading,) = source_date_readings("67 -01 12A", packs)
    assert (reading.reading, reading.is_used) == ("2001, week 12", True)
    assert "The letter A after the week is no part of the date" in reading.reason
    assert "Eminence" in reading.reason
    both = used("670112", packs)
    assert [r.reading for r in both] == [
        "1941, week 12",
        "1951, week 12",
        "1961, week 12",
        "2001, week 12",
    ]


def test_a_source_of_two_figures_is_not_used_where_no_component_is(packs):
    (reading,) = source_date_readings("67 01 12", packs, place=Place("neck"))
    assert not reading.is_used
    assert "not expected here" in reading.reason


def test_a_pack_that_names_a_source_of_four_figures_has_it_used(packs, pack_from):
    assert used("1376-633", packs) == []
    text = """
pack: mine
title: Mine
version: "1"
source_codes:
  - {id: a, source: invented, confidence: low, code: "1376", company: Invented, parts: parts}
"""
    more = Packs.of((*built_in_packs(), pack_from(text)))
    found = used("1376-633", more)
    assert [r.reading for r in found] == [f"{y}, week 33" for y in (1946, 1956, 1966)]
    assert "may be Invented" in found[0].reason
    assert "not a fact" in found[0].reason


def test_no_source_is_told_more_surely_than_its_row(packs):
    for row in packs.rows(SourceCode):
        told = {"high": "stands for", "medium": "is listed as", "low": "may be"}
        code = f"{row.row.code}-6-14" if len(row.row.code) > 2 else f"{row.row.code}-66-14"
        reason = source_date_readings(code, packs)[0].reason
        assert told[row.row.confidence] in reason
        assert ("not a fact" in reason) == (row.row.confidence == "low")


def test_letters_are_figures_only_where_asked_and_are_never_used(packs):
    assert source_date_readings("9126I1", packs) == ()
    found = source_date_readings("9126I1", packs, place=Place(takes_letters=True))
    assert [r.reading for r in found] == [f"{y}, week 11" for y in (1946, 1956, 1966)]
    assert not any(r.is_used or r.is_plain for r in found)
    assert "the letter I is the figure 1" in found[0].reason


def test_week_and_year_exchanged_come_after_single_misreadings(packs):
    found = source_date_readings("912 256", packs)
    assert not any(r.is_used for r in found)
    kinds = ["stands before" in r.reason for r in found if not r.is_plain]
    assert kinds == sorted(kinds)
    swapped = [r.reading for r in found if "stands before" in r.reason]
    assert swapped == [f"{y}, week 25" for y in (1946, 1956, 1966)]


def test_a_mark_read_upside_down_is_offered_last(packs):
    # 168 619 turned is 619 891, so the impossible 619 891 may be 168 619.
    found = source_date_readings("619 891", packs)
    turned = [r for r in found if "upside down" in r.reason]
    assert [r.reading for r in turned] == [f"{y}, week 19" for y in (1946, 1956, 1966)]
    assert found[-len(turned) :] == tuple(turned)
    assert not any(r.is_used for r in found)


def test_a_possible_code_has_no_alternatives(packs):
    assert all(r.is_plain for r in source_date_readings("912 611", packs))


@given(st.integers(0, 999), st.integers(1950, 1999), st.integers(1, 52))
def test_a_printed_code_is_read_back(packs, source, year, week):
    for code in (
        f"{source:03d}-{year % 100:02d}{week:02d}",
        f"{source:03d}{year % 100:02d}{week:02d}",
    ):
        readings = [r for r in used(code, packs) if r.reference.endswith("3-2-2")]
        assert [r.reading for r in readings] == [f"{year}, week {week:02d}"]


@given(st.text("0123456789BSZIO?[] -.", max_size=40))
def test_what_looks_like_a_code_never_fails(packs, text):
    for reading in source_date_readings(text, packs, place=Place(takes_letters=True)):
        assert reading.is_plain or not reading.is_used
        assert reading.spans or not reading.is_used

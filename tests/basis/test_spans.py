"""Spans of days against day-by-day sets, the datetime module and published week tables."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.basis.spans import (
    EVER,
    NO_DAY,
    REGISTER_RULES,
    Span,
    Spans,
    WeekRule,
    calendar_date,
    day_number,
    days_in_month,
    first_day_of_week_one,
    is_leap,
    iso_date,
    register_week,
    span_of_month,
    span_of_week,
    span_of_year,
    weeks_in_year,
)

# Beyond this window every span of the strategies below is constant, so sets of its days are
# a full picture of a union, open ends included.
WINDOW = range(-40, 41)
ENDS = st.one_of(st.none(), st.integers(-30, 30))


@st.composite
def spans(draw):
    earliest, latest = draw(ENDS), draw(ENDS)
    if earliest is not None and latest is not None and latest < earliest:
        earliest, latest = latest, earliest
    return Span(earliest, latest)


UNIONS = st.lists(spans(), max_size=6).map(Spans.of)


def days_of(union):
    return {day for day in WINDOW if day in union}


@given(st.lists(spans(), max_size=6))
def test_a_union_holds_just_the_days_of_its_spans_in_order_and_apart(parts):
    union = Spans.of(parts)
    assert days_of(union) == {day for day in WINDOW if any(day in part for part in parts)}
    for left, right in zip(union.parts, union.parts[1:], strict=False):
        assert left.latest is not None
        assert right.earliest is not None
        assert left.latest + 1 < right.earliest
    assert Spans.of(union) == union
    assert bool(union) == bool(parts)


@given(UNIONS, UNIONS)
def test_union_intersection_and_complement_are_those_of_sets(one, two):
    assert days_of(one.union(two)) == days_of(one) | days_of(two)
    assert days_of(one.intersection(two)) == days_of(one) & days_of(two)
    assert days_of(one.complement()) == set(WINDOW) - days_of(one)


@given(UNIONS, UNIONS, UNIONS)
def test_the_laws_of_set_algebra_hold_exactly(one, two, three):
    assert one.union(two) == two.union(one)
    assert one.intersection(two) == two.intersection(one)
    assert one.union(two).union(three) == one.union(two.union(three))
    assert one.intersection(two).intersection(three) == one.intersection(two.intersection(three))
    assert one.intersection(two.union(three)) == one.intersection(two).union(
        one.intersection(three)
    )
    assert one.union(one.intersection(two)) == one
    assert one.complement().complement() == one
    assert one.union(two).complement() == one.complement().intersection(two.complement())
    assert one.union(one.complement()) == EVER
    assert one.intersection(one.complement()) == NO_DAY
    assert one.union(NO_DAY) == one == one.intersection(EVER)


@given(spans(), spans())
def test_the_intersection_of_two_spans_holds_their_common_days(one, two):
    common = one.intersection(two)
    assert {day for day in WINDOW if day in one and day in two} == {
        day for day in WINDOW if common is not None and day in common
    }


@given(UNIONS, st.integers(0, 5), st.integers(0, 5))
def test_widening_reaches_the_days_that_are_near_enough(union, before, after):
    near = {
        day
        for day in range(-30, 31)
        if any(day + shift in union for shift in range(-after, before + 1))
    }
    assert days_of(union.widened(before, after)) & set(range(-30, 31)) == near


@given(UNIONS)
def test_the_ends_of_a_union_are_those_of_its_days(union):
    days = days_of(union)
    if not days:
        assert union.earliest is None
        assert union.latest is None
        return
    assert (union.earliest or WINDOW[0]) == min(days) or union.earliest == 0 == min(days)
    assert (WINDOW[-1] if union.latest is None else union.latest) == max(days)


def test_a_span_cannot_end_before_it_begins():
    with pytest.raises(
        ValueError, match=r"cannot end on 1956-07-14 before it begins on 1956-07-15"
    ):
        Span(day_number(1956, 7, 15), day_number(1956, 7, 14))


def test_open_ends_and_no_days_are_shown_in_words():
    assert str(EVER) == "../.."
    assert str(NO_DAY) == "no day"
    assert str(Spans.between(day_number(1956, 2, 29), None)) == "1956-02-29/.."
    assert list(Spans.between(1, 2)) == [Span(1, 2)]


@given(st.dates())
def test_a_day_number_is_the_ordinal_of_the_datetime_module(day):
    number = day_number(day.year, day.month, day.day)
    assert number == day.toordinal()
    assert calendar_date(number) == (day.year, day.month, day.day)
    assert iso_date(number) == day.isoformat()


@given(st.integers(-(10**9), 10**9))
def test_every_day_number_is_a_calendar_day_and_the_next_one_follows(number):
    year, month, day = calendar_date(number)
    assert day_number(year, month, day) == number
    after = (year, month, day + 1)
    if day == days_in_month(year, month):
        after = (year, month + 1, 1) if month < 12 else (year + 1, 1, 1)
    assert calendar_date(number + 1) == after


@pytest.mark.parametrize(
    ("year", "month", "day"),
    [(1900, 2, 29), (2003, 2, 29), (2005, 4, 31), (2005, 13, 1), (2005, 0, 1), (2005, 1, 0)],
    ids=str,
)
def test_a_day_that_the_calendar_lacks_is_refused(year, month, day):
    with pytest.raises(ValueError, match=r"there is no month|has no day"):
        day_number(year, month, day)


def test_leap_years_follow_the_gregorian_rule_before_the_year_1_too():
    # ISO 8601: proleptic Gregorian calendar with a year 0000, which is a leap year.
    assert [is_leap(year) for year in (1896, 1900, 2000, 2001, 0, -4, -100, -400)] == [
        *(True, False, True, False, True, True, False, True)
    ]
    assert iso_date(day_number(0, 2, 29)) == "0000-02-29"
    assert iso_date(day_number(-99, 1, 1)) == "-0099-01-01"
    assert day_number(0, 12, 31) == 0


def test_years_and_months_are_whole():
    assert str(span_of_year(1956)) == "1956-01-01/1956-12-31"
    assert str(span_of_month(1956, 2)) == "1956-02-01/1956-02-29"


# ISO 8601 and the test list usually published with it; the figures from memory, confirmed
# against the datetime module in the same test.
ISO_53_WEEK_YEARS = (
    *(1903, 1908, 1914, 1920, 1925, 1931, 1936, 1942, 1948, 1953, 1959, 1964, 1970, 1976),
    *(1981, 1987, 1992, 1998, 2004, 2009, 2015, 2020, 2026, 2032, 2037, 2043, 2048),
)
ISO_WEEK_DAYS = {
    "1977-01-01": (1976, 53, 6),
    "1977-01-02": (1976, 53, 7),
    "1977-12-31": (1977, 52, 6),
    "1978-01-01": (1977, 52, 7),
    "1978-01-02": (1978, 1, 1),
    "1979-12-31": (1980, 1, 1),
    "1980-12-28": (1980, 52, 7),
    "1980-12-29": (1981, 1, 1),
    "1981-12-31": (1981, 53, 4),
    "1982-01-03": (1981, 53, 7),
    "2005-01-01": (2004, 53, 6),
    "2005-12-31": (2005, 52, 6),
    "2006-01-01": (2005, 52, 7),
    "2007-12-31": (2008, 1, 1),
    "2008-12-29": (2009, 1, 1),
    "2010-01-03": (2009, 53, 7),
    "1985-04-12": (1985, 15, 5),
}
ISO_WEEK_SPANS = {
    (1956, 32): "1956-08-06/1956-08-12",
    (1964, 53): "1964-12-28/1965-01-03",
    (1965, 1): "1965-01-04/1965-01-10",
    (1966, 20): "1966-05-16/1966-05-22",
    (1970, 53): "1970-12-28/1971-01-03",
}


@pytest.mark.parametrize(("date", "week_day"), ISO_WEEK_DAYS.items(), ids=ISO_WEEK_DAYS)
def test_published_iso_week_dates_are_met(date, week_day):
    year, week, weekday = week_day
    span = span_of_week(year, week, WeekRule.ISO)
    assert span is not None
    assert iso_date(span.earliest + weekday - 1) == date
    assert dt.date.fromisoformat(date).isocalendar() == week_day


@pytest.mark.parametrize(("year_week", "days"), ISO_WEEK_SPANS.items(), ids=ISO_WEEK_SPANS.values())
def test_published_iso_week_spans_are_met(year_week, days):
    assert str(span_of_week(*year_week, WeekRule.ISO)) == days


def test_the_published_years_of_53_iso_weeks_are_met():
    found = tuple(year for year in range(1900, 2051) if weeks_in_year(year, WeekRule.ISO) == 53)
    assert found == ISO_53_WEEK_YEARS
    assert span_of_week(1960, 53, WeekRule.ISO) is None
    assert span_of_week(1960, 0, WeekRule.ISO) is None


@given(st.dates(dt.date(2, 1, 1), dt.date(9998, 12, 31)))
def test_iso_weeks_are_those_of_the_datetime_module(day):
    year, week, _ = day.isocalendar()
    span = span_of_week(year, week, WeekRule.ISO)
    assert span is not None
    assert day.toordinal() in span


@given(st.integers(-2000, 4000), st.sampled_from(WeekRule))
def test_the_weeks_of_a_year_adjoin_and_end_where_the_next_year_begins(year, rule):
    count = weeks_in_year(year, rule)
    assert count in (52, 53)
    weeks = [span_of_week(year, week, rule) for week in range(1, count + 1)]
    assert weeks[0].earliest == first_day_of_week_one(year, rule)
    assert Spans.of(weeks).parts == (
        Span(first_day_of_week_one(year, rule), first_day_of_week_one(year + 1, rule) - 1),
    )
    assert span_of_week(year, count + 1, rule) is None


def day_by_day_first(year, rule):
    """The first Sunday-to-Saturday week of the year, found by counting its days."""
    # A Sunday week that holds the first Thursday has that day, Friday and Saturday in the year.
    days = {WeekRule.FIRST_THURSDAY: 3, WeekRule.FOUR_DAYS: 4, WeekRule.FULL_WEEK: 7}
    wanted = days[rule]
    for first in range(day_number(year) - 6, day_number(year) + 14):
        is_sunday = dt.date.fromordinal(first).isoweekday() == 7
        inside = sum(calendar_date(day)[0] == year for day in range(first, first + 7))
        if is_sunday and inside >= wanted:
            return first
    raise AssertionError


@pytest.mark.parametrize("rule", REGISTER_RULES, ids=lambda rule: rule.name)
def test_the_first_week_under_the_register_rules_is_found_day_by_day(rule):
    for year in range(1900, 2101):
        assert first_day_of_week_one(year, rule) == day_by_day_first(year, rule)


def test_the_worked_example_of_the_register_is_met_under_every_rule():
    # ecianow.org, "EIA Source Codes": 113-9910 is week 10 of 1999, March 7 to 13.
    for rule in REGISTER_RULES:
        assert str(span_of_week(1999, 10, rule)) == "1999-03-07/1999-03-13"
    span, rules = register_week(1999, 10)
    assert str(span) == "1999-03-07/1999-03-13"
    assert rules == REGISTER_RULES
    # ISO weeks do not fit the example.
    assert str(span_of_week(1999, 10, WeekRule.ISO)) == "1999-03-08/1999-03-14"


def test_the_published_years_of_53_weeks_from_sunday_are_met():
    # CDC, "MMWR Weeks": Sunday to Saturday, week 1 the first with at least four days in the
    # year; the years from memory of its week calendars.
    published = (1992, 1997, 2003, 2008, 2014, 2020, 2025)
    rule = WeekRule.FOUR_DAYS
    assert tuple(year for year in range(1987, 2031) if weeks_in_year(year, rule) == 53) == published


def test_a_week_from_sunday_is_not_the_iso_week_of_the_next_day_in_every_year():
    # The shifted ISO week goes to the year of its Thursday, with three days of it enough: a
    # year that begins on a Thursday, such as 1942, then starts a week earlier.
    shifted = {1942, 1948, 1953, 1959, 1964, 1970, 1976, 1981, 1987, 1992, 1998}
    iso, four = WeekRule.ISO, WeekRule.FOUR_DAYS
    thursday = WeekRule.FIRST_THURSDAY
    assert {year for year in range(1940, 2002) if weeks_in_year(year, thursday) == 53} == shifted
    assert {year for year in range(1940, 2002) if weeks_in_year(year, iso) == 53} == shifted
    for year in range(1900, 2101):
        begins_on_thursday = dt.date(year, 1, 1).isoweekday() == 4
        later = first_day_of_week_one(year, four) - (first_day_of_week_one(year, iso) - 1)
        assert later == (7 if begins_on_thursday else 0)


@pytest.mark.parametrize(
    ("year", "week", "first"),
    [(1954, 8, "1954-02-21"), (1954, 23, "1954-06-06"), (1956, 29, "1956-07-15")],
    ids=["1954-8", "1954-23", "1956-29"],
)
def test_weeks_where_both_rules_agree_are_seven_days(year, week, first):
    # Arithmetic on the register's rule, no published value.
    span, rules = register_week(year, week)
    assert iso_date(span.earliest) == first
    assert span.latest == span.earliest + 6
    assert dt.date.fromisoformat(first).isoweekday() == 7
    assert rules == REGISTER_RULES


def test_where_the_rules_differ_both_weeks_are_covered():
    # 1957 began on a Tuesday: its week 1 began on 1956-12-30 or on 1957-01-06.
    span, rules = register_week(1957, 1)
    assert str(span) == "1956-12-30/1957-01-12"
    assert rules == REGISTER_RULES


def test_a_week_53_that_one_rule_knows_names_that_rule_only():
    for year in range(1940, 2002):
        knowing = tuple(rule for rule in REGISTER_RULES if weeks_in_year(year, rule) == 53)
        found = register_week(year, 53)
        assert (found[1] if found else ()) == knowing
    assert register_week(1956, 0) is None
    assert register_week(1956, 54) is None

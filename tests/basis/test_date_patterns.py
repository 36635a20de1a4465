"""Digits with gaps and parts of the year."""

import pytest

from ledger.basis.date_patterns import MOST_PARTS, days_like, days_of_part, numbers_like, years_like
from ledger.basis.spans import NO_DAY, span_of_year


def test_numbers_and_years_fill_every_gap_in_order():
    assert numbers_like("X2", 12) == [2, 12]
    assert numbers_like("3X", 31) == [30, 31]
    assert numbers_like("00", 31) == []
    assert list(years_like("19X6")) == [1906 + 10 * n for n in range(10)]
    assert list(years_like("XXXX")) == list(range(10_000))
    assert list(years_like("-000X")) == list(range(-9, 0))


def test_whole_years_and_months_join_into_single_spans():
    assert days_like("195X", "XX", "XX")[0].parts[0].earliest == span_of_year(1950).earliest
    assert len(days_like("195X", "XX", "XX")[0].parts) == 1
    assert len(days_like("19X6", "XX", "XX")[0].parts) == 10
    assert len(days_like("1956", "XX", "XX")[0].parts) == 1


def test_a_day_no_month_has_gives_no_days():
    assert days_like("XXXX", "02", "30") == (NO_DAY, False)
    assert days_like("1900", "02", "29") == (NO_DAY, False)


def test_a_union_at_the_limit_is_kept_and_one_beyond_it_is_not():
    spans, is_hull = days_like("19XX", "XX", "25")
    assert (len(spans.parts), is_hull) == (MOST_PARTS, False)
    spans, is_hull = days_like("1XXX", "XX", "25")
    assert (len(spans.parts), is_hull) == (1, True)


@pytest.mark.parametrize("code", range(21, 42), ids=str)
def test_every_part_of_the_year_touches_its_year(code):
    spans, is_hull = days_of_part("2001", code)
    year = span_of_year(2001)
    assert not is_hull
    assert all(part.intersection(year) or code in (22, 24, 28, 30) for part in spans)
    assert any(part.intersection(year) for part in spans)

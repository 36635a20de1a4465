"""What stands on the time axis: the gaps in custody."""

from __future__ import annotations

from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st


def gaps(weigh_sheet, *held):
    """The gaps that the report names, with holders in the given years (begin, end)."""
    sources = [{"id": "talk", "kind": "testimony", "title": "A talk"}]
    custody = [
        {
            "id": f"held-{i}",
            "source": "talk",
            "holder": f"Holder {i}",
            **({"begins": begins} if begins else {}),
            **({"ends": ends} if ends else {}),
        }
        for i, (begins, ends) in enumerate(held)
    ]
    report = weigh_sheet(sources=sources, custody=custody).report
    return [(item.begins, item.ends) for item in report.timeline if item.id.startswith("time.gap.")]


@pytest.mark.parametrize(
    ("held", "expected"),
    [
        ([("1931", "1959"), ("1988", "2001")], [("1960-01-01", "1987-12-31")]),
        ([("1931", "1959"), ("1988", None)], [("1960-01-01", "1987-12-31")]),
        ([(None, "1959"), ("1988", "2001")], [("1960-01-01", "1987-12-31")]),
        ([("1931", None), ("1988", "2001")], [("1932-01-01", "1987-12-31")]),
        ([("1931", "1990"), ("1940", "1950"), ("1995", "1999")], [("1991-01-01", "1994-12-31")]),
        ([("1931", "1959"), ("1960", "2001")], []),
        ([("1931/..", None), ("1988", "2001")], []),
        ([("1931", "1959"), (None, None)], []),
    ],
    ids=[
        "both ends told",
        "the last still holds it",
        "the first begin is not told",
        "nothing is told after a begin",
        "one within another",
        "no gap",
        "held from then on",
        "a holder without dates",
    ],
)
def test_a_gap_is_named_wherever_nothing_is_told_for_more_than_a_year(weigh_sheet, held, expected):
    assert gaps(weigh_sheet, *held) == expected


def test_the_gap_is_asked_about_in_the_report_too(weigh_sample):
    asked = weigh_sample("whinchat-mandolin").questions
    assert "Custody: nobody is recorded from 1960-01-01 to 1987-12-31." in asked


def overlaps(weigh_sheet, *held, holders=None):
    """The overlaps that the report asks about, with holders in the given years (begin, end)."""
    sources = [{"id": "talk", "kind": "testimony", "title": "A talk"}]
    custody = [
        {
            "id": f"held-{i}",
            "source": "talk",
            "holder": holders[i] if holders else f"Holder {i}",
            **({"begins": begins} if begins else {}),
            **({"ends": ends} if ends else {}),
        }
        for i, (begins, ends) in enumerate(held)
    ]
    report = weigh_sheet(sources=sources, custody=custody).report
    return [asked for asked in report.questions if "are both recorded" in asked]


@pytest.mark.parametrize(
    ("held", "expected"),
    [
        ([("1961", "1999"), ("1995", None)], [("1995-12-31", "1999-01-01")]),
        ([("1995", None), ("1961", "1999")], [("1995-12-31", "1999-01-01")]),
        ([("1961", "1999"), ("1965", "1970")], [("1965-12-31", "1970-01-01")]),
        ([("1961", "1990"), ("1961", "1980")], [("1961-12-31", "1980-01-01")]),
        ([("1961", "1990"), ("1970", "1970")], [("1970-01-01", "1970-12-31")]),
        ([("1961", "1999"), ("1999", "2001")], []),
        ([("1961", "1999-05-03"), ("1999-05-03", None)], []),
        ([("1961", None), ("1995", None)], []),
        ([(None, "1999"), ("1995", None)], []),
        ([("1961~", "1999?"), ("2001", None)], []),
        ([(None, None), ("1995", None)], []),
    ],
    ids=[
        "the next came before",
        "in another order",
        "one within another",
        "from one year on",
        "came and went within a year",
        "one after the other in a year",
        "from hand to hand in a day",
        "ends that are not told",
        "a begin that is not told",
        "in doubt and after",
        "no dates",
    ],
)
def test_holders_that_surely_overlap_are_asked_about(weigh_sheet, held, expected):
    found = overlaps(weigh_sheet, *held)
    assert len(found) == len(expected)
    for asked, (first, last) in zip(found, expected, strict=True):
        assert f"are both recorded from {first} to {last}" in asked
        assert "Holder 0" not in asked


def test_one_person_on_two_lines_is_no_overlap(weigh_sheet):
    assert overlaps(weigh_sheet, ("1961", "1999"), ("1995", None), holders=["A", "A"]) == []


_YEARS = st.integers(1900, 1930)


@settings(max_examples=15, deadline=None)
@given(st.lists(st.tuples(_YEARS, _YEARS).map(sorted), min_size=2, max_size=4))
def test_an_overlap_is_asked_about_just_where_years_between_are_shared(weigh_sheet, spans):
    # Whatever days of its years somebody came and went, between them they held it; and somebody who
    # came in a year between came while the other had it.
    shared = any(
        max(a[0], b[0]) < min(a[1], b[1]) or a[0] < b[0] < a[1] for a, b in permutations(spans, 2)
    )
    found = overlaps(weigh_sheet, *((str(first), str(last)) for first, last in spans))
    assert bool(found) is shared

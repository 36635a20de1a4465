"""What stands on the time axis: the gaps in custody."""

from __future__ import annotations

import pytest


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

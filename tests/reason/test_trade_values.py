"""Check values of the trade, through the whole reasoner (common practice, no source).

The weeks are those of the register, Sunday to Saturday (its own example: week 10 of 1999 is
March 7 to 13, https://ecianow.org, "EIA Source Codes"); the ISO week begins a day later.
"""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from ledger.basis.quantities import read_quantity

CONTROLS = [
    {"id": "volume", "position": "pot.1", "text": "134 408"},
    {"id": "tone", "position": "pot.2", "text": "134 423"},
]
ROUTE = {"id": "route", "position": "body", "feature": "route", "value": "early"}
FIFTIES = {
    "id": "early-route", "position": "body", "feature": "route", "value": "early",
    "begins": "1953", "ends": "1956", "n": "9",
}  # fmt: skip


def test_of_two_controls_the_later_code_is_the_lower_bound(weigh_sheet):
    found = weigh_sheet(marks=CONTROLS, features=[ROUTE], pack={"timelines": [FIFTIES]})
    end = found.completed().not_before
    assert end.date == "1954-06-06"
    assert found.rests_on("tone", end.suppositions)
    fallen = {shift.date for shift in end.shifts if shift.without == "line:tone"}
    assert fallen == {"1954-02-21"}
    later, earlier = date(1954, 6, 6), date(1954, 2, 21)
    assert later - earlier == timedelta(weeks=15)
    assert later == date.fromisocalendar(1954, 23, 1) - timedelta(days=1)


def test_all_decades_of_both_controls_stay_listed_with_why_they_fall(weigh_sheet):
    found = weigh_sheet(marks=CONTROLS, features=[ROUTE], pack={"timelines": [FIFTIES]})
    for line in ("volume", "tone"):
        standing = {r.days[0][0][:4]: r.standing for r in found.readings(line) if r.is_used}
        assert set(standing) == {"1944", "1954", "1964"}
        assert standing["1954"] == "Agrees with the rest."
        assert standing["1944"].startswith("Cannot stand while")
        assert standing["1964"].startswith("Cannot stand while")


def test_two_controls_against_one_specification_are_one_open_question_and_no_swap(weigh_sheet):
    measured = [
        {"id": "first", "position": "pot.1", "quantity": "resistance", "value": "500 k",
         "uncertainty": "1 %", "circuit": "isolated"},
        {"id": "second", "position": "pot.2", "quantity": "resistance", "value": "250 k",
         "uncertainty": "1 %", "circuit": "isolated"},
    ]  # fmt: skip
    row = {"id": "controls", "position": "pot", "quantity": "resistance", "low": "400 k",
           "high": "600 k", "n": "12"}  # fmt: skip
    found = weigh_sheet(measurements=measured, pack={"specifications": [row]})
    assert [account.gives_up for account in found.leading] == [()]
    assert not found.report.conflicts
    assert not found.report.swaps
    assert {s.line for s in found.report.surprises if s.is_open} == {"second"}


@pytest.mark.parametrize(
    ("inches", "millimetres"),
    [("1.65 in", 41.9), ("0.93 in", 23.6), ("2.03 in", 51.6), ("0.99 in", 25.1)],
    ids=["nut", "0.93", "2.03", "0.99"],
)
def test_measures_of_necks_in_inches_are_those_in_millimetres(inches, millimetres):
    # An inch is 25.4 mm exactly (NIST Special Publication 811).
    found = read_quantity(inches).in_unit("mm").value
    assert round(float(found), 1) == millimetres

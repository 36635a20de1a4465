"""Five kinds of case, each twice with other numbers, instruments and parts: sheet in, answer out.

The other five kinds are in test_trade_cases_contested.py.

Source of the facts of every case: common practice, no source (invented case). Dates of weeks
are those of the register, whose weeks run Sunday to Saturday (its own example: week 10 of 1999
is March 7 to 13, https://ecianow.org, "EIA Source Codes"); the ISO week begins a day later.
"""

from __future__ import annotations

from datetime import date, timedelta

import pytest

REPLACED = {"period replacement", "service replacement", "modern replacement"}
FIRST = {"first-fitted", "presumed first-fitted (untested)"}


def sunday_before_iso_week(year: int, week: int) -> str:
    """The first day of a register week, in years where only the first weekday sets them apart."""
    return (date.fromisocalendar(year, week, 1) - timedelta(days=1)).isoformat()


# -- a lost number, two six-digit codes and a feature with a span ----------------------------

LOST_NUMBER = pytest.mark.parametrize(
    ("name", "marks", "weeks", "latest"),
    [
        ("kestwick-arrow", ("volume-code", "tone-code"), ((1956, 11), (1956, 29)), "1957-06-30"),
        ("kestwick-arrow-variant", ("code-a", "code-b"), ((1948, 4), (1948, 41)), "1949-11-30"),
    ],
    ids=["solid body", "lap steel"],
)


@LOST_NUMBER
def test_the_latest_code_and_the_feature_bound_completion(read, name, marks, weeks, latest):
    found = read(name)
    assert [account.gives_up for account in found.leading] == [()]
    # 1956 week 29 begins on Sunday 1956-07-15; in ISO weeks it would be Monday 1956-07-16.
    assert found.completed_ends() == {(sunday_before_iso_week(*weeks[1]), latest)}


@LOST_NUMBER
def test_the_lower_end_supposes_that_the_codes_belong(read, name, marks, weeks, latest):
    found = read(name)
    end = found.completed().not_before
    pots = [p.position for p in found.report.positions if p.position.startswith("pot.")]
    assert {found.fitted_with_it(pot) for pot in pots} & set(end.suppositions)
    assert found.rests_on(marks[1], end.suppositions)
    assert not found.rests_on(marks[0], end.suppositions)


@LOST_NUMBER
def test_without_the_second_code_the_bound_falls_back_to_the_first(
    read, name, marks, weeks, latest
):
    shifts = read(name).completed().not_before.shifts
    fallen = {shift.date for shift in shifts if marks[1] in shift.without}
    assert fallen == {sunday_before_iso_week(*weeks[0])}


@LOST_NUMBER
def test_every_decade_of_the_code_is_listed_with_its_reason(read, name, marks, weeks, latest):
    found = read(name)
    year = weeks[1][0]
    for mark in marks:
        assert {year, year + 10} <= found.years_read(mark)
        assert all(reading.reason for reading in found.readings(mark))
    if year == 1956:
        assert {1946, 1956, 1966} <= found.years_read("tone-code")


@LOST_NUMBER
def test_the_introduction_of_the_model_bounds_completion_and_no_part(
    read, name, marks, weeks, latest
):
    found = read(name)
    rows = {"introduction", "stepped-head"}
    bounds = [
        finding
        for finding in found.report.findings
        if finding.kind == "bound"
        and any(
            p.startswith("reference:") and p.rpartition("/")[2] in rows for p in finding.premises
        )
    ]
    assert bounds
    assert all("as-made:body" in finding.suppositions for finding in bounds)


# -- one group of parts, much younger than everything else ------------------------------------

ONE_SWAP = pytest.mark.parametrize(
    ("name", "positions", "fitted", "ends"),
    [
        (
            "tessmar-solid",
            ("pot.1", "pot.2", "pot.3", "pot.4", "switch", "capacitor.1"),
            sunday_before_iso_week(1966, 17),
            ("1962-03-01", "1962-12-31"),
        ),
        (
            "tessmar-solid-variant",
            (
                "filter-capacitor.1",
                "filter-capacitor.2",
                "coupling-capacitor.1",
                "coupling-capacitor.2",
                "coupling-capacitor.3",
            ),
            sunday_before_iso_week(1971, 31),
            ("1958-09-11", "1959-02-28"),
        ),
    ],
    ids=["harness", "capacitors"],
)


@ONE_SWAP
def test_parts_fitted_as_one_are_one_swap(read, name, positions, fitted, ends):
    found = read(name)
    events = {found.position(position).fitting_event for position in positions}
    assert len(events) == 1
    assert None not in events
    swaps = [swap for swap in found.report.swaps if set(positions) & set(swap.positions)]
    assert [set(swap.positions) for swap in swaps] == [set(positions)]


@ONE_SWAP
def test_every_leading_account_gives_up_the_group_once(read, name, positions, fitted, ends):
    found = read(name)
    given_up = found.fitted_with_it(positions[0])
    assert found.leading
    for account in found.leading:
        assert account.gives_up == (given_up,)


@ONE_SWAP
def test_the_swap_is_not_before_its_latest_code(read, name, positions, fitted, ends):
    found = read(name)
    # 1966 week 17 begins on Sunday 1966-04-24; in ISO weeks on Monday 1966-04-25.
    told = [swap.sentence for swap in found.report.swaps if set(positions) <= set(swap.positions)]
    for position in positions:
        assert found.states(position) <= REPLACED
        told.extend(found.position(position).reasons)
    assert any(fitted in text for text in told)


@ONE_SWAP
def test_the_swapped_group_says_nothing_of_completion(read, name, positions, fitted, ends):
    found = read(name)
    assert found.completed_ends() == {ends}
    dating = found.completed()
    for end in (dating.not_before, dating.not_after):
        assert found.fitted_with_it(positions[0]) not in end.suppositions
        assert not [s for s in end.shifts if any(p in s.without for p in ("pot", "capacitor"))]


def test_a_neck_reaches_the_body_only_through_their_union(read):
    end = read("tessmar-solid").completed().not_before
    assert "joined:body+neck" in end.suppositions


# -- a part that fits, with a child that was renewed -------------------------------------------

RENEWED_CHILD = pytest.mark.parametrize(
    ("name", "parent", "child", "ends"),
    [
        # 1962 began on a Monday: the register's two ways to find week 1 differ by a week, and
        # the bound takes the earlier (ISO week 18 of 1962 begins on 1962-04-30).
        ("pellworth-combo", "speaker-frame", "speaker-cone", ("1962-04-29", "1963-08-31")),
        ("pellworth-combo-variant", "pickup", "pickup-coil", ("1949-02-13", "1950-03-31")),
    ],
    ids=["loudspeaker", "pickup"],
)


@RENEWED_CHILD
def test_a_frame_may_be_the_first_while_its_child_is_modern(read, name, parent, child, ends):
    found = read(name)
    assert found.states(parent) <= FIRST
    assert found.states(child) == {"modern replacement"}


@RENEWED_CHILD
def test_the_code_of_the_parent_bounds_completion_if_it_is_the_first(
    read, name, parent, child, ends
):
    found = read(name)
    assert found.completed_ends() == {ends}
    assert found.fitted_with_it(parent) in found.completed().not_before.suppositions
    assert found.fitted_with_it(child) not in found.completed().not_before.suppositions


@RENEWED_CHILD
def test_no_sentence_calls_the_whole_of_it_original(read, name, parent, child, ends):
    assert not [text for text in read(name).texts() if "original" in text.lower()]


# -- refitted by the works -----------------------------------------------------------------------

WORKS_REFITTED = pytest.mark.parametrize(
    ("name", "positions", "seen", "ends"),
    [
        (
            "harrowby-flat-top",
            ("finish", "headplate"),
            {"logo", "lacquer"},
            ("1937-01-01", "1937-12-31"),
        ),
        (
            "harrowby-flat-top-variant",
            ("covering", "grille-cloth"),
            {"cloth", "grille"},
            ("1951-01-01", "1951-12-31"),
        ),
    ],
    ids=["refinished", "covered anew"],
)


@WORKS_REFITTED
def test_later_work_of_the_works_does_not_move_completion(read, name, positions, seen, ends):
    assert read(name).completed_ends() == {ends}


@WORKS_REFITTED
def test_what_the_works_did_later_is_works_refitted(read, name, positions, seen, ends):
    found = read(name)
    for position in positions:
        assert found.states(position) == {"works-refitted"}
    wanted = {found.fitted_with_it(position) for position in positions}
    for account in found.leading:
        assert wanted <= set(account.gives_up)


@WORKS_REFITTED
def test_what_the_work_explains_is_no_open_surprise(read, name, positions, seen, ends):
    surprises = read(name).report.surprises
    assert not [s for s in surprises if s.is_open and s.line.rpartition("/")[2] in seen]


# -- a dated label and a part with a later patent -------------------------------------------------

LATER_PATENT = pytest.mark.parametrize(
    ("name", "position", "granted", "ends"),
    [
        # The date on a label is allowed a year either way (practice, a starting value).
        ("corbel-mandolin", "tuners", "1925-12-01", ("1916-05-01", "1918-05-31")),
        ("corbel-mandolin-variant", "tailpiece", "1945-12-18", ("1937-10-01", "1939-10-31")),
    ],
    ids=["mandolin", "archtop"],
)


@LATER_PATENT
def test_a_later_patent_does_not_redate_the_instrument(read, name, position, granted, ends):
    assert read(name).completed_ends() == {ends}


@LATER_PATENT
def test_the_part_with_the_later_patent_is_replaced(read, name, position, granted, ends):
    found = read(name)
    assert found.states(position) <= REPLACED
    made = found.position(position).made
    assert made is not None
    assert made[0] == granted
    for account in found.leading:
        assert account.gives_up == (found.fitted_with_it(position),)

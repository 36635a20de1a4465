"""Five kinds of case in which something cannot be so, each twice with other particulars.

Source of the facts of every case: common practice, no source (invented case). Dates of weeks
are those of the register, whose weeks run Sunday to Saturday (its own example: week 10 of 1999
is March 7 to 13, https://ecianow.org, "EIA Source Codes"); the ISO week begins a day later.
"""

from __future__ import annotations

from datetime import date, timedelta

import pytest

FIRST = {"first-fitted", "presumed first-fitted (untested)"}
OPEN = "no upper bound known"


# -- two roots with different numbers ---------------------------------------------------------------

MISMATCH = pytest.mark.parametrize(
    ("name", "union", "foreign", "ends"),
    [
        ("quillon-banjo", "joined:rim+neck", "neck", ("1928-01-01", "1928-12-31")),
        (
            "quillon-banjo-variant",
            "joined:chassis+cabinet",
            "cabinet",
            ("1957-01-01", "1957-10-31"),
        ),
    ],
    ids=["rim and neck", "chassis and cabinet"],
)


@MISMATCH
def test_different_numbers_part_two_roots(read, name, union, foreign, ends):
    found = read(name)
    assert found.leading[0].gives_up == (union,)
    assert "first-fitted" not in found.states(foreign)


@MISMATCH
def test_the_anchor_keeps_its_date_without_the_union(read, name, union, foreign, ends):
    found = read(name)
    assert found.completed_ends() == {ends}
    assert union not in found.completed().not_before.suppositions


# -- a label and a belly that cannot both belong -----------------------------------------------------

LABEL_OR_BELLY = pytest.mark.parametrize(
    ("name", "not_before", "labelled"),
    [
        ("violin-1743", "1782-01-01", ("1742-01-01", "1744-12-30")),
        ("violin-1743-variant", "1857-01-01", ("1801-01-01", "1803-12-31")),
    ],
    ids=["violin", "viola"],
)


@LABEL_OR_BELLY
def test_which_of_label_and_belly_belongs_is_left_open(read, name, not_before, labelled):
    found = read(name)
    without_label = [a for a in found.leading if a.gives_up == ("first-fitted:label",)]
    without_belly = [a for a in found.leading if a.gives_up == ("joined:back+belly",)]
    assert len(without_label) == len(without_belly) == 1
    assert len(found.states("label")) > 1 or found.states("label") == {"cannot be told"}


@LABEL_OR_BELLY
def test_the_rings_bound_the_belly_and_not_from_above(read, name, not_before, labelled):
    found = read(name)
    assert found.position("belly").made == (not_before, None)
    dating = found.completed(
        next(a for a in found.leading if a.gives_up == ("first-fitted:label",))
    )
    assert (dating.not_before.date, dating.not_after.date) == (not_before, None)
    assert OPEN in dating.not_after.sentence


@LABEL_OR_BELLY
def test_with_another_belly_the_label_dates_the_rest(read, name, not_before, labelled):
    found = read(name)
    dating = found.completed(next(a for a in found.leading if a.gives_up == ("joined:back+belly",)))
    assert (dating.not_before.date, dating.not_after.date) == labelled


# -- a week that does not exist ------------------------------------------------------------------------

IMPOSSIBLE_WEEK = pytest.mark.parametrize(
    ("name", "mark", "text", "likely"),
    [
        # Three ends of week 50: 1946 and 1956 and 1966; 8 is taken for 0 and for 3. Week 53 of
        # 1956 exists only where week 1 is the first full week; 1946 and 1966 have none at all.
        (
            "stamp-912-658",
            "pot-code",
            "658",
            {"1946-12-08", "1956-12-09", "1966-12-11", "1956-12-30"},
        ),
        # 7 is taken for 1 and for 2: weeks 11 and 21.
        (
            "stamp-912-658-variant",
            "transformer-code",
            "771",
            {"1957-03-10", "1957-05-19", "1967-03-12", "1967-05-21"},
        ),
    ],
    ids=["pot", "transformer"],
)


@IMPOSSIBLE_WEEK
def test_an_impossible_week_is_shown_with_its_likely_misreadings(read, name, mark, text, likely):
    readings = read(name).readings(mark)
    plain = [reading for reading in readings if reading.is_plain]
    assert plain
    assert not [reading for reading in plain if reading.days]
    assert likely <= {first for r in readings for first, _ in r.days}
    assert all(reading.reason for reading in readings)


@IMPOSSIBLE_WEEK
def test_no_date_is_used_of_an_impossible_week(read, name, mark, text, likely):
    found = read(name)
    assert not [reading for reading in found.readings(mark) if reading.is_used]
    assert found.completed_ends() == {(None, None)}
    assert OPEN in found.completed().not_after.sentence


@IMPOSSIBLE_WEEK
def test_an_impossible_week_is_to_be_read_again(read, name, mark, text, likely):
    report = read(name).report
    asked = [*report.questions, *(look.sentence for look in report.looks)]
    asked += [surprise.sentence for surprise in report.surprises if surprise.is_open]
    assert any(text in sentence for sentence in asked)


# -- said never to have been refinished -----------------------------------------------------------------

NO_REFINISH = pytest.mark.parametrize(
    ("name", "finish", "measure", "short"),
    [
        ("marlvane-slab", "body-finish", "thickness", ("0.8", "1.4")),
        ("marlvane-slab-variant", "finish", "depth", ("0.8", "1.4")),
    ],
    ids=["slab", "lap steel"],
)


@NO_REFINISH
def test_what_is_too_thin_and_bare_was_probably_refinished(read, name, finish, measure, short):
    found = read(name)
    for account in found.leading:
        assert found.fitted_with_it(finish) in account.gives_up
    assert not found.states(finish) & FIRST
    assert [swap for swap in found.report.swaps if finish in swap.positions]


@NO_REFINISH
def test_the_comparison_says_how_far_the_measure_is_short(read, name, finish, measure, short):
    comparisons = [f for f in read(name).report.findings if f.kind == "comparison"]
    told = [f.sentence for f in comparisons if f"line:{measure}" in f.premises]
    assert any(all(figure in sentence for figure in short) for sentence in told)


@NO_REFINISH
def test_a_test_that_nearly_all_pass_supports_nothing(read, name, finish, measure, short):
    found = read(name)
    assert not [
        finding
        for finding in found.report.findings
        if any(premise.endswith("/even-fluorescence") for premise in finding.premises)
        and finding.suppositions
    ]


# -- a range that rests on the instrument it would date ---------------------------------------------------


def test_a_range_left_with_two_examples_gives_no_date(read):
    found = read("circular-range")
    assert found.completed_ends() == {(None, None)}
    assert OPEN in found.completed().not_after.sentence


@pytest.mark.parametrize(
    ("name", "row"),
    [("circular-range", "black-binding"), ("circular-range-variant", "wreath")],
    ids=["two others", "four others"],
)
def test_a_range_that_rests_on_this_instrument_is_reported(read, name, row):
    findings = [f for f in read(name).report.findings if f.kind == "dependency"]
    assert any(p.endswith(f"/{row}") for finding in findings for p in finding.premises)


def test_a_range_with_enough_other_examples_is_recomputed_without_this_one(read):
    found = read("circular-range-variant")
    # Four others, 1909-04 to 1913-06. Each end of their range is extended by the published limit
    # for the end of a range, (1 - C) ** (-1 / (n - 1)) - 1 of it: Strauss and Sadler,
    # Mathematical Geology 21 (1989) 411-427; 1.714 for n = 4 and C = 0.95.
    first, last = date(1909, 4, 1), date(1913, 6, 30)
    extra = (0.05 ** (-1 / 3) - 1) * (last - first)
    (ends,) = found.completed_ends()
    assert ends[0] is not None
    assert ends[1] is not None
    assert abs(date.fromisoformat(ends[0]) - (first - extra)) <= timedelta(days=2)
    assert abs(date.fromisoformat(ends[1]) - (last + extra)) <= timedelta(days=2)
    assert "first-fitted:tailpiece-cover" in found.completed().not_after.suppositions

"""A date told as about right or in doubt gives no hard edge, wherever a bound is drawn from it.

The date format names the marks of doubt and gives them no width (Library of Congress, "Extended
Date/Time Format (EDTF) Specification", 2019-02-04, qualification of a date); the width is a starting
value of practice: common practice, no source.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.basis.edtf import read_date
from ledger.basis.spans import Spans
from ledger.knowledge.packs import Packs, built_in_packs
from ledger.reason.recorded_dates import recorded_days, widened_by_years

PACKS = Packs.of(built_in_packs())
YEARS = 2


def test_the_allowance_is_a_row_of_practice_with_a_range():
    row = PACKS.practice("approximate-date-years").row
    assert (row.low, row.value, row.high) == (1, YEARS, 5)
    assert "no source" in row.source


@pytest.mark.parametrize(
    ("text", "days", "doubt"),
    [
        ("1946", "1946-01-01/1946-12-31", ""),
        ("1946~", "1944-01-01/1948-12-31", "about"),
        ("1946?", "1944-01-01/1948-12-31", "perhaps"),
        ("1946%", "1944-01-01/1948-12-31", "perhaps about"),
        ("1946-02~", "1944-02-01/1948-02-28", "about"),
        ("1946~/1950", "1944-01-01/1950-12-31", "about"),
        ("1946/1950?", "1946-01-01/1952-12-31", "perhaps"),
        ("1946~/..", "1944-01-01/..", "about"),
        ("?1946-05", "1944-05-01/1948-05-31", "perhaps"),
    ],
)
def test_only_an_end_that_is_told_in_doubt_is_widened(text, days, doubt):
    found = recorded_days(PACKS, text)
    assert (str(found.spans), found.doubt) == (days, doubt)
    assert bool(found.rows) == bool(doubt)


@given(
    st.integers(1800, 2020),
    st.sampled_from(["", "-02", "-12"]),
    st.sampled_from("~?%"),
    st.floats(0, 10),
)
def test_a_date_in_doubt_allows_whatever_the_plain_one_allows(year, month, mark, years):
    plain = read_date(f"{year}{month}").spans
    found = recorded_days(PACKS, f"{year}{month}{mark}")
    assert found.spans.intersection(plain) == plain
    wider = widened_by_years(plain, years, years)
    assert wider.intersection(plain) == plain


def test_an_open_end_stays_open():
    assert widened_by_years(Spans.between(None, None), 3, 3) == Spans.between(None, None)


# -- in the report ----------------------------------------------------------------------------

NOTE = {"id": "note", "kind": "document", "title": "Works note"}
PICTURE = {"id": "picture", "kind": "photograph", "title": "Band photograph"}
TALK = {"id": "talk", "kind": "testimony", "title": "Talk with the owner", "by": "B"}
SIGHTING = {"id": "seen", "source": "picture", "same_instrument": "yes"}
PAPER = {
    "id": "paper",
    "source": "note",
    "paper": "note",
    "says": "sent",
    "event": "dispatched",
    "names_this_object": "yes",
}
TOLD = {"id": "told", "source": "talk", "says": "new then", "event": "first sold"}
HELD = {"id": "held", "source": "talk", "holder": "B"}
WORK = {"id": "work", "source": "note", "action": "replaced", "positions": ["bridge"]}
MARK = {"id": "mark", "position": "serial", "text": "No. 12"}


def sentence(found, name):
    (said,) = (each.sentence for each in found.report.findings if each.id == name)
    return said


@pytest.mark.parametrize(
    ("sections", "name", "days", "said"),
    [
        (
            {"sightings": [SIGHTING | {"date": "1946~"}]},
            "seen.seen",
            (("1944-01-01", "1948-12-31"),),
            "Seen about 1946, allowing 2 years either way",
        ),
        (
            {"papers": [PAPER | {"date": "1938?"}]},
            "paper.paper",
            (("1936-01-01", "1940-12-31"),),
            "It was dispatched perhaps 1938, allowing 2 years either way",
        ),
        (
            {"testimony": [TOLD | {"date": "1950~"}]},
            "told.told",
            (("1946-01-01", "1954-12-31"),),
            "It was first sold about 1950, allowing 2 years and 2 years of drift either way",
        ),
        (
            {"custody": [HELD | {"begins": "1950~"}]},
            "held.held",
            ((None, "1952-12-31"),),
            "(held from about 1950, allowing 2 years either way",
        ),
        (
            {"works": [WORK | {"date": "1965~"}]},
            "done.work",
            (("1963-01-01", "1967-12-31"),),
            "Done about 1965, allowing 2 years either way",
        ),
        (
            {"marks": [MARK | {"reads": "1938?"}]},
            "label.mark",
            (("1935-01-01", "1941-12-31"),),
            "perhaps 1938, allowing 2 years and 365 days either way",
        ),
        (
            {"marks": [{"id": "mark", "position": "neck", "text": "5/62", "reads": "1962-05~"}]},
            "made.mark",
            (("1960-05-01", "1964-05-31"),),
            "was made about 1962-05, allowing 2 years either way",
        ),
    ],
    ids=["sighting", "paper", "testimony", "custody", "work", "label", "part"],
)
def test_a_bound_from_a_date_in_doubt_is_no_hard_edge(weigh_sheet, sections, name, days, said):
    found = weigh_sheet(sources=[NOTE, PICTURE, TALK], **sections)
    (finding,) = (each for each in found.report.findings if each.id == name)
    assert finding.days is not None
    assert [tuple(map(_year, span)) for span in finding.days] == [
        tuple(map(_year, span)) for span in days
    ]
    assert said in finding.sentence
    rows = {row.id for row in found.report.references}
    assert "practice/approximate-date-years" in rows


def _year(day):
    """The year and month, since an allowance in days may end a day off the month's."""
    return None if day is None else day[:4]


def test_what_a_work_put_in_about_then_is_not_fitted_from_the_first_of_january(weigh_sheet):
    found = weigh_sheet(sources=[NOTE], works=[WORK | {"date": "1965~"}])
    assert "1965-01-01" not in " ".join(found.texts())


def test_two_sightings_about_one_time_do_not_contradict_the_next_year(weigh_sheet):
    code = {"id": "code", "position": "pot.1", "text": "912-4711"}
    found = weigh_sheet(sources=[PICTURE], sightings=[SIGHTING | {"date": "1946~"}], marks=[code])
    assert not found.report.conflicts


def test_a_timeline_that_ends_about_a_year_is_widened_and_says_so(weigh_sheet):
    row = {
        "id": "row",
        "position": "body",
        "feature": "edge",
        "value": "round",
        "begins": "1950",
        "ends": "1954~",
    }
    feature = {"id": "edge", "position": "body", "feature": "edge", "value": "round"}
    found = weigh_sheet(pack={"timelines": [row]}, features=[feature])
    assert found.completed_ends() == {("1950-01-01", "1956-12-31")}
    assert "about 1950-01-01 to 1956-12-31" in sentence(found, "timeline.edge.tiny-pack/row")


def test_the_time_axis_tells_that_a_date_is_about_right(weigh_sheet):
    found = weigh_sheet(sources=[PICTURE], sightings=[SIGHTING | {"date": "1946~"}])
    (item,) = (each for each in found.report.timeline if each.id == "time.seen")
    assert (item.begins, item.ends) == ("1944-01-01", "1948-12-31")
    assert item.label == "Seen, told as “about 1946”"

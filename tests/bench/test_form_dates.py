"""Dates in plain words: what is offered can be recorded, and nothing is changed unasked."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.basis.edtf import read_date
from ledger.bench.form_dates import date_help, date_in_words

# The forms on the right are those of the Library of Congress's EDTF specification (2019-02-04):
# approximate "~", uncertain "?", one of a set "[..date]", "[date..]", unspecified digit "X".
WORDED = {
    "about 1955": ("1955~",),
    "circa June 1957": ("1957-06~",),
    "before June 1957": ("[..1957-05]", "[..1957-06]"),
    "before January 1957": ("[..1956-12]", "[..1957-01]"),
    "before 1957": ("[..1956]", "[..1957]"),
    "before 1 March 1956": ("[..1956-02-29]", "[..1956-03-01]"),
    "after 31 December 1957": ("[1958-01-01..]", "[1957-12-31..]"),
    "until March 1950": ("[..1950-03]",),
    "since 1948": ("[1948..]",),
    "probably 1961": ("1961?",),
    "between 1955 and June 1957": ("[1955..1957-06]",),
    "the 1950s": ("195X",),
    "June 1957": ("1957-06",),
}


@pytest.mark.parametrize(("typed", "offered"), WORDED.items(), ids=WORDED)
def test_a_wording_is_offered_as_the_standard_writes_it(typed, offered):
    told = date_help(typed)
    assert tuple(offer.text for offer in told.offers) == offered
    assert not told.is_read


@pytest.mark.parametrize(("typed", "offered"), WORDED.items(), ids=WORDED)
def test_what_an_offer_says_is_what_the_date_allows(typed, offered):
    for offer in date_help(typed).offers:
        assert offer.says == date_in_words(read_date(offer.text))
    assert offered


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("1955", "some day from 1955-01-01 to 1955-12-31"),
        ("1955-06-12", "the day 1955-06-12"),
        ("../1957-06", "not after 1957-06-30"),
        ("1955/..", "not before 1955-01-01"),
        ("1955%", "about and doubted"),
        ("1955/", "its end not being known"),
        ("[1950,1952]", "or some day from 1952"),
        ("156X-12-25", "further stretches"),
    ],
    ids=["year", "day", "not-after", "not-before", "both", "unknown-end", "either", "many"],
)
def test_a_date_of_the_standard_is_told_in_words(typed, says):
    told = date_help(typed)
    assert told.is_read
    assert says in told.says
    assert told.offers == ()


@pytest.mark.parametrize(
    "typed",
    ["", "   ", "at Christmas", "week 18 of 1956"],
    ids=["nothing", "spaces", "a-feast", "a-week"],
)
def test_what_nothing_can_be_made_of_is_not_turned_into_a_date(typed):
    told = date_help(typed)
    assert not told.is_read
    assert all(read_date(offer.text) for offer in told.offers)


@given(st.text(max_size=60))
def test_whatever_is_typed_every_offer_can_be_read(typed):
    for offer in date_help(typed).offers:
        assert read_date(offer.text)

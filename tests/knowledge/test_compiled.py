"""Patterns tried together give what each gives by itself."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.knowledge.compiled import AnyOf

PATTERNS = (r"(?P<a>\d+)", r"(?P<a>[a-c])(?P<b>\d)?", r"(?i:x|yy)", r"(\d)(\d)", "", r".*b.*")
BACK_REFERENCE = r"(?P<a>\d)-(?P=a)"


@given(st.text("0123abcxyXY-", max_size=6), st.booleans())
def test_the_same_patterns_fit_as_one_by_one(text, with_back_reference):
    given_patterns = (*PATTERNS, BACK_REFERENCE) if with_back_reference else PATTERNS
    alone = tuple(i for i, p in enumerate(given_patterns) if re.fullmatch(p, text))
    assert AnyOf(given_patterns).fitting(text) == alone


@pytest.mark.parametrize("text", ["", "a"])
def test_no_patterns_fit_nothing(text):
    assert AnyOf(()).fitting(text) == ()


def test_capitals_are_put_aside_where_asked():
    assert AnyOf(["ab"], re.IGNORECASE).fitting("AB") == (0,)
    assert AnyOf(["ab"]).fitting("AB") == ()


@pytest.mark.parametrize(
    "pattern", ["(?#of a house)(?i)ab", "(?x)a b", "(?i)(?x)a b", "[(?P<a>b]+", "(?x:a # )\n b)"]
)
@pytest.mark.parametrize("text", ["ab", "AB", "a:b", "P"])
def test_a_pattern_that_cannot_be_joined_fits_what_it_fits_alone(pattern, text):
    alone = (0,) if re.fullmatch(pattern, text) else ()
    assert AnyOf([pattern, "other"]).fitting(text) == alone

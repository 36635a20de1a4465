"""The words for a likelihood ratio, by the scale that the guideline of 2015 offers.

The bounds are from memory: ENFSI Guideline for Evaluative Reporting in Forensic Science, version
3.0 (2015), guidance note 4.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.basis.verbal_scale import NEITHER, strength, support

STEPS = {
    1: NEITHER,
    1.99: NEITHER,
    2: "weak",
    9.9: "weak",
    10: "moderate",
    99: "moderate",
    100: "moderately strong",
    999: "moderately strong",
    1_000: "strong",
    9_999: "strong",
    10_000: "very strong",
    999_999: "very strong",
    1_000_000: "extremely strong",
}


@pytest.mark.parametrize(("ratio", "words"), STEPS.items(), ids=[str(each) for each in STEPS])
def test_each_step_of_the_scale_has_the_published_words(ratio, words):
    assert strength(ratio) == words


@given(st.floats(2.001, 1e12))
def test_a_ratio_and_its_inverse_are_as_strong_for_the_two_sides(ratio):
    assert strength(ratio) == strength(1 / ratio)
    assert support(ratio) == support(1 / ratio).replace("against", "for")


def test_no_evidence_at_all_against_something_is_still_told():
    assert support(0.0) == "extremely strong support against it"

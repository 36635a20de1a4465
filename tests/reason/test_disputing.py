"""What a challenge to a union claims, and what is conceded of it. Invented; common practice, no source."""

from __future__ import annotations

import re

import pytest

NUMBERS = {
    "matching_numbers": [
        {"id": "set", "positions": ["rim-serial", "neck-number"], "what": "the number of the set"}
    ]
}
MARKS = [
    {"id": "rim-no", "position": "rim-serial", "text": "4213"},
    {"id": "neck-no", "position": "neck-number", "text": "4187"},
]
LABEL = {"id": "label", "position": "label", "text": "1928", "reads": "1928"}
UNION = "joined:rim+neck"


@pytest.fixture
def challenged(weigh_sheet):
    """The challenge to a banjo whose rim and neck bear different numbers, neck not examined."""

    def asked(*, is_dated=True, numbers=MARKS, **challenge):
        marks = [*numbers, LABEL] if is_dated else [*numbers]
        raised = {"id": "raised", "says": "Not so.", **challenge}
        (found,) = weigh_sheet("banjo", NUMBERS, marks=marks, challenges=[raised]).report.challenges
        return found

    return asked


def said(texts, *words):
    return [text for text in texts if all(word in text for word in words)]


@pytest.mark.parametrize("way", ["suppositions", "insists"])
def test_a_disputed_union_is_claimed_with_its_chance(challenged, way):
    found = challenged(**{way: [UNION]})
    (told,) = said([each.sentence for each in found.claims], "rim and the neck belong together")
    assert re.search(r"chance \d+ %", told)
    assert "all evidence weighed" in told


def test_where_nothing_is_dated_a_union_is_claimed_by_what_is_said_of_a_swap(challenged):
    found = challenged(is_dated=False, suppositions=[UNION])
    (claim,) = [each for each in found.claims if "not belonging together" in each.sentence]
    assert claim.finding == "swap.rim+neck"


def test_a_union_on_which_nothing_bears_is_claimed_as_taken_for_granted(challenged):
    found = challenged(numbers=(), suppositions=[UNION])
    (told,) = said([each.sentence for each in found.claims], "rim and the neck belong together")
    assert "taken for granted" in told


def test_it_is_conceded_where_the_leading_account_has_it_as_the_challenger_does(challenged):
    found = challenged(suppositions=[UNION])
    leading = [each for each in found.rivals if each.is_leading]
    assert [each.grants for each in leading] == [True]
    (told,) = said(found.conceded, "leading account gives up, as the challenger does")
    assert "rim and the neck belong together" in told


def test_nothing_of_the_accounts_is_conceded_to_one_whom_they_do_not_bear_out(challenged):
    assert not said(challenged(insists=[UNION]).conceded, "as the challenger does")
    assert not said(challenged(lines=["rim-no"]).conceded, "as the challenger does")


def test_a_bare_line_is_claimed_as_recorded(dispute):
    found = dispute("dunnock-lap-steel", {"lines": ["price-leaf"]})
    assert said([each.sentence for each in found.claims], "As recorded: ")

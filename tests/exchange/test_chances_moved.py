"""Which chances are other in one weighing than in another."""

from __future__ import annotations

from dataclasses import replace

import pytest

from ledger.chances import Chances, DateChance, PartChance
from ledger.exchange.chances_moved import chances_moved

DATE = DateChance(
    event="completed",
    share=0.95,
    median="1949-06-26",
    region=(("1948-06-06", "1950-11-25"),),
    weeks=(),
    sentence="Completed: some weeks.",
    finding="chance.completed",
)
PART = PartChance(
    event="knobs",
    positions=("knobs",),
    chance=0.6,
    low=0.55,
    high=0.7,
    service=0.2,
    period=0.1,
    transplant=0.1,
    verdict="likelier the first",
    sentence="The knobs: chance 60 %.",
    finding="chance.knobs",
)
WEIGHED = Chances("A note.", dates=(DATE,), parts=(PART,))


def sentences(before, after):
    return [moved.sentence for moved in chances_moved(before, after)]


def part(**new):
    return replace(WEIGHED, parts=(replace(PART, **new),))


def test_a_weighing_is_not_other_than_itself(sample):
    assert sentences(WEIGHED, WEIGHED) == []
    assert sentences(sample.report.chances, sample.report.chances) == []


def test_a_region_with_other_ends_is_told_with_both():
    after = replace(DATE, region=(("1948-06-06", "1949-01-01"), ("1950-01-01", "1950-02-01")))
    (moved,) = chances_moved(WEIGHED, replace(WEIGHED, dates=(after,)))
    assert moved.sentence == (
        "Completed: the likeliest weeks that hold 95 % of the chance were 1948-06-06 to 1950-11-25 "
        "and are now 1948-06-06 to 1949-01-01 or 1950-01-01 to 1950-02-01."
    )
    assert (moved.was, moved.now) == ("chance.completed", "chance.completed")


@pytest.mark.parametrize(
    ("after", "said"),
    [
        (part(chance=0.64), []),
        (part(chance=0.3), ["The knobs: chance 60 %. Before it was 60 %."]),
        (
            part(verdict="cannot be told"),
            ["The knobs: chance 60 %. Before it was 60 % (likelier the first)."],
        ),
    ],
    ids=["too-little", "much", "verdict"],
)
def test_a_part_is_told_where_its_chance_or_verdict_is_another(after, said):
    assert sentences(WEIGHED, after) == said


def test_what_was_not_weighed_before_is_told_as_new():
    bare = Chances("A note.")
    assert sentences(bare, WEIGHED) == [
        "Weighed now: Completed: some weeks.",
        "Weighed now: The knobs: chance 60 %.",
    ]
    assert sentences(None, WEIGHED) == ["The evidence is weighed now, which it was not before."]
    assert sentences(WEIGHED, None) == ["The evidence is no longer weighed."]
    assert sentences(None, None) == []


def test_evidence_that_nothing_explains_any_more_is_told_with_the_note():
    after = replace(WEIGHED, is_possible=False, note="Nothing fits.")
    assert sentences(WEIGHED, after) == [
        "All of the evidence taken together is explained by nothing any more. Nothing fits."
    ]
    assert sentences(after, WEIGHED) == [
        "All of the evidence taken together can be explained again. A note."
    ]

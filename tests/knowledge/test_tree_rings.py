"""The last ring of wood bounds from below and never from above."""

import pytest

from ledger.basis.spans import NO_DAY
from ledger.knowledge.tree_rings import speaks_of_rings, tree_ring_reading


@pytest.fixture
def practice(packs):
    return packs.practice("lag-growth-ring-years").row


def test_the_part_is_not_older_than_the_year_after_the_last_ring(practice):
    # A tree adds a ring a year; the gap to use is common practice, no source.
    reading = tree_ring_reading(
        "last ring 1781 on the treble side, 1779 on the bass side; t = 8.4", None, practice
    )
    assert str(reading.spans) == "1782-01-01/.."
    assert "no upper bound" in reading.reason
    assert "about 15 years after" in reading.reason
    assert reading.is_used
    assert reading.bears_on == "made"


@pytest.mark.parametrize(
    ("reads", "spans"),
    [("1781", "1782-01-01/.."), ("178X", "1790-01-01/.."), ("1782/..", "1782-01-01/..")],
    ids=str,
)
def test_a_recorded_ring_goes_before_the_words(practice, reads, spans):
    assert str(tree_ring_reading("last ring 1600", reads, practice).spans) == spans


def test_words_without_a_year_give_no_date(practice):
    reading = tree_ring_reading("not measured", None, None)
    assert reading.spans == NO_DAY
    assert not reading.is_used
    assert not tree_ring_reading("x", "never", practice).is_used


def test_only_words_about_rings_are_taken_for_them():
    assert speaks_of_rings("end ring of 1781")
    assert speaks_of_rings("dendrochronology 1781")
    assert not speaks_of_rings("string 1781")
    assert not speaks_of_rings("last ring not dated")
    assert not speaks_of_rings("1781")

"""What is there now is what was put in last; what was altered on it is told besides."""

from __future__ import annotations

import pytest

DOCKETS = [
    {"id": f"bill-{i}", "kind": "document", "title": f"Bill {i}", "by": f"W{i}"} for i in (1, 2, 3)
]
REPLACED = {"action": "replaced", "replacement": "service", "date": "1965"}


def state_after(weigh_sheet, *works, position="bridge"):
    given = [
        {"id": f"w{i}", "source": f"bill-{i}", "positions": [position], **work}
        for i, work in enumerate(works, 1)
    ]
    mark = {"id": "code", "position": "pot.1", "text": "912-5512"}
    return weigh_sheet(sources=DOCKETS, works=given, marks=[mark]).position(position)


@pytest.mark.parametrize("by", ["workshop", "works", "unknown"])
def test_an_alteration_does_not_hide_that_the_part_was_put_in(weigh_sheet, by):
    altered = {"action": "altered", "date": "1980", "by": by}
    found = state_after(weigh_sheet, REPLACED, altered)
    assert found.states == ("service replacement",)
    assert found.reasons[0].startswith("Recorded: Bridge replaced")
    assert found.reasons[1].startswith("Altered since: Bridge altered in place")


def test_what_was_done_to_the_part_before_it_was_replaced_is_not_told_of_the_new_one(weigh_sheet):
    found = state_after(weigh_sheet, REPLACED, {"action": "altered", "date": "1960"})
    assert found.states == ("service replacement",)
    assert len(found.reasons) == 1


def test_an_undated_alteration_may_be_of_either_part(weigh_sheet):
    found = state_after(weigh_sheet, REPLACED, {"action": "altered"})
    assert found.reasons[1].startswith("Altered, before or since:")


@pytest.mark.parametrize(
    ("works", "states"),
    [
        ((REPLACED, {"action": "removed", "date": "1980"}), ("missing",)),
        (({"action": "removed", "date": "1960"}, REPLACED), ("service replacement",)),
        (({"action": "removed", "date": "1965"}, REPLACED), ("service replacement",)),
        ((REPLACED, {"action": "removed", "date": "1965"}), ("service replacement",)),
        (({"action": "altered", "date": "1980"},), ("altered in place",)),
        (({"action": "altered", "date": "1980", "by": "works"},), ("works-refitted",)),
        ((REPLACED, {"action": "repaired", "date": "1980"}), ("service replacement",)),
    ],
    ids=[
        "taken out since",
        "taken out before",
        "taken out and put in",
        "put in and taken out, told the other way round",
        "altered only",
        "altered by the works only",
        "repaired since",
    ],
)
def test_the_last_part_put_in_or_taken_out_decides(weigh_sheet, works, states):
    assert state_after(weigh_sheet, *works).states == states

"""A paper that names the object by a mark on it speaks of the object only if the mark came with it."""

from __future__ import annotations

LABEL = {"id": "label-number", "position": "label", "text": "L 4107"}
STAMP = {"id": "stamp", "position": "body", "text": "2-31", "reads": "1931-02"}
LEAF = {"id": "works-leaf", "kind": "document", "title": "Leaf", "date": "1931"}
ENTRY = {
    "id": "entry",
    "source": "works-leaf",
    "paper": "dispatch leaf",
    "says": "one with this number",
    "names_this_object": "yes",
    "event": "dispatched",
    "date": "1931-03-09",
}
NEW_LABEL = {"id": "put-on", "action": "added", "positions": ["label"], "by": "owner"}


def ends(found, event="dispatched"):
    return {(d.not_before.date, d.not_after.date) for d in found.report.datings if d.event == event}


def median(found, event):
    return next(d.median for d in found.report.chances.dates if d.event == event)


def weighed(weigh_sheet, *works, **more):
    return weigh_sheet(
        kind="mandolin",
        marks=[LABEL],
        papers=[ENTRY | more],
        sources=[LEAF],
        works=list(works),
    )


def test_a_paper_that_names_the_object_itself_supposes_no_part(weigh_sheet):
    found = weighed(weigh_sheet, NEW_LABEL)
    assert ends(found) == {("1931-03-09", "1931-03-09")}


def test_a_date_by_the_number_of_a_label_supposes_that_the_label_came_with_it(weigh_sheet):
    found = weighed(weigh_sheet, named_by="label-number")
    (dating,) = (d for d in found.report.datings if d.event == "dispatched")
    assert dating.not_after.date == "1931-03-09"
    assert "first-fitted:label" in dating.not_after.suppositions
    assert "by “L 4107” on it" in next(
        f.sentence for f in found.report.findings if f.id == "paper.entry"
    )


def test_without_the_label_the_paper_dates_nothing(weigh_sheet):
    found = weighed(weigh_sheet, NEW_LABEL, named_by="label-number")
    assert ends(found) == {(None, None)}
    assert ends(found, "completed") == {(None, None)}


def chances_beside_a_later_stamp(weigh_sheet, **named_by):
    """How far the paper can be relied on, and the middle of completion, where a stamp says 1951."""
    found = weigh_sheet(
        kind="mandolin",
        marks=[LABEL, {**STAMP, "text": "2-51", "reads": "1951-02"}],
        papers=[ENTRY | named_by],
        sources=[LEAF],
        works=[NEW_LABEL],
    )
    (source,) = (
        each
        for each in found.report.chances.suppositions
        if each.supposition == "source:works-leaf"
    )
    return source.chance, median(found, "completed")


def test_a_paper_that_names_the_object_itself_is_doubted_by_a_later_stamp(weigh_sheet):
    chance, _ = chances_beside_a_later_stamp(weigh_sheet)
    assert chance < 0.6


def test_a_paper_by_a_label_that_was_put_on_is_no_witness_and_not_doubted(weigh_sheet):
    chance, middle = chances_beside_a_later_stamp(weigh_sheet, named_by="label-number")
    assert chance > 0.9
    assert "1951" <= middle < "1952"

"""The weeks that are weighed: every date on record lies on them, and where they end is told."""

from __future__ import annotations

from ledger.knowledge.packs import Packs, built_in_packs
from ledger.reason.evidence import MARGIN

POT = {"id": "pot", "position": "pot.1", "text": "912-7108"}
RECEIPT = {
    "id": "receipt",
    "paper": "receipt",
    "says": "this instrument",
    "names_this_object": "yes",
    "event": "first sold",
    "date": "1957-06-01",
    "source": "bill",
}
BILL = {"id": "bill", "kind": "document", "title": "Bill", "date": "1957-06-01"}


def chance_of_part(found, event):
    return next(part.chance for part in found.report.chances.parts if part.event == event)


def test_a_clear_paper_much_older_than_a_code_makes_the_part_the_replaced_one(weigh_sheet):
    found = weigh_sheet(marks=[POT], papers=[RECEIPT], sources=[BILL])
    (completed,) = (d for d in found.report.chances.dates if d.event == "completed")
    assert chance_of_part(found, "pot.1") < 0.25
    assert "1957-01-01" < completed.median < "1957-07-01"


def test_a_letter_is_no_examination_and_bounds_no_week_away(weigh_sheet):
    letter = {"id": "letter", "kind": "document", "title": "Letter", "date": "1950"}
    undated = {"id": "look", "kind": "examination", "title": "Look", "by": "A"}
    code = {"id": "code", "position": "pot.1", "text": "137 5618", "source": "look"}
    found = weigh_sheet(
        marks=[code], sources=[letter, undated], bench_date=None, about={"kind": "lap-steel"}
    )
    (completed,) = (d for d in found.report.chances.dates if d.event == "completed")
    assert completed.median > "1956-04-29"


def test_where_both_ends_are_known_the_middle_is_told(weigh_sheet):
    stamp = {"id": "stamp", "position": "body", "text": "2-71", "reads": "1971-02"}
    found = weigh_sheet(marks=[POT, stamp])
    (completed,) = (d for d in found.report.chances.dates if d.event == "completed")
    assert "as likely before as after" in completed.sentence


def test_where_nothing_bounds_it_from_below_the_report_says_where_the_weighing_begins(weigh_sheet):
    seen = {"id": "seen", "date": "1975-06-01", "same_instrument": "yes"}
    found = weigh_sheet(sightings=[seen])
    (completed,) = (d for d in found.report.chances.dates if d.event == "completed")
    margin = Packs.of(built_in_packs()).practice(MARGIN).row.value
    assert completed.sentence.startswith("Completed: up to ")
    assert f"the weighing begins on {1975 - int(margin)}-" in completed.sentence
    assert "as likely before" not in completed.sentence


def test_the_age_that_nothing_tells_is_called_a_guess(weigh_sheet):
    guessed = weigh_sheet(features=[{"id": "f", "position": "body", "feature": "f", "value": "v"}])
    known = weigh_sheet(papers=[RECEIPT], sources=[BILL])
    assert any("which is a guess" in each for each in guessed.report.taken_for_granted)
    assert any("an age of 69 years" in each for each in known.report.taken_for_granted)

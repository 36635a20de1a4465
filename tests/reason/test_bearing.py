"""What bears on a challenge besides what its claims rest on. Invented cases; common practice, no source."""

from __future__ import annotations

import pytest

from ledger.reason.dispute_wording import sections_of
from ledger.reason.in_full import reason_in_full

KEYED = {
    "says": "No back from Sallow Quay was ever keyed. The piece is put together and the label put in.",
    "positions": ["label"],
    "lines": ["label-maker"],
}


@pytest.fixture(scope="module")
def keyed(sample_case):
    """The report on the mandolin and the columnist's challenge, with the answer on record."""
    report = reason_in_full(*sample_case("whinchat-mandolin"))
    return report, report.challenges[0]


def said(texts, *words):
    return [text for text in texts if all(word in text for word in words)]


def test_an_answer_that_speaks_of_the_works_is_held_against_how_the_works_made_it(keyed):
    report, found = keyed
    assert "calverock/whinchat-back-seam" in found.references
    headings = {section.heading: section.items for section in sections_of(report, found)}
    assert said(headings["Held against"], "back seam", "n=14")
    assert said(found.conceded, "four keys", "accounted for by a recorded work")


def test_the_work_that_explains_what_an_answer_rests_on_is_observed_and_has_no_day(keyed):
    _, found = keyed
    assert "back-keyed" in {each.line for each in found.observations}
    assert said(found.conceded, "When this was done is not known", "undated")
    assert said(found.would_change, "A day for what nobody has dated", "undated")
    assert said(found.would_change, "Open: When were the keys let in")


def test_the_papers_that_name_the_object_are_held_against_it_where_a_label_is_doubted(keyed):
    _, found = keyed
    assert {"dispatch-entry", "docket-names-it"} <= {each.line for each in found.observations}
    assert said(found.would_change, "Dispatch ledger leaf, held against the instrument")
    assert said(found.would_change, "Repair docket, held against the instrument")


def test_what_the_same_words_were_told_of_bears_on_a_challenge_that_nobody_answered(dispute):
    unanswered = dispute("whinchat-mandolin", {**KEYED, "id": "unanswered"})
    assert not unanswered.answers
    assert "calverock/whinchat-back-seam" in unanswered.references
    assert said(unanswered.would_change, "Open: When were the keys let in")


def test_papers_do_not_bear_on_a_part_that_is_no_label(dispute):
    found = dispute(
        "whinchat-mandolin", {"id": "tuners", "says": "Not so.", "positions": ["tuners"]}
    )
    assert not said(found.would_change, "held against the instrument")
    assert "calverock/whinchat-back-seam" not in found.references

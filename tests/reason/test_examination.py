"""How far one has to go for an examination, and how its outcomes add up. Invented cases."""

from __future__ import annotations

import pytest

from ledger.reason.next_steps import next_steps


def test_what_was_left_for_what_would_have_to_be_lifted_is_not_called_a_mere_look(sample_case):
    advice = {each.id: each for each in next_steps(*sample_case("whinchat-mandolin")).advice}
    glue = advice["glue.neck"]
    assert "would mean lifting the board" in glue.sentence
    assert glue.reach == "remove"
    assert "without opening" not in glue.sentence
    assert "lost" in glue.loses


@pytest.mark.parametrize("name", ["dunnock-lap-steel", "garganey-amplifier", "whinchat-mandolin"])
def test_the_outcomes_of_an_examination_add_up_and_leave_out_no_year(sample_case, name):
    for each in next_steps(*sample_case(name)).advice:
        assert sum(o.chance for o in each.outcomes) == pytest.approx(1, abs=0.002), each.id


def test_no_year_lies_between_two_outcomes_that_are_told(sample_case):
    advice = {each.id: each for each in next_steps(*sample_case("dunnock-lap-steel")).advice}
    said = [o.outcome for o in advice["mark.back-plate"].outcomes]
    assert said == [
        "its date falls before 1948",
        "its date falls in 1948",
        "its date falls in 1949",
        "its date falls in 1950 to 1951",
        "its date falls after 1951",
        "it cannot be read",
    ]

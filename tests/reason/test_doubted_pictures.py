"""What goes with a picture that is doubted, and what stays. Invented cases; common practice, no source."""

from __future__ import annotations

ANOTHER = {"says": "The picture shows another.", "lines": ["harvest-supper"]}


def said(texts, *words):
    return [text for text in texts if all(word in text for word in words)]


def test_all_that_a_doubted_picture_tells_is_left_out_with_it(dispute):
    found = dispute("dunnock-lap-steel", ANOTHER)
    assert said(found.supposing, "Left out: sighting of 1951-07")
    assert said(found.supposing, "Left out with it", "custody from about 1951-07")
    (custody,) = [each for each in found.observations if each.line == "first-family"]
    assert custody.is_doubted
    # What contradicted the custody would no longer be contradicted by it.
    assert not said([*found.stands, *found.falls], "being held then")
    assert said(found.falls, "conflicts would no longer stand")


def test_who_owned_it_is_not_opened_by_a_doubt_of_a_picture(dispute):
    found = dispute("dunnock-lap-steel", ANOTHER)
    assert not said(found.conceded, "Who owns it")


def test_a_doubted_picture_is_to_be_compared_by_figure_and_dings(dispute):
    found = dispute("dunnock-lap-steel", ANOTHER)
    (told,) = said(found.would_change, "figure of the wood", "dings")
    assert "triangular chip" in told
    assert found.would_change[0] == told


def test_what_a_talk_tells_besides_a_picture_stays_and_is_said_to(weigh_sheet):
    talk = {"id": "talk", "kind": "testimony", "title": "Talk", "by": "B", "date": "2026"}
    seen = {"source": "talk", "date": "1951-07", "same_instrument": "yes", "matched_by": "grain"}
    held = {"id": "held", "source": "talk", "holder": "Family N", "begins": "1950", "ends": "1960"}
    doubt = {"id": "doubt", "says": "It shows another.", "lines": ["seen"]}
    read = weigh_sheet(
        sources=[talk],
        sightings=[{"id": "seen", **seen}],
        custody=[held],
        challenges=[doubt],
    )
    (found,) = read.report.challenges
    assert said(found.supposing, "Stays", "not by the picture", "custody from 1950")
    assert not said(found.supposing, "Left out with it")

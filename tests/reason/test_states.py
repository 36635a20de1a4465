"""What a state says for itself: what speaks for a part, and what was not tried against it."""

from __future__ import annotations

TRACE = {"id": "print", "trace": "single-footprint", "positions": ["bridge"]}


def test_a_presumed_part_says_which_trace_speaks_for_it_and_how_strongly(weigh_sample):
    report = weigh_sample("whinchat-mandolin")
    (plates,) = (each for each in report.positions if each.position == "tuners")
    assert plates.states == ("presumed first-fitted (untested)",)
    said = " ".join(plates.reasons)
    assert "A trace speaks for it, by itself 3.5 to one by practice: Single footprint" in said
    assert "nothing was tried that would have spoken against such a part" in said
    assert "nothing that was examined shows" not in said
    (finding,) = (each for each in report.findings if each.id == plates.finding)
    assert any("line:" in premise for premise in finding.premises)


def test_a_presumed_part_without_any_trace_says_that_nothing_shows_it(weigh_sheet):
    feature = {"id": "form", "position": "bridge", "feature": "form", "value": "plain"}
    found = weigh_sheet(features=[feature]).position("bridge")
    assert "nothing that was examined shows" in " ".join(found.reasons)


def test_several_traces_are_told_together(weigh_sheet):
    other = {"id": "shadow", "trace": "unfaded-shadow", "positions": ["bridge"]}
    found = weigh_sheet(traces=[TRACE, other]).position("bridge")
    assert found.states == ("presumed first-fitted (untested)",)
    assert "traces speak for it" in found.reasons[0]

"""Measures against limits, by figures of the trade (common practice, no source)."""

from __future__ import annotations

import pytest

OHMS = "resistance"
CONTROL = {"id": "control-value", "position": "pot", "quantity": OHMS}
CONTROL |= {"low": "400 k", "high": "600 k"}  # 500 k ± 20 %
COIL = {"id": "coil", "position": "pickup", "quantity": "resistance of the coil"}
COIL |= {"low": "7.5 k", "high": "7.6 k"}


def measured(line_id, value, position="pot.1", quantity=OHMS, **other):
    return {"id": line_id, "position": position, "quantity": quantity, "value": value, **other}


def weighed(weigh_sheet, row, *lines, **sections):
    return weigh_sheet(pack={"specifications": [row]}, measurements=list(lines), **sections)


def told(found, line):
    """The sentences of the comparisons of a line."""
    return [
        finding.sentence
        for finding in found.report.findings
        if finding.kind == "comparison" and f".{line}." in finding.id
    ]


# -- controls --------------------------------------------------------------------------------------


def test_500_k_and_250_k_against_500_k_are_one_conforming_and_one_open_question(weigh_sheet):
    found = weighed(
        weigh_sheet,
        CONTROL,
        measured("first", "500 k", "pot.1"),
        measured("second", "250 k", "pot.2"),
    )
    assert "as the works made it" in told(found, "first")[0]
    assert "question that stays open, no swap" in told(found, "second")[0]
    assert [s.line for s in found.report.surprises if s.is_open] == ["second"]
    assert found.report.swaps == ()
    assert found.report.conflicts == ()
    for place in ("pot.1", "pot.2"):
        assert found.states(place) & {"first-fitted", "presumed first-fitted (untested)"}


def test_a_row_that_calls_it_a_contradiction_makes_a_conflict(weigh_sheet):
    row = CONTROL | {"outside": "contradicts"}
    found = weighed(weigh_sheet, row, measured("second", "250 k", "pot.2"))
    assert found.report.conflicts
    assert not [s for s in found.report.surprises if "no swap" in s.sentence]


def test_a_work_that_explains_the_value_closes_the_question(weigh_sheet):
    work = {"id": "new-pot", "action": "replaced", "positions": ["pot.2"], "by": "owner"}
    found = weighed(
        weigh_sheet,
        CONTROL,
        measured("second", "250 k", "pot.2"),
        works=[work | {"explains": ["second"]}],
    )
    (surprise,) = (s for s in found.report.surprises if s.line == "second")
    assert (surprise.is_open, surprise.explained_by) == (False, "new-pot")


def test_a_control_read_in_circuit_below_its_limits_is_no_question_at_all(weigh_sheet):
    line = measured("second", "250 k", "pot.2", circuit="in circuit")
    (sentence,) = told(weighed(weigh_sheet, CONTROL, line), "second")
    assert "no upper bound known" in sentence
    assert "leaves it open" in sentence


# -- coils -----------------------------------------------------------------------------------------


def test_a_coil_read_across_a_control_is_corrected_before_it_is_compared(weigh_sheet):
    # 7.52 k as read lies within 7.5 to 7.6 k; the coil of 7.63 k by itself does not.
    line = measured(
        "coil-read", "7.52 k", "pickup.1", "resistance of the coil", uncertainty="0.5 ohm"
    )
    line |= {"circuit": "across a 500 k ± 5 % control", "temperature": "20 ± 0.1 °C"}
    found = weighed(weigh_sheet, COIL, line)
    (sentence,) = told(found, "coil-read")
    assert "7.6348 kΩ" in sentence
    assert "load of 500 kΩ ± 25 kΩ across it" in sentence
    assert found.report.conflicts


def test_a_warm_coil_is_brought_to_20_degrees(weigh_sheet):
    # IEC 60028: 7.85 k at 30 °C is 7.553 k at 20 °C.
    line = measured(
        "coil-read", "7.85 k", "pickup.1", "resistance of the coil", uncertainty="1 ohm"
    )
    line |= {"circuit": "isolated", "temperature": "30 ± 0.1 C"}
    (sentence,) = told(weighed(weigh_sheet, COIL, line), "coil-read")
    assert "7.5532 kΩ" in sentence
    assert "as the works made it" in sentence


def test_a_coil_of_untold_temperature_is_left_open_near_its_limits(weigh_sheet):
    line = measured("coil-read", "7.55 k", "pickup.1", "resistance of the coil")
    found = weighed(weigh_sheet, COIL, line | {"circuit": "isolated"})
    (sentence,) = told(found, "coil-read")
    assert "10 to 30 °C is allowed for" in sentence
    assert "leaves it open" in sentence
    assert found.report.conflicts == ()
    assert any(row.id == "practice/bench-temperature" for row in found.report.references)


def test_a_coil_that_no_allowance_brings_within_its_limits_contradicts(weigh_sheet):
    line = measured("coil-read", "4.1 k", "pickup.1", "resistance of the coil")
    assert weighed(weigh_sheet, COIL, line).report.conflicts


# -- probability and refusal -------------------------------------------------------------------------

DEPTH = {"id": "depth", "position": "body", "quantity": "depth", "low": "43.4 mm", "high": "44 mm"}


@pytest.mark.parametrize(
    ("value", "said"),
    [("43.4 mm", "0.50"), ("43.35 mm", "0.25"), ("43.7 mm", "more than 0.99")],
    ids=["on the limit", "mostly outside", "within"],
)
def test_the_probability_of_conforming_is_told_where_a_doubt_is(weigh_sheet, value, said):
    line = measured("deep", value, "body", "depth", uncertainty="0.1 mm")
    (sentence,) = told(weighed(weigh_sheet, DEPTH, line), "deep")
    assert f"JCGM 106: {said})" in sentence


def test_no_probability_is_made_up_where_no_doubt_is_told(weigh_sheet):
    (sentence,) = told(
        weighed(weigh_sheet, DEPTH, measured("deep", "43.7 mm", "body", "depth")), "deep"
    )
    assert "JCGM" not in sentence


def test_a_test_that_nearly_everything_passes_says_that_it_tells_nothing(weigh_sheet):
    row = DEPTH | {"nearly_all_pass": "yes"}
    line = measured("deep", "43.7 mm", "body", "depth", uncertainty="0.1 mm")
    plain = weigh_sheet(measurements=[line])
    found = weighed(weigh_sheet, row, line)
    (sentence,) = told(found, "deep")
    assert "tells nothing" in sentence
    assert "1.03 times" in sentence
    assert found.states("body") == plain.states("body")


def test_a_withheld_figure_is_not_told_by_its_comparison(weigh_sheet):
    line = measured("deep", "41.23 mm", "body", "depth", uncertainty="0.1 mm")
    found = weighed(weigh_sheet, DEPTH, line | {"withhold": ["value", "uncertainty"]})
    (sentence,) = told(found, "deep")
    assert "41.23" not in sentence
    assert "2.17" not in sentence
    assert "outside the limits" in sentence
